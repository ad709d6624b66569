"""One's own test of lightfastness: a swatch measured before and after light, once or over time.

A power law ΔE = a · dose^b is fitted by weighing every a and b of a grid by how well they explain
the readings, so that a single reading already gives a range, and further ones narrow it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.errors import LightfastnessError
from laydown.media.light.exposure import Span
from laydown.media.light.fading import Fading, fading_constants

STEADIEST = 0.03
"""Noise of a difference is taken as no smaller (CIEDE2000): no instrument repeats better."""
LEAST_SEEN = 1e-3
"""A difference of none is taken as this: no instrument tells it from none (CIEDE2000)."""
EXPONENTS = np.linspace(0.1, 1.2, 45)
LOG_SCALES = np.linspace(-7.0, 4.0, 221)
"""Natural logarithms of the difference after the last dose; the lowest is no change at all."""
OFFSETS = np.linspace(-2.0, 2.0, 9)
"""Standard deviations at which what no reading tells is tried."""
LIKELY = 1e-9
"""Laws less likely than this share of the likeliest don't move a range."""
EIGHTY = 1.2816
"""Standard deviations to either side that hold 80 in 100 of a normal distribution."""


@dataclass(frozen=True, slots=True, eq=False)
class WindowReading:
    """A swatch before and after light."""

    dose: Span
    """In all since the beginning [million lux-hours], above 0."""
    before: FloatArray
    after: FloatArray
    """Shape (3,), CIELAB."""
    noise: float
    """Of the difference between two measurements (CIEDE2000)."""
    filtered: bool
    """Whether that light was free of ultraviolet."""

    @property
    def difference(self) -> float:
        """How far the color moved (CIEDE2000)."""
        return float(ciede2000(self.before, self.after))


Laws: TypeAlias = tuple[FloatArray, float]
"""How likely each of `EXPONENTS` and `LOG_SCALES` is, shape (b, a), adding to 1; and the longest
dose tested [million lux-hours], the middle of its range, at which scales are told."""


def fit_window(doses: FloatArray, differences: FloatArray, noise: FloatArray) -> Laws:
    """Fit the power law to differences after doses.

    `doses`: shape (n,), above 0 [million lux-hours]. `differences`: shape (n,), CIEDE2000. `noise`:
    shape (n,), of each difference. The doses are taken as exact.

    Errors are normal on each of three axes, of the noise and a share of the difference together: a
    difference is a length, which noise across the way makes longer and never shorter, so that small
    ones are read too large. Half of the noise's variance is that of the first measurement, which
    all differences share. The exponent has the prior of ``fading.csv`` and the logarithm of the
    scale none. Untrue once a color is nearly gone, or where it first darkens and then fades.

    Readings that lie on a square root; what is expected of other dyes pulls a little.

    >>> doses = np.array([0.1, 0.4, 0.9, 1.6])
    >>> likely, _ = fit_window(doses, 2.0 * np.sqrt(doses), np.full(4, 0.01))
    >>> round(float(EXPONENTS[likely.sum(axis=1).argmax()]), 1)
    0.5
    """
    told = fading_constants()
    last = float(doses.max())
    scale = np.exp(LOG_SCALES)[None, :, None]
    law = scale * (doses / last) ** EXPONENTS[:, None, None]
    steady = np.maximum(noise, STEADIEST)
    before = float(steady.min()) / np.sqrt(2.0)
    own = np.hypot(np.sqrt(steady**2 - before**2), told["misfit"] * law)
    seen = np.maximum(differences, LEAST_SEEN)
    tried = [
        np.log(weight) + _log_chance(seen, np.hypot(law + along, across), own).sum(axis=-1)
        for along, across, weight in _first_measurements(before)
    ]
    fits = np.logaddexp.reduce(tried)
    off = (EXPONENTS - told["exponent mean"]) / told["exponent deviation"]
    weights = fits - 0.5 * off[:, None] ** 2
    weights = np.exp(weights - weights.max())
    return weights / weights.sum(), last


def _first_measurements(deviation: float) -> Iterator[tuple[float, float, float]]:
    """Yield by how much the first measurement may be off along the way and across it, and a weight.

    Normal with this deviation on each axis; across it, the square is an exponential of two axes.
    """
    steps, shares = np.polynomial.hermite_e.hermegauss(5)
    squares, rarer = np.polynomial.laguerre.laggauss(2)
    for step, share in zip(steps, shares / shares.sum(), strict=True):
        for square, rare in zip(squares, rarer, strict=True):
            yield deviation * step, deviation * np.sqrt(2.0 * square), share * rare


def _log_chance(seen: FloatArray, true: FloatArray, deviation: FloatArray) -> FloatArray:
    """Return the log density of a length that has normal noise on three axes, up to a constant.

    It is that of a noncentral chi of three degrees of freedom: x/(λσ) · [φ((x − λ)/σ) −
    φ((x + λ)/σ)], the normal one where the true length λ is many times σ.
    """
    near = -0.5 * ((seen - true) / deviation) ** 2
    other_side = -np.expm1(-2.0 * seen * true / deviation**2)
    return np.asarray(near + np.log(other_side) - np.log(true * deviation))


def dose_range(laws: Laws, difference: float, *, spread: float = 0.0) -> Span:
    """Return the doses between which a difference is reached, 80 times in 100.

    Beyond the longest dose tested the exponent may drift. An end that the readings say nothing of
    is left open.

    `laws`: from `fit_window`. `difference`: CIEDE2000. `spread`: standard deviation of the natural
    log of the doses as a whole, since light is estimated.

    >>> doses = np.array([0.1, 0.4, 0.9, 1.6])
    >>> found = fit_window(doses, 2.0 * np.sqrt(doses), np.full(4, 0.05))
    >>> 0.1 < dose_range(found, 0.8).low < 0.16 < dose_range(found, 0.8).high < 0.3
    True
    """
    (likely, last), drift = laws, fading_constants()["drift"] * OFFSETS
    chance = np.exp(-0.5 * OFFSETS**2)
    rows, columns = np.nonzero(likely > LIKELY * likely.max())
    needed = np.log(difference) - LOG_SCALES[columns, None, None]
    slope = EXPONENTS[rows, None, None] + np.where(needed > 0, drift[:, None], 0.0)
    logs = needed / np.maximum(slope, EXPONENTS[0]) + spread * OFFSETS
    weights = likely[rows, columns, None, None] * chance[:, None] * chance
    low, high = _quantiles(logs, weights, (0.1, 0.9))
    none = likely[:, 0].sum() > 1e-3 * likely.max()
    return Span(last * float(np.exp(low)), np.inf if none else last * float(np.exp(high)))


def _quantiles(values: FloatArray, weights: FloatArray, shares: tuple[float, ...]) -> FloatArray:
    order = np.argsort(values, axis=None)
    total = np.cumsum(np.broadcast_to(weights, values.shape).ravel()[order])
    return np.asarray(np.interp(np.array(shares) * total[-1], total, values.ravel()[order]))


def window_fading(readings: Sequence[WindowReading]) -> Fading:
    """Return what one's own readings of a colorant say of its fading.

    `readings`: of one plain coat of it; all behind a filter or all not. Raises LightfastnessError
    where some were filtered and some not.

    >>> lab = np.array([60.0, 40.0, 20.0])
    >>> read = WindowReading(Span(0.5, 2.0), lab, lab + [2.0, -3.0, -2.0], 0.3, False)
    >>> found = window_fading([read]).noticeable
    >>> 0.05 < found.low < found.high < 1.0
    True
    """
    if len({reading.filtered for reading in readings}) != 1:
        raise LightfastnessError(
            "Some readings were taken with ultraviolet and some without.",
            hint="Forget those of one kind.",
            command="laydown light forget NUMBER",
        )
    doses = np.array([np.sqrt(r.dose.low * r.dose.high) for r in readings])
    differences = np.array([r.difference for r in readings])
    found = fit_window(doses, differences, np.array([r.noise for r in readings]))
    widths = [np.log(r.dose.high / r.dose.low) for r in readings]
    spread = float(np.mean(widths)) / (2.0 * EIGHTY)
    exponents = _quantiles(EXPONENTS, found[0].sum(axis=1), (0.1, 0.9))
    noticeable = dose_range(found, fading_constants()["noticeable"], spread=spread)
    words = f"window test, {len(readings)} reading{'s' if len(readings) > 1 else ''}"
    exponent = Span(float(exponents[0]), float(exponents[1]))
    return Fading(noticeable, exponent, readings[0].filtered, words)


def shows_change(readings: Sequence[WindowReading]) -> bool:
    """Return whether a reading moved noticeably, and further than its noise explains."""
    least = fading_constants()["noticeable"]
    return any(r.difference >= max(least, 2.0 * r.noise) for r in readings)
