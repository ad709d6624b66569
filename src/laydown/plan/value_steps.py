"""Where the steps of a value plan part: evenly in value, or at the picture's own breaks."""

import numpy as np

from laydown.color.arrays import FloatArray

BIN = 0.05
"""Values are counted in bins of this width [value steps]: half of what the eye tells."""
NARROWEST = 0.5
"""A picture gets no more steps than it has half values between its darks and lights (chosen)."""
TAILS = (1.0, 99.0)
"""Percentiles taken for the darkest and lightest of a picture: specks do not count."""


def most_steps(values: FloatArray) -> int:
    """Return how many steps of value a picture has room for, at least 1.

    Parameters
    ----------
    values
        Shape (pixels,) [0 to 10].

    Examples
    --------
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

    Parameters
    ----------
    values
        Shape (pixels,) [0 to 10].
    steps
        How many.

    Returns
    -------
    FloatArray
        Shape (steps − 1,), rising.

    Examples
    --------
    >>> even_steps(np.array([2.0] * 50 + [8.0] * 50), 3).round(6).tolist()
    [4.0, 6.0]
    """
    dark, light = np.percentile(values, TAILS)
    return np.linspace(dark, light, steps + 1)[1:-1]


def natural_steps(values: FloatArray, steps: int) -> FloatArray:
    """Part the values where the picture's own lights and darks part.

    Parameters
    ----------
    values
        Shape (pixels,) [0 to 10].
    steps
        How many.

    Returns
    -------
    FloatArray
        Shape (steps − 1,), rising; fewer where the picture has fewer values than steps.

    Notes
    -----
    The steps whose members lie nearest to their means: least sum of squares over all ways to part
    the histogram, by dynamic programming.

    References
    ----------
    W. D. Fisher, On grouping for maximum homogeneity, J. Am. Stat. Assoc. 53 (1958) 789–798.

    Examples
    --------
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
