"""What is bought for a list of colors, on a fitted kit."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.match.outcome import Target
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.media.kit.fit import predict
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant
from laydown.plan.kit.choice import Wishes, choose_kit
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


@pytest.fixture(scope="module")
def wanted(recipes: Repertoire) -> tuple[Target, ...]:
    """Return six colors near recipes of the range."""
    rng = np.random.default_rng(3)
    places = [40, 90, 150, 200, 5, 130]
    return tuple(Target(f"color {p}", recipes.lab[p] + rng.normal(0, 0.5, 3)) for p in places)


def _reached(recipes: Repertoire, wanted: tuple[Target, ...], held: set[int]) -> int:
    mask = np.zeros(len(recipes.colorants), dtype=bool)
    mask[list(held)] = True
    lab = recipes.made_from(mask).lab
    return sum(float(np.min(ciede2000(t.lab, lab))) <= 2.25 for t in wanted)


def test_the_fewest_is_what_trying_all_kits_finds(
    recipes: Repertoire, wanted: tuple[Target, ...]
) -> None:
    """No smaller set of colorants brings all colors within the tolerance."""
    offers = single_offers(recipes.colorants)
    found = choose_kit(wanted, recipes, offers, Wishes(), seconds=1, clock=standing_still)
    count = len(found.chosen.bought)
    assert found.chosen.proven
    assert found.chosen.within == len(wanted)
    sizes = (
        size
        for size in range(9)
        for held in combinations(range(8), size)
        if _reached(recipes, wanted, set(held)) == len(wanted)
    )
    assert next(sizes) == count


def test_one_fewer_loses_and_one_more_comes_nearer(
    recipes: Repertoire, wanted: tuple[Target, ...]
) -> None:
    """With one purchase fewer some color is missed; with one more the mean is no worse."""
    found = choose_kit(
        wanted, recipes, single_offers(recipes.colorants), Wishes(), seconds=1, clock=standing_still
    )
    assert found.fewer is not None
    assert found.more is not None
    assert found.fewer.within < len(wanted)
    assert found.more.mean <= found.chosen.mean + 1e-9


def test_what_is_owned_costs_nothing(recipes: Repertoire, wanted: tuple[Target, ...]) -> None:
    """Who owns all of it buys nothing, and the answer with nothing bought is the same."""
    owned = frozenset(recipes.colorants)
    found = choose_kit(wanted, recipes, (), Wishes(owned=owned), seconds=1, clock=standing_still)
    assert found.chosen.bought == ()
    nothing, chosen = ([c.recipe for c in o.colors] for o in (found.nothing, found.chosen))
    assert nothing == chosen


def test_a_set_is_bought_where_it_is_cheaper(
    recipes: Repertoire, wanted: tuple[Target, ...]
) -> None:
    """A box of everything at the price of two is bought before three singly."""
    singles = single_offers(recipes.colorants, price=300)
    box = Offer("box", tuple(range(len(recipes.colorants))), 600)
    found = choose_kit(
        wanted, recipes, (*singles, box), Wishes(aim=Aim.CHEAPEST), seconds=1, clock=standing_still
    )
    assert [offer.name for offer in found.chosen.bought] == ["box"]
    assert found.chosen.price == 600


def test_extras_count_towards_the_budget(recipes: Repertoire, wanted: tuple[Target, ...]) -> None:
    """Solvent and paper leave less of the budget for colorants."""
    singles = single_offers(recipes.colorants, price=300)
    wishes = Wishes(aim=Aim.CHEAPEST, budget=700, extras=(("paper", 200),))
    found = choose_kit(wanted, recipes, singles, wishes, seconds=1, clock=standing_still)
    assert len(found.chosen.bought) == 1
    assert found.chosen.price == 500


def test_a_color_nothing_reaches_is_named(recipes: Repertoire) -> None:
    """An impossible color is an answer, not an error."""
    far = Target("glow", np.array([60.0, 90.0, -40.0]))
    found = choose_kit(
        [far], recipes, single_offers(recipes.colorants), Wishes(), seconds=1, clock=standing_still
    )
    assert found.unreachable == ("glow",)
    assert found.chosen.bought == ()
    assert not found.chosen.colors[0].within


def test_a_repertoire_holds_every_recipe(quay: MarkerFit, recipes: Repertoire) -> None:
    """The recipes are as many as the search counts, each with the color the model predicts."""
    assert len(recipes) == recipes.space.considered
    assert len(set(recipes.numbers.tolist())) == len(recipes)
    for place in (0, 3, 77, len(recipes) - 1):
        seen = predict(quay, recipes.recipe(place))
        assert recipes.lab[place] == pytest.approx(seen.lab, abs=1e-6)
        used = {recipes.colorants[m] for m in recipes.members[place] if m >= 0}
        assert used == set(recipes.recipe(place).colorants)


def test_within_finds_all_that_comparing_all_finds(recipes: Repertoire) -> None:
    """Passing over by lightness loses no recipe."""
    lab = lab_from_reflectance(np.full(36, 0.4))
    places, off = recipes.within(lab, 9.0)
    whole = ciede2000(lab, recipes.lab)
    assert places.tolist() == np.flatnonzero(whole <= 9.0).tolist()
    assert off == pytest.approx(whole[places])
