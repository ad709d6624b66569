"""Drawings of what is unsure: the cloud of likely results, and a range of years as a line."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.special import ndtri

from laydown.color.arrays import FloatArray
from laydown.media.light.exposure import Span
from laydown.plan.light.life import LONGEST, TICKS, along

DOTS = 60
TILES = 10
SIDE = 240.0
"""Of the drawing, in its own units."""
ROOM = 0.82
"""Share of the drawing that the farthest dot may take."""
RIM = 12.0
"""Of the drawing, which no dot's middle enters: the ring of the wanted color has room there."""
LEAST_REACH = 4.0
"""Half the width of the drawing in CIELAB units, at least: a small doubt must look small."""


@dataclass(frozen=True, slots=True, eq=False)
class CloudDot:
    """A likely result: its place in the drawing, its size, and its color."""

    x: float
    y: float
    radius: float
    lab: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Cloud:
    """The drawing's parts."""

    dots: tuple[CloudDot, ...]
    """Likely results: across from greener to redder, up from bluer to yellower; a larger dot is
    lighter."""
    wanted: CloudDot
    """The place of the wanted color; at the rim where it lies farther out."""
    unit: float
    """How long one CIELAB unit is drawn."""
    tiles: tuple[FloatArray, ...]
    """A few of the results, from darkest to lightest."""


def cloud(expected: FloatArray, covariance: FloatArray, wanted: FloatArray) -> Cloud:
    """Lay out likely results around the expected color.

    Parameters
    ----------
    expected, wanted
        Shape (3,), CIELAB.
    covariance
        Shape (3, 3), of what comes out.

    Returns
    -------
    Cloud
        Its dots are spread as a normal distribution of that covariance, by a Halton sequence, the
        same for the same color.
    """
    results = expected + _deviates() @ _root(covariance).T
    reach = max(LEAST_REACH, float(np.abs(results[:, 1:] - expected[1:]).max()))
    unit = ROOM * SIDE / 2 / reach
    by_value = results[np.argsort(results[:, 0])]
    steps = np.linspace(0, DOTS - 1, TILES).round().astype(int)
    return Cloud(
        tuple(_dot(lab, expected, unit) for lab in results),
        _dot(wanted, expected, unit),
        unit,
        tuple(by_value[steps]),
    )


def _dot(lab: FloatArray, middle: FloatArray, unit: float) -> CloudDot:
    across, up = np.clip((lab[1:] - middle[1:]) * unit, -SIDE / 2 + RIM, SIDE / 2 - RIM)
    radius = float(np.clip(4.0 + 0.8 * (lab[0] - middle[0]), 2.0, 8.0))
    return CloudDot(float(SIDE / 2 + across), float(SIDE / 2 - up), radius, lab)


def _root(covariance: FloatArray) -> FloatArray:
    """Return a matrix whose square is the covariance; it may be singular."""
    values, vectors = np.linalg.eigh(covariance)
    root: FloatArray = vectors * np.sqrt(np.maximum(values, 0.0))
    return root


@cache
def _deviates() -> FloatArray:
    """Return shape (DOTS, 3): evenly spread normal deviates."""
    from scipy.stats import qmc  # noqa: PLC0415 - slow to import, and only a cloud needs it

    shares = qmc.Halton(3, scramble=False).random(DOTS + 1)[1:]
    deviates: FloatArray = ndtri(shares)
    return deviates


WIDTH = 320.0
"""Of the drawing, in its own units."""
LEFT, RIGHT = 26.0, 34.0
"""Room for the words at the ends of the scale."""
NAMES = ("week", "month", "year", "10 years", "100 years")
"""Of the times on the scale; short, for a phone."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A time on the scale: its place and its name."""

    x: float
    name: str


@dataclass(frozen=True, slots=True)
class Lifeline:
    """The drawing's parts."""

    first: float
    last: float
    """Places of the ends of the range."""
    first_open: bool
    last_open: bool
    """Whether the range goes on beyond the scale there, or nothing is known of that end."""
    ticks: tuple[Tick, ...]
    """Of the scale."""


def lifeline(years: Span) -> Lifeline:
    """Lay a range out.

    Examples
    --------
    >>> line = lifeline(Span(1.0, float("inf")))
    >>> line.first < line.last, line.first_open, line.last_open
    (True, False, True)
    >>> [tick.name for tick in line.ticks]
    ['week', 'month', 'year', '10 years', '100 years']
    """
    return Lifeline(
        _place(years.low),
        _place(years.high),
        first_open=years.low < TICKS[0][1],
        last_open=years.high > LONGEST,
        ticks=tuple(Tick(_place(at), name) for name, (_, at) in zip(NAMES, TICKS, strict=True)),
    )


def _place(years: float) -> float:
    return round(LEFT + (WIDTH - LEFT - RIGHT) * along(years), 1)
