"""What is bought for a list of colors, on a fitted kit."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.acceptance import acceptance, likely, may_pass
from laydown.match.judge import candidate_of
from laydown.match.outcome import Target
from laydown.match.question import Question, foresee
from laydown.match.ranking import NOTHING, usual_ranking
from laydown.match.search.repertoire import SHORT, Repertoire, repertoire
from laydown.media.kit.fit import predict
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant
from laydown.plan.kit.choice import MISSED, KitChoice, Wishes, choose_kit, ways_to
from laydown.plan.kit.problem import Aim, Offer


def single_offers(colorants: Sequence[Colorant], *, price: int = 0) -> tuple[Offer, ...]:
    """Return an offer for each colorant singly, named by its label."""
    return tuple(Offer(c.label, (place,), price) for place, c in enumerate(colorants))


def standing_still() -> float:
    """Tell a time that is never over: what is found must not depend on the computer's haste."""
    return 0.0


@pytest.fixture(scope="module")
def recipes(quay: MarkerFit) -> Repertoire:
    """Return all short recipes of the range."""
    return repertoire(quay)


def asked(fit: MarkerFit, targets: Sequence[Target]) -> list[Question]:
    """Return what is asked of the whole range for each color."""
    ranking = usual_ranking("class")
    return [Question(t, fit, SHORT, ranking, 2.25, NOTHING) for t in targets]


def choice_of(
    fit: MarkerFit, targets: Sequence[Target], offers: Sequence[Offer], wishes: Wishes
) -> KitChoice:
    """Choose out of a range, in time that stands still."""
    questions = asked(fit, targets)
    ways = [ways_to(question) for question in questions]
    return choose_kit(
        questions, ways, fit.colorants, offers, wishes, seconds=1, clock=standing_still
    )


@pytest.fixture(scope="module")
def wanted(recipes: Repertoire) -> tuple[Target, ...]:
    """Return six colors near recipes of the range."""
    rng = np.random.default_rng(3)
    places = [40, 90, 150, 200, 5, 130]
    return tuple(Target(f"color {p}", recipes.lab[p] + rng.normal(0, 0.5, 3)) for p in places)


@pytest.fixture(scope="module")
def found(quay: MarkerFit, wanted: tuple[Target, ...]) -> KitChoice:
    """Return what is chosen of the range bought singly, where nothing else is wished."""
    return choice_of(quay, wanted, single_offers(quay.colorants), Wishes())


def _in_just(question: Question, bought: frozenset[str]) -> Question:
    """Return the same, asked of some colorants alone."""
    return question.with_limits(without=frozenset(c.label for c in question.fit.colorants) - bought)


def _best_cost(question: Question, bought: frozenset[str]) -> float:
    """Return what the best costs that some colorants give, by searching them."""
    return float(_in_just(question, bought).find().costs[0])


def _all_near_enough(
    questions: Sequence[Question], best: list[float], some: frozenset[str]
) -> bool:
    """Whether every color is, of what a search in some colorants gives, as the words say it."""
    for question, least in zip(questions, best, strict=True):
        own = _in_just(question, some)
        found = own.find()
        ((lab, covariance, _),) = foresee(own, found.recipes[:1])
        chance = acceptance(own.target.lab, lab, covariance, tolerance=own.tolerance)
        if not (likely(chance) or (may_pass(chance) and found.costs[0] - least <= 0.8)):
            return False
    return True


def test_the_fewest_is_what_trying_all_kits_finds(
    quay: MarkerFit, wanted: tuple[Target, ...]
) -> None:
    """No smaller set of colorants has a match give every color near enough, doubt and all."""
    few, every = wanted[:3], [c.label for c in quay.colorants]
    found = choice_of(quay, few, single_offers(quay.colorants), Wishes())
    bought = frozenset(offer.name for offer in found.chosen.bought)
    questions = asked(quay, few)
    best = [_best_cost(question, frozenset(every)) for question in questions]
    assert found.chosen.proven
    assert found.chosen.near_enough == len(few)
    assert _all_near_enough(questions, best, bought)
    smaller = (frozenset(s) for size in range(len(bought)) for s in combinations(every, size))
    assert not any(_all_near_enough(questions, best, one) for one in smaller)


def test_what_is_named_is_what_a_match_gives(
    quay: MarkerFit, wanted: tuple[Target, ...], found: KitChoice
) -> None:
    """Whatever is bought: recipe and chance of each color are those of a search in just that."""
    outcomes = [o for o in (found.chosen, found.nothing, found.fewer, found.more) if o]
    assert len(outcomes) == 4
    for outcome in outcomes:
        held = frozenset(offer.name for offer in outcome.bought)
        for question, color in zip(asked(quay, wanted), outcome.colors, strict=True):
            own = _in_just(question, held)
            given = candidate_of(own, own.find().recipes[0])
            assert (color.recipe, color.verdict) == (given.prediction.recipe, given.verdict)
            assert color.acceptance == pytest.approx(given.acceptance)


def test_the_best_few_cost_the_least_doubt_and_all(
    quay: MarkerFit, wanted: tuple[Target, ...]
) -> None:
    """No other two colorants have a match give the colors for less, each as far as it counts."""
    offers = single_offers(quay.colorants)
    found = choice_of(quay, wanted, offers, Wishes(aim=Aim.BEST, most=2))
    questions = asked(quay, wanted)
    every = frozenset(offer.name for offer in offers)
    best = [_best_cost(question, every) for question in questions]

    def total(bought: frozenset[str]) -> float:
        more = (_best_cost(q, bought) - least for q, least in zip(questions, best, strict=True))
        return sum(min(MISSED * 2.25, one) for one in more)

    pairs = (frozenset(o.name for o in pair) for pair in combinations(offers, 2))
    assert found.chosen.proven
    assert found.chosen.value == pytest.approx(min(map(total, pairs)), abs=1e-6)


def test_one_fewer_loses_and_one_more_comes_nearer(
    wanted: tuple[Target, ...], found: KitChoice
) -> None:
    """With one purchase fewer some color is missed; with one more as many are near enough."""
    assert found.fewer is not None
    assert found.more is not None
    assert found.fewer.near_enough < found.chosen.near_enough == len(wanted)
    assert found.more.near_enough >= found.chosen.near_enough


def test_what_is_owned_costs_nothing(quay: MarkerFit, wanted: tuple[Target, ...]) -> None:
    """Who owns all of it buys nothing, and the answer with nothing bought is the same."""
    found = choice_of(quay, wanted, (), Wishes(owned=frozenset(quay.colorants)))
    assert found.chosen.bought == ()
    nothing, chosen = ([c.recipe for c in o.colors] for o in (found.nothing, found.chosen))
    assert nothing == chosen


def test_a_set_is_bought_where_it_is_cheaper(quay: MarkerFit, wanted: tuple[Target, ...]) -> None:
    """A box of everything at the price of two is bought before three singly."""
    singles = single_offers(quay.colorants, price=300)
    box = Offer("box", tuple(range(len(quay.colorants))), 600)
    found = choice_of(quay, wanted, (*singles, box), Wishes(aim=Aim.CHEAPEST))
    assert [offer.name for offer in found.chosen.bought] == ["box"]
    assert found.chosen.price == 600


def test_extras_count_towards_the_budget(quay: MarkerFit, wanted: tuple[Target, ...]) -> None:
    """Solvent and paper leave less of the budget for colorants."""
    singles = single_offers(quay.colorants, price=300)
    wishes = Wishes(aim=Aim.CHEAPEST, budget=700, extras=(("paper", 200),))
    found = choice_of(quay, wanted, singles, wishes)
    assert len(found.chosen.bought) == 1
    assert found.chosen.price == 500


def test_a_color_nothing_reaches_is_named(quay: MarkerFit) -> None:
    """An impossible color is an answer, not an error."""
    far = Target("glow", np.array([60.0, 90.0, -40.0]))
    found = choice_of(quay, [far], single_offers(quay.colorants), Wishes())
    assert found.unreachable == ("glow",)
    assert found.chosen.bought == ()
    assert not found.chosen.colors[0].near_enough


def test_where_nothing_is_worth_laying_it_says_so(
    quay: MarkerFit, wanted: tuple[Target, ...]
) -> None:
    """Bare paper is named for a white alone, not for a color that no effort lets be laid."""
    white = Target("white", lab_from_reflectance(quay.paper.reflectance))
    dear = usual_ranking("class", step=20.0, coat=20.0)
    questions = [replace(q, ranking=dear) for q in asked(quay, (white, wanted[0]))]
    ways = [ways_to(question) for question in questions]
    chosen = choose_kit(questions, ways, quay.colorants, (), Wishes(), clock=standing_still).chosen
    assert [color.words for color in chosen.colors] == [
        "bare paper",
        "nothing you then have is worth laying",
    ]


def test_a_repertoire_holds_every_recipe(quay: MarkerFit, recipes: Repertoire) -> None:
    """The recipes are as many as the search counts, each with the color the model predicts."""
    assert len(recipes) == recipes.space.considered
    assert len(set(recipes.numbers.tolist())) == len(recipes)
    for place in (0, 3, 77, len(recipes) - 1):
        seen = predict(quay, recipes.recipe(place))
        assert recipes.lab[place] == pytest.approx(seen.lab, abs=1e-6)
        used = {recipes.colorants[m] for m in recipes.members[place] if m >= 0}
        assert used == set(recipes.recipe(place).colorants)
