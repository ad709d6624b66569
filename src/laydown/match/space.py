"""Which recipes a search runs over, how many they are, and their numbers."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from math import comb

MOST_STEPS = 4
"""More steps than this have no search here."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a recipe may be.

    Parameters
    ----------
    steps
        At most so many steps are added, 0 to `MOST_STEPS`.
    coats
        At most so many coats in one step.
    total_coats
        At most so many coats on the paper in all, what lies there already included; None for the
        paper's own limit.
    without
        Names or labels (``Range/Name``) of colorants that are not to be used.

    Raises
    ------
    ValueError
        For a number below 0, or more steps than can be searched.
    """

    steps: int = 3
    coats: int = 3
    total_coats: int | None = None
    without: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        if not 0 <= self.steps <= MOST_STEPS:
            raise ValueError(f"steps is {self.steps}: allowed are 0 to {MOST_STEPS}")
        if self.coats < 1 or (self.total_coats is not None and self.total_coats < 0):
            raise ValueError(f"coats is {self.coats}, total_coats {self.total_coats}")


USUAL_LIMITS = Limits()
"""Up to three steps of up to three coats, as far as the paper bears them."""


def count_recipes(colorants: int, *, steps: int, coats: int, budget: int) -> int:
    """Count the recipes that a search considers, the bare beginning included.

    A recipe of k steps has n (n − 1)^(k − 1) orders of colorants, neighbors being different, times
    the ways to give each step 1 to `coats` coats with no more than `budget` in all.

    Parameters
    ----------
    colorants
        How many there are, n.
    steps, coats
        The most steps, and the most coats in one step.
    budget
        The most coats in all.

    Examples
    --------
    Three colorants, up to two steps of one coat: nothing, 3 single ones, 3 × 2 pairs.

    >>> count_recipes(3, steps=2, coats=1, budget=6)
    10
    """
    total = 1
    for k in range(1, steps + 1):
        orders = colorants * max(colorants - 1, 0) ** (k - 1) if colorants else 0
        total += orders * count_coats(k, coats=coats, budget=budget)
    return total


def count_coats(steps: int, *, coats: int, budget: int) -> int:
    """Count the ways to give each of so many steps 1 to `coats` coats, `budget` at most in all.

    By inclusion and exclusion: the ways with j steps over the limit number
    C(steps, j) C(budget − j coats, steps).

    Examples
    --------
    >>> count_coats(3, coats=3, budget=6), count_coats(3, coats=3, budget=9)
    (17, 27)
    """
    return sum(
        (-1) ** j * comb(steps, j) * comb(budget - j * coats, steps)
        for j in range(steps + 1)
        if budget - j * coats >= 0
    )


def laid_steps(
    colorants: int, *, steps: int, coats: int, budget: int
) -> Iterator[tuple[tuple[int, int], ...]]:
    """Go through all recipes as tuples of (colorant, coats), one by one: the plain definition.

    Slow on purpose: it says in a few lines what the fast loops must agree with.
    """
    for k in range(steps + 1):
        for row in product(product(range(colorants), range(1, coats + 1)), repeat=k):
            neighbors_differ = all(a[0] != b[0] for a, b in pairwise(row))
            if neighbors_differ and sum(n for _, n in row) <= budget:
                yield row


def number_of(row: tuple[tuple[int, int], ...], *, colorants: int, coats: int) -> int:
    """Pack the steps of a recipe into one whole number, the bottom step in the lowest place.

    Examples
    --------
    >>> number_of(((0, 1), (2, 2)), colorants=3, coats=2)
    43
    """
    place, number = 1, 0
    for colorant, laid in row:
        number += place * (colorant * coats + laid)
        place *= colorants * coats + 1
    return number


def steps_of(number: int, *, colorants: int, coats: int) -> tuple[tuple[int, int], ...]:
    """Unpack what `number_of` packed.

    Examples
    --------
    >>> steps_of(43, colorants=3, coats=2)
    ((0, 1), (2, 2))
    """
    row = []
    while number:
        number, digit = divmod(number, colorants * coats + 1)
        row.append(((digit - 1) // coats, (digit - 1) % coats + 1))
    return tuple(row)
