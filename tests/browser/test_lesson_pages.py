"""A teacher's way in a real browser: a lesson made, converted, and packed for a class."""

import io
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.long


def _fill_line(page: Page, number: int, **said: str) -> None:
    labels = {"passage": "Passage", "color": "Color", "name": "What it is called"}
    for key, text in said.items():
        page.get_by_label(f"{labels[key]}, {number}", exact=True).fill(text)


def _pick(page: Page) -> None:
    """Pick red from a picture that is white on the left and red on the right, by keyboard."""
    picture = Image.new("RGB", (200, 100), (128, 128, 128))
    picture.paste((94, 0, 0), (110, 0, 200, 100))
    content = io.BytesIO()
    picture.save(content, "PNG")
    page.get_by_text("Pick it from a photograph").click()
    file: Any = {"name": "table.png", "mimeType": "image/png", "buffer": content.getvalue()}
    page.locator('[data-pick="file"]').set_input_files(file)
    canvas = page.locator("canvas")
    canvas.focus()
    for key in ("Enter", "Shift+ArrowRight", "Shift+ArrowRight", "Shift+ArrowRight", "Enter"):
        canvas.press(key)


def _make_lesson(visit: Any) -> Page:
    page: Page = visit.go("/lessons")
    page.get_by_label("Title", exact=True).fill("A gray jar")
    _fill_line(page, 1, passage="jar", color="lab:80,2,10", name="rim")
    _fill_line(page, 2, color="lab:50,2,8", name="belly")
    page.get_by_role("link", name="More lines").click()
    expect(page.get_by_label("Passage, 9", exact=True)).to_be_focused()
    _fill_line(page, 9, passage="jar", color="#303438", name="foot")
    _pick(page)
    expect(page.get_by_label("Color, 3", exact=True)).to_have_value("#bf0000")
    _fill_line(page, 3, passage="cherry", name="side")
    visit.check()
    visit.photograph("lessons")
    _fill_line(page, 2, color="Nonsuch")
    page.get_by_role("button", name="Make the lesson").click()
    expect(page.get_by_role("alert")).to_contain_text("line 2")
    expect(page.get_by_label("Color, 9", exact=True)).to_have_value("#303438")
    assert "404" in visit.told.pop()  # the browser's own word on the page of the error
    _fill_line(page, 2, color="lab:50,2,8")
    page.get_by_role("button", name="Make the lesson").click()
    return page


def test_a_lesson_is_made_converted_and_packed(visit: Any, orchard: Any) -> None:
    """From typed lines to three answers side by side and a pack to hand out."""
    page = _make_lesson(visit)
    expect(page.get_by_role("status")).to_contain_text("is made and kept")
    expect(page.get_by_role("img", name="Values from light to dark: 7.9, 4.9, 2.")).to_be_visible()
    visit.check()
    visit.photograph("lesson")
    page.get_by_role("link", name="Choose the box and paper").click()
    convert = page.locator("form#convert")
    convert.locator("select[name=from]").select_option("range:Orchard")
    convert.get_by_text("More choices").click()
    convert.get_by_label("Steps, at most").select_option("2")
    convert.get_by_role("button", name="Convert it").click()
    page.locator(".strips summary").first.click()
    expect(page.get_by_role("heading", name="As a whole").first).to_be_visible()
    page.get_by_text("Values, from light to dark").first.click()
    expect(page.get_by_text("values in order").first).to_be_visible()
    visit.check()
    visit.photograph("lesson-conversion")
    page.get_by_text("The answers compared").first.click()
    page.get_by_role("link", name="Show it below").first.click()
    visit.go("/lessons")
    expect(page.get_by_label("Color, 1", exact=True)).to_have_value("")
    page.get_by_role("link", name="A gray jar from Orchard").click()
    page.get_by_role("link", name="The lesson itself").click()
    page.get_by_text("A class pack, for students").click()
    pack = page.locator("form#pack")
    pack.get_by_label("Orchard").check()
    pack.get_by_role("button", name="Make the pack").click()
    expect(page.get_by_text("Supplies (", exact=False)).to_be_visible()
    visit.check()
    visit.photograph("lesson-pack")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="PDF to print, A4").click()
    assert waiting.value.suggested_filename == "A gray jar, class pack.pdf"
