"""The first visit as one story: from an empty library to a chart in one's hands."""

import io
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import expect

from browser.presses import Presses
from laydown.app.encoding import to_text
from laydown.app.library import open_named
from laydown.app.sheets.printing import find_sheet
from laydown.demo.files import STUDENTS_RANGE, read_rows
from laydown.demo.photograph import colored_and_photographed
from laydown.imaging.files import open_photographs

pytestmark = pytest.mark.long

OWNED = [r["color"] for r in read_rows("colorants.csv") if r["range"] == STUDENTS_RANGE][:12]


@pytest.fixture(scope="module")
def photographed() -> dict[str, bytes]:
    """Hold the photographs that were made, by what is on the sheet: they take long."""
    return {}


def color_in(photographed: dict[str, bytes], location: str, number: int, printed: Path) -> bytes:
    """Return a photograph of a printed sheet that the simulated student colored in."""
    with closing(open_named(location)) as library:
        sheet = find_sheet(library, number)
    if (key := to_text(sheet)) not in photographed:
        pixels = next(open_photographs(printed.read_bytes(), source="sheet.pdf")).pixels
        content = io.BytesIO()
        Image.fromarray(colored_and_photographed(sheet, pixels)).save(content, "JPEG", quality=90)
        photographed[key] = content.getvalue()
    return photographed[key]


def test_a_first_visit_gets_somewhere(visit: Any, photographed: dict[str, bytes]) -> None:
    """What I own, what I want, what paper: an answer in six presses, and a chart to take away."""
    page = visit.go("/")
    visit.check()
    visit.photograph("visit-empty")
    page.get_by_label("What do you own?").fill("\n".join(OWNED))
    page.get_by_label("What paper?").fill("Tern rough")
    page.get_by_label("What do you call this box?").fill(STUDENTS_RANGE)
    page.get_by_label("What do you want?").fill("#c8a050")
    job = Presses(page)
    job.button("Make my first sheet")
    visit.check()
    visit.photograph("visit-sheet")
    with page.expect_download() as download:
        job.link("Download it as PDF")
    number = int(page.url.rpartition("=")[2])
    picture = color_in(photographed, visit.bench.location, number, download.value.path())
    with page.expect_file_chooser() as choosing:
        job.on(page.get_by_label("Pictures of it"))
    choosing.value.set_files({"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": picture})
    job.button("Read it")
    expect(page.get_by_role("heading", name="What was read")).to_be_visible()
    visit.check()
    visit.photograph("visit-read")
    page.get_by_text("sound cells").click()
    page.get_by_label("Leave it out: I color it again").nth(1).check()
    job.button("Keep these")
    expect(page.get_by_role("heading", name="What was kept")).to_be_visible()
    expect(page.get_by_role("status").first).to_contain_text("23 cells were taken over")
    visit.check()
    visit.photograph("visit-kept")
    expect(page.get_by_label("Wanted")).to_have_value("#c8a050")
    job.button("Find recipes")
    job.sees("What to do")
    assert job.count <= 6
    visit.photograph("visit-answer")
    _take_a_chart_away(visit)


def _take_a_chart_away(visit: Any) -> None:
    page = visit.go("/charts")
    page.get_by_label("Colors, one a line").fill("#c8a050\n#806040")
    page.locator("select[name=from]").select_option(f"kit:{STUDENTS_RANGE}")
    page.locator("select[name=paper]").select_option("Tern rough")
    page.get_by_role("button", name="Make the chart").click()
    link = page.get_by_role("link", name="PDF, A4")
    expect(link).to_be_visible()
    with page.expect_download() as download:
        link.click()
    assert download.value.path().read_bytes().startswith(b"%PDF")


def test_the_demo_is_one_press_away_and_marked(visit: Any) -> None:
    """It says that it is invented before and after, and goes out again with one press."""
    page = visit.go("/")
    expect(page.get_by_text("all of it is invented")).to_be_visible()
    page.get_by_role("button", name="Put the demo in").click()
    expect(
        page.get_by_role("heading", name="The demo is in: all of it is invented")
    ).to_be_visible()
    visit.check()
    page.get_by_role("button", name="Take the demo out").click()
    expect(page.get_by_role("button", name="Put the demo in")).to_be_visible()
