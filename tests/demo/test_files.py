"""The demo's shipped files: whole, invented, and enough to fit and convert."""

import re
from collections import Counter

import pytest

from laydown.demo.files import (
    CLASS_PAPER,
    LESSON_FILE,
    SECOND_PAPER,
    SECOND_PAPER_FILE,
    SWATCH_FILES,
    data_file,
    read_rows,
)
from laydown.media.recipe import Colorant, Step, format_recipe, parse_recipe
from laydown.plan.chart import ROLE_ORDER

COLUMNS = [
    "range",
    "medium",
    "color",
    "paper",
    "coats",
    "stroke",
    "pressure",
    "dilution",
    "wait",
    "over",
    "blender",
]
BANDS = [f"r{band}" for band in range(380, 740, 10)]
EVERY = (*SWATCH_FILES, SECOND_PAPER_FILE)


def test_the_ranges_are_as_large_as_the_scenario_says() -> None:
    """Estuary has 60 markers, Orchard 36, each with one blender, and no name comes twice."""
    rows = read_rows("colorants.csv")
    assert Counter(row["range"] for row in rows) == {"Estuary": 60, "Orchard": 36}
    assert Counter(row["color"] for row in rows).most_common(1)[0][1] == 1
    colorless = [row["range"] for row in rows if row["blender"] == "yes"]
    assert colorless == ["Estuary", "Orchard"]


def test_the_swatches_say_which_marker_is_the_blender() -> None:
    """A swatch file tells a colorless blender from a marker, so that importing it knows."""
    for name, blender in zip(SWATCH_FILES, ("Clear tide", "Rainwater"), strict=True):
        said = {row["color"] for row in read_rows(name) if row["blender"] == "yes"}
        assert said == {blender}


def test_names_are_plain_words() -> None:
    """No colorant's name holds a digit or looks like a code."""
    names = [row["color"] for row in read_rows("colorants.csv")]
    assert [name for name in names if not re.fullmatch(r"[A-Z][a-z]+( [a-z]+)*", name)] == []


@pytest.mark.parametrize("name", EVERY)
def test_swatch_files_have_the_columns_and_possible_spectra(name: str) -> None:
    """Every row has the swatch table's columns and 36 reflectances between 0 and 1."""
    rows = read_rows(name)
    assert list(rows[0]) == COLUMNS + BANDS
    assert all(0.0 < float(row[band]) < 1.0 for row in rows for band in BANDS)
    paper = SECOND_PAPER if name == SECOND_PAPER_FILE else CLASS_PAPER
    assert {row["paper"] for row in rows} == {paper}
    assert rows[0]["color"] == ""


@pytest.mark.parametrize("name", SWATCH_FILES)
def test_swatch_files_hold_the_minimum_design(name: str) -> None:
    """Bare paper, one coat of all, two coats of ten, four pairs in both orders, two blends."""
    rows = read_rows(name)
    rang = rows[1]["range"]
    colorants = {row["color"] for row in read_rows("colorants.csv") if row["range"] == rang}
    single = [row for row in rows if row["color"] and not row["over"]]
    assert {row["color"] for row in single if row["coats"] == "1"} == colorants
    assert len([row for row in single if row["coats"] == "2"]) == 10
    pairs = {(row["over"], row["color"]) for row in rows if row["over"]}
    blenders = {row["color"] for row in rows if row["blender"] == "yes"}
    blended = {pair for pair in pairs if pair[1] in blenders}
    ordered = pairs - blended
    assert (len(blended), len(ordered)) == (2, 8)
    assert {(above, below) for below, above in ordered} == ordered


def test_the_lesson_is_colored_with_the_teachers_range() -> None:
    """Every wanted color is a marker of Estuary or layers of such, in a known role."""
    estuary = {row["color"] for row in read_rows("colorants.csv") if row["range"] == "Estuary"}
    for row in read_rows(LESSON_FILE):
        recipe = parse_recipe(row["color"], lambda name: Colorant(name, "Estuary"))
        assert format_recipe(recipe) == row["color"]
        steps = [step for step in recipe.steps if isinstance(step, Step)]
        assert {step.colorant.name for step in steps} <= estuary
        assert row["role"] in ROLE_ORDER
    assert len({row["passage"] for row in read_rows(LESSON_FILE)}) == 7


def test_the_files_say_that_they_are_invented() -> None:
    """SOURCES.md says so and names every file beside it, with the seed."""
    text = data_file("SOURCES.md").read_text(encoding="utf-8")
    names = {path.name for path in data_file("").iterdir()} - {"SOURCES.md"}
    assert {name for name in names if name not in text} == set()
    assert "**invented**" in text
    assert "20417" in text
    assert LESSON_FILE in names
