"""Ranges of years as lines over a scale that runs from a week to a century."""

from collections.abc import Sequence

import numpy as np

from laydown.media.exposure import Span
from laydown.plan.life_words import DAYS, LONGEST
from laydown.plan.plots import Dot, Label, Plot, Rule

TICKS = (
    ("a week", DAYS["week"] / DAYS["year"]),
    ("a month", DAYS["month"] / DAYS["year"]),
    ("a year", 1.0),
    ("10 years", 10.0),
    ("100 years", LONGEST),
)
WIDTH, ROW = 150.0, 4.4
LEFT, RIGHT, HEAD = 10.0, 12.0, 7.0


def life_plot(title: str, spans: Sequence[Span], fills: Sequence[str]) -> Plot:
    """Plot ranges of years below each other, numbered from 1.

    Parameters
    ----------
    title
        What the plot shows.
    spans
        In years, from the top down.
    fills
        Screen colors of the parts they belong to. An end is a filled square; a hollow one says
        that the range goes on beyond the scale, or that nothing is known there.

    Examples
    --------
    >>> plot = life_plot("Two", [Span(1.0, 10.0), Span(0.0, 300.0)], ["#ffcc00", "#336699"])
    >>> [dot.hollow for dot in plot.dots]
    [False, False, True, True]
    """
    height = HEAD + ROW * (len(spans) + 1)
    labels = [Label(_place(years), HEAD - 3.0, name) for name, years in TICKS]
    rules = [Rule(x, HEAD - 1.5, x, height) for x in (_place(years) for _, years in TICKS)]
    dots = []
    for number, (span, fill) in enumerate(zip(spans, fills, strict=True), 1):
        y = HEAD + ROW * number
        ends = _place(span.low), _place(span.high)
        labels.append(Label(LEFT / 2, y + 0.9, f"{number}"))
        rules.append(Rule(ends[0], y, ends[1], y))
        dots.append(Dot(ends[0], y, fill, hollow=span.low < TICKS[0][1]))
        dots.append(Dot(ends[1], y, fill, hollow=span.high > LONGEST))
    return Plot(title, WIDTH, height, tuple(rules), tuple(labels), tuple(dots))


def along(years: float) -> float:
    """Return how far along the scale a time stands, 0 to 1; what lies beyond stands at its end.

    Examples
    --------
    >>> along(0.0), along(100.0), along(float("inf"))
    (0.0, 1.0, 1.0)
    >>> round(2 * along(10.0) - along(1.0), 6)
    1.0
    """
    first, last = np.log(TICKS[0][1]), np.log(LONGEST)
    return float((np.log(np.clip(years, TICKS[0][1], LONGEST)) - first) / (last - first))


def _place(years: float) -> float:
    """Return where a time stands on the scale [mm]."""
    return round(LEFT + (WIDTH - LEFT - RIGHT) * along(years), 2)
