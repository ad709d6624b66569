"""What is asked of a search: which recipes, ranked by what, how many; and what it hands over."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.media.recipe import Recipe, Step
from laydown.reference.thresholds import thresholds

MOST_STEPS = 4
"""More steps than this have no search here."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a recipe may be.

    Raises ValueError for a number below 0, or more steps than can be searched.
    """

    steps: int = 3
    """At most so many steps are added, 0 to `MOST_STEPS`."""
    coats: int = 3
    """At most so many coats in one step."""
    total_coats: int | None = None
    """At most so many coats on the paper in all, what lies there already included; None for the
    paper's own limit."""
    without: frozenset[str] = frozenset()
    """Names or labels (``Range/Name``) of colorants that are not to be used."""

    def __post_init__(self) -> None:
        if not 0 <= self.steps <= MOST_STEPS:
            raise ValueError(f"steps is {self.steps}: allowed are 0 to {MOST_STEPS}")
        if self.coats < 1 or (self.total_coats is not None and self.total_coats < 0):
            raise ValueError(f"coats is {self.coats}, total_coats {self.total_coats}")


USUAL_LIMITS = Limits()
"""Up to three steps of up to three coats, as far as the paper bears them."""


@dataclass(frozen=True, slots=True)
class Ranking:
    """What recipes are ranked by: CIEDE2000 with its parametric factors, and the effort they ask.

    A factor below 1 makes its term weigh more. Value first is the usual order: lights and darks
    carry a picture, hue may move. That is a choice for pictures, not what the eye calls nearest: on
    pairs judged by eye kL .5 has a STRESS of 25 to 44, kL 1 one of 19 to 35
    (``tests/match/test_observers.py``). Effort and price are added to the difference, in its units.
    """

    k_L: float = 0.5  # noqa: N815  the symbols of the standard
    k_C: float = 1.0  # noqa: N815
    k_H: float = 1.0  # noqa: N815
    """Above 0."""
    step: float = 0.0
    coat: float = 0.0
    """What each step and each coat adds to the cost, 0 or above."""
    prices: tuple[tuple[str, float], ...] = ()
    """What a coat of a colorant adds besides, by its label (``Range/Name``), 0 or above."""
    sense: bool = False
    """Whether what goes against the sense of the trade costs besides, see
    `laydown.match.search.sense`."""

    def __post_init__(self) -> None:
        if min(self.k_L, self.k_C, self.k_H) <= 0:
            raise ValueError(f"kL, kC, kH are {self.k_L}, {self.k_C}, {self.k_H}: allowed: above 0")
        if min(self.step, self.coat, *(price for _, price in self.prices), 0.0) < 0:
            raise ValueError("step, coat and prices: allowed are 0 and above")

    def effort(self, recipe: Recipe) -> float:
        """Return what a recipe adds to the cost beside its difference.

        A mixture is two steps; each of its parts has its price by its share.
        """
        effort, price = 0.0, dict(self.prices)
        for step in [step for step in recipe.steps if isinstance(step, Step)]:
            whole = sum(part.parts for part in step.parts)
            each = sum(price.get(p.colorant.label, 0.0) * p.parts for p in step.parts) / whole
            effort += self.step * len(step.parts) + step.laydown.coats * (self.coat + each)
        return effort

    def difference(self, wanted: FloatArray, lab: FloatArray) -> FloatArray:
        """Return how far colors are from the one wanted; leading axes broadcast."""
        return np.asarray(
            ciede2000(wanted, lab, k_L=self.k_L, k_C=self.k_C, k_H=self.k_H), dtype=np.float64
        )

    def expected(self, wanted: FloatArray, lab: FloatArray, covariance: FloatArray) -> FloatArray:
        """Return how far a color is to be expected from the one wanted, its doubt included.

        The root of the mean square over six points, √3 standard deviations to either side along
        the axes of the covariance, which have its mean and variances. Never less than the
        difference of the color itself, so that this is a bound that needs no covariance.

        `wanted`, `lab`: shapes (3,) and (…, 3). `covariance`: shape (…, 3, 3), of both together.

        >>> wanted, lab = np.array([50.0, 0, 40]), np.array([51.0, 0, 40])
        >>> covariances = np.array([0.0, 4.0])[:, None, None] * np.eye(3)
        >>> BY_EYE.expected(wanted, lab, covariances).round(2).tolist()
        [1.0, 2.75]
        """
        spreads, axes = np.linalg.eigh(covariance)
        roots = np.sqrt(3.0 * np.maximum(spreads, 0.0))
        offsets = np.swapaxes(axes * roots[..., None, :], -1, -2)
        here = np.broadcast_to(lab[..., None, :], offsets.shape)
        points = np.concatenate([here, here + offsets, here - offsets], axis=-2)
        off = self.difference(wanted, points)
        return np.asarray(np.maximum(off[..., 0], np.sqrt(np.mean(off[..., 3:] ** 2, axis=-1))))


def usual_ranking(
    tolerance: str,
    *,
    k_L: float = 0.5,
    step: float | None = None,
    coat: float | None = None,
    prices: tuple[tuple[str, float], ...] = (),
    sense: bool = True,
) -> Ranking:
    """Return what recipes are ranked by where nothing else is said: steps and coats must earn it.

    How much nearer a step or a coat must bring a recipe stands in the table of thresholds, for each
    of the trade's three ways.

    `tolerance`: sketch, class or close. `k_L`, `prices`: as `Ranking` has them. `step`, `coat`:
    what each adds to the cost; None for what is usual. `sense`: whether the sense of the trade
    counts.
    """
    usual = thresholds()
    return Ranking(
        k_L=k_L,
        step=usual[f"step {tolerance}"] if step is None else step,
        coat=usual[f"coat {tolerance}"] if coat is None else coat,
        prices=prices,
        sense=sense,
    )


VALUE_FIRST = Ranking()
"""Lightness weighs double: the usual order."""
BY_EYE = Ranking(k_L=1.0)
"""All factors 1: what tolerances and verdicts are given in."""
EQUAL = 1e-9
"""Costs this near to each other are equal, and the key of the recipe decides."""


Watch = Callable[[int, int], None]
"""Told (done, total) between short chunks of work; may raise to cancel."""
NOTHING = Recipe()


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """A wanted color, and how many recipes for it are asked."""

    lab: FloatArray
    """Shape (3,)."""
    top: int | None = 10
    """How many of the best; None for all that cost no more than `most`."""
    within: float = 0.0
    """Besides, all that cost no more than this above the last of the best."""
    most: float = np.inf
    """Nothing that costs more than this."""

    def reach(self, costs: FloatArray) -> float:
        """Return the cost up to which a recipe is of interest, given costs in rising order."""
        if self.top is None or len(costs) < self.top:
            return self.most
        return min(self.most, float(costs[self.top - 1]) + self.within)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """The best recipes for one color."""

    recipes: tuple[Recipe, ...]
    """What is to be laid (over what lies there already), best first; equal costs in the order of
    the recipes' keys."""
    costs: FloatArray
    """Shape (n,), what each was ranked by."""
    considered: int
    """How many recipes were searched, the one that adds nothing included."""


def in_order(costs: FloatArray, keys: list[tuple[tuple[str, ...], ...]]) -> list[int]:
    """Return the order of rising cost, in which costs within 1e-9 of a group's least are equal.

    >>> in_order(np.array([2.0, 1.0 + 1e-12, 1.0]), [(), (("a",),), (("b",),)])
    [1, 2, 0]
    """
    rising = np.argsort(costs, kind="stable")
    groups: list[list[int]] = []
    for i in rising.tolist():
        if groups and costs[i] - costs[groups[-1][0]] <= EQUAL:
            groups[-1].append(i)
        else:
            groups.append([i])
    return [i for group in groups for i in sorted(group, key=lambda i: keys[i])]
