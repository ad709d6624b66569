"""Kits, papers, swatches, sheets and cards in a real browser, at a desk and on a phone."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import expect

pytestmark = pytest.mark.long

PAGES = {
    "papers": "/papers",
    "paper": "/paper?name=Heron+laid",
    "anchors": "/paper/anchors?range=Orchard&known_on=Gannet+smooth",
    "swatches": "/swatches?range=Orchard&most=8",
    "range": "/range?name=Orchard&paper=Heron+laid",
    "history": "/history",
    "demo": "/demo",
    "kits": "/kits",
    "kit": "/kit?name=demo+student",
    "sheets": "/sheets?kind=kit",
    "card": "/card",
    "start": "/",
}
LOOKS = {"dim": "dim", "values": "light values"}


def test_pages_of_supplies_can_be_used_by_anyone(demo: Any, visit: Any) -> None:
    """No page is too wide, and axe finds nothing serious on any, in a light or a dim surround."""
    for name, path in PAGES.items():
        visit.go(path)
        visit.check()
        visit.photograph(name)
    for look, cookie in LOOKS.items():
        visit.page.context.add_cookies(
            [{"name": "look", "value": cookie, "url": visit.bench.address}]
        )
        for name in ("swatches", "range", "start"):
            visit.go(PAGES[name])
            visit.check()
            visit.photograph(f"{name}-{look}")


def test_typing_finds_colorants_and_ticks_stay(demo: Any, visit: Any) -> None:
    """A part of a name offers colorants, and what was ticked stays while one types on."""
    visit.bench.do("kit", "create", "mine")
    page = visit.go("/kit?name=mine")
    page.get_by_label("Part of a name").fill("lant")
    lantern = page.locator("#offers").get_by_label("Lantern")
    expect(page.locator("#offers input")).to_have_count(1)
    lantern.check()
    page.get_by_label("Part of a name").fill("oilsk")
    expect(page.locator("#offers input")).to_have_count(2)
    expect(lantern).to_be_checked()
    page.locator("#offers").get_by_label("Oilskin").check()
    page.get_by_role("button", name="Put in").click()
    expect(page.get_by_role("status").first).to_contain_text("2 put in")
    visit.check()


def test_a_slip_in_a_list_is_asked_about(demo: Any, visit: Any) -> None:
    """What may be meant can be chosen, and the rest of the list isn't typed again."""
    visit.bench.do("kit", "create", "mine")
    page = visit.go("/kit?name=mine")
    page.get_by_text("Or paste a list").click()
    page.get_by_label("A list, one name a line").fill("Oilskin\nLantren")
    page.get_by_role("button", name="Put in").click()
    expect(page.get_by_label("“Lantren”")).to_have_value("Estuary/Lantern")
    visit.check()
    page.get_by_role("button", name="Put in").click()
    expect(page.get_by_role("status").first).to_contain_text("2 put in")


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a picture of a card of two rows and three columns; the last place is bare."""
    pixels = np.full((500, 700, 3), 235, np.uint8)
    for place, color in enumerate(np.random.default_rng(2).integers(30, 200, (5, 3))):
        top, left = 60 + 200 * (place // 3), 60 + 200 * (place % 3)
        pixels[top : top + 160, left : left + 160] = color
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    path = tmp_path_factory.mktemp("card") / "card.png"
    path.write_bytes(content.getvalue())
    return path


def test_a_grid_is_placed_by_numbers_and_by_hand(visit: Any, card: Path) -> None:
    """Corners typed by keyboard are drawn, a corner dragged is typed, and the card is read."""
    page = visit.go("/card")
    page.get_by_label("Its picture").set_input_files(card)
    page.get_by_label("Rows").fill("2")
    page.get_by_label("Columns").fill("3")
    page.get_by_label("The card's paper").fill("Old card")
    page.get_by_label("Add new names to the set").fill("Tints")
    page.get_by_label("What lies in each place").fill("One\nTwo\nThree\nFour\nFive\npaper")
    page.get_by_role("button", name="Place a grid").click()
    corners = {"First place": (60, 60), "End of the first row": (620, 60), "Last place": (620, 420)}
    for words, (across, down) in corners.items():
        group = page.get_by_role("group", name=words)
        group.get_by_label("across").fill(str(across))
        group.get_by_label("down").fill(str(down))
    last = page.get_by_role("group", name="Begin of the last row")
    begun = (float(last.get_by_label(w).input_value()) for w in ("across", "down"))
    _drag(page, tuple(begun), (60, 420))
    assert abs(float(last.get_by_label("across").input_value()) - 60) <= 2
    assert abs(float(last.get_by_label("down").input_value()) - 420) <= 2
    visit.check()
    visit.photograph("card-placed")
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("heading", name="Is the grid in the right place?")).to_be_visible()
    visit.check()
    page.get_by_role("button", name="Keep these").click()
    expect(page.get_by_role("status").first).to_contain_text("taken over")


def _drag(page: Any, start: tuple[float, ...], end: tuple[float, float]) -> None:
    """Drag a corner of the grid, both places in the picture's own pixels."""
    picture = page.get_by_alt_text("The picture of the card")
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    scale = box["width"] / 700
    page.mouse.move(box["x"] + start[0] * scale, box["y"] + start[1] * scale)
    page.mouse.down()
    page.mouse.move(box["x"] + end[0] * scale, box["y"] + end[1] * scale, steps=5)
    page.mouse.up()
