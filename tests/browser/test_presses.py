"""The jobs of a day at the bench, and how often one has to press for each."""

import shutil
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect

from browser.presses import Presses
from laydown.app.fits import Supplies, set_up
from laydown.app.library import open_named
from laydown.app.supplies.kits import list_kits
from laydown.cli.main import door

pytestmark = pytest.mark.long

LESSON = "Two lemons"
PAPER = "Gannet smooth"
COLORS = "color\n#e5bb2c\n#a0701e\n"


def own_color(job: Presses) -> None:
    """A patch of the first page is touched, and it is answered."""
    job.patch("Honeycomb")
    job.sees("What to do")


def instead_of(job: Presses) -> None:
    """A color that isn't owned is named; other ways are one press further."""
    job.page.get_by_label("Wanted").fill("Port light")
    job.on(job.page.get_by_role("button", name="Find a color"))
    job.sees("What to do")
    job.on(job.page.get_by_text("Other ways"))
    expect(job.page.locator("details[open] .ways li").first).to_be_visible()


def fix(job: Presses) -> None:
    """What was laid, that it is to be fixed, and what it should become."""
    job.patch("Honeycomb")
    job.link("Fix it: it is on the paper")
    job.sees("What should it become?")
    job.patch("Hedge")
    expect(job.page.locator(".steps li").first).to_be_visible()


def partners(job: Presses) -> None:
    """A patch, and its shadow and light."""
    job.patch("Honeycomb")
    job.link("Shadow and light")
    expect(job.page.get_by_text("Light, middle, dark")).to_be_visible()


def twins(job: Presses) -> None:
    """The box, and what in it and in other sets is nearly the same."""
    job.link("My box", within="header")
    job.link("Twins", within=".within")
    expect(job.page.get_by_text("would be new to you").first).to_be_visible()


def what_if(job: Presses) -> None:
    """A patch, what it makes, and the one to lay over it."""
    job.patch("Honeycomb")
    job.link("What it makes")
    job.sees("What Honeycomb makes")
    job.patch("Hedge")
    job.sees("Under other lights")


def students_answer(job: Presses) -> None:
    """A patch, and what each box lays for it."""
    job.patch("Honeycomb")
    job.link("From each box")
    expect(job.page.get_by_role("link", name="demo student with pencils")).to_be_visible()


def convert_and_print(job: Presses) -> None:
    """A lesson that is kept, converted for the box at hand, and its chart to print."""
    job.link(LESSON)
    job.button("Convert it")
    printed = job.page.get_by_role("link", name="Print it, A4")
    with job.page.expect_download() as waiting:
        job.on(printed)
    assert waiting.value.path().read_bytes().startswith(b"%PDF")


def buy(job: Presses) -> None:
    """A lesson, and what to buy for it, out of all that is swatched."""
    job.link(LESSON)
    job.link("What to buy for it")
    job.button("Choose")
    job.sees("To buy")


JOBS: tuple[tuple[Callable[[Presses], None], int], ...] = (
    (own_color, 1),
    (instead_of, 2),
    (fix, 3),
    (partners, 2),
    (twins, 2),
    (what_if, 3),
    (students_answer, 2),
    (convert_and_print, 3),
    (buy, 4),
)
"""What is done from the first page on, and how many presses it may take."""


@pytest.fixture(scope="module")
def demo_library(demo_library: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Keep a lesson beside the demo, and the fits of its boxes."""
    folder = tmp_path_factory.mktemp("lesson")
    library, colors, lesson = (folder / name for name in ("library.db", "colors.csv", "lesson.txt"))
    shutil.copyfile(demo_library, library)
    colors.write_text(COLORS, encoding="utf-8")
    said = "--title", LESSON, "--paper", PAPER, "-o", str(lesson)
    for command in (("new", str(colors), *said), ("keep", str(lesson))):
        told = CliRunner().invoke(door, ["lesson", *command, "--db", str(library), "-q"])
        assert told.exit_code == 0, told.output
    with closing(open_named(str(library))) as opened:
        for kit in list_kits(opened):
            set_up(opened, Supplies(kit=kit.name, paper=PAPER))
    return library


def test_the_jobs_of_a_day_take_few_presses(demo: Any, visit: Any) -> None:
    """Each job ends within its presses; a patch dragged onto another is laid over it by none."""
    visit.go("/box?kit=demo+student")
    for do, most in JOBS:
        job = Presses(visit.go("/"))
        do(job)
        assert job.count <= most, do.__name__
    page = visit.go("/")
    patches = page.locator(".chips a")
    patches.filter(has_text="Hedge").first.drag_to(patches.filter(has_text="Honeycomb").first)
    expect(page.get_by_role("heading", level=1)).to_contain_text(", then 1 coat Hedge")
    visit.check()
    visit.photograph("what-if")
