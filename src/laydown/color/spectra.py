"""The bands on which all spectra lie here, and bringing other spectra onto them."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import BadColorError

WAVELENGTHS: FloatArray = np.arange(380.0, 731.0, 10.0)
"""The 36 bands, 380 to 730 nm by 10 nm."""
WAVELENGTHS.flags.writeable = False

SHORTEST, LONGEST, WIDEST_GAP = 420.0, 680.0, 20.0
"""A spectrum must reach from SHORTEST to LONGEST without a gap over WIDEST_GAP [nm]: beyond, the
ends carry 2 % of the light seen and can be held constant (chosen, no source)."""


def resample(wavelengths: FloatArray, values: FloatArray) -> tuple[FloatArray, bool]:
    """Bring spectra onto the 36 bands.

    `wavelengths`: shape (n,), rising [nm]. `values`: shape (…, n), reflectance at them [0 to 1,
    above where fluorescent]. Returns shape (…, 36), and whether end bands were missing and had to
    be extended. Raises BadColorError for values that are not numbers or below zero, and for
    wavelengths that don't rise, leave a gap over 20 nm or don't reach from 420 to 680 nm.

    Between four neighboring samples runs their cubic (Lagrange), as ASTM E308 recommends for
    practice; it passes through every sample and is not let below zero. Missing end bands are given
    the value of the last band measured, also after E308. Samples finer than 10 nm are picked, not
    averaged: an instrument has its own bandpass already.

    Source: ASTM E308, Standard practice for computing the colors of objects by using the CIE
    system.

    A spectrum on a straight line from 0 at 400 nm to 1 at 700 nm is ½ at 550 nm and ends level:

    >>> values, extended = resample(np.arange(400.0, 701.0, 20.0), np.linspace(0.0, 1.0, 16))
    >>> values[[0, 17, 35]].round(12).tolist(), extended
    ([0.0, 0.5, 1.0], True)
    """
    nm = np.asarray(wavelengths, dtype=np.float64)
    reflectance = np.asarray(values, dtype=np.float64)
    if nm.ndim != 1 or reflectance.shape[-1:] != nm.shape:
        message = f"{reflectance.shape} values don't fit {nm.shape} wavelengths"
        raise ValueError(message)
    _check_wavelengths(nm)
    _check_values(nm, reflectance)
    extended = bool(nm[0] > WAVELENGTHS[0] or nm[-1] < WAVELENGTHS[-1])
    if np.array_equal(nm, WAVELENGTHS):
        return reflectance.copy(), False
    at = np.clip(WAVELENGTHS, nm[0], nm[-1])
    return np.maximum(reflectance @ _cubic(nm, at).T, 0.0), extended


def _check_wavelengths(nm: FloatArray) -> None:
    hint = f"Give bands in rising order, from {SHORTEST:g} nm or less to {LONGEST:g} nm or more."
    if nm.size < 4 or not np.all(np.isfinite(nm)) or np.any(np.diff(nm) <= 0.0):
        raise BadColorError("The wavelengths of the spectrum don't rise in order.", hint=hint)
    if nm[0] > SHORTEST or nm[-1] < LONGEST:
        message = f"The spectrum runs from {nm[0]:g} to {nm[-1]:g} nm, which is too short."
        raise BadColorError(message, hint=hint)
    gap = int(np.argmax(np.diff(nm)))
    if nm[gap + 1] - nm[gap] > WIDEST_GAP:
        message = (
            f"The spectrum has nothing between {nm[gap]:g} and {nm[gap + 1]:g} nm; "
            f"bands may be {WIDEST_GAP:g} nm apart at most."
        )
        raise BadColorError(message, hint=hint)


def _check_values(nm: FloatArray, reflectance: FloatArray) -> None:
    bad = ~np.isfinite(reflectance) | (reflectance < 0.0)
    if np.any(bad):
        place = tuple(np.argwhere(bad)[0])
        message = f"Reflectance at {nm[place[-1]]:g} nm is {reflectance[place]:g}; it can't be."
        raise BadColorError(message, hint="Reflectance is a number from 0 (black) to 1 (white).")


def _cubic(nm: FloatArray, at: FloatArray) -> FloatArray:
    """Return shape (m, n): what each sample weighs in the Lagrange cubic at each wanted place."""
    first = np.clip(np.searchsorted(nm, at, side="right") - 2, 0, nm.size - 4)
    knots = first[:, None] + np.arange(4)
    x = nm[knots]
    weight = np.ones_like(x)
    for i in range(4):
        for j in range(4):
            if i != j:
                weight[:, i] *= (at - x[:, j]) / (x[:, i] - x[:, j])
    matrix = np.zeros((at.size, nm.size))
    np.put_along_axis(matrix, knots, weight, axis=1)
    return matrix
