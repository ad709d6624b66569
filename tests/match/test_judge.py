"""The whole answer for one wanted color."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.judge import TOLERANCES, candidate_of
from laydown.match.mud import chroma_lost, find_mud
from laydown.match.outcome import Origin, Target, Verdict
from laydown.match.question import Question
from laydown.match.ranking import VALUE_FIRST, Limits
from laydown.match.words import layer_that_helps
from laydown.media.kit.fit import predict, reflectance
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step
from simulated.matching import match_color

Maker = Callable[..., MarkerFit]


def lay(fit: MarkerFit, *steps: tuple[int, int]) -> Recipe:
    """Make a recipe of (place in the kit, coats)."""
    return Recipe(tuple(Step(fit.colorants[c], Laydown(coats=n)) for c, n in steps))


def color(fit: MarkerFit, recipe: Recipe) -> np.ndarray:
    """Return the Lab that a recipe gives."""
    return np.asarray(lab_from_reflectance(reflectance(fit, recipe)))


def ask(fit: MarkerFit, lab: np.ndarray, *, steps: int = 3, tolerance: float = 2.25) -> Question:
    """Put a question with the usual ranking."""
    limits = Limits(steps=steps)
    return Question(Target("x", lab), fit, limits, VALUE_FIRST, tolerance, Recipe())


def spectral_kit(maker: Maker, *amounts: dict[int, float]) -> MarkerFit:
    """Make a kit whose dyes absorb in thirds of the spectrum: 0 blue, 1 green, 2 red light."""
    fit = maker(len(amounts), lift=0.0, later_coat=1.0)
    bands = np.zeros((len(amounts), 36))
    for row, dye in enumerate(amounts):
        for third, amount in dye.items():
            bands[row, 12 * third : 12 * third + 12] = amount
    return replace(fit, absorption=bands, strength=bands.mean(axis=1))


def test_a_color_the_kit_can_make_is_the_same(invented_kit: Maker) -> None:
    """The recipe is found, accepted by nearly all, and said in sentences."""
    fit = invented_kit(6, seed=4)
    recipe = lay(fit, (1, 2), (4, 1))
    match = match_color(Target("leaf", color(fit, recipe)), fit, ranking=VALUE_FIRST)
    assert match.best.verdict is Verdict.SAME
    assert match.best.difference.delta_e <= 2.0
    assert len(match.best.instructions) == len(match.best.prediction.recipe.steps)
    assert match.considered == 1 + 18 + 6 * 5 * 9 + 6 * 5 * 5 * 17


def test_alternatives_come_in_order_of_cost_and_leave_out_the_best(invented_kit: Maker) -> None:
    """They are the next recipes by what they cost with their doubt."""
    fit = invented_kit(6, seed=4)
    match = match_color(Target("leaf", np.array([60.0, 10, 20])), fit, top=4)
    costs = [c.cost for c in match.alternatives]
    assert all(later >= sooner for sooner, later in pairwise(costs))
    assert len(costs) == 4
    assert match.best.prediction.recipe not in [c.prediction.recipe for c in match.alternatives]


def test_a_recipe_of_one_color_alone_is_told_once(invented_kit: Maker) -> None:
    """What stands as the one color alone is not among the other recipes too."""
    fit = invented_kit(6, seed=4)
    for place in range(6):
        near = color(fit, lay(fit, (place, 2))) + np.array([3.0, 2.0, -2.0])
        match = match_color(Target("leaf", near), fit, top=6)
        other = [c.prediction.recipe for c in match.alternatives]
        assert match.single.prediction.recipe not in other


def test_the_single_is_one_step_of_one_colorant(invented_kit: Maker) -> None:
    """Beside the best recipe stands the best that one colorant alone does."""
    fit = invented_kit(6, seed=4)
    match = match_color(Target("leaf", color(fit, lay(fit, (1, 2), (4, 1)))), fit)
    assert len(match.single.prediction.recipe.steps) == 1


def with_a_faint_one(maker: Maker) -> MarkerFit:
    """Make a kit of two, the second so pale that over the first it can hardly be seen."""
    return spectral_kit(maker, {0: 0.8, 1: 0.2}, {2: 0.012})


def test_a_plainer_recipe_wins_where_the_longer_is_not_noticeably_better(
    invented_kit: Maker,
) -> None:
    """Of two recipes that the eye can hardly tell apart the shorter is given, with a note."""
    fit = with_a_faint_one(invented_kit)
    match = match_color(Target("leaf", color(fit, lay(fit, (0, 1), (1, 1)))), fit)
    assert match.best.prediction.recipe == lay(fit, (0, 1))
    assert 0.1 < match.best.difference.delta_e < 0.8
    assert any("plainer" in note for note in match.notes)


def test_a_missing_layer_is_named(invented_kit: Maker) -> None:
    """One coat where the target is two needs another layer, and one of the same brings it."""
    fit = invented_kit(4, seed=4)
    question = ask(fit, color(fit, lay(fit, (2, 2))), tolerance=0.5)
    one = lay(fit, (2, 1))
    assert candidate_of(question, one).verdict is Verdict.ANOTHER_LAYER
    assert layer_that_helps(question, one) == one


def test_a_paper_that_bears_no_more_coats_needs_no_other_layer(invented_kit: Maker) -> None:
    """Where the limit of coats is reached, another layer is not within reach."""
    fit = invented_kit(4, seed=4, coats_limit=1)
    question = ask(fit, color(fit, lay(fit, (2, 2))), tolerance=0.5)
    assert layer_that_helps(question, lay(fit, (2, 1))) is None


@pytest.mark.parametrize(
    ("shift", "expected"),
    [
        ((5.0, 0.0, 0.0), Verdict.BUT_VALUE),
        ((25.0, 0.0, 0.0), Verdict.OUT_OF_REACH),
        ((0.0, -40.0, -40.0), Verdict.OUT_OF_REACH),
    ],
)
def test_what_is_off_decides_the_verdict(
    invented_kit: Maker, shift: tuple[float, float, float], expected: Verdict
) -> None:
    """Value alone within a step is forgiven; more, or chroma, is out of reach."""
    fit = invented_kit(2, seed=4, coats_limit=1)
    one = lay(fit, (1, 1))
    lab = color(fit, one)
    assert candidate_of(ask(fit, lab + np.array(shift)), one).verdict is expected


def test_hue_alone_is_forgiven_within_its_slack(invented_kit: Maker) -> None:
    """A color turned about the gray axis by a few degrees is off mostly in hue."""
    fit = invented_kit(2, seed=4, coats_limit=1)
    one = lay(fit, (1, 1))
    lab = color(fit, one)
    turn = np.radians(12.0)
    wheel = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    wanted = np.array([lab[0], *(wheel @ lab[1:])])
    assert candidate_of(ask(fit, wanted), one).verdict is Verdict.BUT_HUE


def test_out_of_reach_is_a_result_with_its_bound(invented_kit: Maker) -> None:
    """No exception: the verdict says so and a note gives the least difference of all."""
    fit = invented_kit(3, seed=4)
    match = match_color(Target("neon", np.array([60.0, -90.0, 90.0])), fit)
    assert match.best.verdict is Verdict.OUT_OF_REACH
    least = min(c.difference.delta_e for c in (match.best, *match.alternatives))
    bound = next(note for note in match.notes if note.startswith("Out of reach"))
    assert float(bound.split("closer than ")[1].split(" ")[0]) <= least + 0.05


def test_mud_is_named_with_its_pair_and_a_cleaner_way(invented_kit: Maker) -> None:
    """Two dyes that together absorb everything lose chroma, and a clean dye goes round it."""
    fit = spectral_kit(
        invented_kit, {0: 1.5}, {1: 1.0, 2: 1.0}, {0: 1.5, 2: 0.15}, {0: 1.3, 1: 0.1}
    )
    muddy = lay(fit, (0, 1), (1, 1))
    wanted = color(fit, lay(fit, (2, 1)))
    mud = find_mud(ask(fit, wanted), muddy, cost=50.0)
    assert mud is not None
    assert set(mud.pair) == {fit.colorants[0].name, fit.colorants[1].name}
    assert mud.lost >= 8.0
    assert mud.cleaner is not None
    assert chroma_lost(fit, mud.cleaner) < mud.lost / 2


@pytest.mark.parametrize(("share", "told"), [(0.45, True), (0.55, False), (0.9, False)])
def test_a_cleaner_way_loses_half_of_the_chroma_at_most(
    invented_kit: Maker, monkeypatch: pytest.MonkeyPatch, share: float, told: bool
) -> None:
    """Of a loss of 20, a way that loses 9 is told as cleaner and one that loses 11 isn't."""
    fit = spectral_kit(invented_kit, {0: 1.5}, {1: 1.0, 2: 1.0}, {0: 1.5, 2: 0.15})
    muddy = lay(fit, (0, 1), (1, 1))
    monkeypatch.setattr(
        "laydown.match.mud.chroma_lost",
        lambda _, recipe: 20.0 if set(muddy.colorants) <= set(recipe.colorants) else 20.0 * share,
    )
    mud = find_mud(ask(fit, np.array([60.0, 0.0, 200.0])), muddy, cost=1e3)
    assert mud is not None
    assert mud.lost == 20.0
    assert (mud.cleaner is not None) == told


def test_chroma_is_lost_against_the_mean_of_the_steps_alone(invented_kit: Maker) -> None:
    """Yellow and blue over each other lose the mean of their chromas less what is left; one, none.

    Two coats of a pale dye are more vivid than one, so that layering it with itself loses none.
    """
    fit = spectral_kit(invented_kit, {0: 1.5}, {1: 1.0, 2: 1.0})
    yellow, blue, both = lay(fit, (0, 1)), lay(fit, (1, 1)), lay(fit, (0, 1), (1, 1))
    chromas = [float(np.hypot(*color(fit, recipe)[1:])) for recipe in (yellow, blue, both)]
    assert chroma_lost(fit, both) == pytest.approx((chromas[0] + chromas[1]) / 2.0 - chromas[2])
    assert chroma_lost(fit, yellow) == 0.0
    assert chroma_lost(fit, lay(fit, (1, 1), (1, 2))) < 0.0


def test_a_dull_color_that_is_wanted_is_no_mud(invented_kit: Maker) -> None:
    """Chroma lost on purpose is not warned of."""
    fit = spectral_kit(invented_kit, {0: 1.5}, {1: 1.0, 2: 1.0})
    dull = lay(fit, (0, 1), (1, 1))
    assert chroma_lost(fit, dull) > 8.0
    assert find_mud(ask(fit, color(fit, dull)), dull, cost=0.0) is None


def test_over_a_start_it_says_what_to_add(invented_kit: Maker) -> None:
    """The recipe begins with what lies there; the instructions are only for what is added."""
    fit = invented_kit(6, seed=4)
    over = lay(fit, (1, 2))
    whole = over.then(lay(fit, (4, 1)))
    match = match_color(Target("leaf", color(fit, whole)), fit, over=over, ranking=VALUE_FIRST)
    assert match.best.prediction.recipe == whole
    assert match.best.instructions == ("Lay one even coat of Wrack; let it dry.",)


def test_over_a_dark_start_a_fresh_one_is_better(invented_kit: Maker) -> None:
    """What can't be covered is said: the fresh recipe and both differences."""
    fit = invented_kit(6, seed=4)
    strong = int(np.argmax(fit.strength))
    pale = int(np.argmin(fit.strength))
    target = Target("mist", color(fit, lay(fit, (pale, 1))))
    match = match_color(target, fit, over=lay(fit, (strong, 3)))
    said = next(note for note in match.notes if note.startswith("A fresh start is better"))
    assert said.endswith(f"over what lies there it is {match.best.difference.delta_e:.1f}.")


def test_what_is_assumed_is_said(invented_kit: Maker) -> None:
    """Assumed effects, an unmeasured paper and a screen's color each get their sentence."""
    fit = invented_kit(3, seed=4, assumed=frozenset({"lift", "later coat"}))
    fit = replace(fit, paper=replace(fit.paper, measured=False))
    target = Target("x", np.array([60.0, 0, 0]), origin=Origin.SCREEN)
    notes = " ".join(match_color(target, fit, ranking=VALUE_FIRST).notes)
    assert "later coat, lift" in notes
    assert "paper itself" in notes
    assert "screen" in notes


def test_a_tolerance_is_chosen_by_name() -> None:
    """Sketch is wider than class, class wider than close."""
    assert TOLERANCES["sketch"] > TOLERANCES["class"] > TOLERANCES["close"] > 0


def test_where_it_is_likelier_refused_one_is_asked_to_try_it_first(invented_kit: Maker) -> None:
    """Below a chance of one half it is unsure, with a caution; above it is the same, with none."""
    fit = invented_kit(6, seed=4)
    recipe = lay(fit, (1, 2), (4, 1))
    told: dict[float, bool] = {}
    for spread in (1.0, 1.25, 1.5, 1.75, 2.0, 2.25):
        target = Target(
            "leaf", color(fit, recipe), covariance=spread**2 * np.eye(3), asked_as=recipe
        )
        match = match_color(target, fit, top=0)
        cautious = any("on a scrap first" in note for note in match.notes)
        assert match.best.verdict is (Verdict.UNSURE if cautious else Verdict.SAME)
        told[match.best.acceptance] = cautious
    assert all(cautious == (chance < 0.525) for chance, cautious in told.items()), told
    assert len(set(told.values())) == 2


def test_the_acceptance_follows_the_tolerance(invented_kit: Maker) -> None:
    """The same recipe is accepted by more in a sketch than where it must be close."""
    fit = invented_kit(3, seed=4, coats_limit=1)
    target = Target("x", color(fit, lay(fit, (1, 1))) + np.array([2.0, 0.0, 0.0]))
    chances = [match_color(target, fit, tolerance=name).best.acceptance for name in TOLERANCES]
    assert chances == sorted(chances, reverse=True)


def test_a_recipe_wanted_as_itself_is_surer_than_as_a_color(invented_kit: Maker) -> None:
    """What is unsure of both falls out, so that only the hand and the reading are left."""
    fit = invented_kit(6, seed=4)
    recipe = lay(fit, (1, 2), (4, 1))
    unsure = predict(fit, recipe).covariance
    as_color = Target("leaf", color(fit, recipe), covariance=unsure)
    as_color = replace(as_color, asked_as=recipe)
    as_itself = replace(as_color, own_recipe=recipe)
    colored, itself = (match_color(one, fit).best for one in (as_color, as_itself))
    assert colored.covariance == pytest.approx(2.0 * unsure)
    assert np.trace(itself.covariance) < np.trace(unsure)
    assert itself.acceptance > colored.acceptance
