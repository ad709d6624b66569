"""The usable colorants of a kit in arrays, and all that one further step may be."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.search.slots import Slot, slots
from laydown.match.space import Limits
from laydown.media.colorant import Colorant
from laydown.media.film.constants import constants
from laydown.media.film.model import FilmFit, film_ground
from laydown.media.inference.forward import variants
from laydown.media.kit.fit import KitFit
from laydown.media.laydown import Medium
from laydown.media.marker.marker import MarkerFit
from laydown.media.recipe import Part, Recipe, Step

Ints = NDArray[np.int64]
REMEMBERED = 64
"""Kits of which the arrays are remembered: one color asks the same kit ten times over, and each
colorant of a film is solved for anew."""


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
        mixed = tuple(Part(c, n) for c, n in zip(used, slot.parts, strict=False))
        return Step(used[0], slot.laydown, mixed)


@dataclass(frozen=True, slots=True, eq=False)
class Tops:
    """What one further step may be: any even coats of a marker, or what fills a slot of a film."""

    shelf: UsableColorants
    """The colorants it is made from."""
    medium: Medium
    """Theirs."""
    slot: Slot
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
    def steps(self) -> int:
        """How many steps each counts as: a mixture of two counts as two."""
        return self.slot.steps

    def mixed(self, picked: Ints, load: float) -> tuple[FloatArray, FloatArray]:
        """Return K X and S X of one plain coat's worth of some of them, shape (n, 36) each.

        Parameters
        ----------
        picked
            Shape (n,).
        load
            How much is laid of it [plain coats].
        """
        parts = np.array(self.slot.parts or (1,), dtype=np.float64)
        shares, used = parts / parts.sum(), self.colorants[picked]
        k = self.shelf.k * load**self.shelf.growth
        return shares @ k[used], shares @ self.shelf.s[used]


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
    of = constants(film_ground(fit, alone), fit.medium, middle)
    plain, scattering, growth = of.plain[0], of.scattering[0], of.growth[0]
    return UsableColorants(fit, colorants, places, plain, scattering, growth)


def all_tops(
    held: dict[Medium, UsableColorants], limits: Limits
) -> tuple[tuple[Tops, ...], tuple[Step, ...]]:
    """Return all that one step may be, and each of them as a step, in the order of their digits."""
    tops, steps, kinds = list[Tops](), list[Step](), dict[tuple[object, ...], int]()
    for medium, shelf in held.items():
        every = slots(medium, limits)
        for filled in [every] if medium is Medium.MARKER else [(slot,) for slot in every]:
            choices = [
                (slot, used) for used in filled[0].choices(len(shelf.colorants)) for slot in filled
            ]
            if not choices:
                continue
            kind = [kinds.setdefault((medium, s.parts, used), len(kinds)) for s, used in choices]
            used = np.array([used for _, used in choices], dtype=np.int64)
            coats = np.array([slot.laydown.coats for slot, _ in choices])
            first = len(steps) + 1
            tops.append(Tops(shelf, medium, filled[0], used, coats, np.array(kind), first))
            steps += [shelf.step(slot, used) for slot, used in choices]
    return tuple(tops), tuple(steps)
