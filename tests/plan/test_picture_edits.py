"""A plan changed by hand."""

import numpy as np
import pytest

from laydown.errors import BadEditError
from laydown.plan.picture.edits import Edit, edited
from laydown.plan.picture.picture import PicturePlan, PlanRules, Region
from laydown.plan.picture.plan import make_plan
from laydown.plan.picture.recipes import lesson_of


@pytest.fixture(scope="module")
def plan() -> PicturePlan:
    """Return a plan of four stripes from dark to light, and a light patch."""
    seen = np.zeros((60, 160, 3))
    for stripe, lightness in enumerate((20.0, 40.0, 65.0, 90.0)):
        seen[:, 40 * stripe : 40 * stripe + 40, 0] = lightness
    seen[20:40, 10:30] = [90.0, 0.0, 0.0]
    return make_plan(seen, PlanRules(steps=4, width=160.0), title="Stripes")


def at(plan: PicturePlan, row: int, column: int) -> Region:
    """Return the region that lies at a pixel."""
    number = plan.values.labels[row, column]
    return next(region for region in plan.values.regions if region.number == number)


def test_merged_regions_are_one_and_the_first_stays(plan: PicturePlan) -> None:
    """The first keeps number and color and takes the area of the others."""
    one, other = at(plan, 5, 5), at(plan, 5, 60)
    done = edited(plan, [Edit("merge", (one.number, other.number))])
    both = at(done, 5, 60)
    assert both.number == one.number
    assert both.share == pytest.approx(one.share + other.share)
    assert len(done.values.regions) == len(plan.values.regions) - 1
    assert len(done.palette) == len(plan.palette) - 1
    assert sum(region.share for region in done.values.regions) == pytest.approx(100.0)


def test_regions_that_do_not_touch_are_not_merged(plan: PicturePlan) -> None:
    """The message names the one that is out of touch; by way of others it is merged."""
    dark, middle, light = (at(plan, 5, column).number for column in (5, 60, 100))
    with pytest.raises(BadEditError, match=f"Region {light} touches none"):
        edited(plan, [Edit("merge", (dark, light))])
    assert at(edited(plan, [Edit("merge", (dark, light, middle))]), 5, 100).number == dark


def test_a_region_is_split_by_value(plan: PicturePlan) -> None:
    """What was merged is split again, with colors and steps as they were, the numbers new."""
    dark, middle = at(plan, 5, 5), at(plan, 5, 60)
    done = edited(
        plan, [Edit("merge", (dark.number, middle.number)), Edit("split", (dark.number,), 3.0)]
    )
    assert at(done, 5, 5).value_step == dark.value_step
    assert at(done, 5, 60).value_step == middle.value_step
    assert at(done, 5, 60).lab == pytest.approx(middle.lab, abs=0.5)
    assert len(done.palette) == len(plan.palette)
    assert (
        max(r.number for r in done.values.regions) == max(r.number for r in plan.values.regions) + 1
    )
    assert sum(region.share for region in done.values.regions) == pytest.approx(100.0)


def test_a_split_finds_the_break_by_itself(plan: PicturePlan) -> None:
    """Without a value the region parts where its lights and darks part."""
    dark, middle = at(plan, 5, 5).number, at(plan, 5, 60).number
    done = edited(plan, [Edit("merge", (dark, middle)), Edit("split", (dark,))])
    assert at(done, 5, 5).number != at(done, 5, 60).number


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (Edit("merge", (1, 99)), "no region 99"),
        (Edit("merge", (1, 1)), "Only one region"),
        (Edit("split", (99,)), "no region 99"),
        (Edit("split", (1,), 9.9), "nothing worth coloring"),
        (Edit("split", (1,)), "of one value"),
        (Edit("assign", (1,), None, "x" * 61), "61 letters"),
        (Edit("assign", (1,), role="hero"), "no role"),
    ],
)
def test_what_can_not_be_done_is_said(plan: PicturePlan, edit: Edit, said: str) -> None:
    """The message says which region, and the hint what to do."""
    with pytest.raises(BadEditError, match=said) as caught:
        edited(plan, [edit])
    assert caught.value.hint


def test_passages_and_roles_go_into_the_lesson(plan: PicturePlan) -> None:
    """A passage's colors go from light to dark, with roles by that order unless they were given."""
    numbers = tuple(at(plan, 5, column).number for column in (5, 60, 100))
    light = at(plan, 5, 140).number
    done = edited(
        plan,
        [
            Edit("assign", numbers, None, "  stripes "),
            Edit("assign", (light,), None, "sky"),
            Edit("assign", (numbers[1],), role="accent"),
        ],
    )
    lesson = lesson_of(done, paper="Gannet smooth")
    told = [(color.passage, color.role) for color in lesson.colors]
    assert told[:4] == [
        ("sky", "midtone"),
        ("stripes", "highlight"),
        ("stripes", "accent"),
        ("stripes", "shadow"),
    ]
    assert told[4:] == [("", "")]
    assert sum(color.share or 0.0 for color in lesson.colors) == pytest.approx(100.0, abs=0.3)
    assert len({color.name for color in lesson.colors}) == len(lesson.colors)


def test_an_empty_name_takes_a_region_out_of_its_passage(plan: PicturePlan) -> None:
    """Assigning nothing undoes an assignment."""
    done = edited(
        plan, [Edit("assign", (1,), None, "sky", "light"), Edit("assign", (1,), None, "", "")]
    )
    assert (done.values.regions[0].passage, done.values.regions[0].role) == ("", "")
