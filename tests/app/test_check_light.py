import csv
import io
from dataclasses import replace

import numpy as np
import pytest

from laydown.app.fits import Supplies
from laydown.app.library import Library
from laydown.app.light.checking import (
    COLUMNS,
    CheckLight,
    LightChecked,
    check_light,
    light_csv,
    light_report,
    lights_named,
)
from laydown.app.matches.colors import Asking
from laydown.app.reports import write_report
from laydown.errors import UnknownNameError
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.media.swatch import Basis, Swatch
from laydown.plan.light.lights import Holding

ASKING = Asking(Supplies(ranges=("Shoal",), paper="Gannet smooth"), steps=2, coats=2)
LESSON = b"""laydown lesson 1
title: Boats
paper: Gannet smooth

passage: hull
color: keel
xyz: 20 21 15
color: sail
screen: #e0d8c0
"""


def check(library: Library, *colors: str, **more: object) -> LightChecked:
    """Check colors that are typed."""
    request = CheckLight(colors, asking=ASKING)
    return check_light(library, replace(request, **more))


def test_a_swatched_color_matched_by_itself_holds(library: Library) -> None:
    """Kelp from a range that has Kelp is Kelp under any light, and nothing is estimated."""
    (kelp,) = check(library, "Kelp").colors
    assert kelp.check.holding.value == "holds"
    assert kelp.estimated == ()
    assert kelp.instead is kelp.steadiest is None
    assert [seen.light.cie for seen in kelp.check.lights] == [
        "D65", "A", "FL11", "LED-B1", "LED-B3", "LED-V1",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("color", "reason"),
    [
        ("lab:60,-5,10", "of the color wanted no spectrum is known"),
        ("5Y 6/2", "of the color wanted no spectrum is known"),
        ("#808870", "the color wanted is a screen's"),
    ],
)
def test_a_typed_color_is_estimated(library: Library, color: str, reason: str) -> None:
    """Where no spectrum is known, the answer says that it is an estimate, and why."""
    found = check(library, color)
    assert found.colors[0].estimated == (reason,)
    assert any("smoothest" in note for note in found.notes)


def test_colorants_known_by_xyz_alone_are_named(library: Library) -> None:
    """A recipe of a colorant of which no spectrum was measured makes an estimate."""
    gorse = Colorant("Gorse", "Shoal")
    with library.work("add") as work:
        spectrum = np.linspace(0.1, 0.7, 36)
        recipe = Recipe((Step(gorse),))
        work.add_swatches([Swatch("Gannet smooth", recipe, spectrum, basis=Basis.XYZ)])
    (found,) = check(library, "Gorse").colors
    assert "of the color wanted no spectrum is known" in found.estimated
    assert "no spectrum was measured of Gorse" in found.estimated


def test_brighteners_are_told_of(library: Library) -> None:
    """A color above white glows by day, and no lamp is promised to make it glow."""
    glow = Colorant("Glow", "Shoal")
    with library.work("add") as work:
        bright = np.where(np.arange(36) == 6, 1.08, 0.9)
        work.add_swatches([Swatch("Gannet smooth", Recipe((Step(glow),)), bright)])
    assert any("Brightener" in note for note in check(library, "Glow").notes)
    assert not any("Brightener" in note for note in check(library, "Kelp").notes)


def test_a_list_keeps_names_and_order(library: Library) -> None:
    """A CSV list is checked color by color, its title the file's name."""
    text = b'color,name,passage\nKelp,one,water\n"lab:60,-5,10",two,sky\n'
    found = check(library, file=text, source="my_boats.csv")
    assert found.title == "My boats"
    assert [color.target.name for color in found.colors] == ["one", "two"]
    assert "Estimated are 1 of 2." in found.notes


def test_a_lesson_file_is_told_from_a_list(library: Library) -> None:
    """A lesson's own title stands over it, and what was measured as XYZ alone is estimated."""
    found = check(library, file=LESSON, source="boats.txt")
    assert found.title == "Boats"
    assert [color.target.name for color in found.colors] == ["keel", "sail"]
    assert all(color.estimated for color in found.colors)


def test_lights_are_taken_once_and_daylight_is_left_out() -> None:
    """Plain and CIE names of one light are one; daylight is what matches are made for."""
    assert [one.cie for one in lights_named(("lamp", "A", "D50", "gallery"))] == ["A", "LED-V1"]
    with pytest.raises(UnknownNameError, match="no other light"):
        lights_named(("D50",))


def test_the_table_of_numbers_has_a_line_for_each_light(library: Library) -> None:
    """Each color has a line by day and one for each light; no cell would run as a formula."""
    found = check(library, "Kelp", "lab:60,-5,10", lights=("lamp", "north"))
    rows = list(csv.DictReader(io.StringIO(light_csv(found))))
    assert tuple(rows[0]) == COLUMNS
    assert [row["cie"] for row in rows] == ["D50", "A", "D65"] * 2
    assert [row["verdict"] for row in rows[::3]] == ["by day"] * 2
    assert all(row["index"] == "" for row in rows[::3])
    assert all(float(row["index"]) >= 0 for row in rows if row["cie"] != "D50")
    assert {row["estimated"] for row in rows[3:]} == {"of the color wanted no spectrum is known"}


@pytest.mark.parametrize(("form", "begins"), [("pdf", b"%PDF"), ("html", b"<!"), ("json", b"{")])
def test_a_check_is_written_in_every_form(library: Library, form: str, begins: bytes) -> None:
    """The same check gives the same bytes."""
    found = check(library, "lab:60,-5,10", lights=("lamp",))
    made = write_report(found, form)
    assert made.startswith(begins)
    assert made == write_report(found, form)


def test_the_report_says_each_verdict_with_its_light(library: Library) -> None:
    """A grid of all, then what to do about those that move, the lights, and how to read it."""
    found = check(library, "Kelp", "lab:60,-5,40", "lab:60,-25,-10")
    report = light_report(found)
    assert len(report.sections[0].lines) == 3
    assert report.sections[0].columns[0] == "noon daylight (D50)"
    assert [len(cells) for _, _, cells in report.sections[0].lines] == [7] * 3
    assert {s.title for s in report.sections} >= {
        "Which matches hold",
        "The lights",
        "How to read it",
    }


def test_the_report_is_one_picture_and_three_sentences_with_numbers_behind(
    library: Library,
) -> None:
    """Before the page of numbers stand pairs of patches, with a word only where one fails."""
    found = check(library, "Kelp", "lab:60,-5,40", "lab:60,-25,-10")
    report = light_report(found)
    assert report.lead[1].count(". ") + 1 == 3
    for (_, _, cells), color in zip(report.sections[0].lines, found.colors, strict=True):
        said = [cell.words for cell in cells[1:]]
        held = [seen.holding is Holding.HOLDS for seen in color.check.lights]
        assert [word == ("",) for word in said] == held
        assert all(len(cell.patches) == 2 for cell in cells)
    behind = next(s for s in report.sections if s.title == "Numbers")
    assert behind.apart
    front = report.sections[: report.sections.index(behind)]
    cells = [cell for section in front for _, _, line in section.lines for cell in line]
    assert not any(" off" in word for cell in cells for word in cell.words)
