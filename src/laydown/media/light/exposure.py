"""How much light falls on a piece of work, as ranges: nobody knows it more exactly."""

import re
from dataclasses import dataclass

import numpy as np

from laydown.errors import LightfastnessError

BRIGHTEST = 150_000.0
"""Lux; more than the sun gives at noon (common practice, no source)."""
LUX_HOURS = 1e6
"""Doses are told in millions of these."""
_SPAN = re.compile(r"(\d*\.?\d+)(?:\s*[-–]\s*(\d*\.?\d+))?")


@dataclass(frozen=True, slots=True)
class Span:
    """A range of doses [million lux-hours], of years, or of a factor."""

    low: float
    """The soonest; 0 where no beginning is known."""
    high: float
    """The latest; infinite where no end is known."""

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.high:
            raise ValueError("a range runs from 0 or more upwards")

    @property
    def middle(self) -> float:
        """The middle in proportion, to order ranges by; an open end counts as ten times away.

        >>> Span(1.0, 4.0).middle, Span(0.0, 1.0).middle < Span(1.0, 4.0).middle
        (2.0, True)
        """
        low = self.low or 0.1 * self.high
        high = self.high if np.isfinite(self.high) else 10.0 * self.low
        return float(np.sqrt(low * high)) if high else float(low)

    def times(self, other: "Span") -> "Span":
        """Return the range of products; 0 and infinity mean that nothing is known there.

        >>> Span(1.0, 2.0).times(Span(0.5, float("inf")))
        Span(low=0.5, high=inf)
        """
        low = self.low * other.low if self.low and other.low else 0.0
        endless = np.inf in {self.high, other.high}
        return Span(low, np.inf if endless else self.high * other.high)

    def over(self, other: "Span") -> "Span":
        """Return the range of quotients by a range above 0.

        >>> Span(1.0, 2.0).over(Span(0.5, 4.0))
        Span(low=0.25, high=4.0)
        """
        return Span(self.low / other.high, self.high / other.low)


@dataclass(frozen=True, slots=True)
class Exposure:
    """Where a piece of work hangs.

    Raises LightfastnessError for light, hours or days that can't be.
    """

    lux: Span
    """Light on the work [lux], as measured or estimated."""
    hours: float = 8.0
    """A day, while that light is on."""
    days: float = 365.0
    """A year."""
    filtered: bool = False
    """Whether ultraviolet is kept out, by a filter or by lamps that give none."""

    def __post_init__(self) -> None:
        _check("light", "lux", self.lux.low, BRIGHTEST)
        _check("light", "lux", self.lux.high, BRIGHTEST)
        _check("day", "hours of light", self.hours, 24.0)
        _check("year", "days", self.days, 366.0)

    @property
    def yearly(self) -> Span:
        """Dose of a year [million lux-hours].

        >>> Exposure(Span(100.0, 200.0), hours=10.0, days=300.0).yearly
        Span(low=0.3, high=0.6)
        """
        return Span(*(dose(x, hours=self.hours * self.days) for x in (self.lux.low, self.lux.high)))


def dose(lux: float, *, hours: float) -> float:
    """Return light times time [million lux-hours].

    `lux`: light on the work. `hours`: how long it is on, in all.

    >>> dose(5000.0, hours=200.0)
    1.0
    """
    return lux * hours / LUX_HOURS


def _check(what: str, unit: str, value: float, most: float) -> None:
    if not 0.0 < value <= most:
        raise LightfastnessError(
            f"A {what} of {value:,.10g} {unit}: allowed is more than 0, up to {most:,.0f}.",
            hint="Measure it where the work hangs; a range such as 100-200 is as good.",
        )


def parse_span(text: str, what: str) -> Span:
    """Read a number or a range as people write it.

    `text`: ``150`` or ``100-200``. `what`: what it is, for the message. Raises LightfastnessError
    for anything else, and for what isn't above 0.

    >>> parse_span("100-200", "light"), parse_span(" 150 ", "light")
    (Span(low=100.0, high=200.0), Span(low=150.0, high=150.0))
    """
    found = _SPAN.fullmatch(text.strip())
    low, high = (float(found[1]), float(found[2] or found[1])) if found else (0.0, 0.0)
    if not 0.0 < low <= high:
        raise LightfastnessError(
            f"“{text}” is no {what}.",
            hint="Write one number above 0, or two with the smaller first: 100-200, with points"
            " in the numbers.",
        )
    return Span(low, high)


def span_text(span: Span) -> str:
    """Write a range as `parse_span` reads it.

    >>> span_text(Span(100.0, 200.0)), span_text(Span(0.5, 0.5))
    ('100-200', '0.5')
    """
    low, high = f"{span.low:.10g}", f"{span.high:.10g}"
    return low if low == high else f"{low}-{high}"


def dose_in_all(exposure: Exposure, days: float) -> Span:
    """Return the dose of so many days of an exposure [million lux-hours].

    >>> dose_in_all(Exposure(Span(2000.0, 8000.0), hours=10.0), 50.0)
    Span(low=1.0, high=4.0)
    """
    if not 0.0 < days <= 36_525:
        raise LightfastnessError(
            f"{days:g} days: allowed are more than 0, up to a hundred years.",
            hint="Count the days since it was hung there.",
        )
    hours = exposure.hours * days
    return Span(dose(exposure.lux.low, hours=hours), dose(exposure.lux.high, hours=hours))
