"""Which recipes a search runs over: the slots that a step may fill.

A slot is a way to lay something (medium, laydown, parts of a mixture); what fills it is any
colorant of that medium, or any pair of washes. All recipes with the same slots are scored side by
side.
"""

from dataclasses import dataclass
from itertools import combinations, permutations

from laydown.match.space import Limits
from laydown.media.laydown import Laydown, Medium, Pressure
from laydown.media.recipe import may_follow

DILUTIONS = (0.0, 0.5, 0.75)
"""Shares of water that are told apart by eye (common practice, no source)."""
PARTS = ((1, 1), (2, 1), (3, 1))
"""Coarse parts of palette mixtures, either way round (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A way to lay something."""

    medium: Medium
    """What it is made as."""
    laydown: Laydown
    """How it is laid."""
    parts: tuple[int, ...] = ()
    """Of a palette mixture of two; empty for a single colorant."""

    @property
    def steps(self) -> int:
        """How many steps it counts as: a mixture of two counts as two."""
        return max(len(self.parts), 1)

    def choices(self, colorants: int) -> tuple[tuple[int, ...], ...]:
        """Return what may fill it, as places among so many colorants of its medium.

        Examples
        --------
        >>> Slot(Medium.WASH, Laydown(), (1, 1)).choices(3)
        ((0, 1), (0, 2), (1, 2))
        """
        if not self.parts:
            return tuple((i,) for i in range(colorants))
        if self.parts[0] == self.parts[1]:
            return tuple(combinations(range(colorants), 2))
        return tuple(permutations(range(colorants), 2))


def slots(medium: Medium, limits: Limits) -> tuple[Slot, ...]:
    """Return the ways in which a search lays a medium.

    A marker: even coats. A pencil: one light coat; one medium coat or two; heavy coats. A wash:
    one coat at each of `DILUTIONS`, further coats straight from the pan; mixtures of two at
    `PARTS`, straight or half water. More would be told apart by nobody's hand.

    Examples
    --------
    >>> len(slots(Medium.PENCIL, Limits(coats=2))), len(slots(Medium.WASH, Limits(steps=1)))
    (5, 5)
    """
    counts = range(1, limits.coats + 1)
    if medium is Medium.MARKER:
        return tuple(Slot(medium, Laydown(coats=n)) for n in counts)
    if medium is Medium.PENCIL:
        laid = [Laydown(pressure=Pressure.LIGHT)]
        laid += [Laydown(coats=n) for n in counts if n <= 2]
        laid += [Laydown(coats=n, pressure=Pressure.HEAVY) for n in counts]
        return tuple(Slot(medium, one) for one in laid)
    laid = [Laydown(dilution=d) for d in DILUTIONS] + [Laydown(coats=n) for n in counts if n > 1]
    mixed = [Slot(medium, Laydown(dilution=d), parts) for d in DILUTIONS[:2] for parts in PARTS]
    return (*(Slot(medium, one) for one in laid), *(mixed if limits.steps > 1 else ()))


def may_lie(media: frozenset[Medium], slot: Slot) -> bool:
    """Whether a slot may lie over these media at all."""
    return may_follow(media, slot.medium)
