"""Ranges of years and of light in words, in no more digits than are known."""

import numpy as np

from laydown.media.exposure import Span

DAYS = {"day": 1.0, "week": 7.0, "month": 30.4, "year": 365.25}
FEWEST = 1.95
"""Below it a smaller unit says more; it is told as 2."""
MONTHS = 12
LONGEST = 100.0
"""Years; nobody has watched these colors for longer."""


def rounded(number: float) -> float:
    """Round to one significant figure, or to two where the first is 1.

    Examples
    --------
    >>> [rounded(x) for x in (0.147, 3.46, 17.6, 862.0, 0.0)]
    [0.15, 3.0, 18.0, 900.0, 0.0]
    """
    if number <= 0.0 or not np.isfinite(number):
        return number
    exponent = int(np.floor(np.log10(number)))
    first = number / 10.0**exponent
    digits = 1 if first < 1.95 else 0
    return float(np.round(number, digits - exponent))


def years_words(span: Span) -> str:
    """Say a range of years.

    Examples
    --------
    >>> years_words(Span(2.1, 8.7)), years_words(Span(0.3, 2.6))
    ('about 2 to 9 years', 'about 4 months to 3 years')
    >>> years_words(Span(0.0, 8.7))
    "within about 9 years, maybe much sooner: how much isn't known here"
    >>> years_words(Span(2.1, float("inf")))
    'not before about 2 years; no end is known here'
    >>> years_words(Span(140.0, 900.0)), years_words(Span(0.0, float("inf")))
    ('more than 100 years', 'not known here')
    """
    if span.low >= LONGEST:
        return f"more than {LONGEST:.0f} years"
    if span.low == 0.0:
        if span.high >= LONGEST:
            return "not known here"
        return f"within about {_time(span.high)}, maybe much sooner: how much isn't known here"
    if np.isinf(span.high):
        return f"not before about {_time(span.low)}; no end is known here"
    low, high = _time(span.low), _time(span.high)
    if span.high >= LONGEST:
        high = f"more than {LONGEST:.0f} years"
    if low == high:
        return f"about {low}"
    same = low.rpartition(" ")[2].rstrip("s") == high.rpartition(" ")[2].rstrip("s")
    if same and not high.startswith("more"):
        low = low.partition(" ")[0]
    return f"about {low} to {high}"


def _time(years: float) -> str:
    """Say a time in the largest unit of which there are two or more.

    Examples
    --------
    >>> [_time(x) for x in (3.4, 1.7, 1.0, 0.1, 0.001, 0.0)]
    ['3 years', '20 months', '1 year', '5 weeks', 'a day', 'a day']
    """
    days = years * DAYS["year"]
    unit = next((u for u in reversed(DAYS) if days / DAYS[u] >= FEWEST), "day")
    number = round(rounded(days / DAYS[unit]))
    if unit == "month" and number == MONTHS:
        return "1 year"
    return f"{number} {unit}s" if number > 1 else "a day"


def dose_words(span: Span) -> str:
    """Say a range of doses in lux-hours.

    Examples
    --------
    >>> dose_words(Span(0.09, 1.0)), dose_words(Span(0.3, 3.2))
    ('about 90 thousand to 1 million lux-hours', 'about 300 thousand to 3 million lux-hours')
    >>> dose_words(Span(3.0, float("inf"))), dose_words(Span(0.0, 12.0))
    ('more than about 3 million lux-hours', 'less than about 12 million lux-hours')
    """
    if span.low == 0.0:
        if np.isinf(span.high):
            return "not known here"
        return f"less than about {_light(span.high)} lux-hours"
    if np.isinf(span.high):
        return f"more than about {_light(span.low)} lux-hours"
    low, high = _light(span.low), _light(span.high)
    if low == high:
        return f"about {low} lux-hours"
    if low.partition(" ")[2] == high.partition(" ")[2]:
        low = low.partition(" ")[0]
    return f"about {low} to {high} lux-hours"


def _light(millions: float) -> str:
    number = rounded(millions)
    return f"{number:,g} million" if number >= 1.0 else f"{rounded(1e3 * millions):g} thousand"
