"""Which colorants to buy so that a list of colors can be made, and what one more or fewer means."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.judge import candidate_of, own
from laydown.match.outcome import Candidate, Target, Verdict
from laydown.match.question import Question
from laydown.match.ranking import NOTHING
from laydown.match.search.repertoire import Repertoire
from laydown.match.search.sense import for_area
from laydown.media.kit.fit import AnyFit
from laydown.media.recipe import Colorant, Recipe
from laydown.plan.kit.branch import Clock, solved
from laydown.plan.kit.problem import Aim, KitProblem, Offer, Ways, holding, reduced

REACH = 4.0
"""A color further off than so many tolerances counts as missed when the best N are chosen."""
SIDE_SHARE = 0.25
"""Share of the time that each of the questions beside the main one gets."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a choice must keep to."""

    aim: Aim = Aim.FEWEST
    """Fewest, cheapest, or the best that `most` purchases do."""
    tolerance: float = 2.25
    """CIEDE2000 that is close enough."""
    owned: frozenset[Colorant] = frozenset()
    never: frozenset[Colorant] = frozenset()
    """Colorants that are there already, and that are not to be used."""
    must: frozenset[str] = frozenset()
    """Names of offers that are bought whatever else is."""
    most: int | None = None
    """How many purchases are allowed; None for any number."""
    budget: int | None = None
    """What all may cost together, in minor units; None for any price."""
    extras: tuple[tuple[str, int], ...] = ()
    """Names and prices of what is bought besides: solvent, paper."""
    currency: str = ""
    """As the supply list writes it; empty where nothing has a price."""


@dataclass(frozen=True, slots=True, eq=False)
class ColorMade:
    """What becomes of one wanted color: the recipe for it from what is then at hand."""

    name: str
    """Of the color."""
    recipe: Recipe
    """The one that a match gives from it."""
    difference: float
    """CIEDE2000 of that."""
    within: bool
    """Whether it, or the closer one, is within the tolerance, and the color is not out of reach of
    all that was considered."""
    wanted: FloatArray
    lab: FloatArray
    """Shape (3,), CIELAB of the color and of what the recipe gives."""
    verdict: Verdict
    acceptance: float
    """Of the recipe, and the chance, 0 to 1, that an observer accepts it."""
    closer: Recipe | None = None
    """Where it is farther off than the tolerance, being plainer or surer: the plainest recipe that
    is within."""


@dataclass(frozen=True, slots=True)
class PurchaseOutcome:
    """What a purchase comes to."""

    bought: tuple[Offer, ...]
    """The offers."""
    price: int
    """With what is bought besides."""
    colors: tuple[ColorMade, ...]
    """What becomes of each wanted color, in their order."""
    proven: bool
    """Whether nothing better can be bought by the same rules."""
    bound: float
    """The least that the aim could come to by what is proven: colorants, price, or sum of ΔE."""
    value: float
    """What it comes to."""

    @property
    def within(self) -> int:
        """How many colors are within the tolerance."""
        return sum(color.within for color in self.colors)

    @property
    def mean(self) -> float:
        """The mean difference, 0 for no colors."""
        return float(np.mean([color.difference for color in self.colors] or [0.0]))


@dataclass(frozen=True, slots=True)
class KitChoice:
    """The answer."""

    wishes: Wishes
    """What it keeps to."""
    colorants: tuple[Colorant, ...]
    """All that were considered, in the order in which offers count them."""
    chosen: PurchaseOutcome
    """The purchase."""
    nothing: PurchaseOutcome
    """What becomes of the colors with nothing bought."""
    fewer: PurchaseOutcome | None
    more: PurchaseOutcome | None
    """The best with one purchase fewer, by the same aim, and the nearest to all colors that one
    purchase more does; None where there is no such."""
    unreachable: tuple[str, ...]
    """Names of colors that no recipe of all that was considered brings within the tolerance; a
    longer recipe may."""
    recipes: int
    ways: int
    """How many recipes were considered, and how many pairs of a color and a recipe that is near."""


@dataclass(frozen=True, slots=True, eq=False)
class _Question:
    targets: tuple[Target, ...]
    repertoire: Repertoire
    offers: tuple[Offer, ...]
    wishes: Wishes
    out: frozenset[str]
    seconds: float
    clock: Clock
    swatched: AnyFit | None
    near: Ways = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "near", _near(self))


def choose_kit(
    targets: Sequence[Target],
    repertoire: Repertoire,
    offers: Sequence[Offer],
    wishes: Wishes,
    *,
    clock: Clock,
    seconds: float = 60.0,
    out: frozenset[str] = frozenset(),
    swatched: AnyFit | None = None,
) -> KitChoice:
    """Choose what to buy.

    Parameters
    ----------
    targets
        The colors wanted.
    repertoire
        All short recipes of everything that could be owned.
    offers
        What can be bought; their places count `repertoire.colorants`.
    wishes
        What the choice must keep to.
    clock
        Tells the time, such as ``time.monotonic``.
    seconds
        How long to try to prove the choice, and a quarter of it for each question beside.
    out
        Names of colors that are out of reach of all of it: what would bring them within the
        tolerance isn't worth laying, so nothing is bought for it.
    swatched
        What swatches alone tell of the kit, where trials have moved the fit.

    Returns
    -------
    KitChoice
        Colors that can't be made are in it, not an error.
    """
    question = _Question(
        tuple(targets), repertoire, tuple(offers), wishes, out, seconds, clock, swatched
    )
    wide = _problem(question, wishes.aim, wishes.most)
    chosen = _outcome(question, wide, seconds=seconds)
    count = len(chosen.bought)
    return KitChoice(
        wishes=wishes,
        colorants=repertoire.colorants,
        chosen=chosen,
        nothing=_with_nothing(question),
        fewer=_beside(question, wishes.aim, count - 1) if count > len(wishes.must) else None,
        more=_beside(question, Aim.BEST, count + 1, within=wishes.aim is not Aim.BEST)
        if count < len(offers)
        else None,
        unreachable=_unreachable(question),
        recipes=len(repertoire),
        ways=len(wide.ways),
    )


def _near(question: _Question) -> Ways:
    """Return all recipes near enough to each color to count at all."""
    wishes, kit = question.wishes, question.repertoire
    target, members, cost = [], [], []
    for place, wanted in enumerate(question.targets):
        rows, off = kit.within(wanted.lab, REACH * wishes.tolerance)
        target.append(np.full(len(rows), place))
        members.append(kit.members[rows])
        cost.append(off)
    width = kit.members.shape[1]
    if not target:
        return Ways(np.zeros(0, np.int64), np.zeros((0, width), np.int64), np.zeros(0))
    return Ways(np.concatenate(target), np.concatenate(members), np.concatenate(cost))


def _problem(question: _Question, aim: Aim, most: int | None) -> KitProblem:
    wishes, colorants = question.wishes, question.repertoire.colorants
    near = question.near if aim is Aim.BEST else _good_enough(question, question.near)
    spent = sum(price for _, price in wishes.extras)
    return KitProblem(
        colorants=len(colorants),
        targets=len(question.targets),
        ways=near,
        offers=question.offers,
        aim=aim,
        owned=_places(colorants, wishes.owned),
        must=frozenset(i for i, o in enumerate(question.offers) if o.name in wishes.must),
        never=_places(colorants, wishes.never),
        most=most,
        budget=None if wishes.budget is None else max(0, wishes.budget - spent),
        missed=REACH * wishes.tolerance,
    )


def _good_enough(question: _Question, ways: Ways) -> Ways:
    """Return the ways within the tolerance, of colors that are not out of reach."""
    out = [i for i, wanted in enumerate(question.targets) if wanted.name in question.out]
    return ways.only((ways.cost <= question.wishes.tolerance) & ~np.isin(ways.target, out))


def _places(colorants: Sequence[Colorant], some: frozenset[Colorant]) -> frozenset[int]:
    labels = {colorant.label for colorant in some}
    return frozenset(i for i, colorant in enumerate(colorants) if colorant.label in labels)


def _outcome(question: _Question, problem: KitProblem, *, seconds: float) -> PurchaseOutcome:
    choice, bound, proven = solved(reduced(problem), seconds=seconds, clock=question.clock)
    offers = sorted(choice.offers)
    bought = tuple(question.offers[place] for place in offers)
    extras = sum(price for _, price in question.wishes.extras)
    price = sum(offer.price for offer in bought) + extras
    held = holding(problem, set(offers))
    return PurchaseOutcome(bought, price, _made(question, held), proven, bound, choice.value)


def _made(question: _Question, held: NDArray[np.bool_]) -> tuple[ColorMade, ...]:
    kit, tolerance = question.repertoire, question.wishes.tolerance
    near = kit.made_from(held)
    without = frozenset(c.label for c, has in zip(kit.colorants, held, strict=True) if not has)
    made = []
    for wanted in question.targets:
        one = color_made(wanted, _as_matched(question, wanted, without), tolerance)
        inside, off = near.within(wanted.lab, tolerance)
        if one.within or not len(inside) or wanted.name in question.out:
            made.append(replace(one, within=one.within and wanted.name not in question.out))
            continue
        effort = near.space.effort(near.numbers[inside], wanted.lab)
        closer = near.recipe(int(inside[np.argmin(off + effort)]))
        made.append(replace(one, within=True, closer=closer))
    return tuple(made)


def color_made(wanted: Target, match: Candidate, tolerance: float) -> ColorMade:
    """Return what becomes of a color by a recipe that was matched."""
    return ColorMade(
        name=wanted.name,
        recipe=match.prediction.recipe,
        difference=match.difference.delta_e,
        within=match.difference.delta_e <= tolerance,
        wanted=wanted.lab,
        lab=match.prediction.lab,
        verdict=match.verdict,
        acceptance=match.acceptance,
    )


def _as_matched(question: _Question, wanted: Target, without: frozenset[str]) -> Candidate:
    """Return what a match of a color gives, with no other recipes than those that are counted."""
    space, tolerance = question.repertoire.space, question.wishes.tolerance
    asked = Question(
        wanted,
        question.repertoire.fit,
        replace(space.limits, without=without),
        for_area(space.ranking, wanted.share),
        tolerance,
        NOTHING,
        swatched=question.swatched,
    )
    return candidate_of(asked, own(asked) or asked.find().recipes[0])


def _with_nothing(question: _Question) -> PurchaseOutcome:
    problem = _problem(question, question.wishes.aim, 0)
    held = holding(problem, set())
    made = _made(question, held)
    return PurchaseOutcome((), 0, made, proven=True, bound=0.0, value=0.0)


def _beside(question: _Question, aim: Aim, most: int, *, within: bool = False) -> PurchaseOutcome:
    """Return the best by another aim and number of purchases; only ways `within` may count."""
    problem = _problem(question, aim, most)
    if within:
        problem = replace(problem, ways=_good_enough(question, problem.ways))
    return _outcome(question, problem, seconds=question.seconds * SIDE_SHARE)


def _unreachable(question: _Question) -> tuple[str, ...]:
    near = _good_enough(question, question.near)
    never = _places(question.repertoire.colorants, question.wishes.never)
    usable = np.ones(len(question.repertoire.colorants), dtype=np.bool_)
    usable[list(never)] = False
    fine = (usable[np.maximum(near.members, 0)] | (near.members < 0)).all(axis=1)
    reached = set(near.target[fine].tolist())
    return tuple(t.name for i, t in enumerate(question.targets) if i not in reached)
