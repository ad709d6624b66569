from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from laydown.match.outcome import Candidate, Difference, Match, Target, Verdict
from laydown.media.kit.fit import Prediction
from laydown.media.laydown import Laydown, Wait
from laydown.media.recipe import (
    Colorant,
    Paper,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    format_recipe,
    mixture,
)
from laydown.plan.chart import Chart, in_coloring_order, notes_for_all, supplies, with_layers

KELP, DUNE = Colorant("Kelp", "Estuary"), Colorant("Dune", "Estuary")
WHITE = np.full(36, 0.9)
Make = Callable[..., Match]


@pytest.fixture
def make() -> Make:
    """Make a match of little but a name, a place and a recipe."""

    def match(
        name: str,
        passage: str = "",
        light: float = 50.0,
        steps: tuple[Step, ...] = (Step(KELP),),
        notes: tuple[str, ...] = (),
    ) -> Match:
        lab = np.array([light, 0.0, 0.0])
        seen = Prediction(Recipe(steps), WHITE, lab, np.zeros((3, 3)))
        off = Difference(0.0, 0.0, None, 0.0, "no difference worth naming")
        best = Candidate(seen, 0.0, off, np.zeros((3, 3)), 1.0, Verdict.SAME, ())
        return Match(Target(name, lab, passage), best, best, (), 1, notes)

    return match


def _chart(*matches: Match, notes: tuple[str, ...] = ()) -> Chart:
    return Chart("Lesson", "Estuary", Paper("Gannet smooth", WHITE), matches, "class", notes)


def test_passages_keep_their_order_and_run_from_light_to_dark(make: Make) -> None:
    """Passages come as first named; within one the lightest color comes first."""
    cloth = [make("a", "cloth", 30), make("c", "cloth", 80)]
    bowl = [make("b", "bowl", 20), make("d", "bowl", 60)]
    given = [cloth[0], bowl[0], cloth[1], bowl[1]]
    assert [m.target.name for m in in_coloring_order(given)] == ["c", "a", "d", "b"]


def test_the_passage_with_the_most_light_comes_first(make: Make) -> None:
    """Where nobody stated areas each color has as much; one stated area counts alone."""
    bowl = [make("a", "bowl", 80), make("b", "bowl", 30)]
    cloth = [make("c", "cloth", 90), make("d", "cloth", 70)]
    assert [m.target.name for m in in_coloring_order(bowl + cloth)] == ["c", "d", "a", "b"]
    stated = replace(bowl[0], target=replace(bowl[0].target, share=4.0))
    given = [*cloth, stated, bowl[1]]
    assert [m.target.name for m in in_coloring_order(given)] == ["a", "b", "c", "d"]


def test_equal_values_are_sorted_by_name(make: Make) -> None:
    """Ties don't depend on the order in which they came."""
    one, two = make("b"), make("a")
    assert in_coloring_order([one, two]) == in_coloring_order([two, one]) == (two, one)


def test_layers_are_each_step_alone_and_under_the_later_ones(make: Make) -> None:
    """For each step there is its color alone, then one with each further step over it."""
    asked: list[str] = []

    def color_of(recipe: Recipe) -> np.ndarray:
        asked.append(format_recipe(recipe))
        return np.array([90.0 - 10.0 * recipe.coats, 0.0, 0.0])

    steps = (Step(KELP, Laydown(coats=2)), Step(DUNE), Step(KELP))
    chart = with_layers(_chart(make("a", steps=steps), make("b", steps=())), color_of)
    assert asked == ["Kelp*2", "Kelp*2; Dune", "Kelp*2; Dune; Kelp", "Dune", "Dune; Kelp", "Kelp"]
    assert [piles[:, 0].tolist() for piles in chart.layers[0]] == [[70, 60, 50], [80, 70], [80]]
    assert chart.layers[1] == ()


def test_a_step_alone_lies_on_dry_paper_and_solvent_on_bare(make: Make) -> None:
    """Nothing is wet below a first step, and solvent alone leaves the paper as it is."""
    asked: list[str] = []

    def color_of(recipe: Recipe) -> np.ndarray:
        asked.append(format_recipe(recipe))
        return np.zeros(3)

    steps = (
        Step(KELP),
        TreatmentStep(Treatment.SOLVENT, Tool.SWAB),
        Step(DUNE, Laydown(wait=Wait.WET)),
    )
    with_layers(_chart(make("a", steps=steps)), color_of)
    assert {"", "Dune", "Kelp; solvent by swab; Dune (wet)"} <= {*asked}
    assert "Dune (wet)" not in asked


def test_notes_that_every_match_has_belong_to_the_chart(make: Make) -> None:
    """What all matches say comes after the chart's own notes, once; the rest stays with them."""
    chart = _chart(make("a", notes=("x", "y")), make("b", notes=("y", "z", "n")), notes=("n", "m"))
    assert notes_for_all(chart) == ("n", "m", "y")


def test_a_single_match_keeps_its_notes(make: Make) -> None:
    """With one row there is nothing to share."""
    assert notes_for_all(_chart(make("a", notes=("x",)), notes=("n",))) == ("n",)


def test_supplies_count_recipes_and_coats(make: Make) -> None:
    """A colorant that returns counts once as a recipe and with all its coats."""
    pale_dark_pale = (Step(KELP, Laydown(coats=2)), Step(DUNE), Step(KELP))
    listed = supplies([make("a", steps=pale_dark_pale), make("b"), make("c", steps=())])
    assert listed == ((KELP, 2, 4), (DUNE, 1, 1))


def test_each_part_of_a_mixture_is_a_supply(make: Make) -> None:
    """A coat of a palette mixture is a coat of each colorant in it, of the second one, too."""
    mixed = mixture((2, KELP), (1, DUNE), laydown=Laydown(coats=2))
    listed = supplies([make("a", steps=(mixed, Step(DUNE)))])
    assert listed == ((DUNE, 1, 3), (KELP, 1, 2))


def test_equal_supplies_are_sorted_by_name(make: Make) -> None:
    """Used equally often, colorants come by name."""
    listed = supplies([make("a"), make("b", steps=(Step(DUNE),))])
    assert [colorant.name for colorant, *_ in listed] == ["Dune", "Kelp"]
