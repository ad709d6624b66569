"""Which colorants to buy so that a list of colors can be made, and what one more or fewer means."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.acceptance import acceptances, likely, may_pass
from laydown.match.judge import candidate_of, own
from laydown.match.minimal import PAIRS_ABOVE, minimal_ways
from laydown.match.outcome import Candidate, Target, Verdict
from laydown.match.question import Question, Way, way_of
from laydown.match.search.sense import is_quiet, sense_of
from laydown.media.recipe import Colorant, Recipe
from laydown.media.recipe_words import recipe_words
from laydown.plan.kit.branch import WHOLE, Clock, solved
from laydown.plan.kit.problem import Aim, KitProblem, Offer, Places, Ways, holding, reduced
from laydown.reference.thresholds import thresholds

MISSED = 2.0
"""So many tolerances more than from all that could be had a color may cost to be made at all; one
that costs more counts as that when the best N are chosen."""
SIDE_SHARE = 0.25
"""Share of the time that each of the questions beside the main one gets."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a choice must keep to."""

    aim: Aim = Aim.FEWEST
    """Fewest, cheapest, or the best that `most` purchases do."""
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
    near_enough: bool
    """Whether it is likelier accepted than not, or may pass and is as near as anything comes."""
    wanted: FloatArray
    lab: FloatArray
    """Shape (3,), CIELAB of the color and of what the recipe gives."""
    verdict: Verdict
    acceptance: float
    """Of the recipe, and the chance, 0 to 1, that an observer accepts it."""

    @property
    def words(self) -> str:
        """What is laid; bare paper is said for what it comes near to alone."""
        if self.recipe.steps or self.near_enough:
            return recipe_words(self.recipe)
        return "nothing you then have is worth laying"


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
    """The least that the aim could come to by what is proven: colorants, price, or the sum of what
    the colors cost more than from all that could be had."""
    value: float
    """What it comes to."""

    @property
    def near_enough(self) -> int:
        """How many colors are."""
        return sum(color.near_enough for color in self.colors)

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
    """Names of colors that no recipe of all that was considered brings near enough to pass; a
    longer recipe may."""
    recipes: int
    ways: int
    """How many recipes were considered, and how many pairs of a color and a set of colorants that
    makes it."""


def ways_to(question: Question) -> tuple[Way, ...]:
    """Return what any purchase would have a match give for a color, that of all of it first.

    Of each set of colorants the recipe of the least cost, effort and doubt included, as far as it
    costs no more than `MISSED` tolerances above the first. Where the color is one that can be had,
    who has it lays it.

    `question`: what is asked of all that could be had together, in recipes of two steps at most.
    """
    named = own(question)
    found = question.find()
    first = way_of(question, named or found.recipes[0])
    most = first.cost + MISSED * question.tolerance
    above = max(0.0, most - float(question.nearest().costs[0])) / PAIRS_ABOVE
    listed, _ = minimal_ways(question, above=above, pairs=PAIRS_ABOVE)
    ways = [way for way in listed if way.cost <= most]
    if named is None:
        return tuple(ways)
    mine = {*named.colorants}
    return (first, *(way for way in ways if not mine <= {*way.recipe.colorants}))


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """What is asked, and what can be made of it."""

    questions: Sequence[Question]
    ways: Sequence[Sequence[Way]]
    colorants: tuple[Colorant, ...]
    offers: tuple[Offer, ...]
    wishes: Wishes
    out: frozenset[str]
    seconds: float
    clock: Clock
    near: Ways = field(init=False)
    """All ways; their cost is how much more it is than from all that could be had."""
    good: NDArray[np.bool_] = field(init=False)
    """Shape (ways,), which of them are good enough."""
    judged: dict[tuple[int, Recipe], Candidate] = field(default_factory=dict)
    """Recipes that are judged alike whatever else is at hand, by the places of their colors."""

    def __post_init__(self) -> None:
        pairs = list(zip(self.questions, self.ways, strict=True))
        more = [np.array([max(0.0, w.cost - ways[0].cost) for w in ways]) for ways in self.ways]
        good = [
            _good(*pair, off) & (pair[0].target.name not in self.out)
            for pair, off in zip(pairs, more, strict=True)
        ]
        target = np.repeat(np.arange(len(more)), [len(ways) for ways in self.ways])
        near = Ways(target, self._members(), np.concatenate([np.zeros(0), *more]))
        object.__setattr__(self, "near", near)
        object.__setattr__(self, "good", np.concatenate([np.zeros(0, np.bool_), *good]))

    def _members(self) -> Places:
        """Return the places of what each way needs, shape (ways, most that any needs)."""
        places = {colorant.label: place for place, colorant in enumerate(self.colorants)}
        sets = [[places[c.label] for c in w.recipe.colorants] for ways in self.ways for w in ways]
        members = np.full((len(sets), max(map(len, sets), default=0) or 1), -1)
        for row, needed in zip(members, sets, strict=True):
            row[: len(needed)] = needed
        return members


def _good(question: Question, ways: Sequence[Way], more: FloatArray) -> NDArray[np.bool_]:
    """Return which ways are near enough, see `near_enough`."""
    labs, covariances = np.array([w.lab for w in ways]), np.array([w.covariance for w in ways])
    wanted, tolerance = question.target.lab, question.tolerance
    chances = acceptances(wanted, labs, covariances, tolerance=tolerance).tolist()
    return np.array([near_enough(*way) for way in zip(chances, more.tolist(), strict=True)])


def near_enough(chance: float, more: float) -> bool:
    """Whether a color comes near enough to count as made, by its chance to be accepted.

    Where nothing is likelier accepted than not, what may pass does if it is as near as anything.

    `chance`: as `laydown.match.acceptance.acceptance` has it. `more`: how much more it costs than
    what a match gives from all that could be had.

    >>> near_enough(0.6, 3.0), near_enough(0.4, 3.0), near_enough(0.4, 0.5)
    (True, False, True)
    """
    return likely(chance) or (may_pass(chance) and more <= thresholds()["noticeable"])


def choose_kit(
    questions: Sequence[Question],
    ways: Sequence[Sequence[Way]],
    colorants: Sequence[Colorant],
    offers: Sequence[Offer],
    wishes: Wishes,
    *,
    clock: Clock,
    seconds: float = 60.0,
    out: frozenset[str] = frozenset(),
) -> KitChoice:
    """Choose what to buy, by what a match would then give.

    `questions`: what is asked for each color, of everything that could be owned. `ways`: for each
    of them, see `ways_to`. `colorants`: all that are considered; places in offers count them.
    `offers`: what can be bought. `wishes`: what the choice must keep to. `clock`: tells the time,
    such as ``time.monotonic``. `seconds`: how long to try to prove the choice, and a quarter of it
    for each question beside. `out`: names of colors that are out of reach of all of it: nothing is
    bought for them.

    Colors that can't be made are in what is returned, not an error.
    """
    asked = _Asked(questions, ways, tuple(colorants), tuple(offers), wishes, out, seconds, clock)
    wide = _problem(asked, wishes.aim, wishes.most)
    chosen = _outcome(asked, wide, seconds=seconds)
    count = len(chosen.bought)
    return KitChoice(
        wishes=wishes,
        colorants=asked.colorants,
        chosen=chosen,
        nothing=_with_nothing(asked),
        fewer=_beside(asked, wishes.aim, count - 1) if count > len(wishes.must) else None,
        more=_beside(asked, Aim.BEST, count + 1, good_alone=wishes.aim is not Aim.BEST)
        if count < len(offers)
        else None,
        unreachable=_unreachable(asked),
        recipes=max((question.space.considered for question in questions), default=0),
        ways=len(wide.ways),
    )


def _problem(asked: _Asked, aim: Aim, most: int | None) -> KitProblem:
    wishes, colorants = asked.wishes, asked.colorants
    spent = sum(price for _, price in wishes.extras)
    tolerance = max((question.tolerance for question in asked.questions), default=1.0)
    return KitProblem(
        colorants=len(colorants),
        targets=len(asked.questions),
        ways=asked.near if aim is Aim.BEST else asked.near.only(asked.good),
        offers=asked.offers,
        aim=aim,
        owned=_places(colorants, wishes.owned),
        must=frozenset(i for i, o in enumerate(asked.offers) if o.name in wishes.must),
        never=_places(colorants, wishes.never),
        most=most,
        budget=None if wishes.budget is None else max(0, wishes.budget - spent),
        missed=MISSED * tolerance,
    )


def _places(colorants: Sequence[Colorant], some: frozenset[Colorant]) -> frozenset[int]:
    labels = {colorant.label for colorant in some}
    return frozenset(i for i, colorant in enumerate(colorants) if colorant.label in labels)


def _outcome(asked: _Asked, problem: KitProblem, *, seconds: float) -> PurchaseOutcome:
    """Return what a purchase comes to; where the aim is what is good enough, by what is given.

    Beside a good way to a color a match may give a cheaper one that is not near enough. Then what
    costs as much or more is no way to it either, and another purchase is looked for.
    """
    good_alone = problem.ways is not asked.near
    while True:
        choice, bound, proven = solved(reduced(problem), seconds=seconds, clock=asked.clock)
        held = holding(problem, choice.offers)
        made, more = _made(asked, held)
        kept = _unspoiled(problem.ways, held, made, more)
        if kept.all() or not (good_alone and proven):
            break
        problem = replace(problem, ways=problem.ways.only(kept))
    bought = tuple(asked.offers[place] for place in sorted(choice.offers))
    price = sum(offer.price for offer in bought) + sum(p for _, p in asked.wishes.extras)
    return PurchaseOutcome(bought, price, tuple(made), proven, bound, choice.value)


def _unspoiled(
    ways: Ways, held: NDArray[np.bool_], made: Sequence[ColorMade], more: FloatArray
) -> NDArray[np.bool_]:
    """Return which ways a match would give, shape (ways,), as far as what it gives now tells."""
    at_hand = (held[np.maximum(ways.members, 0)] | (ways.members < 0)).all(axis=1)
    counted = np.isin(np.arange(len(made)), ways.target[at_hand])
    spoiled = counted & ~np.array([color.near_enough for color in made], dtype=np.bool_)
    return ~(spoiled & (ways.cost[:, None] >= more - WHOLE))[np.arange(len(ways)), ways.target]


def _made(asked: _Asked, held: NDArray[np.bool_]) -> tuple[list[ColorMade], FloatArray]:
    """Return what a match gives for each color of what is at hand, and what that costs more."""
    lacking = frozenset(c.label for c, has in zip(asked.colorants, held, strict=True) if not has)
    made, more = list[ColorMade](), list[float]()
    for whole, ways in zip(asked.questions, asked.ways, strict=True):
        question = whole.with_limits(without=lacking)
        recipe = _given(whole, question, ways)
        match = asked.judged.get((len(more), recipe)) or candidate_of(question, recipe)
        # what is farther off may need another layer, of what is at hand
        if match.verdict is Verdict.SAME or match.difference.delta_e <= question.tolerance:
            asked.judged[len(more), recipe] = match
        more.append(match.cost - ways[0].cost)
        color = color_made(question.target, match, more[-1])
        out = color.name in asked.out
        made.append(replace(color, near_enough=color.near_enough and not out))
    return made, np.array(more)


def color_made(wanted: Target, match: Candidate, more: float = 0.0) -> ColorMade:
    """Return what becomes of a color by a recipe that was matched, see `near_enough`."""
    return ColorMade(
        name=wanted.name,
        recipe=match.prediction.recipe,
        difference=match.difference.delta_e,
        near_enough=near_enough(match.acceptance, more),
        wanted=wanted.lab,
        lab=match.prediction.lab,
        verdict=match.verdict,
        acceptance=match.acceptance,
    )


def _given(whole: Question, question: Question, ways: Sequence[Way]) -> Recipe:
    """Return what a match gives of a part of what could be had.

    That is the first of the ways that needs no more, where the rules ask the same of the part.
    """
    if (named := own(question)) is not None:
        return named
    lacking = question.limits.without
    for way in ways if _near(whole) == _near(question) else ():
        if not lacking & {colorant.label for colorant in way.recipe.colorants}:
            return way.recipe
    return question.find().recipes[0]


def _near(question: Question) -> bool:
    """Whether the rules ask more of a color, since something near it is at hand."""
    wanted = question.target.lab
    if not question.ranking.sense or not is_quiet(wanted):
        return False
    return sense_of(question.fit, question.limits.without, question.over).near(wanted)


def _with_nothing(asked: _Asked) -> PurchaseOutcome:
    held = holding(_problem(asked, asked.wishes.aim, 0), set())
    made, _ = _made(asked, held)
    return PurchaseOutcome((), 0, tuple(made), proven=True, bound=0.0, value=0.0)


def _beside(asked: _Asked, aim: Aim, most: int, *, good_alone: bool = False) -> PurchaseOutcome:
    """Return the best by another aim and number of purchases."""
    problem = _problem(asked, aim, most)
    if good_alone:
        problem = replace(problem, ways=asked.near.only(asked.good))
    return _outcome(asked, problem, seconds=asked.seconds * SIDE_SHARE)


def _unreachable(asked: _Asked) -> tuple[str, ...]:
    reached = set(asked.near.target[asked.good].tolist())
    names = [question.target.name for question in asked.questions]
    return tuple(name for place, name in enumerate(names) if place not in reached)
