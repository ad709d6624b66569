"""The simulated hand, its coats and its dyes."""

from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.oracle import (
    Dye,
    Effects,
    Meter,
    SimulatedBench,
    Steadiness,
    by_hand,
    pile,
    set_up,
    swatch,
    truth,
    truths,
)
from laydown.errors import NotMeasuredError
from laydown.media.laydown import Laydown, Stroke, Wait
from laydown.media.recipe import Colorant, Medium, Recipe, Step, Tool, Treatment, TreatmentStep
from simulated.dyes import dye_set, white_slab

PALE = Colorant("Pale", "Test")
DARK = Colorant("Dark", "Test")
CLEAR = Colorant("Clear", "Test", blender=True)
INKS = {
    PALE: Dye(np.linspace(0.4, 0.0, 36), 0.8),
    DARK: Dye(np.linspace(1.0, 3.0, 36), 0.3),
    CLEAR: Dye(np.zeros(36), 1.0),
}
STEADY = Steadiness(spread=0.0, patchiness=0.0)
EXACT = Meter(scale=0.0, noise=0.0)


@pytest.fixture(scope="module")
def still() -> SimulatedBench:
    """A bench on which coats don't disturb each other."""
    return set_up(white_slab(share=0.1), INKS)


@pytest.fixture(scope="module")
def lively() -> SimulatedBench:
    """A bench on which they do."""
    return set_up(white_slab(share=0.1), INKS, Effects(filling=0.34, lifting=0.6))


def _recipe(*colorants: Colorant) -> Recipe:
    return Recipe(tuple(Step(colorant) for colorant in colorants))


def _laid(bench: SimulatedBench, recipe: Recipe) -> FloatArray:
    return pile(bench, recipe, np.ones(recipe.coats))


def test_undisturbed_coats_add_in_any_order(still: SimulatedBench) -> None:
    """Without filling and lifting the dyes on the paper are the sum of what was laid."""
    both = INKS[PALE].absorption + INKS[DARK].absorption
    assert _laid(still, _recipe(PALE, DARK)) == pytest.approx(both)
    assert np.array_equal(truth(still, _recipe(DARK, PALE)), truth(still, _recipe(PALE, DARK)))


def test_a_filled_paper_takes_less(lively: SimulatedBench) -> None:
    """At filling 0.34 the second coat leaves 1 − 0.34/1.7 = 0.8 of its dye, the third, over 1.8
    coats' worth, 1 − 0.34 · 1.8/2.5.
    """
    twice = Recipe((Step(DARK, Laydown(coats=2)),))
    thrice = Recipe((Step(DARK, Laydown(coats=3)),))
    assert _laid(lively, twice) == pytest.approx(1.8 * INKS[DARK].absorption)
    assert _laid(lively, thrice) == pytest.approx(
        (1.8 + 1.0 - 0.34 * 1.8 / 2.5) * INKS[DARK].absorption
    )


def test_solvent_lifts_what_was_laid_with_less_of_it(lively: SimulatedBench) -> None:
    """A blender with 0.7 more solvent than the dark ink below takes off 0.6 · 0.7 of it, adds
    nothing, and does nothing to bare paper; the dark ink lifts nothing of the pale one.
    """
    assert _laid(lively, _recipe(DARK, CLEAR)) == pytest.approx(0.58 * INKS[DARK].absorption)
    assert not _laid(lively, _recipe(CLEAR)).any()
    over = _laid(lively, _recipe(PALE, DARK))
    assert over == pytest.approx(INKS[PALE].absorption + 0.8 * INKS[DARK].absorption)


def test_order_matters_where_coats_disturb_each_other(lively: SimulatedBench) -> None:
    """Pale over dark and dark over pale are two colors."""
    one, other = lab_from_reflectance(truths(lively, [_recipe(PALE, DARK), _recipe(DARK, PALE)]))
    assert ciede2000(one, other) > 1.0


def test_strokes_and_wet_ground_change_the_amount(still: SimulatedBench) -> None:
    """A quick stroke leaves the bench's share of dye, a soaked one and wet ground more."""
    for laydown, share in (
        (Laydown(stroke=Stroke.QUICK), still.effects.quick),
        (Laydown(stroke=Stroke.SOAKED), still.effects.soaked),
        (Laydown(wait=Wait.WET), still.effects.wet),
    ):
        recipe = Recipe((Step(DARK, laydown),))
        assert _laid(still, recipe) == pytest.approx(share * INKS[DARK].absorption)


def test_a_steady_hand_read_exactly_is_the_truth(lively: SimulatedBench) -> None:
    """With no unevenness and no noise a swatch shows the truth and has no spread."""
    recipe = _recipe(DARK, PALE, DARK)
    made = swatch(lively, recipe, STEADY, np.random.default_rng(1), meter=EXACT)
    assert made.reflectance == pytest.approx(truth(lively, recipe), abs=1e-12)
    assert made.spread == pytest.approx(0.0, abs=1e-9)
    assert made.recipe == recipe
    assert made.paper == "Test white"


def test_a_heavier_hand_lays_more(lively: SimulatedBench) -> None:
    """A hand's amount multiplies every coat."""
    heavy = Steadiness(amount=1.2, spread=0.0)
    laid = by_hand(lively, _recipe(DARK), heavy, np.random.default_rng(1))
    assert laid == pytest.approx(truth(lively, _recipe(DARK), amount=1.2))
    assert np.all(laid < truth(lively, _recipe(DARK)))


def test_hands_spread_as_they_say(still: SimulatedBench) -> None:
    """Over 2,000 patches the logarithm of one coat's dye spreads by the hand's own figure."""
    rng = np.random.default_rng(2)
    amounts = np.exp(Steadiness().spread * rng.standard_normal((2000, 1)))
    dye = pile(still, _recipe(DARK), amounts)[:, 0]
    assert np.log(dye).std() == pytest.approx(0.06, rel=0.06)


def test_the_same_chance_gives_the_same_swatch(lively: SimulatedBench) -> None:
    """Seeds fix dyes and swatches; other seeds give others."""
    recipe = _recipe(PALE, DARK)
    one, same, other = (
        swatch(lively, recipe, Steadiness(), np.random.default_rng(seed)) for seed in (3, 3, 4)
    )
    assert np.array_equal(one.reflectance, same.reflectance)
    assert not np.array_equal(one.reflectance, other.reflectance)
    assert one.spread > 0.0
    first, again = dye_set(1, 4), dye_set(1, 4)
    assert all(np.array_equal(first[c].absorption, again[c].absorption) for c in first)


def test_what_the_bench_does_not_know_it_refuses(still: SimulatedBench) -> None:
    """Unknown markers, pencils and treatments get no invented truth."""
    stranger = Colorant("Stranger", "Test")
    pencil = Colorant("Dark", "Test", Medium.PENCIL)
    for step in (Step(stranger), Step(pencil), TreatmentStep(Treatment.SOLVENT, Tool.SWAB)):
        with pytest.raises(NotMeasuredError):
            truth(still, Recipe((Step(DARK), step)))


def test_no_recipes_have_no_truths(still: SimulatedBench) -> None:
    """An empty question gets an empty answer of the right width."""
    assert truths(still, []).shape == (0, 36)


def _fiber(reflectance: FloatArray) -> FloatArray:
    return (1.0 - reflectance) ** 2 / (2.0 * reflectance)


def _from_fiber(ratio: FloatArray) -> FloatArray:
    return 1.0 + ratio - np.sqrt(ratio * (ratio + 2.0))


def _film(reflectance: FloatArray) -> FloatArray:
    return -np.log(reflectance)


def _from_film(density: FloatArray) -> FloatArray:
    return np.exp(-density)


Scale = Callable[[FloatArray], FloatArray]


@pytest.mark.parametrize(
    ("share", "scale", "back", "low", "high"),
    [
        (0.0, _film, _from_film, 0.0, 0.5),
        (0.0, _fiber, _from_fiber, 2.5, 4.5),
        (0.02, _film, _from_film, 1.0, 4.5),
        (0.02, _fiber, _from_fiber, 1.0, 3.5),
        (1.0, _film, _from_film, 4.0, 6.5),
        (1.0, _fiber, _from_fiber, 0.0, 0.5),
    ],
)
def test_the_bench_spans_from_film_to_fiber(
    share: float, scale: Scale, back: Scale, low: float, high: float
) -> None:
    """Over 45 pairs of ten dyes, adding ln R holds for a clear film and fails for dyed fibers,
    adding K/S the other way round, and neither holds between.
    """
    dyes = dye_set(7, 10)
    bench = set_up(white_slab(share=share), dyes)
    once = {colorant: scale(truth(bench, _recipe(colorant))) for colorant in dyes}
    bare = scale(truth(bench, Recipe()))
    pairs = list(combinations(dyes, 2))
    predicted = back(np.array([once[one] + once[other] - bare for one, other in pairs]))
    true = truths(bench, [_recipe(*pair) for pair in pairs])
    missed = ciede2000(lab_from_reflectance(predicted), lab_from_reflectance(true))
    assert low <= missed.mean() <= high
