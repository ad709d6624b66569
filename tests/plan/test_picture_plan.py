"""A picture's plan, held to a drawing of which every pixel is known."""

import numpy as np
import pytest

from laydown.color.lab import ciede2000
from laydown.color.value import value_from_lab
from laydown.demo.lemons import PARTS, STEPS, color_of, draw_lemons
from laydown.errors import BadFileError
from laydown.plan.picture.picture import PicturePlan, PlanRules, color_of_regions
from laydown.plan.picture.plan import make_plan
from laydown.plan.picture.regions import pieces, worth_of

SIZE = {"rows": 320, "columns": 480}
TROUBLES = {
    "clean": {"soft": 0.0, "grain": 0.0, "uneven": 0.0},
    "soft edges": {"soft": 2.0, "grain": 0.0, "uneven": 0.0},
    "noise": {"soft": 0.0, "grain": 4.0, "uneven": 0.0},
    "uneven texture": {"soft": 0.0, "grain": 0.0, "uneven": 2.5},
    "all of it": {"soft": 1.5, "grain": 3.0, "uneven": 2.0},
}


def planned(rules: PlanRules | None = None, **trouble: float) -> PicturePlan:
    """Plan the drawing of lemons."""
    return make_plan(draw_lemons(**SIZE, **trouble)[0], rules or PlanRules())


def steps_of(plan: PicturePlan) -> np.ndarray:
    """Return the value step of each pixel."""
    table = np.zeros(plan.values.labels.max() + 1, dtype=int)
    for region in plan.values.regions:
        table[region.number] = region.value_step
    return table[plan.values.labels]


@pytest.fixture(scope="module")
def plan() -> PicturePlan:
    """Return the plan of the usual drawing."""
    return planned()


@pytest.mark.parametrize("trouble", TROUBLES)
def test_95_of_100_pixels_lie_in_their_step(trouble: str) -> None:
    """Of pixels of known regions at least 95 % are in the right step, whatever the trouble."""
    lab, part = draw_lemons(**SIZE, **TROUBLES[trouble])
    right = steps_of(make_plan(lab, PlanRules())) == STEPS[part]
    assert right.mean() >= 0.95


def test_the_palette_is_that_of_the_drawing(plan: PicturePlan) -> None:
    """Each color drawn is in the palette, and nothing is in it that was not drawn."""
    drawn = np.array([color_of(part) for part in PARTS])
    found = np.array([color.lab for color in plan.palette])
    off = ciede2000(drawn[:, None, :], found[None, :, :])
    assert off.min(axis=1).max() < 2.0
    assert off.min(axis=0).max() < 2.0


def test_the_palette_goes_from_light_to_dark_and_fills_the_picture(plan: PicturePlan) -> None:
    """Numbers rise from light to dark; shares of colors and of regions add up to 100."""
    assert [color.number for color in plan.palette] == list(range(1, len(plan.palette) + 1))
    assert np.all(np.diff([color.value_step for color in plan.palette]) <= 0)
    assert sum(color.share for color in plan.palette) == pytest.approx(100.0)
    assert sum(region.share for region in plan.values.regions) == pytest.approx(100.0)


def test_regions_are_worth_coloring(plan: PicturePlan) -> None:
    """Each is of one piece and as large as the rules ask; shares tell their areas."""
    labels = plan.values.labels
    area = np.bincount(labels.ravel())[1:]
    assert area.min() >= worth_of(plan.rules, labels.shape[1])[1]
    assert pieces(labels).max() == len(plan.values.regions)
    for region in plan.values.regions:
        assert region.share == pytest.approx(100.0 * area[region.number - 1] / labels.size)


def test_a_color_lies_in_the_step_it_is_counted_to(plan: PicturePlan) -> None:
    """The value of each color falls between the boundaries of its step."""
    labs = np.array([color.lab for color in plan.palette])
    steps = np.digitize(value_from_lab(labs), plan.values.boundaries)
    assert steps.tolist() == [color.value_step for color in plan.palette]
    kinds = {(region.color, region.value_step) for region in plan.values.regions}
    assert kinds == {(color.number, color.value_step) for color in plan.palette}


def test_two_colors_of_one_value_are_two_regions() -> None:
    """Yellow beside blue of the same value makes one step and two colors."""
    seen = np.zeros((80, 120, 3))
    seen[:, :60], seen[:, 60:] = [60.0, 0.0, 50.0], [60.0, 0.0, -40.0]
    plan = make_plan(seen, PlanRules())
    assert plan.values.steps == 1
    assert len(plan.palette) == 2
    assert len(np.unique(color_of_regions(plan.values)[plan.values.labels])) == 2
    assert "asked for" in plan.notes[0]


@pytest.mark.parametrize("colors", [6, 7, 9])
def test_a_number_of_colors_may_be_asked_for(colors: int) -> None:
    """The palette has no more than that, and at least one color a step."""
    plan = planned(PlanRules(colors=colors), soft=0.0, grain=0.0, uneven=0.0)
    assert plan.values.steps <= len(plan.palette) <= colors


@pytest.mark.parametrize("steps", [2, 4, 9])
def test_as_many_steps_as_are_asked_for(steps: int) -> None:
    """Levels rise, and boundaries lie between them, evenly where that is asked for."""
    plan = planned(PlanRules(steps=steps, even=True))
    assert plan.values.steps == steps
    levels, boundaries = plan.values.levels, plan.values.boundaries
    assert np.all(levels[:-1] < boundaries)
    assert np.all(boundaries < levels[1:])
    assert np.allclose(np.diff(boundaries), np.diff(boundaries).mean() if steps > 2 else 0)


def test_a_larger_tip_leaves_fewer_regions() -> None:
    """What a broad tip can't color goes to its neighbors."""
    fine = planned(PlanRules(tip=0.5, least=1.0, width=100.0))
    broad = planned(PlanRules(tip=8.0, least=150.0, width=100.0))
    assert len(broad.values.regions) < len(fine.values.regions)


def test_a_cut_out_picture_is_planned_where_it_is() -> None:
    """Transparent pixels belong to no region and have no say in values."""
    seen, part = draw_lemons(**SIZE)
    opaque = np.zeros(part.shape, dtype=bool)
    opaque[:, 100:] = True
    seen[:, :100] = [0.0, 0.0, 0.0]
    plan = make_plan(seen, PlanRules(), opaque=opaque)
    assert np.array_equal(plan.values.labels == 0, ~opaque)
    assert min(color.lab[0] for color in plan.palette) > 8.0


def test_hatching_is_a_region_of_the_mean_of_its_light() -> None:
    """Lines of black on white, as wide as the gaps between, are one area of half the light."""
    seen = np.full((200, 300, 3), [100.0, 0.0, 0.0])
    seen[50:150, 100:200:4, 0] = seen[50:150, 101:200:4, 0] = 0.0
    plan = make_plan(seen, PlanRules(width=100.0))
    middle = plan.values.labels[100, 150]
    region = next(r for r in plan.values.regions if r.number == middle)
    assert region.share == pytest.approx(100.0 / 6.0, abs=4.0)
    assert float(value_from_lab(region.lab)) == pytest.approx(7.6, abs=0.4)  # of Y 50


def test_a_picture_that_can_not_be_seen_is_refused() -> None:
    """Where all is transparent there is nothing to plan."""
    with pytest.raises(BadFileError, match="transparent"):
        make_plan(np.zeros((60, 60, 3)), PlanRules(), opaque=np.zeros((60, 60), dtype=bool))


def test_more_regions_than_anybody_colors_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """The message says how many there would be, the hint what to ask for."""
    monkeypatch.setattr("laydown.plan.picture.plan.MOST_REGIONS", 3)
    with pytest.raises(BadFileError, match=r"make [\d,]+ regions; at most 3") as caught:
        planned()
    assert "broader tip" in caught.value.hint
    assert "--least" in caught.value.command


def test_a_tip_wider_than_the_picture_leaves_it_whole() -> None:
    """Rules that no region can meet give what is there, and no error."""
    lab, _ = draw_lemons(rows=80, columns=120)
    plan = make_plan(lab, PlanRules(tip=50.0, least=10_000.0, width=20.0))
    assert len(plan.values.regions) == 1
    assert plan.palette[0].share == pytest.approx(100.0)


def test_the_same_picture_has_the_same_plan(plan: PicturePlan) -> None:
    """Nothing in a plan is left to chance."""
    again = planned()
    assert np.array_equal(again.values.labels, plan.values.labels)
    assert [c.lab.tolist() for c in again.palette] == [c.lab.tolist() for c in plan.palette]
