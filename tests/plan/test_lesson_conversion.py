"""Lessons converted as a whole from the invented range Quay."""

from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_xyz, xyz_from_lab
from laydown.color.value import value_from_lab
from laydown.match.outcome import Origin
from laydown.match.question import Question, way_of
from laydown.match.ranking import NOTHING, VALUE_FIRST, Ranking
from laydown.match.search.repertoire import SHORT, Repertoire, repertoire
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe
from laydown.plan.lesson.conversion import (
    Departure,
    Options,
    best_palette,
    best_together,
    convert,
    nearest,
    options,
    total_cost,
    transposed,
)
from laydown.plan.lesson.lesson import Lesson, LessonColor, Turn, turned
from laydown.plan.run.runs import shade


@pytest.fixture(scope="module")
def recipes(quay: MarkerFit) -> Repertoire:
    """Return all short recipes of the range."""
    return repertoire(quay)


def _lesson(*labs: tuple[str, float, float, float]) -> Lesson:
    colors = [
        LessonColor(f"{i}", passage, xyz=xyz_from_lab(np.array(lab)))
        for i, (passage, *lab) in enumerate(labs)
    ]
    return Lesson("Invented", "Gannet smooth", tuple(colors))


def _asked(lesson: Lesson, fit: MarkerFit, ranking: Ranking = VALUE_FIRST) -> list[Question]:
    return [Question(t, fit, SHORT, ranking, 2.25, NOTHING) for t in lesson.targets]


def _found(lesson: Lesson, fit: MarkerFit, recipes: Repertoire) -> Options:
    return options(_asked(lesson, fit), recipes, lesson.weights)


def test_orders_that_the_nearest_recipes_break_are_kept(
    quay: MarkerFit, recipes: Repertoire
) -> None:
    """Colors so vivid that their nearest recipes cross in value come out in order as a whole."""
    broken = 0
    for seed in range(12):
        rng = np.random.default_rng(seed)
        rows = [
            (f"p{p}", float(L), *rng.uniform(-60, 60, 2).tolist())
            for p in range(3)
            for L in np.sort(rng.uniform(30, 80, 4))
        ]
        lesson = _lesson(*rows)
        found = _found(lesson, quay, recipes)
        made = convert(lesson, found, nearest(found))
        broken += len(made.broken_singly)
        assert len(made.broken) <= len(made.broken_singly)
        assert made.optimum.bound <= made.optimum.cost + 1e-9
        assert {d.name for d in made.departures} == {
            c.name
            for c, a, b in zip(
                lesson.colors, found.recipes(nearest(found)), made.recipes, strict=True
            )
            if a != b
        }
        assert all(d.reason.endswith(".") for d in made.departures)
    assert broken > 0


@pytest.mark.parametrize(
    ("further_off", "words"),
    [
        (1.24, "Further off by 1.2."),
        (0.04, "No further off."),
        (-0.04, "No further off."),
        (-1.0, "Closer by 1.0."),
    ],
)
def test_a_departure_is_further_off_or_closer_or_neither(further_off: float, words: str) -> None:
    """The nearest recipe is so by value first; another may be closer when all counts alike."""
    assert Departure("rind", Recipe(), Recipe(), further_off, "").words == words


def test_a_lesson_made_of_the_kits_own_recipes_needs_no_departure(
    quay: MarkerFit, recipes: Repertoire
) -> None:
    """Colors that were asked by the recipes that make them come back as made, off by nothing."""
    own = [recipes.recipe(place) for place in (5, 60, 160)]
    lesson = _lesson(*(("p", *recipes.lab[place].tolist()) for place in (5, 60, 160)))
    asked = [
        replace(question, target=replace(question.target, asked_as=recipe))
        for question, recipe in zip(_asked(lesson, quay), own, strict=True)
    ]
    found = options(asked, recipes, lesson.weights, more=[[recipe] for recipe in own])
    made = convert(lesson, found, nearest(found))
    assert made.recipes == tuple(own)
    assert made.mean == pytest.approx(0.0, abs=1e-4)
    assert made.departures == ()
    assert made.lost == ()


def test_a_whole_lesson_is_ranked_by_the_difference_to_expect(
    quay: MarkerFit, recipes: Repertoire
) -> None:
    """No choice costs less, once the doubt of every single recipe is in its cost."""
    rng = np.random.default_rng(7)
    rows = [("p", L, *rng.uniform(-40, 40, 2).tolist()) for L in (72.0, 60.0, 45.0)]
    found = _found(_lesson(*rows), quay, recipes)
    _, choice, optimum = best_together(found)
    costs = tuple(
        np.array([question.cost(found.recipe(color, place)) for place in range(len(known))])
        for color, (question, known) in enumerate(zip(found.questions, found.sure, strict=True))
    )
    palette = replace(found.palette, costs=costs)
    assert optimum.cost == pytest.approx(total_cost(palette, choice))
    assert optimum.cost == pytest.approx(best_palette(palette)[1].cost)
    assert optimum.cost > total_cost(found.palette, choice) + 1.0


def test_a_recipe_that_gains_nothing_is_not_taken(quay: MarkerFit, recipes: Repertoire) -> None:
    """Where another recipe of the same color costs a hair less by rounding, a color's own stays: a
    lesson converted to what it was made with is that lesson.
    """
    lesson = _lesson(*(("p", *recipes.lab[place].tolist()) for place in (5, 60, 160)))
    own = [recipes.recipe(place) for place in (6, 61, 161)]
    found = options(_asked(lesson, quay), recipes, lesson.weights, more=[[r] for r in own])
    start = [found.first_of_more(color) for color in range(len(own))]
    for color, place in enumerate(start):
        found.palette.labs[color][place] = found.palette.lab[color]
        found.palette.values[color][place] = found.palette.value[color]
        found.palette.costs[color][place] = 1e-8
    made = convert(lesson, found, start)
    assert made.recipes == tuple(own)
    assert made.departures == ()


def test_a_recipe_gains_nothing_by_being_plainer_than_the_colors_own(
    quay: MarkerFit, recipes: Repertoire
) -> None:
    """What a color's own recipe earned by its steps and coats isn't spent again for the sake of the
    others: a recipe that is further off costs as much more, however plain it is.
    """
    lesson = _lesson(*(("p", *(recipes.lab[place] + 0.5).tolist()) for place in (160, 60)))
    own = [recipes.recipe(160), recipes.recipe(60)]
    asked = _asked(lesson, quay, Ranking(step=2.0, coat=1.0))
    found = options(asked, recipes, lesson.weights, more=[[recipe] for recipe in own])
    everything = tuple(np.arange(len(known)) for known in found.sure)
    for color, places in enumerate(everything):
        for place in places:
            found = found.surer([place if c == color else 0 for c in range(len(own))])
    plainer = 0
    for color, (question, recipe) in enumerate(zip(asked, own, strict=True)):
        best = way_of(question, recipe)
        costs = found.palette.costs[color] / lesson.weights[color]
        for place in everything[color]:
            way = way_of(question, found.recipe(color, int(place)))
            assert costs[place] - costs[found.first_of_more(color)] >= way.off - best.off - 1e-9
            plainer += way.cost - best.cost < way.off - best.off - 1.0
    assert plainer > 0


def test_a_passage_out_of_reach_is_named_with_what_would_mend_it(
    quay: MarkerFit, recipes: Repertoire
) -> None:
    """Darks beyond the kit flatten a passage; the warning names the color and the purchase."""
    lesson = _lesson(("deep", 80.0, 10.0, 10.0), ("deep", 30.0, 10.0, 8.0), ("deep", 3.0, 8.0, 2.0))
    pale = np.array([c.name in {"Straw", "Rose", "Sky", "Fog"} for c in recipes.colorants])
    found = _found(lesson, quay, recipes.made_from(pale))
    shop = [shade("Ember", np.array([4.0, 8.0, 2.0]))]
    made = convert(lesson, found, nearest(found), shop)
    (lost,) = made.lost
    assert lost.passage == "deep"
    assert lost.mending.purchase == "Ember"


def test_a_turn_keeps_every_value(quay: MarkerFit, recipes: Repertoire) -> None:
    """Turned colors have the values that were wanted, whatever the hue."""
    lesson = _lesson(("p", 70.0, 30.0, 40.0), ("p", 40.0, 30.0, 20.0))
    for target in lesson.targets:
        for turn in (Turn(75.0, 0.7), Turn(180.0, 1.0)):
            assert value_from_lab(turned(target, turn).lab) == pytest.approx(
                value_from_lab(target.lab)
            )


def test_the_turns_offered_are_near_and_unlike(quay: MarkerFit, recipes: Repertoire) -> None:
    """Three turns come back, none like another, each with a recipe for each color."""
    lesson = _lesson(("p", 80.0, 60.0, -40.0), ("p", 50.0, 60.0, -40.0), ("q", 60.0, -60.0, 20.0))
    found = _found(lesson, quay, recipes)
    straight = convert(lesson, found, nearest(found))
    turns = transposed(lesson, _asked(lesson, quay), recipes)
    assert len(turns) == 3
    assert min(t.mean for t in turns) < straight.mean
    assert all(len(t.recipes) == 3 and t.broken == 0 for t in turns)
    hues = [t.turn.hue for t in turns]
    assert all(abs((a - b + 180) % 360 - 180) >= 45 for a in hues for b in hues if a != b)


def test_a_color_picked_from_a_picture_is_wide_and_counts_less() -> None:
    """A screen estimate says so, and weighs a third."""
    known = LessonColor("a", "p", xyz=np.array([30.0, 32.0, 20.0]))
    picked = LessonColor("b", "p", screen="#808080")
    lesson = Lesson("t", "", (known, picked))
    assert picked.target.origin is Origin.SCREEN
    assert picked.target.covariance[0, 0] > known.target.covariance[0, 0]
    assert lesson.weights[1] == pytest.approx(lesson.weights[0] / 3)
    assert known.lab == pytest.approx(lab_from_xyz(np.array([30.0, 32.0, 20.0])))


def test_shares_of_area_weigh_half() -> None:
    """A color of three times another's area counts as its share beside an even half."""
    colors = tuple(
        LessonColor(n, xyz=np.array([30.0, 32.0, 20.0]), share=s) for n, s in (("a", 30), ("b", 10))
    )
    assert Lesson("t", "", colors).weights.tolist() == [1.25, 0.75]
