"""Line art, planned by the areas that its lines close."""

import numpy as np
import pytest
from scipy import ndimage

from laydown.color.value import value_from_lab
from laydown.plan.picture.edits import Edit, edited
from laydown.plan.picture.picture import PicturePlan, PlanRules
from laydown.plan.picture.plan import make_plan

RULES = PlanRules(width=120.0)


def drawn(*, gap: int = 0, lamp: float = 0.0, grain: float = 0.0) -> np.ndarray:
    """Return a house of a roof, a wall and a door in the open, drawn in lines of 1 mm."""
    row, column = np.mgrid[:300, :400]
    wall = (abs(column - 200) < 100) & (row > 150) & (row < 270)
    roof = (row > 60) & (row <= 150) & (abs(column - 200) < 1.4 * (row - 60))
    door = (abs(column - 200) < 25) & (row > 190) & (row < 270)
    classes = np.select([door, wall, roof], [3, 2, 1], 0)
    edge = ndimage.maximum_filter(classes, 4) != ndimage.minimum_filter(classes, 4)
    edge[200 : 200 + gap, 90:110] = False
    lab = np.zeros((300, 400, 3))
    lab[..., 0] = np.where(edge, 25.0, 94.0) - lamp * column / 400
    return lab + grain * np.random.default_rng(5).normal(size=lab.shape)


@pytest.mark.parametrize(
    "made", [{}, {"lamp": 20.0, "grain": 1.0}, {"gap": 2}], ids=["scan", "photograph", "gap"]
)
def test_lines_on_paper_are_planned_by_their_closed_areas(made: dict[str, float]) -> None:
    """Ground, roof, wall and door are four bare regions, under a lamp and with a small gap, too."""
    plan = make_plan(drawn(**made), RULES)  # type: ignore[arg-type]
    assert len(plan.values.regions) == 4
    assert len(plan.palette) == 1
    assert (plan.values.labels > 0).all()
    places = {name: plan.values.labels[at] for name, at in
              {"ground": (20, 20), "roof": (120, 200), "wall": (200, 120),
               "door": (230, 200)}.items()}  # fmt: skip
    assert len(set(places.values())) == 4
    assert "4 areas" in plan.notes[-1]


def test_a_painted_picture_is_no_line_art() -> None:
    """Planes of gray and color are planned by their values as ever."""
    lab = drawn()
    lab[160:260, 110:160] = (60.0, 20.0, 40.0)
    lab[100:140, 180:220] = (40.0, 0.0, -30.0)
    lab[:, :80] = (70.0, -20.0, 10.0)
    lab[:, 320:] = (50.0, 0.0, 0.0)
    assert not any("areas" in note for note in make_plan(lab, RULES).notes)


def plan_of_house() -> PicturePlan:
    """Return the plan of the house."""
    return make_plan(drawn(), RULES)


def test_areas_are_given_a_color_or_a_run() -> None:
    """One color makes two regions one number; a run goes from light to dark in even steps."""
    one = edited(plan_of_house(), [Edit("color", (2, 4), lab=(71.0, 8.0, 46.0))])
    assert len(one.palette) == 2
    by_number = {region.number: region for region in one.values.regions}
    assert by_number[2].color == by_number[4].color != by_number[1].color
    run = edited(one, [Edit("color", (2, 3, 4), lab=(90.0, 0.0, 20.0), to=(40.0, 10.0, 30.0))])
    labs = [region.lab for region in run.values.regions if region.number in (2, 3, 4)]
    assert np.diff(labs, n=2, axis=0) == pytest.approx(0.0, abs=1e-9)
    assert len(run.palette) == 4
    for color in run.palette:
        step = np.digitize(float(value_from_lab(color.lab)), run.values.boundaries)
        assert color.value_step == step
