"""A picture planned, changed by hand and made from a kit, in a real browser."""

from io import BytesIO
from typing import Any

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Locator, Page, expect

from laydown.demo.lemons import draw_lemons, lemons_png

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def lemons() -> dict[str, Any]:
    """Return a small drawing of lemons, as a browser sends it."""
    content = lemons_png(draw_lemons(rows=120, columns=180))
    return {"name": "lemons.png", "mimeType": "image/png", "buffer": content}


def tap(canvas: Locator, across: float, down: float) -> None:
    """Tap a picture at a share of its width and height."""
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert box is not None
    canvas.click(position={"x": across * box["width"], "y": down * box["height"]})


def planned(page: Page, lemons: dict[str, Any]) -> None:
    """Send the drawing, with its white pointed at, and wait for its plan."""
    page.get_by_label("The picture", exact=False).first.set_input_files(lemons)
    page.get_by_label("What it is called").fill("Lemons")
    page.get_by_label("white paper that I never measured").check()
    canvas = page.locator("canvas")
    expect(canvas).to_be_visible()
    tap(canvas, 0.1, 0.1)
    expect(page.get_by_label("Where it is in the picture")).to_have_value("10.0%,10.0%")
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("heading", name="Its values")).to_be_visible()


def test_a_picture_becomes_a_plan_and_is_made_from_a_kit(
    orchard: Any, visit: Any, lemons: dict[str, Any]
) -> None:
    """Its white by hand, its values first, other steps, then a kit's picture and a print."""
    page = visit.go("/pictures")
    planned(page, lemons)
    visit.check()
    visit.photograph("picture-planned")
    page.get_by_role("button", name="3", exact=True).click()
    three = page.get_by_role("button", name="3", exact=True)
    expect(three).to_have_attribute("aria-current", "true")
    expect(page.get_by_role("img", name="Its value steps")).to_be_visible()
    page.get_by_role("button", name="Take this plan").click()
    page.locator("select[name=from]").select_option("range:Orchard")
    page.get_by_label("Steps, at most").select_option("1")
    page.get_by_role("button", name="Find recipes").click()
    expect(page.get_by_role("heading", name="What is lost")).to_be_visible()
    visit.check()
    visit.photograph("picture-recipes")
    page.get_by_role("button", name="Print it with recipes").click()
    save = page.get_by_role("link", name="Save it")
    expect(save).to_be_visible()
    visit.check()
    with page.expect_download() as download:
        save.click()
    assert download.value.suggested_filename == "Lemons.pdf"


def test_regions_are_chosen_by_hand_and_by_keyboard(visit: Any, lemons: dict[str, Any]) -> None:
    """A tap chooses one, arrows and Enter another; numbers are typed, too; changes last."""
    page = visit.go("/pictures")
    planned(page, lemons)
    page.get_by_role("button", name="Take this plan").click()
    canvas, field = page.locator("canvas"), page.get_by_label("Regions, by their numbers")
    tap(canvas, 0.05, 0.05)
    expect(field).to_have_value("1")
    canvas.press("Enter")
    expect(field).to_have_value("")
    for _ in range(6):
        canvas.press("Shift+ArrowDown")
    canvas.press("Enter")
    expect(field).not_to_have_value("")
    field.fill("1 2")
    visit.check()
    visit.photograph("picture-regions")
    page.get_by_label("The passage").fill("room")
    page.get_by_role("button", name="They belong to it").click()
    expect(page.get_by_role("status").first).to_contain_text("passage room: 1 2")
    page.reload()
    expect(page.get_by_role("listitem").filter(has_text="passage room: 1 2")).to_be_visible()
    page.get_by_role("button", name="Take the last change back").click()
    expect(page.get_by_role("status").first).to_contain_text("taken back")
    page.context.add_cookies([{"name": "look", "value": "dim values", "url": visit.bench.address}])
    page.reload()
    visit.check()
    visit.photograph("picture-dim-values")


def test_areas_of_line_art_are_colored_by_hand(orchard: Any, visit: Any) -> None:
    """Areas of an outline are tapped and given a run, are seen in its colors, and printed."""
    drawing = Image.new("L", (180, 120), 250)
    for left in (20, 70, 120):
        ImageDraw.Draw(drawing).rectangle((left, 30, left + 40, 90), outline=20, width=2)
    content = BytesIO()
    drawing.save(content, "PNG")
    sent = {"name": "tiles.png", "mimeType": "image/png", "buffer": content.getvalue()}
    page = visit.go("/pictures")
    page.get_by_label("The picture", exact=False).first.set_input_files(sent)
    page.get_by_role("button", name="Plan it").click()
    page.get_by_role("button", name="Take this plan").click()
    for across in (0.2, 0.5, 0.8):
        tap(page.locator("canvas"), across, 0.5)
    page.get_by_label("The color").fill("Beeswax")
    page.get_by_label("A run to").fill("Wasp")
    page.get_by_label("A run to").press("Enter")
    expect(page.get_by_label("A run to")).to_have_value("Wasp")
    page.get_by_role("button", name="Color them").click()
    expect(page.get_by_role("status").first).to_contain_text("Done: color lab:")
    visit.check()
    visit.photograph("line-art-colored")
    page.get_by_role("button", name="Print it").click()
    expect(page.get_by_role("link", name="Save it")).to_be_visible()
