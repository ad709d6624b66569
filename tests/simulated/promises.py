"""Whether a match keeps what it promises: wanted colors are answered, laid by hand, looked at."""

from collections.abc import Callable, Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.match.acceptance import accepting_share
from laydown.match.judge import TOLERANCES
from laydown.match.outcome import Target
from laydown.media.kit.fit import AnyFit
from laydown.media.recipe import Recipe
from simulated.matching import match_color

CLASSES = (0.0, 1 / 3, 2 / 3, 1.0 + 1e-9)
"""Edges of the classes that promised chances are sorted into."""
FARTHEST = 10.0
"""No wanted color lies farther from one that the range truly gives [CIELAB units]."""


def wanted_near(labs: Sequence[FloatArray], rng: np.random.Generator) -> FloatArray:
    """Return colors up to `FARTHEST` from given ones, in any direction; same shape (n, 3)."""
    to = rng.standard_normal((len(labs), 3))
    away = rng.uniform(0.0, FARTHEST, (len(labs), 1)) * to / np.linalg.norm(to, axis=1)[:, None]
    return np.clip(np.asarray(labs) + away, [2.0, -128.0, -128.0], [98.0, 128.0, 128.0])


def promised_and_kept(
    fit: AnyFit, wanted: FloatArray, lay: Callable[[Recipe], FloatArray]
) -> FloatArray:
    """Answer colors and lay the answers once.

    Parameters
    ----------
    fit
        What answers.
    wanted
        Shape (n, 3), CIELAB.
    lay
        From a recipe to the reflectance that a hand truly gives.

    Returns
    -------
    FloatArray
        Shape (n, 2): the chance of being accepted in a class that the match tells, and the share
        of observers who accept what was laid.
    """
    rows = []
    for number, lab in enumerate(wanted):
        best = match_color(Target(f"Color {number}", lab), fit).best
        off = ciede2000(lab, lab_from_reflectance(lay(best.prediction.recipe)))
        rows.append((best.acceptance, accepting_share(off, tolerance=TOLERANCES["class"]).item()))
    return np.array(rows)


def by_class(rows: FloatArray) -> list[tuple[int, float, float]]:
    """Return how many fell into each of `CLASSES`, and the means of promised and kept there."""
    which = np.digitize(rows[:, 0], CLASSES) - 1
    found = []
    for number in range(len(CLASSES) - 1):
        there = rows[which == number]
        means = there.mean(axis=0).tolist() if len(there) else [np.nan, np.nan]
        found.append((len(there), means[0], means[1]))
    return found
