"""The simulated hand, its coats and dyes; the bench's optics, held to a closed theory and sums."""

from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.oracle import (
    MOST_AMOUNT,
    Dye,
    Effects,
    SimulatedBench,
    Slab,
    SolvedSlab,
    Steadiness,
    by_hand,
    pile,
    set_up,
    solve,
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
    made = swatch(lively, recipe, STEADY, np.random.default_rng(1), scale=0.0, noise=0.0)
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


SHARES = (0.0, 0.02, 0.1, 0.5, 1.0)


def _slab(share: float, *, scattering: float = 30.0) -> Slab:
    return Slab("White", np.linspace(0.05, 0.02, 36), scattering, share)


def _amounts(count: int) -> FloatArray:
    rng = np.random.default_rng(5)
    return np.exp(rng.uniform(np.log(0.003), np.log(0.9 * MOST_AMOUNT), (count, 36)))


def _chandrasekhar(albedo: float) -> float:
    """Return the plane albedo at normal incidence, 1 − √(1 − ω) H(1), by iterating H."""
    nodes, weights = np.polynomial.legendre.leggauss(80)
    mu, w = 0.5 * (nodes + 1.0), 0.5 * weights
    h, at_one, loss = np.ones_like(mu), 1.0, np.sqrt(1.0 - albedo)
    for _ in range(400):
        kernel = 0.5 * albedo * w * mu * h
        at_one = 1.0 / (loss + (kernel / (1.0 + mu)).sum())
        h = 1.0 / (loss + (kernel / (mu[:, None] + mu)).sum(axis=1))
    return float(1.0 - loss * at_one)


@pytest.mark.parametrize("albedo", [0.5, 0.9, 0.99])
def test_a_deep_slab_reflects_as_chandrasekhar_found(albedo: float) -> None:
    """A slab too deep to see through reflects 1 − √(1 − ω) H(1), from Chandrasekhar's H function
    for isotropic scattering (Radiative Transfer, 1950, § 34–38).
    """
    depth = 200.0
    absorbed = np.full(36, depth * (1.0 / albedo - 1.0))
    seen = SolvedSlab(Slab("Deep", absorbed, depth, 1.0)).reflectance(np.zeros(36))
    assert seen == pytest.approx(np.full(36, _chandrasekhar(albedo)), abs=1e-5)


def test_dye_in_the_whole_sheet_is_a_grayer_sheet() -> None:
    """Dye through and through does what the same absorption of the paper itself would do."""
    dyed = SolvedSlab(_slab(1.0))
    dye = np.linspace(0.1, 4.0, 36)
    gray = SolvedSlab(Slab("Gray", dyed.slab.absorption + dye * dyed.unit, 30.0, 0.3))
    assert dyed.reflectance(dye) == pytest.approx(gray.reflectance(np.zeros(36)), abs=1e-7)


def test_a_clear_film_is_passed_straight_in_and_slanting_out() -> None:
    """Under a thin film the loss lies between two straight passes and one straight plus one at
    twice the depth, which is the mean slant of evenly scattered light.
    """
    film = SolvedSlab(_slab(0.0))
    dye = np.full(36, 0.01)
    lost = -np.log(film.reflectance(dye) / film.reflectance(np.zeros(36)))
    depth = 0.01 * film.unit
    assert np.all(lost > 2.0 * depth)
    assert np.all(lost < 3.0 * depth)


@pytest.mark.parametrize("share", SHARES)
def test_bare_paper_looks_the_same_wherever_its_dye_would_lie(share: float) -> None:
    """Without dye, cutting the sheet at any depth changes nothing."""
    whole = SolvedSlab(_slab(1.0)).reflectance(np.zeros(36))
    assert SolvedSlab(_slab(share)).reflectance(np.zeros(36)) == pytest.approx(whole, abs=1e-6)


@pytest.mark.parametrize("share", SHARES)
def test_one_halving_halves_a_white_that_absorbs_nothing(share: float) -> None:
    """One unit of dye leaves half the reflectance, at every share."""
    sheet = SolvedSlab(Slab("Pure", np.zeros(36), 30.0, share))
    bare, dyed = sheet.reflectance(np.zeros(36)), sheet.reflectance(np.ones(36))
    assert dyed == pytest.approx(0.5 * bare, abs=1e-8)


@pytest.mark.parametrize(
    ("share", "tolerance"), [(0.0, 1e-4), (0.02, 1e-5), (0.1, 1e-5), (1, 1e-5)]
)
def test_eight_angles_are_enough(share: float, tolerance: float) -> None:
    """Against 24 angles the reflectance differs by under 1e-4 below a film, 1e-5 in paper."""
    coarse = SolvedSlab(_slab(share))
    fine = SolvedSlab(_slab(share), angles=24)
    fine.unit = coarse.unit
    for amount in _amounts(2):
        assert coarse.reflectance(amount) == pytest.approx(fine.reflectance(amount), abs=tolerance)


@pytest.mark.parametrize("share", SHARES)
def test_between_its_nodes_a_response_is_true_to_the_solved_transfer(share: float) -> None:
    """Interpolating costs less than 1e-5 in reflectance."""
    sheet, response = SolvedSlab(_slab(share)), solve(_slab(share))
    amounts = np.vstack([np.zeros((1, 36)), _amounts(4)])
    solved = np.array([sheet.reflectance(amount) for amount in amounts])
    assert response(amounts) == pytest.approx(solved, abs=1e-5)


def test_more_dye_is_darker_until_the_nodes_end() -> None:
    """Reflectance falls with every bit of dye and stays where the last node is."""
    response = solve(_slab(0.1))
    ladder = np.linspace(0.0, MOST_AMOUNT, 4000)[:, None] * np.ones(36)
    assert np.all(np.diff(response(ladder), axis=0) < 0.0)
    beyond = response(np.full(36, 2.0 * MOST_AMOUNT))
    assert np.array_equal(beyond, response(ladder[-1]))
    last = SolvedSlab(_slab(0.1)).reflectance(np.full(36, MOST_AMOUNT))
    assert beyond == pytest.approx(last, abs=1e-8)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_share_is_a_share(share: float) -> None:
    """The share that takes the dye lies between 0 and 1."""
    with pytest.raises(ValueError, match="0 to 1"):
        _slab(share)
