"""A recipe of one's own supplies as a wanted color: what both share of what is unsure falls out."""

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from laydown.app.fits import Supplies
from laydown.app.lessons.lessons import (
    LessonAsked,
    TargetRow,
    convert_lesson,
    new_lesson,
    write_lesson,
)
from laydown.app.library import Library, open_named
from laydown.app.light.checking import CheckLight, check_light
from laydown.app.matches.colors import Asking, MakeChart, make_chart, match_color
from laydown.app.notebook.trials import AddTrial, add_trial
from laydown.media.recipe import format_recipe

PAPER, OWN, TEACHERS = "Gannet smooth", "Beeswax; Gravel", "Sandhopper; Lantern"
SUPPLIES = Supplies(kit="demo student", paper=PAPER)
ASKING = Asking(SUPPLIES, steps=2, coats=1, top=1)
LIKELY = 0.65
"""Once the same recipe was said to be accepted by 41 in 100; the hand alone leaves 71."""


@pytest.fixture(scope="module")
def demo(
    tmp_path_factory: pytest.TempPathFactory, lay_demo: Callable[[Path], Path]
) -> Iterator[Library]:
    """Give a library with the demo's supplies."""
    library = open_named(str(lay_demo(tmp_path_factory.mktemp("own") / "demo.db")))
    yield library
    library.close()


def test_the_same_recipe_is_the_likeliest(demo: Library) -> None:
    """Asked for a recipe of the kit, that recipe itself is close, and likelier than any other."""
    found = match_color(demo, OWN, ASKING)
    best, *others = (found.best, *found.alternatives)
    assert format_recipe(best.prediction.recipe) == OWN
    assert best.acceptance > LIKELY
    assert all(other.acceptance < best.acceptance for other in others)
    assert np.trace(best.covariance) < np.trace(best.prediction.covariance)


def test_a_chart_says_the_same(demo: Library) -> None:
    """A row of a chart is as sure as the color alone."""
    (match,) = make_chart(demo, MakeChart(colors=(OWN,), asking=ASKING)).matches
    assert match.best.acceptance > LIKELY


def test_so_does_a_look_under_other_lights(demo: Library) -> None:
    """By day the pair is as likely accepted there; under a lamp it stays the same pair."""
    asked = CheckLight(colors=(OWN,), lights=("evening lamp",), asking=ASKING)
    (color,) = check_light(demo, asked).colors
    assert color.check.by_day.acceptance == pytest.approx(color.best.acceptance, abs=0.01)
    assert color.check.by_day.acceptance > LIKELY
    (lamp,) = color.check.lights
    assert lamp.acceptance > LIKELY
    assert lamp.index_range[1] < 0.5


def test_a_lesson_made_of_own_recipes_is_known_again(demo: Library) -> None:
    """Its file tells the color and what it was made with; the swatches still lead to expect it."""
    rows = (TargetRow(1, OWN, "", "rind", "light", ""), TargetRow(2, TEACHERS, "", "rind", "", ""))
    made = new_lesson(demo, None, "", title="Two", paper=PAPER, rows=rows)
    converted = convert_lesson(demo, LessonAsked(write_lesson(made), "two.txt", ASKING, turns=1))
    by_name = {match.target.name: match for match in converted.singly.matches}
    assert by_name[OWN].best.acceptance > LIKELY
    assert by_name[TEACHERS].target.own_recipe is None
    assert all(m.target.own_recipe is None for m in converted.turned_charts[0].matches)


def test_a_recipe_is_wanted_as_swatched_whatever_trials_taught(demo: Library) -> None:
    """After trials by a heavy hand the color of a recipe is still what swatches lead to expect."""
    before = match_color(demo, OWN, ASKING)
    with demo.work("begin") as work:
        work.add_kit("heavy")
        work.own("heavy", list(work.kit("demo student")))
    supplies = Supplies(kit="heavy", paper=PAPER)
    for text, color in (("Beeswax*2", "lab:88,-8,64"), ("Gravel*2", "lab:48,1,3")):
        add_trial(demo, AddTrial(text, color, kit="heavy", paper=PAPER))
    after = match_color(demo, OWN, Asking(supplies, steps=2, coats=1, top=1))
    assert after.target.own_recipe == before.target.own_recipe is not None
    assert after.target.lab == pytest.approx(before.target.lab)
