"""Other lights than D50, their plain names, and how far a pair comes apart under another light."""

import difflib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.color.spectra import WAVELENGTHS
from laydown.errors import AmbiguousNameError, UnknownNameError
from laydown.reference.tables import load_table, numbers_of

LIGHT_WAVELENGTHS: FloatArray = np.arange(360.0, 781.0, 5.0)
"""The 85 places at which a light is given, 360 to 780 nm by 5 nm."""
LIGHT_WAVELENGTHS.flags.writeable = False


def light(name: str) -> FloatArray:
    """Return a standard light by its name in the CIE's publications.

    `name`: ``D50``, ``D65``, ``C`` (daylight), ``A`` (filament lamp), ``FL2``, ``FL11``
    (fluorescent tubes), ``LED-B1``, ``LED-B3``, ``LED-B5``, ``LED-V1`` (white LEDs). Returns shape
    (85,), relative spectral power at `LIGHT_WAVELENGTHS`. Raises UnknownNameError for another name.

    Source: CIE 015:2018, Colorimetry, 4th edition.

    Daylight tables are scaled to 100 at 560 nm.

    >>> float(light("D65")[40])
    100.0
    """
    table = load_table("lights")
    known = list(table)[1:]
    if name not in known:
        near = difflib.get_close_matches(name, known, n=1)
        hint = f"Did you mean {near[0]}?" if near else f"Known are {', '.join(known)}."
        raise UnknownNameError(f"There is no light called {name!r} here.", hint=hint)
    return numbers_of(table, name)[:, 0]


def weights(illuminant: FloatArray) -> FloatArray:
    """Weigh the 36 bands for a light, so that reflectance @ weights is XYZ.

    `illuminant`: shape (85,), relative spectral power at `LIGHT_WAVELENGTHS`, any scale. Returns
    shape (36, 3); the column of Y sums to 100, and the columns' sums are the light's white.

    Light times observer is taken at every nanometer (the light's own table straight between its
    places), and the reflectance there is the cubic through four bands (quadratic in the outermost
    gaps), which folds the nanometers into the bands, as in ASTM E308. Below 380 and above 730 nm
    the reflectance is that of the last band. There is no correction for an instrument's
    bandpass: docs/decisions/color.md says what was measured.

    Source: ASTM E308; CIE 015:2018, section 7.

    >>> float(weights(light("A"))[:, 1].sum().round(9))
    100.0
    """
    observer = load_table("observer_1931")
    nm = numbers_of(observer, "wavelength")[:, 0]
    power = np.interp(nm, LIGHT_WAVELENGTHS, np.asarray(illuminant, dtype=np.float64))
    seen = power[:, None] * numbers_of(observer, "x", "y", "z")
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


# Plain names for the lights that people color, teach and show by, beside the CIE's own.

DAY = "D50"
"""The light that matches are made for."""


@dataclass(frozen=True, slots=True)
class NamedLight:
    """A light that people know."""

    name: str
    """In plain words, such as ``evening lamp``."""
    cie: str
    """As the CIE calls it, see `laydown.color.light.light`."""
    kind: str
    """What kind of lamp or sky it stands for."""
    usual: bool
    """Whether a check takes it when no light is named."""

    @property
    def short(self) -> str:
        """Its plain name up to the comma, which still is its own."""
        return self.name.partition(",")[0]

    @property
    def weights(self) -> FloatArray:
        """Shape (36, 3), what it gives to the bands."""
        return _weights_of(self.cie)


@cache
def _weights_of(cie: str) -> FloatArray:
    found = weights(light(cie))
    found.flags.writeable = False
    return found


def named_lights() -> tuple[NamedLight, ...]:
    """Return all lights that have a plain name, daylight first.

    >>> [light.cie for light in named_lights()][:4]
    ['D50', 'D65', 'C', 'A']
    """
    table = load_table("light_names")
    columns = (table[column] for column in ("name", "light", "kind", "usual"))
    return tuple(
        NamedLight(name, cie, kind, usual == "yes")
        for name, cie, kind, usual in zip(*columns, strict=True)
    )


def find_light(text: str) -> NamedLight:
    """Find a light by its plain name, the CIE's, or a part of the plain one that only it has.

    `text`: capitals and outer blanks don't matter. Raises UnknownNameError or AmbiguousNameError
    for no light, and for more than one.

    >>> find_light("Lamp").cie, find_light("led-v1").name
    ('A', 'gallery LED, warm')
    """
    asked, every = text.strip().casefold(), named_lights()
    known = {key.casefold(): one for one in every for key in (one.name, one.cie)}
    if asked in known:
        return known[asked]
    found = [one for one in every if asked and asked in one.name.casefold()]
    if len(found) == 1:
        return found[0]
    if found:
        raise AmbiguousNameError(
            f"“{text}” may be {' or '.join(one.short for one in found)}.", hint="Say which."
        )
    near = difflib.get_close_matches(asked, known, n=1)
    names = "; ".join(f"{one.name} ({one.cie})" for one in every)
    raise UnknownNameError(
        f"There is no light called “{text}” here.",
        hint=f"Did you mean {known[near[0]].name}?" if near else f"There are: {names}.",
    )


Difference = Callable[[FloatArray, FloatArray], FloatArray]
"""A color-difference formula: two Lab (…, 3) to their differences (…)."""


def corrected_for_mismatch(
    xyz_test: FloatArray, *, wanted_reference: FloatArray, xyz_reference: FloatArray
) -> FloatArray:
    """Take out of a color under the test light what was off under the reference light already.

    `xyz_test`: shape (…, 3), the color obtained, under the test light. `wanted_reference`,
    `xyz_reference`: shape (…, 3), the color wanted and the one obtained, under the reference light;
    none of the latter's numbers is 0. Returns shape (…, 3), X, Y and Z each times wanted / obtained
    under the reference light.

    The multiplicative correction in X, Y, Z. It is true for small mismatches; of a pair that is
    far apart by day it says little.

    Source: ISO 18314-4:2024, Analytical colorimetry, part 4 (multiplicative correction of XYZ); CIE
    015:2018, special metamerism index.

    What is a tenth too much by day is taken for a tenth too much by lamp.

    >>> day, wanted, lamp = np.full(3, 22.0), np.full(3, 20.0), np.full(3, 33.0)
    >>> corrected_for_mismatch(lamp, wanted_reference=wanted, xyz_reference=day).round(9).tolist()
    [30.0, 30.0, 30.0]
    """
    share = np.asarray(wanted_reference, dtype=np.float64) / xyz_reference
    return np.asarray(xyz_test * share, dtype=np.float64)


def metamerism_index(
    *,
    wanted_reference: FloatArray,
    xyz_reference: FloatArray,
    wanted_test: FloatArray,
    xyz_test: FloatArray,
    white_test: FloatArray,
    difference: Difference = ciede2000,
) -> FloatArray:
    """Return the special metamerism index of a pair for a change of light.

    `wanted_reference`, `xyz_reference`: shape (…, 3), XYZ of the color wanted and the one obtained,
    under the reference light. `wanted_test`, `xyz_test`: shape (…, 3), the same under the test
    light. `white_test`: shape (3,), XYZ of the perfect white under the test light. `difference`:
    the formula that the index is told in, which is to be named beside it. Returns shape (…), the
    difference under the test light once the mismatch under the reference light is taken out; 0 for
    a pair with one spectrum.

    The CIE prefers D65 as the reference light; here it is whichever the colors were given for,
    which in laydown is D50, as in all else. Of a fluorescent pair it says nothing. It says how far
    the pair comes apart, not whether either color keeps its look (that is color constancy).

    Source: ISO 18314-4:2024, Analytical colorimetry, part 4: Metamerism index for pairs of samples
    for change of illuminant; CIE 015:2018, Colorimetry, special metamerism index: change in
    illuminant.

    >>> day, lamp = np.array([20.0, 20.0, 16.0]), np.array([22.0, 20.0, 7.0])
    >>> white = np.array([109.85, 100.0, 35.58])
    >>> pair = {"wanted_reference": day, "wanted_test": lamp, "white_test": white}
    >>> float(metamerism_index(**pair, xyz_reference=day, xyz_test=lamp))
    0.0
    """
    corrected = corrected_for_mismatch(
        xyz_test, wanted_reference=wanted_reference, xyz_reference=xyz_reference
    )
    wanted, obtained = (lab_from_xyz(xyz, white=white_test) for xyz in (wanted_test, corrected))
    return difference(wanted, obtained)
