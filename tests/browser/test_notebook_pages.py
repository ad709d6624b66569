"""The notebook in a real browser: from a match to a trial, to its causes, to what that teaches."""

import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import expect

pytestmark = pytest.mark.long

HEAVY = {
    "Honeycomb": "lab:72,14,62",
    "Cabbage": "lab:58,-34,12",
    "Twine": "lab:66,4,16",
}
LOOKS = {"dim": "dim", "values": "light values"}


@pytest.fixture
def tried(orchard: Any) -> Any:
    """Give the bench with the range Orchard as a kit, and three trials of it."""
    orchard.do("kit", "create", "mine")
    orchard.do("kit", "own", "mine", "--range", "Orchard")
    for recipe, color in HEAVY.items():
        orchard.do("trial", "add", recipe, color, "--kit", "mine", "--wanted", recipe)
    return orchard


def test_what_came_of_a_match_is_noted_and_explained(tried: Any, visit: Any) -> None:
    """One color leads to a trial of it, the trial to its causes and the test that would tell."""
    page = visit.go("/color?wanted=lab:60,-10,20&kit=mine&top=0")
    page.get_by_role("link", name="I tried it").click()
    expect(page.get_by_label("What was laid")).not_to_be_empty()
    page.get_by_label("The color that came out").first.fill("lab:48,2,30")
    page.get_by_label("In your own words").first.fill("leaves, third row")
    visit.check()
    visit.photograph("trial-new")
    page.get_by_role("button", name="Note it", exact=True).click()
    expect(page.get_by_role("status").first).to_contain_text("Noted: trial 4.")
    expect(page.get_by_role("link", name="Wanted:")).to_be_visible()
    visit.check()
    visit.photograph("trial")
    page.get_by_role("button", name="Why did it come out so?").click()
    expect(page.get_by_role("heading", name="Likely causes")).to_be_visible()
    visit.check()
    visit.photograph("trial-why")


def test_the_notebook_can_be_used_by_anyone(tried: Any, visit: Any) -> None:
    """List, search and forms: no page is too wide, and axe finds nothing serious in any look."""
    pages = {
        "notebook": "/notebook",
        "trials-found": "/notebook/found?colorant=Twine",
        "trials-next": "/notebook/next",
        "hand": "/hand",
    }
    for name, path in pages.items():
        visit.go(path)
        visit.check()
        visit.photograph(name)
    for look, cookie in LOOKS.items():
        visit.page.context.add_cookies(
            [{"name": "look", "value": cookie, "url": visit.bench.address}]
        )
        visit.go("/notebook")
        visit.check()
        visit.photograph(f"notebook-{look}")


def test_promises_are_held_against_what_came(tried: Any, visit: Any) -> None:
    """The calibration is asked for from the notebook, and its plot stands in the page."""
    page = visit.go("/notebook")
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_role("img", name="Values predicted and measured")).to_be_visible()
    visit.check()
    visit.photograph("calibration")


def test_a_color_is_picked_from_a_photograph_of_the_trial(
    tried: Any, visit: Any, tmp_path: Path
) -> None:
    """Paper first, then the patch: what is picked goes into the color that came out."""
    picture = Image.new("RGB", (200, 100), "#f0f0f0")
    picture.paste("#607040", (100, 0, 200, 100))
    picture.save(tmp_path / "patch.png")
    page = visit.go("/notebook/new?recipe=Twine&kit=mine")
    page.get_by_text("Pick it from a photograph").click()
    page.get_by_label("Photograph", exact=True).set_input_files(tmp_path / "patch.png")
    canvas = page.get_by_role("application")
    canvas.click(position={"x": 30, "y": 50})
    canvas.click(position={"x": 150, "y": 50})
    expect(page.get_by_label("The color that came out").first).to_have_value(
        re.compile("#[0-9a-f]{6}")
    )
    visit.check()
    page.get_by_role("button", name="Note it", exact=True).click()
    expect(page.get_by_role("main")).to_contain_text("Unsure by 5.0 CIELAB units.")


def test_a_finished_picture_is_kept_shown_and_removed(
    orchard: Any, visit: Any, tmp_path: Path
) -> None:
    """Kept with its photograph it stands among the pictures; removed, Undo brings it back."""
    Image.new("RGB", (640, 480), "#c8a050").save(tmp_path / "lemons.png")
    page = visit.go("/work")
    page.locator("main").get_by_role("link", name="Finished").click()
    page.get_by_label("Title").fill("Lemons")
    page.get_by_label("Photograph of it").set_input_files(tmp_path / "lemons.png")
    page.get_by_label("What you laid").fill("Honeycomb*2\nCabbage; Twine")
    visit.check()
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("img", name="Photograph of Lemons")).to_be_visible()
    expect(page.get_by_text("2 coats Honeycomb")).to_be_visible()
    visit.check()
    visit.photograph("finished-work")
    page.get_by_role("link", name="All finished pictures").click()
    shown = page.locator(".shelf img")
    expect(shown).to_be_visible()
    assert shown.evaluate("picture => picture.decode().then(() => picture.naturalWidth)") == 480
    visit.check()
    visit.photograph("finished")
    page.get_by_role("link", name="Lemons").click()
    page.get_by_role("button", name="Remove").click()
    expect(page.get_by_text("“Lemons” is removed.")).to_be_visible()
    page.get_by_role("button", name="Undo").first.click()
    page.goto(f"{visit.bench.address}/finished")
    expect(page.get_by_role("link", name="Lemons")).to_be_visible()
