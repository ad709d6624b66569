"""Recipes are ranked by what the hand will get: the difference to expect, doubt and effort."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.outcome import Target
from laydown.match.question import SHORTLIST, Question, foresee, way_of
from laydown.match.ranking import (
    BY_EYE,
    NOTHING,
    USUAL_LIMITS,
    VALUE_FIRST,
    Limits,
    Ranking,
    usual_ranking,
)
from laydown.match.search.repertoire import repertoire
from laydown.media.kit.fit import predict, reflectance
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.priors import BLENDER, belief
from laydown.media.recipe import Recipe, Step
from simulated.matching import match_color

Maker = Callable[..., MarkerFit]
OWN = 7
"""Where the colorants' own numbers begin in the covariance of an invented kit."""


def unsure_of(fit: MarkerFit, places: list[int], sd: float) -> MarkerFit:
    """Return a kit of which some of what was fitted is known to so much."""
    covariance = np.array(fit.covariance)
    covariance[places, places] = sd**2
    return replace(fit, covariance=covariance)


def color(fit: MarkerFit, recipe: Recipe) -> np.ndarray:
    """Return the Lab that a recipe gives."""
    return np.asarray(lab_from_reflectance(reflectance(fit, recipe)))


def test_what_is_expected_is_never_less_than_what_is_predicted() -> None:
    """Doubt adds to a difference or leaves it, whatever the colors: so the search may bound it."""
    rng = np.random.default_rng(5)
    for _ in range(300):
        wanted, lab = rng.normal((55, 0, 0), (20, 30, 30), (2, 3))
        root = rng.normal(0, 2, (3, 3))
        off = float(VALUE_FIRST.difference(wanted, lab))
        assert VALUE_FIRST.expected(wanted, lab, root @ root.T) >= off


def test_of_a_color_that_is_met_what_is_expected_is_its_scatter() -> None:
    """At L* 50, where a unit of L* is one of CIEDE2000, a deviation of two is off by about two."""
    gray = np.array([50.0, 0.0, 0.0])
    only_light = np.diag([4.0, 0.0, 0.0])
    assert BY_EYE.expected(gray, gray, only_light) == pytest.approx(2.0, rel=0.02)
    assert VALUE_FIRST.expected(gray, gray, only_light) == pytest.approx(4.0, rel=0.02)


@pytest.mark.parametrize("seed", range(4))
def test_the_best_is_the_best_of_all_recipes_with_their_doubt(
    invented_kit: Maker, seed: int
) -> None:
    """Every recipe scored one by one with its own covariance: none costs less than the answer."""
    fit = unsure_of(invented_kit(4, seed=seed), [OWN, OWN + 2], 0.2)
    lab = np.random.default_rng(seed).normal((60, 0, 0), (12, 12, 12))
    limits = Limits(steps=2, coats=2)
    asked = Question(Target("x", lab), fit, limits, usual_ranking("class"), 2.25, NOTHING)
    every = repertoire(fit, limits=limits)
    costs = [asked.cost(every.recipe(place)) for place in range(len(every))]
    assert asked.find().costs[0] == pytest.approx(min(costs), abs=1e-9)


@pytest.fixture(scope="module")
def half_known(invented_kit: Maker) -> tuple[Question, Recipe]:
    """Return a question of a kit that hardly knows three colorants, and the best of all recipes."""
    fit, limits = unsure_of(invented_kit(5, seed=1), [OWN, OWN + 1, OWN + 2], 1.0), Limits(coats=2)
    lab = np.random.default_rng(1).normal((60, 0, 0), (12, 12, 12))
    asked = Question(Target("x", lab), fit, limits, usual_ranking("class"), 2.25, NOTHING)
    every = repertoire(fit, limits=limits)
    costs = [asked.cost(every.recipe(place)) for place in range(len(every))]
    return asked, every.recipe(int(np.argmin(costs)))


@pytest.mark.parametrize("ahead", [70, 160])
def test_a_surer_recipe_far_behind_in_line_is_found(
    half_known: tuple[Question, Recipe], monkeypatch: pytest.MonkeyPatch, ahead: int
) -> None:
    """Of three colorants next to nothing is known: a hundred recipes look nearer than the best.

    It is found among those that one search brings, and where a second has to bring it.
    """
    monkeypatch.setattr("laydown.match.question.AHEAD", ahead)
    asked, best = half_known
    line = asked.nearest(160).recipes
    assert 70 < line.index(best) < 160
    assert SHORTLIST < 70
    assert asked.find().recipes[0] == best


def test_the_bare_paper_is_the_answer_where_nothing_else_is_sure(
    invented_kit: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of colorants of which nothing is known none is laid, however near they look."""
    monkeypatch.setattr("laydown.match.question.SHORTLIST", 4)
    fit = unsure_of(invented_kit(4, seed=3), [OWN, OWN + 1, OWN + 2, OWN + 3], 2.0)
    lab = color(fit, Recipe((Step(fit.colorants[1]),)))
    asked = Question(Target("x", lab), fit, Limits(), usual_ranking("class"), 2.25, NOTHING)
    assert Recipe() not in asked.nearest(12).recipes
    assert asked.find().recipes[0] == Recipe()


def test_a_plainer_and_surer_recipe_that_is_nearly_as_near_is_the_answer(
    invented_kit: Maker,
) -> None:
    """A pale layer of which little is known is left away, though with it the color is met."""
    fit = invented_kit(2, seed=4, lift=0.0)
    bands = np.zeros((2, 36))
    bands[0], bands[1, 24:] = 0.3, 0.06
    fit = replace(fit, absorption=bands, strength=bands.mean(axis=1))
    alone = Recipe((Step(fit.colorants[0]),))
    layered = Recipe((*alone.steps, Step(fit.colorants[1])))
    target, limits = Target("x", color(fit, layered)), Limits(steps=2, coats=1)
    sure, unsure = (
        match_color(target, kit, ranking=Ranking(), limits=limits, top=4)
        for kit in (fit, unsure_of(fit, [OWN + 1], 0.8))
    )
    assert sure.best.prediction.recipe == layered
    assert unsure.best.prediction.recipe == alone
    other = next(c for c in unsure.alternatives if c.prediction.recipe == layered)
    assert np.trace(other.covariance) > 1.5 * np.trace(unsure.best.covariance)
    assert unsure.best.difference.delta_e < other.difference.delta_e + 2.0
    assert any("the plainer recipe is given" in note for note in unsure.notes)


def test_a_rough_wanted_color_is_still_met_by_what_is_near(invented_kit: Maker) -> None:
    """That a screen's color is only roughly known lets no recipe that is off by more win."""
    fit, limits = invented_kit(6, seed=4), Limits(steps=2, coats=2)
    for lab in np.random.default_rng(3).normal((60, 0, 0), (10, 15, 15), (8, 3)):
        known, rough = (
            Question(
                Target("x", lab, covariance=spread * np.eye(3)),
                *(fit, limits, usual_ranking("class"), 100.0, NOTHING),
            )
            for spread in (0.0, 25.0)
        )
        recipe = known.find().recipes[0]
        assert rough.find().recipes[0] == recipe
        assert np.trace(rough.covariance(recipe) - known.covariance(recipe)) == pytest.approx(75.0)


def test_an_unsure_blender_is_passed_over(invented_kit: Maker) -> None:
    """Where what it carries off is hardly known, a recipe without it is the better bet."""
    kept = 0
    for seed in range(4):
        fit = invented_kit(6, seed=seed, blenders=1)
        dark = fit.colorants[1 + int(np.argmax(fit.strength[1:]))]
        recipe = Recipe((Step(dark), Step(fit.colorants[0], Laydown(coats=2))))
        target = Target("wanted", color(fit, recipe))
        sure, unsure = (
            match_color(target, kit, ranking=Ranking()).best.prediction.recipe
            for kit in (fit, unsure_of(fit, [BLENDER], 1.5))
        )
        kept += any(colorant.blender for colorant in sure.colorants)
        assert not any(colorant.blender for colorant in unsure.colorants)
    assert kept


def test_a_cost_is_the_expected_difference_and_the_effort(invented_kit: Maker) -> None:
    """Each answer's cost can be reckoned anew from what it says of itself."""
    fit, ranking = invented_kit(6, seed=4), usual_ranking("class")
    match = match_color(Target("x", np.array([60.0, 10.0, 20.0])), fit)
    asked = Question(match.target, fit, USUAL_LIMITS, ranking, 2.25, NOTHING)
    for seen in (match.best, match.single, *match.alternatives):
        off = ranking.expected(match.target.lab, seen.prediction.lab, seen.covariance)
        off += asked.missed(seen.prediction.lab, seen.covariance)
        assert seen.cost == pytest.approx(off + asked.effort(seen.prediction.recipe))
    costs = [seen.cost for seen in match.alternatives]
    assert costs == sorted(costs)


def test_a_step_and_a_coat_must_earn_it_by_default() -> None:
    """In a class .7 for a step and half for a coat, more in a sketch, less where it counts."""
    sketch, usual, close = (usual_ranking(name) for name in ("sketch", "class", "close"))
    assert (usual.step, usual.coat) == (0.7, 0.35)
    assert sketch.step > usual.step > close.step > 0
    assert sketch.coat > usual.coat > close.coat > 0
    assert usual_ranking("class", step=0.0, coat=0.0, sense=False) == Ranking()


@pytest.mark.parametrize("share", [0.1, 0.3, 0.5, 0.7])
def test_a_verdict_never_speaks_against_its_chance(invented_kit: Maker, share: float) -> None:
    """The same is likelier accepted than not; what is out of reach may not even pass."""
    fit = invented_kit(6, seed=4)
    for spread in (0.0, 1.0, 2.0, 4.0, 8.0):
        target = Target("x", np.array([60.0, 60 * share, 20.0]), covariance=spread * np.eye(3))
        match = match_color(target, fit)
        for seen in (match.best, match.single, *match.alternatives):
            if str(seen.verdict) == "same":
                assert seen.acceptance > 0.5
            else:
                assert seen.acceptance < 0.53
            if str(seen.verdict) == "out of reach":
                assert seen.acceptance < 0.23


def test_what_doubt_alone_hides_is_unsure_and_not_out_of_reach(invented_kit: Maker) -> None:
    """A color predicted right of a kit that knows little is neither the same nor out of reach."""
    fit = unsure_of(invented_kit(4, seed=4), list(range(OWN, OWN + 4)), 1.0)
    recipe = Recipe((Step(fit.colorants[1]),))
    seen = match_color(Target("x", color(fit, recipe)), fit, limits=Limits(steps=1, coats=1)).best
    assert predict(fit, recipe).lab == pytest.approx(seen.prediction.lab)
    assert str(seen.verdict) == "unsure"
    assert seen.acceptance < 0.5


@pytest.mark.parametrize("own", [False, True])
@pytest.mark.parametrize("bent", [False, True])
def test_recipes_looked_at_together_are_as_each_by_itself(
    invented_kit: Maker, own: bool, bent: bool
) -> None:
    """Color, doubt and difference, of recipes alike and unlike, from spectra measured or guessed.

    One by itself is colored by its own forward function; of those alike, one's colors all.
    """
    kit = invented_kit(9, seed=2, blenders=1)
    fit = replace(
        kit,
        xyz_only=np.array([0.0, 0, 0, 1, 1, 0, 0, 1, 0]),
        bend=belief(kit.one_coat)[2] if bent else kit.bend,
    )
    a, b, c, d, e, f, g = (Step(one) for one in fit.colorants[:7])
    twice = Step(fit.colorants[3], Laydown(coats=2))
    steps = (
        (),
        (b,),
        (c,),
        (b, c),
        (c, b),
        (f, g),
        (d, b),
        (e, f),
        (twice, b),
        (b, a),
        (c, a),
        (a,),
    )
    recipes = [Recipe(laid) for laid in (*steps, (b, c, f), (c, g, b), (f, b, f))]
    target = Target("x", np.array([60.0, 10.0, 20.0]), own_recipe=recipes[5] if own else None)
    asked = Question(target, fit, USUAL_LIMITS, usual_ranking("class"), 2.25, NOTHING)
    together = foresee(asked, recipes)
    other = replace(asked, fit=replace(fit))  # what is at hand of a fit is of that one
    for recipe, (lab, covariance, off) in zip(recipes, together, strict=True):
        alone = way_of(other, recipe)
        np.testing.assert_allclose(lab, alone.lab, atol=1e-9)
        np.testing.assert_allclose(covariance, alone.covariance, atol=1e-9)
        assert off == pytest.approx(alone.off, abs=1e-9)
