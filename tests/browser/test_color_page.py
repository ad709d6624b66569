"""One color, in a real browser."""

import io
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import expect

ASKED = "/color?wanted=lab:71,8,46&range=Orchard"


def test_an_answer_comes_and_changes_with_the_limits(orchard: Any, visit: Any) -> None:
    """A color is asked for, the recipe comes; a limit is changed, the answer follows by itself."""
    page = visit.go("/color")
    page.get_by_label("Wanted").fill("lab:71,8,46")
    page.locator("select[name=from]").select_option("range:Orchard")
    answer = page.locator("#answer")
    expect(answer.get_by_role("heading", level=2).first).to_contain_text(", then ")
    page.get_by_text("More choices").click()
    page.get_by_label("Steps, at most").select_option("1")
    expect(answer.get_by_role("heading", level=2).first).not_to_contain_text(", then ")
    assert "steps=1" in page.url
    visit.photograph("color")
    visit.check()


def test_a_color_is_picked_from_a_photograph_by_keyboard(orchard: Any, visit: Any) -> None:
    """White first, then the color: byte 94 under a white of 128 is byte 191 under a full white."""
    page = visit.go("/color")
    page.get_by_text("Pick it from a photograph").click()
    file = {"name": "table.png", "mimeType": "image/png", "buffer": photograph()}
    page.locator('[data-pick="file"]').set_input_files(file)
    canvas = page.locator("canvas")
    expect(canvas).to_be_visible()
    canvas.focus()
    canvas.press("Enter")
    for _ in range(3):
        canvas.press("Shift+ArrowRight")
    canvas.press("Enter")
    expect(page.locator('input[name="wanted"]')).to_have_value("#bf0000")
    visit.check()


def photograph() -> bytes:
    """Return a picture of half white, half red, under a light of less than half."""
    picture = Image.new("RGB", (200, 100), (128, 128, 128))
    picture.paste((94, 0, 0), (110, 0, 200, 100))
    file = io.BytesIO()
    picture.save(file, "PNG")
    return file.getvalue()


@pytest.mark.parametrize("look", ["dim", "dim values", "light values"])
def test_every_look_is_legible(orchard: Any, visit: Any, look: str) -> None:
    """In each surround, in color and in values, axe finds nothing serious."""
    visit.page.context.add_cookies([{"name": "look", "value": look, "url": visit.bench.address}])
    visit.go(ASKED)
    visit.photograph(f"color-{look.replace(' ', '-')}")
    visit.check()
