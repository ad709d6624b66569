"""Runs, ranges and what to buy in a real browser: asked by a form, looked at, taken away."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

BAY = """\
range,medium,color,paper,coats,over,L,a,b
Skerry,marker,,Gannet smooth,,,95.0,0.5,-2.0
Skerry,marker,Foam,Gannet smooth,1,,85.0,-2.0,3.0
Skerry,marker,Foam,Gannet smooth,2,,78.0,-3.0,4.0
Skerry,marker,Sand eel,Gannet smooth,1,,72.0,-2.0,3.0
Skerry,marker,Slate,Gannet smooth,1,,58.0,-2.0,3.0
Skerry,marker,Basalt,Gannet smooth,1,,44.0,-2.0,3.0
Skerry,marker,Anemone,Gannet smooth,1,,50.0,55.0,30.0
Skerry,marker,Weed,Gannet smooth,1,,30.0,-35.0,18.0
Holm,marker,Thrift,Gannet smooth,1,,62.0,40.0,-8.0
Holm,marker,Thrift,Gannet smooth,2,,52.0,48.0,-10.0
Holm,marker,Turf,Gannet smooth,1,,48.0,-18.0,26.0
Holm,marker,Lichen,Gannet smooth,1,,80.0,2.0,44.0
"""
"""Two invented ranges: grays, a red and a green; and three of other hues."""


@pytest.fixture
def bay(bench: Any, tmp_path: Path) -> Any:
    """Put two small ranges into the library of the bench."""
    (tmp_path / "bay.csv").write_text(BAY, encoding="utf-8")
    bench.do("swatches", "import", str(tmp_path / "bay.csv"))
    return bench


def look(visit: Any, surround: str) -> None:
    """Choose how colors are looked at."""
    visit.page.context.add_cookies(
        [{"name": "look", "value": surround, "url": visit.bench.address}]
    )


def test_runs_are_found_and_lead_to_partners(bay: Any, visit: Any) -> None:
    """A range is asked for its runs, one is picked out, a colorant leads to its partners."""
    page = visit.go("/runs")
    page.locator("select[name=from]").select_option("range:Skerry")
    page.get_by_role("checkbox", name="Holm").check()
    visit.check()
    visit.photograph("runs")
    page.get_by_role("button", name="Look for runs").click()
    expect(page.get_by_role("heading", name="Shading runs of Skerry")).to_be_visible()
    expect(page.locator("#runs").get_by_role("link", name="Foam, value").first).to_be_visible()
    expect(page.locator("#triads").get_by_role("link", name="Anemone", exact=True)).to_be_visible()
    visit.check()
    visit.photograph("runs-found")
    for name, count in (("Anemone", "0 runs"), ("Basalt", "1 run")):
        page.get_by_label("With this one in it").fill(name)
        page.keyboard.press("Tab")
        expect(page.locator("#runs").get_by_role("heading", level=2)).to_have_text(count)
    page.locator("#runs").get_by_text("Which ones").click()
    page.locator("#runs .shades").get_by_role("link", name="Slate").click()
    expect(page.locator('input[name="color"]')).to_have_value("Skerry/Slate")
    expect(page.get_by_role("heading", name="For the shadow")).to_be_visible()
    visit.check()
    visit.photograph("partners")
    page.locator('input[name="color"]').fill("Anemone")
    page.keyboard.press("Enter")
    expect(page.locator("#answer")).to_contain_text("None: nothing here of about its hue")
    look(visit, "dim values")
    page.reload()
    visit.check()
    visit.photograph("partners-dim-values")


def test_a_gradient_tells_whether_it_goes_muddy(bay: Any, visit: Any) -> None:
    """Two colors are typed, and what lies between them stands in a strip and in words."""
    page = visit.go("/gradient?range=Skerry")
    page.get_by_label("First color").fill("Anemone")
    page.get_by_label("Second color").fill("Weed")
    page.keyboard.press("Enter")
    expect(page.locator("#answer")).to_contain_text("These two go muddy where they meet")
    expect(page.get_by_role("link", name="Anemone, value")).to_be_visible()
    visit.check()
    visit.photograph("gradient")


def test_two_ranges_are_compared_and_taken_away(bay: Any, visit: Any) -> None:
    """The comparison has its plots in the page and as a file, in any look."""
    page = visit.go("/ranges")
    page.get_by_label("This set").select_option("Skerry")
    page.get_by_label("With this one").select_option("Holm")
    visit.check()
    visit.photograph("ranges")
    page.get_by_role("button", name="Compare them").click()
    expect(page.get_by_role("heading", name="Skerry and Holm compared")).to_be_visible()
    expect(page.get_by_role("img", name="Value over hue")).to_be_visible()
    expect(page.get_by_role("img", name="Hue and chroma")).to_be_visible()
    visit.check()
    visit.photograph("ranges-compared")
    with page.expect_download() as download:
        page.get_by_role("link", name="Both plots, SVG").click()
    assert download.value.suggested_filename == "Skerry and Holm compared.svg"
    look(visit, "dim values")
    page.reload()
    visit.check()
    visit.photograph("ranges-compared-dim-values")


def test_what_to_buy_is_chosen_by_keyboard(bay: Any, visit: Any) -> None:
    """Colors are typed, a range is ticked, Enter asks; the list comes with its proof."""
    page = visit.go("/choosing")
    page.get_by_label("Or colors, one a line").fill("Slate\nlab:80,2,44")
    page.get_by_label("Skerry").focus()
    page.keyboard.press("Space")
    page.get_by_role("checkbox", name="Holm").check()
    page.get_by_label("Choose from each set by itself").check()
    visit.check()
    visit.photograph("choosing")
    page.get_by_label("How many, at most").press("Enter")
    expect(page.get_by_role("heading", name="To buy").first).to_be_visible()
    expect(page.locator("#group-1")).to_contain_text("No other choice does better")
    expect(page.locator("#group-1")).to_contain_text("With nothing bought")
    cut = "all => all.filter(one => one.scrollWidth > one.clientWidth).map(one => one.ariaLabel)"
    assert page.locator(".scroll").evaluate_all(cut) == []
    visit.check()
    visit.photograph("chosen")
    with page.expect_download() as download:
        page.get_by_role("link", name="CSV").click()
    assert download.value.suggested_filename == "supplies.csv"
    page.get_by_role("link", name="Ask again with other rules").click()
    expect(page.get_by_label("Choose from each set by itself")).to_be_checked()
    look(visit, "dim")
    page.go_back()
    page.reload()
    visit.check()
    visit.photograph("chosen-dim")
