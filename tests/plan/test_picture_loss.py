"""What a kit's picture lacks against the plan."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from laydown.app.pictures.plans import plan_pixels
from laydown.color.lab import ciede2000
from laydown.color.value import value_from_lab
from laydown.demo.lemons import draw_lemons
from laydown.imaging.picture import open_picture
from laydown.plan.picture.picture import PicturePlan, PlanRules
from laydown.plan.picture.plan import make_plan
from laydown.plan.picture.recipes import flattened, lost, painted


@pytest.fixture(scope="module")
def plan() -> PicturePlan:
    """Return the plan of the lemons."""
    return make_plan(draw_lemons(rows=200, columns=300)[0], PlanRules(width=300.0))


@pytest.fixture
def wanted(plan: PicturePlan) -> np.ndarray:
    """Return the palette, shape (colors, 3)."""
    return np.array([color.lab for color in plan.palette])


def photographed(plan: PicturePlan, labs: np.ndarray) -> np.ndarray:
    """Write the plan in these colors as a PNG in 8 bits and read that back."""
    content = io.BytesIO()
    Image.fromarray(plan_pixels(plan, labs)).save(content, "PNG")
    return open_picture(content.getvalue(), source="made.png").lab.astype(np.float64)


def kits(wanted: np.ndarray, count: int) -> list[np.ndarray]:
    """Return what some kits make of a palette, a few units off each way."""
    chance = np.random.default_rng(5)
    return [wanted + chance.normal(0.0, 2.5, wanted.shape) for _ in range(count)]


def test_the_picture_made_is_off_by_what_was_promised(
    plan: PicturePlan, wanted: np.ndarray
) -> None:
    """Pixel by pixel, the mean difference over the picture is that over the palette by area."""
    for made in kits(wanted, 5):
        seen = ciede2000(painted(plan), painted(plan, made)).mean()
        assert float(seen) == pytest.approx(lost(plan, made, ()).mean, abs=1e-6)


def test_the_promise_holds_through_a_file_of_8_bits(plan: PicturePlan, wanted: np.ndarray) -> None:
    """Written, opened again and compared, pictures of a dozen kits are as far off on the mean.

    A single one may be off by 0.2 more or less: 8 bits part a pale gray in steps of half a unit.
    """
    before = photographed(plan, wanted)
    made = kits(wanted, 12)
    promised = np.mean([lost(plan, labs, ()).mean for labs in made])
    seen = np.mean([ciede2000(before, photographed(plan, labs)).mean() for labs in made])
    assert float(seen) == pytest.approx(float(promised), abs=0.1)
    assert promised > 1.0


def test_nothing_is_lost_where_the_kit_has_every_color(
    plan: PicturePlan, wanted: np.ndarray
) -> None:
    """The palette itself is off by nothing and keeps all steps."""
    found = lost(plan, wanted, ())
    assert (found.mean, found.worst, found.mean_value) == (0.0, 0.0, 0.0)
    assert found.steps_kept == pytest.approx(1.0)
    assert found.merged == ()


def test_the_color_farthest_off_is_named(plan: PicturePlan, wanted: np.ndarray) -> None:
    """A color that is moved alone is the worst, and its area gives its weight."""
    made = wanted.copy()
    made[2, 2] += 12.0
    found = lost(plan, made, (3,))
    assert found.worst_color == 3
    assert found.mean == pytest.approx(found.worst * plan.palette[2].share / 100.0)
    assert found.out_of_reach == (3,)


def test_a_color_that_leaves_its_value_step_is_counted(
    plan: PicturePlan, wanted: np.ndarray
) -> None:
    """What a kit makes as light as the paper no longer is in a dark step."""
    made = wanted.copy()
    made[-1] = [95.0, 0.0, 0.0]
    found = lost(plan, made, ())
    assert found.steps_kept == pytest.approx(1.0 - plan.palette[-1].share / 100.0)
    up = float(value_from_lab(made[-1]) - value_from_lab(wanted[-1]))
    assert found.mean_value == pytest.approx(up * plan.palette[-1].share / 100.0)


def test_colors_that_became_alike_are_told_in_pairs(plan: PicturePlan, wanted: np.ndarray) -> None:
    """Two colors that were different and are made by the same recipe are merged."""
    made = wanted.copy()
    made[3] = made[2]
    assert lost(plan, made, ()).merged == ((3, 4),)


def test_a_drawing_of_flat_parts_is_hardly_flattened() -> None:
    """Planning loses nothing where each part has one color, and more where there is texture."""
    flat = make_plan(
        draw_lemons(rows=200, columns=300, soft=0.0, grain=0.0, uneven=0.0)[0], PlanRules()
    )
    rough = make_plan(draw_lemons(rows=200, columns=300, uneven=3.0)[0], PlanRules())
    assert flattened(flat) < 0.6
    assert flattened(rough) > flattened(flat) + 0.5


def test_what_is_not_colored_stays_white(plan: PicturePlan) -> None:
    """Pixels of no region are bare paper in the picture made."""
    labels = plan.values.labels.copy()
    labels[:5] = 0
    bare = painted(replace(plan, values=replace(plan.values, labels=labels)))
    assert (bare[:5] == [100.0, 0.0, 0.0]).all()
