"""Two colors beside each other: what is left open of both falls out of their difference."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.leeway import Leeway

SeePair = Callable[[FloatArray, FloatArray], FloatArray]
"""Turns spectra of the wanted and of the given color, shapes (n, 36), into what is seen of how they
differ, shape (n, 3)."""


def difference_by_day(wanted: FloatArray, given: FloatArray) -> FloatArray:
    """Return Lab by day of the given less that of the wanted."""
    return lab_from_reflectance(given) - lab_from_reflectance(wanted)


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """What a pair of colors may turn out as."""

    wanted: FloatArray
    given: FloatArray
    """Shapes (2 n + 1, 36): as expected, then with each of n things left open tried a standard
    deviation to one side, then each to the other. A thing that both have moves both."""
    rest: FloatArray
    """Shape (3, 3), the covariance of what no spectrum stands for [CIELAB²]."""

    def moved(self, see: SeePair) -> FloatArray:
        """Return the covariance of what is seen of the spectra alone, shape (3, 3)."""
        seen = see(self.wanted, self.given)
        change = seen[1:] - seen[0]
        return np.asarray(0.5 * change.T @ change)

    def covariance(self, see: SeePair = difference_by_day) -> FloatArray:
        """Return the covariance of the difference as it is seen, shape (3, 3)."""
        return np.asarray(self.moved(see) + self.rest)


def beside(
    wanted: FloatArray, wanted_leeway: Leeway, given: FloatArray, given_leeway: Leeway
) -> Pair:
    """Put two colors beside each other.

    Parameters
    ----------
    wanted, given
        Shape (36,), their spectra.
    wanted_leeway, given_leeway
        What is left open of each; things of one name are one thing.

    Examples
    --------
    One and the same dye, of unknown strength, differs from itself by nothing.

    >>> gray = np.full(36, 0.5)
    >>> tried = np.array([1.0, 1.1, 0.9])[:, None] * gray
    >>> one = Leeway((tried,), np.zeros((3, 3)), ((("strength",),),))
    >>> bool(beside(gray, one, gray, one).covariance().any())
    False
    """
    own, others = wanted_leeway.things(), given_leeway.things()
    still_wanted, still_given = np.stack([wanted, wanted]), np.stack([given, given])
    names = list(dict.fromkeys([*own, *others]))
    first = np.array([own.get(name, still_wanted) for name in names]).reshape(-1, 2, 36)
    second = np.array([others.get(name, still_given) for name in names]).reshape(-1, 2, 36)
    both = wanted_leeway.alike.keys() & given_leeway.alike.keys()
    common = sum(min(wanted_leeway.alike[n], given_leeway.alike[n]) for n in both)
    return Pair(
        np.concatenate([wanted[None], first[:, 0], first[:, 1]]),
        np.concatenate([given[None], second[:, 0], second[:, 1]]),
        wanted_leeway.rest + given_leeway.rest - 2.0 * common * np.eye(3),
    )
