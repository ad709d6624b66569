"""The usable colorants of a kit in arrays, and all that one further step may be."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, permutations
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.ranking import Limits
from laydown.media.film.laying import constants
from laydown.media.film.model import FilmFit, film_ground
from laydown.media.inference.forward import variants
from laydown.media.kit.fit import KitFit
from laydown.media.laydown import Laydown, Pressure
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Medium, Part, Recipe, Step

Ints = NDArray[np.int64]
REMEMBERED = 64
"""Kits of which the arrays are remembered: one color asks the same kit ten times over, and each
colorant of a film is solved for anew."""


DILUTIONS = (0.0, 0.5, 0.75)
"""Shares of water that are told apart by eye (common practice, no source)."""
PARTS = ((1, 1), (2, 1), (3, 1))
"""Coarse parts of palette mixtures, either way round (common practice, no source)."""


Slot: TypeAlias = tuple[Laydown, tuple[int, ...]]
"""How something is laid, and the parts of a palette mixture of two, empty for a single colorant.
What fills it is any colorant of a medium, or any pair of washes."""


def choices(parts: tuple[int, ...], colorants: int) -> tuple[tuple[int, ...], ...]:
    """Return what may fill a slot of such parts, as places among so many colorants.

    >>> choices((1, 1), 3)
    ((0, 1), (0, 2), (1, 2))
    """
    if not parts:
        return tuple((i,) for i in range(colorants))
    pick = combinations if parts[0] == parts[1] else permutations
    return tuple(pick(range(colorants), 2))


def slots(medium: Medium, limits: Limits) -> tuple[Slot, ...]:
    """Return the ways in which a search lays a medium.

    A marker: even coats. A pencil: one light coat; one medium coat or two; heavy coats. A wash:
    one coat at each of `DILUTIONS`, further coats straight from the pan; mixtures of two at
    `PARTS`, straight or half water. More would be told apart by nobody's hand.

    >>> len(slots(Medium.PENCIL, Limits(coats=2))), len(slots(Medium.WASH, Limits(steps=1)))
    (5, 5)
    """
    counts = range(1, limits.coats + 1)
    if medium is Medium.MARKER:
        return tuple((Laydown(coats=n), ()) for n in counts)
    if medium is Medium.PENCIL:
        laid = [Laydown(pressure=Pressure.LIGHT)]
        laid += [Laydown(coats=n) for n in counts if n <= 2]
        laid += [Laydown(coats=n, pressure=Pressure.HEAVY) for n in counts]
        return tuple((one, ()) for one in laid)
    laid = [Laydown(dilution=d) for d in DILUTIONS] + [Laydown(coats=n) for n in counts if n > 1]
    mixed = [(Laydown(dilution=d), parts) for d in DILUTIONS[:2] for parts in PARTS]
    return (*((one, ()) for one in laid), *(mixed if limits.steps > 1 else ()))


@dataclass(frozen=True, slots=True, eq=False)
class UsableColorants:
    """The usable colorants of one medium, in arrays."""

    fit: MarkerFit | FilmFit
    """Of the medium."""
    colorants: tuple[Colorant, ...]
    """Those that may be used."""
    places: Ints
    """Shape (c,), their places in the fit."""
    k: FloatArray
    s: FloatArray
    """Shape (c, 36): K X and S X of one plain coat; of markers, absorption and nothing."""
    growth: FloatArray
    """Shape (c, 36), the power of the load that K of films grows by."""

    def step(self, slot: Slot, choice: tuple[int, ...]) -> Step:
        """Return the step of one choice."""
        used = [self.colorants[i] for i in choice]
        laydown, parts = slot
        mixed = tuple(Part(c, n) for c, n in zip(used, parts, strict=False))
        return Step(used[0], laydown, mixed)


@dataclass(frozen=True, slots=True, eq=False)
class Tops:
    """What one further step may be: any even coats of a marker, or what fills a slot of a film."""

    shelf: UsableColorants
    """The colorants it is made from."""
    laydown: Laydown
    parts: tuple[int, ...]
    """How a film is laid, and the parts of a mixture; of markers, one coat."""
    colorants: Ints
    """Shape (c, parts), places on the shelf."""
    coats: Ints
    """Shape (c,)."""
    kind: Ints
    """Shape (c,): two that are alike never lie right on each other, as they are one step."""
    first: int
    """The number of the first of them as a digit of a recipe's number; the others follow."""

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.coats)

    @property
    def medium(self) -> Medium:
        """Marker, pencil or wash."""
        return self.shelf.fit.medium

    @property
    def steps(self) -> int:
        """How many steps each counts as: a mixture of two counts as two."""
        return max(len(self.parts), 1)

    def mixed(self, load: float) -> tuple[FloatArray, FloatArray]:
        """Return K X and S X of one plain coat's worth of each, shape (c, 36), of such a load."""
        parts = np.array(self.parts or (1,), dtype=np.float64)
        shares = parts / parts.sum()
        k = self.shelf.k * load**self.shelf.growth
        return shares @ k[self.colorants], shares @ self.shelf.s[self.colorants]


def shelves(fit: KitFit, without: frozenset[str]) -> dict[Medium, UsableColorants]:
    """Put the usable colorants of each medium into arrays; a medium that has none is not there."""
    media = {Medium.MARKER: fit.markers, Medium.PENCIL: fit.pencils, Medium.WASH: fit.washes}
    kept = {m: (one, _usable(one, without)) for m, one in media.items() if one is not None}
    return {m: _shelf(one, tuple(places)) for m, (one, places) in kept.items() if places}


def _usable(fit: MarkerFit | FilmFit, without: frozenset[str]) -> list[int]:
    return [i for i, c in enumerate(fit.colorants) if not {c.name, c.label} & without]


@lru_cache(REMEMBERED)
def _shelf(fit: MarkerFit | FilmFit, kept: tuple[int, ...]) -> UsableColorants:
    colorants, places = tuple(fit.colorants[i] for i in kept), np.array(kept)
    if isinstance(fit, MarkerFit):
        k = np.array(fit.absorption[places], dtype=np.float64)
        return UsableColorants(fit, colorants, places, k, np.zeros_like(k), np.zeros_like(k))
    alone = Recipe(tuple(Step(c) for c in colorants))
    middle = variants(fit.effects, fit.own[places], steps=len(kept))
    k, s, growth = constants(film_ground(fit, alone), fit.medium, middle)
    return UsableColorants(fit, colorants, places, k[0], s[0], growth[0])


def all_tops(
    held: dict[Medium, UsableColorants], limits: Limits
) -> tuple[tuple[Tops, ...], tuple[Step, ...]]:
    """Return all that one step may be, and each of them as a step, in the order of their digits."""
    tops, steps, kinds = list[Tops](), list[Step](), dict[tuple[object, ...], int]()
    for medium, shelf in held.items():
        every = slots(medium, limits)
        for filled in [every] if medium is Medium.MARKER else [(slot,) for slot in every]:
            laydown, parts = filled[0]
            every_way = [
                (slot, used) for used in choices(parts, len(shelf.colorants)) for slot in filled
            ]
            if not every_way:
                continue
            kind = [kinds.setdefault((medium, parts, used), len(kinds)) for _, used in every_way]
            used = np.array([used for _, used in every_way], dtype=np.int64)
            coats = np.array([laid.coats for (laid, _), _ in every_way])
            first = len(steps) + 1
            tops.append(Tops(shelf, laydown, parts, used, coats, np.array(kind), first))
            steps += [shelf.step(slot, used) for slot, used in every_way]
    return tuple(tops), tuple(steps)
