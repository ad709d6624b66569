"""Draw a range of years as a line over a scale that runs from a week to a century."""

from dataclasses import dataclass

from laydown.media.exposure import Span
from laydown.plan.life_plot import TICKS, along
from laydown.plan.life_words import LONGEST

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
    """The drawing's parts.

    Parameters
    ----------
    first, last
        Places of the ends of the range.
    first_open, last_open
        Whether the range goes on beyond the scale there, or nothing is known of that end.
    ticks
        Of the scale.
    """

    first: float
    last: float
    first_open: bool
    last_open: bool
    ticks: tuple[Tick, ...]


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
