"""A picture to plan, and its steps of value."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.value import grays
from laydown.match.outcome import Match

# A picture as a plan: regions by value step, a palette, and what a kit makes of it.
#
# Value steps are counted from the dark: 0 is the darkest. Regions and palette colors are numbered
# from 1, so that 0 in `ValuePlan.labels` stands for what is not to be colored (bare paper around
# a picture that was cut out). A region keeps its number when others are merged or split, so
# numbers may have gaps; the palette is numbered anew.

Labels: TypeAlias = NDArray[np.int32]
"""Shape (row, column), region numbers."""


@dataclass(frozen=True, slots=True)
class PlanRules:
    """How a picture is planned."""

    steps: int = 5
    """Of value, 2 to 9."""
    even: bool = False
    """Whether the steps have the same height in value; else they part at the picture's own
    breaks."""
    colors: int | None = None
    """Of the palette; None for as many as the picture asks for."""
    width: float = 180.0
    """Of the picture on paper [mm]."""
    least: float = 25.0
    """Area of the smallest region worth coloring, on paper [mm²]: 5 mm by 5 mm (chosen)."""
    tip: float = 2.0
    """A region is nowhere narrower than this [mm]: the tip of a marker (common practice, no
    source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """A connected part of a picture that is colored in one color."""

    number: int
    """From 1; what `ValuePlan.labels` holds where it lies."""
    color: int
    """Number of its color in the palette, from 1; many regions may share one. 0 in a plan that has
    only values."""
    value_step: int
    """From 0, the darkest."""
    lab: FloatArray
    """Shape (3,), mean CIELAB D50 of its own pixels (without what was merged into it)."""
    share: float
    """Of the picture's area that is to be colored [percent], as a lesson has it."""
    passage: str = ""
    role: str = ""
    """The part of the picture it belongs to, and whether it is its highlight, light, midtone,
    shadow or accent; empty until somebody says so."""


@dataclass(frozen=True, slots=True, eq=False)
class ValuePlan:
    """A picture in a few steps of value, as regions worth coloring."""

    labels: Labels
    """Shape (row, column), the number of the region each pixel belongs to; 0 for none."""
    boundaries: FloatArray
    """Shape (steps − 1,), values [ASTM D1535, 0 to 10] that part the steps, rising."""
    levels: FloatArray
    """Shape (steps,), the mean value of what lies in each step, rising."""
    regions: tuple[Region, ...]
    """In the order of their numbers."""
    width: float
    """Of the picture on paper [mm]; its height follows from the shape of `labels`."""

    @property
    def height(self) -> float:
        """Of the picture on paper [mm]."""
        rows, columns = self.labels.shape
        return float(self.width * rows / columns)

    @property
    def steps(self) -> int:
        """How many steps of value the plan has."""
        return len(self.levels)


@dataclass(frozen=True, slots=True, eq=False)
class PaletteColor:
    """One color of the palette: all regions that carry its number."""

    number: int
    """1, 2, 3 … from light to dark."""
    value_step: int
    """From 0, the darkest."""
    lab: FloatArray
    """Shape (3,), mean CIELAB D50 over its regions."""
    share: float
    """Of the area that is to be colored [percent]."""


@dataclass(frozen=True, slots=True)
class Lost:
    """What a kit's picture lacks against the plan; area counts, unless it says otherwise."""

    mean: float
    worst: float
    """CIEDE2000 (kL 1) between the plan's colors and the kit's, over the area, and of the color
    that is farthest off."""
    worst_color: int
    """The number of that color."""
    mean_value: float
    """Mean difference in value over the area, whichever way [value steps]."""
    steps_kept: float
    """Share [0 to 1] of the area whose color still falls into its own value step."""
    out_of_reach: tuple[int, ...]
    """Numbers of the colors that the kit does not come near."""
    merged: tuple[tuple[int, int], ...]
    """Pairs of numbers of colors that the plan tells apart and the kit does not."""
    flattened: float
    """Mean CIEDE2000 between the picture itself and the plan: lost before any kit comes in."""


@dataclass(frozen=True, slots=True, eq=False)
class KitPicture:
    """The picture as one kit would make it on one paper."""

    kit: str
    paper: str
    """Their names."""
    values_only: bool
    """Whether only value was matched, with whatever hues the kit holds."""
    matches: tuple[Match, ...]
    """One for each color of the palette, in its order; `best.prediction.recipe` is the recipe,
    `best.prediction.lab` what it gives."""
    lost: Lost
    """Against the plan."""
    notes: tuple[str, ...] = ()
    """What holds for all of it."""

    @property
    def labs(self) -> FloatArray:
        """Shape (colors, 3), what the recipes give, in the palette's order."""
        return np.array([m.best.prediction.lab for m in self.matches]).reshape(-1, 3)

    @property
    def shown(self) -> FloatArray:
        """The same as the picture shows it: gray, where values alone were matched."""
        return grays(self.labs) if self.values_only else self.labs


@dataclass(frozen=True, slots=True, eq=False)
class PicturePlan:
    """A picture planned: its values, its palette, and what one or more kits make of it."""

    title: str
    """What to call it."""
    rules: PlanRules
    """How it was planned."""
    values: ValuePlan
    """The value plan with its regions."""
    palette: tuple[PaletteColor, ...]
    """In the order of its numbers."""
    seen: FloatArray
    """Shape (row, column, 3), CIELAB D50 of the picture itself at the size of the plan's labels."""
    kits: tuple[KitPicture, ...] = ()
    """None, one, or several side by side."""
    notes: tuple[str, ...] = ()
    """Sentences on how the picture was read and by which rules it was planned."""


def color_of_regions(plan: ValuePlan) -> NDArray[np.int32]:
    """Return the palette number of each region at the place of its own number; 0 where none is."""
    table = np.zeros(1 + max((region.number for region in plan.regions), default=0), np.int32)
    for region in plan.regions:
        table[region.number] = region.color
    return table


BIN = 0.05
"""Values are counted in bins of this width [value steps]: half of what the eye tells."""
NARROWEST = 0.5
"""A picture gets no more steps than it has half values between its darks and lights (chosen)."""
TAILS = (1.0, 99.0)
"""Percentiles taken for the darkest and lightest of a picture: specks do not count."""


def most_steps(values: FloatArray) -> int:
    """Return how many steps values, shape (pixels,) [0 to 10], have room for, at least 1.

    From value 2 to value 4 is a little less than four half values, when specks do not count.

    >>> most_steps(np.linspace(2.0, 4.0, 1001))
    4
    >>> most_steps(np.full(9, 5.0))
    1
    """
    dark, light = np.percentile(values, TAILS)
    return 1 + int((light - dark) / NARROWEST + 1e-9)


def even_steps(values: FloatArray, steps: int) -> FloatArray:
    """Part the values between dark and light into steps of the same height.

    `values`: shape (pixels,) [0 to 10]. `steps`: how many. Returns shape (steps − 1,), rising.

    >>> even_steps(np.array([2.0] * 50 + [8.0] * 50), 3).round(6).tolist()
    [4.0, 6.0]
    """
    dark, light = np.percentile(values, TAILS)
    return np.linspace(dark, light, steps + 1)[1:-1]


def natural_steps(values: FloatArray, steps: int) -> FloatArray:
    """Part the values where the picture's own lights and darks part.

    `values`: shape (pixels,) [0 to 10]. `steps`: how many. Returns shape (steps − 1,), rising;
    fewer where the picture has fewer values than steps.

    The steps whose members lie nearest to their means: least sum of squares over all ways to part
    the histogram, by dynamic programming.

    Source: W. D. Fisher, On grouping for maximum homogeneity, J. Am. Stat. Assoc. 53 (1958)
    789–798.

    Darks about 2 and lights about 8 part in the middle, however unequal their numbers.

    >>> values = np.array([1.9, 2.1] * 9 + [7.9, 8.1])
    >>> natural_steps(values, 2).round(2).tolist()
    [5.0]
    """
    count = np.bincount(np.clip(np.rint(values / BIN), 0, 10 / BIN).astype(np.int64))
    filled = np.flatnonzero(count)
    steps = min(steps, len(filled))
    weight = np.asarray(count[filled], dtype=np.float64)
    first = _first_bins(np.asarray(filled * BIN, dtype=np.float64), weight, steps)
    return np.array([0.5 * BIN * (filled[i - 1] + filled[i]) for i in first])


def _first_bins(at: FloatArray, weight: FloatArray, steps: int) -> list[int]:
    """Return the first bin of each step but the lowest."""
    n = len(at)
    within = _squares_within(at, weight)
    cost, came_from = within[0], []
    for _ in range(steps - 1):
        through = np.full((n, n), np.inf)
        through[1:] = np.where(np.arange(n) >= np.arange(1, n)[:, None], cost[:-1, None], np.inf)
        through[1:] += within[1:]
        came_from.append(np.argmin(through, axis=0))
        cost = np.min(through, axis=0)
    first, end = [], n - 1
    for choice in reversed(came_from):
        start = int(choice[end])
        first.append(start)
        end = start - 1
    return first[::-1]


def _squares_within(at: FloatArray, weight: FloatArray) -> FloatArray:
    """Return shape (n, n): the sum of squares about their mean of bins i to j."""
    mass, first, second = (
        np.concatenate([[0.0], np.cumsum(weight * at**power)]) for power in (0, 1, 2)
    )
    m = mass[None, 1:] - mass[:-1, None]
    s = first[None, 1:] - first[:-1, None]
    q = second[None, 1:] - second[:-1, None]
    upper = np.triu(np.ones_like(m, dtype=np.bool_))
    return np.where(upper, q - s**2 / np.where(upper, m, 1.0), np.inf)
