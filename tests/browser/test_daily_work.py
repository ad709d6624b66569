"""What is done every day, in a real browser: swatches, papers, charts, a change taken back."""

import base64
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from laydown.app.library import open_named, show_library

ROOT = Path(__file__).parents[2]
DROP = """content => {
  const bytes = Uint8Array.from(atob(content), sign => sign.charCodeAt(0));
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(new File([bytes], "moved.db"));
  document.body.dispatchEvent(new DragEvent("drop", { dataTransfer, bubbles: true }));
}"""
SWATCHES = ROOT / "src" / "laydown" / "demo" / "data" / "orchard_on_gannet_smooth.csv"


def test_swatches_come_in_and_a_removal_is_taken_back(visit: Any) -> None:
    """A file is brought in, its swatches are filtered, one goes, and History brings it back."""
    page = visit.go("/swatches")
    page.get_by_label("Files").set_input_files(SWATCHES)
    page.get_by_role("button", name="Bring in").click()
    expect(page.get_by_role("status").first).to_contain_text("New ranges: Orchard")
    page.get_by_label("With the color").fill("Orchard/Beeswax")
    page.get_by_label("With the color").press("Enter")
    rows = page.locator("#list li")
    expect(rows.first).to_contain_text("Beeswax")
    expect(page.locator("#list li", has_text="Honeycomb")).to_have_count(0)
    rows.first.get_by_role("checkbox").check()
    visit.check()
    visit.photograph("swatches-filtered")
    page.get_by_role("button", name="Remove the ticked ones").click()
    expect(page.get_by_role("status").first).to_contain_text("1 swatch is gone")
    page = visit.go("/history")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status").first).to_contain_text("Taken back")
    visit.check()


def test_a_copy_of_everything_is_taken_away(orchard: Any, visit: Any) -> None:
    """What is downloaded is a library with everything in it."""
    page = visit.go("/history")
    with page.expect_download() as download:
        page.get_by_role("link", name="Download a copy").click()
    copy = open_named(str(download.value.path()))
    assert show_library(copy)["ranges"] == 1
    copy.close()


def test_a_library_that_is_dropped_on_the_page_is_taken_in(orchard: Any, visit: Any) -> None:
    """Dropped anywhere, it is chosen in the form, which asks before it takes everything's place."""
    page = visit.go("/history")
    with page.expect_download() as download:
        page.get_by_role("link", name="Download a copy").click()
    orchard.do("range", "remove", "Orchard", "--with-swatches")
    dropped = base64.b64encode(Path(download.value.path()).read_bytes()).decode()
    page.evaluate(DROP, dropped)
    page.get_by_label("Yes, in place of everything here").check()
    page.get_by_role("button", name="Put it back").click()
    expect(page.get_by_role("status").first).to_contain_text("moved.db is the library now.")
    visit.go("/ranges")
    expect(page.locator("#work")).to_contain_text("Orchard")


def test_a_paper_is_added_and_told_what_it_bears(visit: Any) -> None:
    """A new paper leads to its page, takes a number of coats, and to a sheet for it."""
    page = visit.go("/papers")
    page.get_by_label("Its name").fill("Petrel wove")
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_role("heading", name="Petrel wove")).to_be_visible()
    page.get_by_label("Coats in all").fill("4")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("status").first).to_contain_text("bears 4 coats")
    visit.check()
    visit.photograph("paper-new")
    page.get_by_role("link", name="Print a sheet for it").click()
    expect(page.locator("input[name=paper]")).to_have_value("Petrel wove")


def test_a_chart_is_filtered_and_ordered(orchard: Any, visit: Any) -> None:
    """Colors typed become a chart, which shows one verdict alone or the farthest off first."""
    page = visit.go("/charts")
    page.get_by_label("Colors, one a line").fill("lab:71,8,46\n#c8a050\nlab:54,80,68")
    page.locator("select[name=from]").select_option("range:Orchard")
    page.get_by_role("button", name="Make the chart").click()
    rows = page.locator("#rows li")
    expect(rows).to_have_count(3)
    visit.check()
    visit.photograph("chart")
    page.get_by_label("Order").select_option("off")
    expect(rows.first).to_contain_text("lab:54,80,68")
    page.get_by_label("Show").select_option("out of reach")
    expect(rows).to_have_count(1)
    assert "only=out+of+reach" in page.url or "only=out%20of%20reach" in page.url


@pytest.mark.parametrize("surround", ["light gray", "dim gray"])
def test_the_look_is_chosen_on_any_page_and_stays(orchard: Any, visit: Any, surround: str) -> None:
    """A surround and values alone are chosen, the page stays, and every patch turns gray."""
    page = visit.go("/swatches?range=Orchard&most=4")
    page.get_by_label(surround).check()
    expect(page.locator("html")).to_have_attribute("data-surround", surround.removesuffix(" gray"))
    page.get_by_label("values only").check()
    expect(page.get_by_label("values only")).to_be_checked()
    page.wait_for_load_state()
    assert page.url.endswith("/swatches?range=Orchard&most=4")
    fills = page.locator("svg.patch rect").evaluate_all(
        "all => all.map(one => one.attributes.fill.value)"
    )
    assert fills
    assert all(fill[1:3] == fill[3:5] == fill[5:7] for fill in fills)
    expect(page.locator("html")).to_have_attribute("data-surround", surround.removesuffix(" gray"))
    visit.check()


def test_the_pencils_are_put_away(visit: Any) -> None:
    """From any page the bench is closed in two steps, and says that everything is kept."""
    page = visit.go("/kits")
    page.get_by_role("link", name="Put the pencils away").click()
    visit.check()
    page.locator("main").get_by_role("button").click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    visit.check()
    visit.photograph("stopped")
