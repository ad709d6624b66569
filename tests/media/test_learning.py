from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.learning import by_own_hand, learn
from laydown.media.inference.posterior import leave_one_out
from laydown.media.kit.fit import predict
from laydown.media.laydown import Laydown, Stroke
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.priors import EFFECTS, QUICK
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Fill, Swatch, Trial
from simulated.learning_bench import AMOUNT_ONLY

HEAVY = 0.25


@pytest.fixture(scope="module")
def fit(full: tuple[Swatch, ...], paper: Paper, colorants: Sequence[Colorant]) -> MarkerFit:
    """The fit of a full set of swatches."""
    return fit_markers(full, paper, colorants=list(colorants))


@pytest.fixture(scope="module")
def heavy(fit: MarkerFit) -> MarkerFit:
    """The same for a hand that lays exp(HEAVY) times as much."""
    return replace(
        fit,
        absorption=fit.absorption * np.exp(HEAVY),
        strength=fit.strength * np.exp(HEAVY),
    )


def recipe(*steps: tuple[Colorant, int], stroke: Stroke = Stroke.EVEN) -> Recipe:
    """Return a recipe of colorants and coats."""
    return Recipe(tuple(Step(c, Laydown(coats=n, stroke=stroke)) for c, n in steps))


@pytest.fixture(scope="module")
def recipes(colorants: Sequence[Colorant]) -> list[Recipe]:
    """Ten recipes of the first five colorants."""
    c = colorants
    return [
        *(recipe((c[i], 1)) for i in range(5)),
        *(recipe((c[i], 2)) for i in range(3)),
        recipe((c[0], 1), (c[3], 1)),
        recipe((c[4], 1), (c[1], 1)),
    ]


def trials_of(fit: MarkerFit, recipes: Sequence[Recipe]) -> list[Trial]:
    """Return trials that come out exactly as a fit predicts."""
    return [Trial(n, r, predict(fit, r).lab) for n, r in enumerate(recipes, 1)]


def test_without_trials_nothing_changes(fit: MarkerFit) -> None:
    """The fit of swatches is handed back itself."""
    assert learn(fit, []).fit is fit


def test_a_heavy_hand_is_learned(
    fit: MarkerFit, heavy: MarkerFit, recipes: list[Recipe], colorants: Sequence[Colorant]
) -> None:
    """Ten exact trials tell the amount, and a colorant never tried is predicted by it, too."""
    learned = learn(fit, trials_of(heavy, recipes))
    assert learned.amount == pytest.approx(HEAVY, abs=0.05)
    assert not learned.flagged.any()
    untried = recipe((colorants[5], 1))
    wanted = predict(heavy, untried).lab
    before = np.linalg.norm(predict(fit, untried).lab - wanted)
    after = np.linalg.norm(predict(learned.fit, untried).lab - wanted)
    assert after < 0.4 * before


def test_one_trial_tells_no_hand_and_several_that_agree_do(
    fit: MarkerFit, recipes: list[Recipe]
) -> None:
    """Each lies inside what was promised, to the same side: one moves nothing, two half of it."""
    darker = replace(fit, absorption=fit.absorption * 1.15, strength=fit.strength * 1.15)
    trials = trials_of(darker, recipes[:8])
    assert abs(learn(fit, trials[:1]).amount) < 0.01
    assert learn(fit, trials[:2]).amount > 0.065
    assert learn(fit, trials).amount == pytest.approx(np.log(1.15), abs=0.05)


@pytest.mark.parametrize("amount", [0.5, 0.7, 1.5, 2.0])
def test_a_trial_far_outside_is_a_slip_until_a_second_agrees(
    fit: MarkerFit, recipes: list[Recipe], amount: float
) -> None:
    """One is set aside and changes nothing; with another like it both count, and tell a hand."""
    strange = replace(fit, absorption=amount * fit.absorption, strength=amount * fit.strength)
    trials = trials_of(strange, [recipes[1], recipes[3], recipes[4]])
    alone = learn(fit, trials[:1])
    assert alone.flagged.all()
    assert alone.fit is fit
    together = learn(fit, trials)
    assert not together.flagged.any()
    assert together.amount == pytest.approx(np.log(amount), abs=0.2)


def test_two_slips_that_do_not_agree_tell_no_hand(fit: MarkerFit, recipes: list[Recipe]) -> None:
    """One twice as strong and one half as strong are both set aside, beside eight sound ones."""
    sound = trials_of(fit, recipes[2:])
    slips = [
        trials_of(replace(fit, absorption=a * fit.absorption, strength=a * fit.strength), [r])[0]
        for a, r in ((0.5, recipes[0]), (2.0, recipes[1]))
    ]
    slips = [replace(one, number=100 + n) for n, one in enumerate(slips)]
    learned = learn(fit, [*slips, *sound])
    assert learned.flagged_numbers == (100, 101)
    assert abs(learned.amount) < 0.02


def test_what_a_picture_is_off_by_is_no_hand(fit: MarkerFit, recipes: list[Recipe]) -> None:
    """Readings of one picture, all darker by its own error, teach less than single pictures do."""
    off = np.array([-11.0, 0.0, 0.0])
    read = [replace(t, lab=t.lab + off, noise=4.0, shared=3.9) for t in trials_of(fit, recipes)]
    together = [replace(t, picture="one") for t in read]
    apart = [replace(t, picture=str(t.number)) for t in read]
    moved = [learn(fit, trials).amount for trials in (together, apart)]
    assert abs(moved[0]) < 0.02
    assert moved[1] > 0.08


def test_one_strong_marker_is_told_from_a_heavy_hand(
    fit: MarkerFit, recipes: list[Recipe], colorants: Sequence[Colorant]
) -> None:
    """A marker 15 in 100 stronger is learned as its own strength, and the amount stays near 0."""
    absorption = fit.absorption.copy()
    absorption[2] *= 1.15
    odd = replace(fit, absorption=absorption)
    learned = learn(fit, trials_of(odd, [*recipes, *recipes]))
    assert learned.strengths[2] == pytest.approx(np.log(1.15), abs=0.05)
    assert abs(learned.amount) < 0.05


def test_a_mislabeled_trial_is_flagged_and_teaches_nothing(
    fit: MarkerFit, heavy: MarkerFit, recipes: list[Recipe], colorants: Sequence[Colorant]
) -> None:
    """The wrong one is flagged, no other is, and the rest teaches what it does without it."""
    right = trials_of(heavy, recipes)
    wrong = Trial(99, recipe((colorants[5], 1)), right[0].lab)
    learned, without = learn(fit, [*right, wrong]), learn(fit, right)
    assert learned.flagged_numbers == (99,)
    assert learned.amount == pytest.approx(without.amount, abs=0.01)


def test_a_lone_trial_that_is_set_aside_changes_nothing(
    fit: MarkerFit, recipes: list[Recipe]
) -> None:
    """What doesn't count must not make predictions less sure, either."""
    wrong = Trial(1, recipes[0], np.array([30.0, 60.0, -60.0]))
    learned = learn(fit, [wrong])
    assert learned.flagged_numbers == (1,)
    assert learned.fit is fit


def test_a_strange_hand_is_no_slip(fit: MarkerFit, recipes: list[Recipe]) -> None:
    """Someone who lays 0.6 of what was swatched has none of their trials set aside."""
    light = replace(fit, absorption=0.6 * fit.absorption, strength=0.6 * fit.strength)
    learned = learn(fit, trials_of(light, recipes))
    assert not learned.flagged.any()
    assert learned.amount == pytest.approx(np.log(0.6), abs=0.06)


@pytest.mark.parametrize("amount", [0.3, 2.4, 3.0])
def test_even_the_strangest_hand_is_no_slip(
    fit: MarkerFit, recipes: list[Recipe], amount: float
) -> None:
    """Hands far outside what is expected have at most one of ten trials set aside."""
    strange = replace(fit, absorption=amount * fit.absorption, strength=amount * fit.strength)
    learned = learn(fit, trials_of(strange, recipes))
    assert learned.flagged.sum() <= 1
    assert learned.amount == pytest.approx(np.log(amount), abs=0.35)


def test_trials_narrow_what_is_predicted(
    fit: MarkerFit, heavy: MarkerFit, recipes: list[Recipe]
) -> None:
    """More trials leave less open than fewer, and any leave less than someone else's swatches."""
    wide = [
        np.trace(f.covariance)
        for f in (
            by_own_hand(fit),
            learn(fit, trials_of(heavy, recipes[:2])).fit,
            learn(fit, trials_of(heavy, recipes)).fit,
        )
    ]
    assert wide[0] > wide[1] > wide[2]


def test_the_order_of_trials_does_not_matter(
    fit: MarkerFit, heavy: MarkerFit, recipes: list[Recipe]
) -> None:
    """The same trials backwards teach the same."""
    trials = trials_of(heavy, recipes)
    there, back = learn(fit, trials), learn(fit, trials[::-1])
    assert there.amount == pytest.approx(back.amount, abs=1e-6)
    assert np.allclose(there.fit.absorption, back.fit.absorption, atol=1e-6)


def test_a_quick_stroke_is_learned_for_itself(
    fit: MarkerFit, recipes: list[Recipe], colorants: Sequence[Colorant]
) -> None:
    """Trials of quick strokes move that effect, and make it no longer assumed."""
    effects = fit.effects.copy()
    effects[QUICK] -= 0.3
    quicker = replace(fit, effects=effects)
    quick = [recipe((c, 1), stroke=Stroke.QUICK) for c in colorants]
    learned = learn(fit, trials_of(quicker, [*recipes, *quick, *quick]))
    assert learned.fit.effects[QUICK] == pytest.approx(effects[QUICK], abs=0.08)
    assert EFFECTS[QUICK] in fit.assumed
    assert EFFECTS[QUICK] not in learned.fit.assumed


def test_amount_only_leaves_strengths_alone(
    fit: MarkerFit, heavy: MarkerFit, recipes: list[Recipe]
) -> None:
    """The plain rival learns one number."""
    learned = learn(fit, trials_of(heavy, recipes), priors=AMOUNT_ONLY)
    assert learned.amount == pytest.approx(HEAVY, abs=0.05)
    assert np.allclose(learned.fit.effects, fit.effects, atol=1e-3)


def test_a_changed_fill_is_less_sure(fit: MarkerFit, colorants: Sequence[Colorant]) -> None:
    """A marker running dry is predicted wider, another as before."""
    dry = learn(fit, [], fills={colorants[4].label: Fill.RUNNING_DRY}).fit
    for place, wider in ((4, True), (3, False)):
        one = recipe((colorants[place], 1))
        before, after = predict(fit, one).covariance, predict(dry, one).covariance
        assert bool(np.trace(after) > 1.5 * np.trace(before)) is wider


def test_what_others_say_is_what_is_said_without_a_trial() -> None:
    """In a linear problem the closed form is the posterior of all other trials."""
    rng = np.random.default_rng(3)
    turned, truth = rng.normal(size=(5, 3, 4)), rng.normal(size=4)
    own = np.array([np.eye(3) * s for s in (0.5, 1.0, 0.7, 2.0, 0.3)])
    trust = np.array([1.0, 0.4, 0.9, 0.0, 1.0])
    seen = turned @ truth + rng.normal(size=(5, 3))

    def posterior(weights: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        solved = np.linalg.solve(own, turned) * weights[:, None, None]
        covariance = np.linalg.inv(np.eye(4) + np.einsum("tip,tiq->pq", turned, solved))
        return covariance @ np.einsum("tip,ti->p", solved, seen), covariance

    mean, covariance = posterior(trust)
    residual, spread, distance = leave_one_out(seen - turned @ mean, turned, own, trust, covariance)
    for place in range(5):
        weights = trust.copy()
        weights[place] = 0.0
        without, wide = posterior(weights)
        left = seen[place] - turned[place] @ without
        expected = own[place] + turned[place] @ wide @ turned[place].T
        assert residual[place] == pytest.approx(left)
        assert spread[place] == pytest.approx(expected)
        assert distance[place] == pytest.approx(np.sqrt(left @ np.linalg.solve(expected, left)))


def test_learning_keeps_to_physics(
    fit: MarkerFit, heavy: MarkerFit, recipes: list[Recipe], lay: Callable[[Recipe], np.ndarray]
) -> None:
    """What is learned stays a model: reflectance between 0 and the ceiling, more coats darker."""
    learned = learn(fit, trials_of(heavy, recipes)).fit
    one, two = (predict(learned, recipe((learned.colorants[3], n))) for n in (1, 2))
    assert np.all(two.reflectance <= one.reflectance + 1e-12)
    assert np.all((one.reflectance > 0) & (one.reflectance <= learned.ceiling))
    assert lab_from_reflectance(lay(Recipe()))[0] > one.lab[0]
