"""Other lights than D50, on demand, and the weights that a light gives to the 36 bands."""

import difflib

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.errors import UnknownNameError
from laydown.reference.tables import load_table

LIGHT_WAVELENGTHS: FloatArray = np.arange(360.0, 781.0, 5.0)
"""The 85 places at which a light is given, 360 to 780 nm by 5 nm."""
LIGHT_WAVELENGTHS.flags.writeable = False


def light(name: str) -> FloatArray:
    """Return a standard light by its name in the CIE's publications.

    Parameters
    ----------
    name
        ``D50``, ``D65``, ``C`` (daylight), ``A`` (filament lamp), ``FL2``, ``FL11`` (fluorescent
        tubes), ``LED-B1``, ``LED-B3``, ``LED-B5``, ``LED-V1`` (white LEDs).

    Returns
    -------
    FloatArray
        Shape (85,), relative spectral power at `LIGHT_WAVELENGTHS`.

    Raises
    ------
    UnknownNameError
        For another name.

    References
    ----------
    CIE 015:2018, Colorimetry, 4th edition.

    Examples
    --------
    Daylight tables are scaled to 100 at 560 nm.

    >>> float(light("D65")[40])
    100.0
    """
    table = load_table("lights")
    known = table.header[1:]
    if name not in known:
        near = difflib.get_close_matches(name, known, n=1)
        hint = f"Did you mean {near[0]}?" if near else f"Known are {', '.join(known)}."
        raise UnknownNameError(f"There is no light called {name!r} here.", hint=hint)
    return table.numbers(name)[:, 0]


def weights(illuminant: FloatArray) -> FloatArray:
    """Weigh the 36 bands for a light, so that reflectance @ weights is XYZ.

    Parameters
    ----------
    illuminant
        Shape (85,), relative spectral power at `LIGHT_WAVELENGTHS`, any scale.

    Returns
    -------
    FloatArray
        Shape (36, 3); the column of Y sums to 100, and the columns' sums are the light's white.

    Notes
    -----
    Light times observer is taken at every nanometer (the light's own table straight between its
    places), and the reflectance there is the cubic through four bands (quadratic in the outermost
    gaps), which folds the nanometers into the bands, as in ASTM E308. Below 380 and above 730 nm
    the reflectance is that of the last band. There is no correction for an instrument's
    bandpass: docs/decisions/color.md says what was measured.

    References
    ----------
    ASTM E308; CIE 015:2018, section 7.

    Examples
    --------
    >>> float(weights(light("A"))[:, 1].sum().round(9))
    100.0
    """
    observer = load_table("observer_1931")
    nm = observer.numbers("wavelength")[:, 0]
    power = np.interp(nm, LIGHT_WAVELENGTHS, np.asarray(illuminant, dtype=np.float64))
    seen = power[:, None] * observer.numbers("x", "y", "z")
    folded = _between_bands(nm).T @ seen
    return np.asarray(100.0 * folded / folded[:, 1].sum(), dtype=np.float64)


def _between_bands(nm: FloatArray) -> FloatArray:
    """Return shape (n, 36): the share of each band in the reflectance at each nanometer."""
    at = np.clip(nm, WAVELENGTHS[0], WAVELENGTHS[-1])
    gap = np.clip(((at - WAVELENGTHS[0]) // 10.0).astype(int), 0, WAVELENGTHS.size - 2)
    shares = np.zeros((nm.size, WAVELENGTHS.size))
    for row, (x, left) in enumerate(zip(at, gap, strict=True)):
        knots = range(max(left - 1, 0), min(left + 3, WAVELENGTHS.size))
        for k in knots:
            others = WAVELENGTHS[[j for j in knots if j != k]]
            shares[row, k] = np.prod((x - others) / (WAVELENGTHS[k] - others))
    return shares
