"""A file of wanted colors is a lesson, a picture's plan or a list, whatever it is called."""

import io
import zipfile

import pytest

from laydown.app.fits import Supplies
from laydown.app.lessons.lessons import write_lesson
from laydown.app.library import Library
from laydown.app.light.checking import CheckLight, check_light
from laydown.app.light.life import ForecastLife, forecast_life
from laydown.app.matches.colors import Asking, colors_in_file
from laydown.app.pictures.plans import (
    PictureFile,
    lesson_from_plan,
    plan_of,
    write_plan,
)
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.errors import BadFileError
from laydown.match.outcome import Origin
from laydown.media.light.exposure import Exposure, Span

PAPER = "Gannet smooth"
SHOAL = Asking(Supplies(ranges=("Shoal",)), steps=1, coats=2)


@pytest.fixture(scope="module")
def plan() -> bytes:
    """Return the file of a plan of lemons."""
    png = lemons_png(draw_lemons(rows=80, columns=120))
    return write_plan(plan_of(None, PictureFile(png, "lemons.png", "Lemons")))


def test_a_plan_gives_the_colors_of_its_lesson(library: Library, plan: bytes) -> None:
    """Read as it is, or made a lesson first, a plan has the same colors: estimates of a picture."""
    lesson = write_lesson(lesson_from_plan(plan, "lemons.plan"))
    direct, by_way = (
        colors_in_file(library, file, "a file", paper=PAPER) for file in (plan, lesson)
    )
    assert direct[0] == by_way[0] == "Lemons"
    assert [t.name for t in direct[1]] == [t.name for t in by_way[1]]
    for one, other in zip(direct[1], by_way[1], strict=True):
        assert one.origin is Origin.SCREEN
        assert one.lab == pytest.approx(other.lab, abs=0.5)


def test_a_list_is_called_after_its_file(library: Library) -> None:
    """The title is the file's name in words."""
    title, targets = colors_in_file(library, b"color\nKelp\n", "my_sea.csv", paper=PAPER)
    assert (title, targets[0].name) == ("My sea", "Kelp")


def test_a_picture_planned_is_seen_by_lamp_and_on_a_wall(library: Library, plan: bytes) -> None:
    """Lights and life take a plan file like a lesson: each color of its palette is a part."""
    colors = len(plan_of(None, PictureFile(plan, "lemons.plan")).palette)
    seen = check_light(library, CheckLight(file=plan, source="lemons.plan", asking=SHOAL))
    assert (seen.title, len(seen.colors)) == ("Lemons", colors)
    lux = Exposure(Span(100.0, 200.0), hours=8.0, days=365.0, filtered=True)
    asked = ForecastLife(lux, file=plan, source="lemons.plan", asking=SHOAL)
    lives = forecast_life(library, asked)
    assert (lives.title, len(lives.parts)) == ("Lemons", colors)


def test_a_spreadsheet_is_told_as_one(library: Library) -> None:
    """Another archive isn't taken for a plan, though both are packed alike."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as book:
        book.writestr("xl/workbook.xml", "<workbook/>")
    with pytest.raises(BadFileError, match="a spreadsheet") as raised:
        colors_in_file(library, content.getvalue(), "book.xlsx", paper=PAPER)
    assert "CSV" in raised.value.hint


def test_a_broken_plan_is_told_as_one(library: Library, plan: bytes) -> None:
    """It isn't taken for a list."""
    with pytest.raises(BadFileError, match="no plan that can be used"):
        colors_in_file(library, plan[: len(plan) // 2], "cut.plan", paper=PAPER)
