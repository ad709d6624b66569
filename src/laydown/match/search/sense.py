"""The sense of the trade: what a good teacher would not do, though the numbers come out nearer.

Each rule has a name, a weight and its words in one table, ``reference/sense.csv``; here stands how
far a recipe goes against each. The weight times that is added to the cost, in CIEDE2000 as ranked,
so that a rule yields to a recipe that is nearer by more.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache, partial
from itertools import chain
from math import hypot
from operator import itemgetter
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.match.ranking import Ranking
from laydown.match.search.shelves import REMEMBERED, UsableColorants, shelves
from laydown.media.kit.fit import AnyFit, KitFit
from laydown.media.laydown import Pressure
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Medium, Recipe, Step
from laydown.reference.tables import load_table

Traits = NDArray[np.void]
"""What is laid, bottom first, two places a step for the parts of a mixture; see `TRAIT`."""
TRAIT = np.dtype(
    [
        ("laid", "?"),
        ("blender", "?"),
        ("coats", "i8"),
        ("pressure", "i8"),
        ("opacity", "i8"),
        ("lab", "f8", (3,)),
    ]
)
"""A step as the rules see it: pressure 1 to 3 of a pencil, 0 of others; opacity 1 for a transparent
wash, 2 for an opaque one, 0 for what is neither; the color of one usual coat of it on the paper."""
GRAY, VIVID = 8.0, 18.0
"""A color wanted below the one is a gray; a colorant above the other is too bright to lay it
[CIELAB chroma] (chosen)."""
WARM = (35.0, 90.0)
"""Hues of skin, tan and brown [degrees] (chosen)."""
QUIET = (8.0, 40.0)
"""Their chroma: below it is gray, above it orange or yellow (chosen)."""
SKIN = 60.0
"""Lighter than this it is a skin tone or a tan, darker a brown [L*] (chosen)."""
OPPOSITE = 80.0
"""A hue so far from that of the color wanted works against it [degrees] (chosen)."""
PALER = 12.0
"""A color so much lighter than what lies below is laid to lighten it [L*] (chosen)."""
LIGHT = 85.0
"""A color wanted so light is left to the paper: to lay more and lift it is the long way round [L*]
(chosen)."""
OPAQUE, TRANSPARENT = 0.2, 0.12
"""Scattering of one coat of a wash, the mean of all bands, above and below (chosen)."""
MOST_BLENDER, NEVER = 2, 40.0
"""More coats of a blender are never laid over an area: they count as so many (chosen)."""
SMALL = 5.0
"""A color with no more of a picture is a small area [percent] (chosen)."""
Look = Callable[[Traits], NDArray[Any]]
"""What a rule asks of steps, whatever shape they stand in."""
Each = Callable[[Look], NDArray[Any]]
"""The same of all that lies in piles, bottom first, shape (n, parts); it is asked once a step."""
_PRESSURES = (Pressure.LIGHT, Pressure.MEDIUM, Pressure.HEAVY)


@cache
def rules() -> MappingProxyType[str, tuple[float, str, str]]:
    """Return all rules by their names, in the order of the table.

    Of each what going against it once adds to a cost [CIEDE2000 as ranked], the rule in a sentence,
    and where it comes from.

    >>> rules()["blender on bare paper"][2]
    'common practice, no source'
    """
    table = load_table("sense")
    names, weights, words, marks = (table[c] for c in ("rule", "weight", "words", "mark"))
    known = zip(map(float, weights), words, marks, strict=True)
    return MappingProxyType(dict(zip(names, known, strict=True)))


@dataclass(frozen=True, slots=True, eq=False)
class Sense:
    """The rules for one kit on its paper."""

    traits: dict[str, Traits]
    """Of each colorant in one usual coat, by its label."""
    lies: Traits
    """Of what lies on the paper already."""
    labs: FloatArray
    """Shape (n, 3), the colors of all colorants at hand that are no blenders."""

    def cost(self, steps: Traits, piles: NDArray[np.int64], wanted: FloatArray) -> FloatArray:
        """Return what recipes add to their cost by going against the rules, shape (n,).

        `steps`: shape (m, 2), of all that may be laid. `piles`: shape (n, steps), which of them
        are. `wanted`: shape (3,), the color wanted.
        """

        def each(look: Look) -> NDArray[Any]:
            lies = look(self.lies).ravel()
            below = np.broadcast_to(lies, (len(piles), len(lies)))
            return np.concatenate([below, look(steps)[piles].reshape(len(piles), -1)], axis=1)

        return np.asarray(
            sum(rules()[name][0] * goes(self, each, wanted) for name, goes in AGAINST.items()),
            dtype=np.float64,
        )

    def of_recipes(self, recipes: Sequence[Recipe], wanted: FloatArray) -> FloatArray:
        """Return what recipes, laid over what lies there, add to their costs, shape (n,)."""
        rows = [[step for step in recipe.steps if isinstance(step, Step)] for recipe in recipes]
        table = [np.zeros((1, 2), dtype=TRAIT), of_steps(chain.from_iterable(rows), self.traits)]
        piles, first = np.zeros((len(rows), max(map(len, rows), default=0)), dtype=np.int64), 1
        for pile, row in zip(piles, rows, strict=True):
            pile[: len(row)] = np.arange(first, first + len(row))
            first += len(row)
        return self.cost(np.concatenate(table), piles, wanted)

    def near(self, wanted: FloatArray) -> bool:
        """Whether something at hand is as gray, or about of the hue, of a quiet color."""
        return bool(np.any(are_near(self.labs, wanted)))


def of_steps(steps: Iterable[Step], traits: Mapping[str, Traits]) -> Traits:
    """Return steps as the rules see them, shape (steps, 2): each of two parts of a mixture.

    `traits`: of each colorant in one usual coat, by its label.
    """
    pairs = np.zeros((0, 2), dtype=TRAIT)
    return np.concatenate([pairs, *(_of(step, traits)[None] for step in steps)])


def _of(step: Step, traits: Mapping[str, Traits]) -> Traits:
    pair = np.zeros(2, dtype=TRAIT)
    pair[: len(step.parts)] = [traits[part.colorant.label] for part in step.parts]
    laid, laydown = pair["laid"], step.laydown
    pair["coats"] = laid * laydown.coats
    pair["opacity"] = laid * pair["opacity"].max()
    if step.colorant.medium is Medium.PENCIL:
        pair["pressure"] = laid * (1 + _PRESSURES.index(laydown.pressure))
    return pair


def is_quiet(wanted: FloatArray) -> bool:
    """Whether a color is a gray, or a quiet warm one, for which rules ask what is at hand."""
    return hypot(wanted[1], wanted[2]) < GRAY or _is_warm(wanted)


def are_near(labs: FloatArray, wanted: FloatArray) -> NDArray[np.bool_]:
    """Return which colors, shape (n, 3), are as gray or about of the hue of a quiet color."""
    chroma = np.hypot(labs[:, 1], labs[:, 2])
    if hypot(wanted[1], wanted[2]) < GRAY:
        return np.asarray(chroma < VIVID)
    return np.asarray((chroma > QUIET[0]) & (_turn(labs, wanted) < OPPOSITE / 2.0))


def _is_warm(wanted: FloatArray) -> bool:
    chroma, hue = hypot(wanted[1], wanted[2]), np.degrees(np.arctan2(wanted[2], wanted[1]))
    return bool(QUIET[0] <= chroma <= QUIET[1] and WARM[0] <= hue <= WARM[1])


def _turn(labs: FloatArray, wanted: FloatArray) -> FloatArray:
    """Return how far hues are turned from that of the color wanted [degrees], leading axes kept."""
    hues = np.degrees(np.arctan2(labs[..., 2], labs[..., 1]) - np.arctan2(wanted[2], wanted[1]))
    return np.asarray(np.abs((hues + 180.0) % 360.0 - 180.0))


def _vivid(steps: Traits) -> NDArray[np.bool_]:
    """Return which steps are bright colors."""
    chroma = np.hypot(steps["lab"][..., 1], steps["lab"][..., 2])
    return np.asarray(steps["laid"] & ~steps["blender"] & (chroma > VIVID))


def _bright_in_grays(sense: Sense, each: Each, wanted: FloatArray) -> FloatArray | float:
    if hypot(wanted[1], wanted[2]) >= GRAY or not sense.near(wanted):
        return 0.0
    return np.asarray(each(_vivid).sum(axis=1, dtype=np.float64))


def _opposites(sense: Sense, each: Each, wanted: FloatArray, *, light: bool) -> FloatArray | float:
    """Count steps against the hue of a quiet warm color, a light one or a dark one."""
    if not _is_warm(wanted) or (wanted[0] >= SKIN) != light or not sense.near(wanted):
        return 0.0
    against = each(lambda steps: _vivid(steps) & (_turn(steps["lab"], wanted) > OPPOSITE))
    return np.asarray(against.sum(axis=1, dtype=np.float64))


def _blender_first(sense: Sense, each: Each, wanted: FloatArray) -> FloatArray | float:
    first = each(itemgetter("blender"))[:, :1]
    return np.asarray(first.sum(axis=1, dtype=np.float64))


def _coats_of_blender(steps: Traits) -> NDArray[np.int64]:
    return np.where(steps["blender"], steps["coats"], 0)


def _blender_coats(sense: Sense, each: Each, wanted: FloatArray) -> FloatArray | float:
    """Count one for one coat of a blender, four for two: an area is no edge; three never do."""
    coats = each(_coats_of_blender).sum(axis=1)
    return np.where(coats > MOST_BLENDER, NEVER, coats**2)


def _not_from_paper(sense: Sense, each: Each, wanted: FloatArray) -> FloatArray | float:
    """Count pale coats over something darker, and for a light color the coats of a blender.

    One for two pale coats, three for three: one is but a glaze.
    """

    def colored(steps: Traits) -> NDArray[np.bool_]:
        return np.asarray(steps["laid"] & ~steps["blender"])

    light = each(lambda steps: np.where(colored(steps), steps["lab"][..., 0], 100.0))
    coats = each(lambda steps: np.where(colored(steps), steps["coats"], 0))
    paler = light[:, 1:] > np.minimum.accumulate(light, axis=1)[:, :-1] + PALER
    coats = np.where(paler, coats[:, 1:], 0)
    lifted = each(_coats_of_blender).sum(axis=1) if wanted[0] >= LIGHT else 0.0
    return np.asarray((coats * (coats - 1) / 2.0).sum(axis=1) + lifted)


def _pressed_before(sense: Sense, each: Each, wanted: FloatArray) -> FloatArray | float:
    """Count steps over a pencil that was pressed harder, twice over a heavy layer."""
    pressure = each(itemgetter("pressure"))
    if not pressure.any():
        return 0.0
    heaviest, above = np.maximum.accumulate(pressure, axis=1)[:, :-1], pressure[:, 1:]
    lighter, over_heavy = (above > 0) & (above < heaviest), (above > 0) & (heaviest == 3)
    return np.asarray(lighter.sum(axis=1) + over_heavy.sum(axis=1), dtype=np.float64)


def _transparent_over_opaque(sense: Sense, each: Each, wanted: FloatArray) -> FloatArray | float:
    opacity = each(itemgetter("opacity"))
    if not opacity.any():
        return 0.0
    covered = np.maximum.accumulate(opacity, axis=1)[:, :-1] == 2
    return np.asarray((covered & (opacity[:, 1:] == 1)).sum(axis=1), dtype=np.float64)


Against = Callable[[Sense, Each, FloatArray], FloatArray | float]
AGAINST: MappingProxyType[str, Against] = MappingProxyType(
    {
        "grays from grays": _bright_in_grays,
        "skin from skin tones": partial(_opposites, light=True),
        "tan from browns": partial(_opposites, light=False),
        "blender on bare paper": _blender_first,
        "blender over an area": _blender_coats,
        "light from paper": _not_from_paper,
        "light pressure first": _pressed_before,
        "transparent over opaque": _transparent_over_opaque,
    }
)
"""How often recipes go against a rule; the others bear on more than a recipe."""


def for_area(ranking: Ranking, share: float | None) -> Ranking:
    """Return what recipes for so much of a picture are ranked by: effort counts more for little.

    `ranking`: as it is elsewhere. `share`: of the picture's area [percent]; None where nobody
    stated it.

    >>> for_area(Ranking(step=1.0, coat=0.5, sense=True), 3.0).coat
    1.0
    """
    if not ranking.sense or share is None or share > SMALL:
        return ranking
    more = 1.0 + rules()["small areas"][0]
    return replace(ranking, step=more * ranking.step, coat=more * ranking.coat)


@lru_cache(REMEMBERED)
def sense_of(fit: AnyFit, without: frozenset[str], over: Recipe) -> Sense:
    """Return the rules for a kit on its paper.

    `fit`: the kit. `without`: names or labels of colorants that are not to be used. `over`: what
    lies on the paper already.
    """
    kit = KitFit(markers=fit) if isinstance(fit, MarkerFit) else fit
    traits: dict[str, Traits] = {}
    for shelf in shelves(kit, frozenset()).values():
        traits |= traits_of(shelf)
    held = [c for c in fit.colorants if not {c.name, c.label} & without and not c.blender]
    labs = np.array([traits[c.label]["lab"] for c in held]).reshape(-1, 3)
    lies = of_steps((step for step in over.steps if isinstance(step, Step)), traits)
    return Sense(traits, lies, labs)


@lru_cache(REMEMBERED)
def traits_of(shelf: UsableColorants) -> dict[str, Traits]:
    """Return the traits of one usual coat of each colorant of a medium on the bare paper."""
    recipes = [Recipe((Step(colorant),)) for colorant in shelf.colorants]
    labs = lab_from_reflectance(np.array([shelf.fit.reflectance(recipe) for recipe in recipes]))
    traits = {}
    for colorant, scatters, lab in zip(shelf.colorants, shelf.s.mean(axis=1), labs, strict=True):
        pressure = 2 if colorant.medium is Medium.PENCIL else 0
        opacity = 0
        if colorant.medium is Medium.WASH:
            opacity = 2 if scatters > OPAQUE else int(scatters < TRANSPARENT)
        row = (True, colorant.blender, 1, pressure, opacity, lab)
        traits[colorant.label] = np.array(row, dtype=TRAIT)
    return traits
