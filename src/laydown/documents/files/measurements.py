"""The measured part of a line: a spectrum, XYZ or Lab, checked and brought onto our bands."""

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import inside_object_solid, reflectance_from_xyz
from laydown.color.spectra import resample
from laydown.documents.files.csv import LAB, XYZ, Line, Table, bands_of
from laydown.errors import BadColorError
from laydown.media.swatch import Basis

MOST_REFLECTANCE = 2.0
"""Brightened paper reaches about 1.2; above 2 it can only be percent (chosen, no source)."""
LEAST_TOP = 1.5
"""A file whose largest Y or L* is below this is on a scale of 0 to 1 (chosen, no source)."""
XYZ_DECIMALS = 6
"""XYZ are kept to this many decimals, so that what is written out reads back the same."""
REFLECTANCE_DECIMALS = 10
"""Of what was reconstructed from XYZ; arithmetic on many colors at once differs in the 16th."""
SOLID_TOLERANCE = 0.05
"""How far outside the object-color solid rounding and noise may put a color [units of XYZ]."""
MOST_BRIGHTENING = 1.2
"""How far a bare paper may outshine the perfect white (chosen, no source)."""
LONGEST_NUMBER = 400
"""Characters; the smallest number that a float holds takes 343 without an exponent."""
ABOVE_WHITE = "above-white"
BATCH = 1024
"""Colors that are made spectra of at a time: asking whether a surface can have them takes 15 kB
each."""
EXTENDED_BANDS = "extended-bands"
Measurement: TypeAlias = tuple[FloatArray, Basis, frozenset[str]]
"""What a line measured: reflectance, shape (36,), its basis, and flags."""


def number(line: Line, column: str, usual: float | None = None) -> float:
    """Return the number in a cell, or what is usual where it is blank.

    Raises `BadFileError` for anything that isn't a finite number.
    """
    text = line[column].strip()
    if not text and usual is not None:
        return usual
    if "," in text:
        if not line.table.decimal_comma:
            raise line.bad(
                column,
                f"“{text}” has a decimal comma.",
                "Write a point, or part the columns by semicolons.",
            )
        text = text.replace(",", ".")
    try:
        value = float(text) if len(text) <= LONGEST_NUMBER else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise line.bad(column, f"“{line[column]}” is not a number.")
    return value


def measurements(table: Table, bare: Sequence[bool]) -> tuple[Measurement, ...]:
    """Return what each line measured: its spectrum where there is one, else XYZ, else Lab.

    Bare paper may outshine the perfect white.
    """
    bands = bands_of(table.columns)
    kinds = [_kind(line, bands) for line in table.lines]
    spectral = [i for i, kind in enumerate(kinds) if kind == "spectrum"]
    found = {i: _spectrum(table.lines[i], bands) for i in spectral}
    xyz = {i: _xyz(table.lines[i], kind) for i, kind in enumerate(kinds) if kind != "spectrum"}
    _check_scale(table, kinds, xyz)
    _add_colors(found, table, xyz, bare)
    return tuple(found[i] for i in range(len(kinds)))


def check_columns(table: Table) -> None:
    """Refuse a table that measures nothing, or names only some of the three axes of a color."""
    has = set(table.columns)
    for triple in (LAB, XYZ):
        missing = [column for column in triple if column not in has]
        if 0 < len(missing) < 3:
            raise table.bad(
                f"the columns {', '.join(triple)} belong together, and {', '.join(missing)} "
                f"is missing."
            )
    if not (bands_of(table.columns) or has & {*LAB, *XYZ}):
        raise table.bad(
            "there is no column with a measurement.",
            "Add L,a,b or X,Y,Z or bands such as r380 to r730.",
        )


def _kind(line: Line, bands: dict[str, float]) -> str:
    for kind, columns in (("spectrum", tuple(bands)), ("XYZ", XYZ), ("Lab", LAB)):
        blank = [column for column in columns if not line[column].strip()]
        if columns and not blank:
            return kind
        if kind == "spectrum" and _bands_enough(line, bands):
            return kind
        if len(blank) < len(columns):
            raise line.bad(blank[0], "the cell is blank and its neighbors are not.")
    raise line.bad("", "nothing was measured: all its colors are blank.")


def _bands_enough(line: Line, bands: dict[str, float]) -> bool:
    """Return whether the bands that are there run on without a gap: ends may be missing."""
    there = [bool(line[column].strip()) for column in bands]
    if not any(there):
        return False
    first, last = there.index(True), len(there) - there[::-1].index(True)
    return all(there[first:last])


def _spectrum(line: Line, bands: dict[str, float]) -> Measurement:
    there = {column: nm for column, nm in bands.items() if line[column].strip()}
    values = np.array([_reflectance(line, column) for column in there])
    try:
        reflectance, extended = resample(np.array(list(there.values())), values)
    except BadColorError as error:
        raise line.bad("", error.message, error.hint) from error
    return reflectance, Basis.SPECTRUM, _flags(reflectance, extended=extended)


def _reflectance(line: Line, column: str) -> float:
    value = number(line, column) / line.table.full_scale
    if value < 0:
        raise line.bad(column, f"reflectance {value:g} is below 0.", "Write 0 if it is noise.")
    if value > MOST_REFLECTANCE:
        raise line.bad(
            column,
            f"reflectance {value:g} is above {MOST_REFLECTANCE:g}; it looks like percent.",
            "Divide all reflectances by 100: the perfect white is 1.",
        )
    return value


def _flags(reflectance: FloatArray, *, extended: bool = False) -> frozenset[str]:
    flags = {EXTENDED_BANDS} if extended else set()
    if np.max(reflectance) > 1.0:
        flags.add(ABOVE_WHITE)
    return frozenset(flags)


def _xyz(line: Line, kind: str) -> FloatArray:
    columns = XYZ if kind == "XYZ" else LAB
    values = np.array([number(line, column) for column in columns])
    if kind == "XYZ":
        low = int(np.argmin(values))
        if values[low] < 0:
            raise line.bad(XYZ[low], f"{values[low]:g} is below 0.")
        return values.round(XYZ_DECIMALS)
    for column, value, least, most in zip(
        LAB, values, (0, -200, -200), (110, 200, 200), strict=True
    ):
        if not least <= value <= most:
            raise line.bad(column, f"{value:g} is not within {least} and {most}.")
    return np.asarray(xyz_from_lab(values).round(XYZ_DECIMALS))


def _check_scale(table: Table, kinds: Sequence[str], xyz: dict[int, FloatArray]) -> None:
    for kind, column in (("XYZ", "Y"), ("Lab", "L")):
        places = [i for i in xyz if kinds[i] == kind]
        tops = [number(table.lines[i], column) for i in places]
        if tops and max(tops) <= LEAST_TOP:
            raise table.lines[places[0]].bad(
                column,
                f"the largest {column} in the file is {max(tops):g}, which looks like a scale "
                f"of 0 to 1.",
                f"Multiply by 100: the perfect white has {column} = 100.",
            )


def _add_colors(
    found: dict[int, Measurement], table: Table, xyz: dict[int, FloatArray], bare: Sequence[bool]
) -> None:
    places = list(xyz)
    for start in range(0, len(places), BATCH):
        batch = places[start : start + BATCH]
        colors = np.array([xyz[i] for i in batch])
        scale = _brightening(table, batch, colors, np.array([bare[i] for i in batch]))[:, None]
        smoothest = reflectance_from_xyz(colors / scale) * scale
        reflectances = smoothest.round(REFLECTANCE_DECIMALS)  # the same alone and among many
        for place, reflectance in zip(batch, reflectances, strict=True):
            found[place] = reflectance, Basis.XYZ, _flags(reflectance)


def _brightening(
    table: Table, places: Sequence[int], colors: FloatArray, bare: NDArray[np.bool_]
) -> FloatArray:
    """Return 1, or for bare paper whiter than white what brings it under the perfect white."""
    scale = np.ones(len(colors))
    outside = ~inside_object_solid(colors, tolerance=SOLID_TOLERANCE)
    for brighter in np.arange(1.0, MOST_BRIGHTENING + 0.005, 0.01)[1:]:
        if not (outside & bare).any():
            break
        scale[outside & bare] = brighter
        outside = ~inside_object_solid(colors / scale[:, None], tolerance=SOLID_TOLERANCE)
    if outside.any():
        first = int(np.argmax(outside))
        numbers = ", ".join(f"{value:g}" for value in colors[first])
        raise table.lines[places[first]].bad(
            "",
            f"XYZ {numbers} is a color that no surface can have under D50.",
            "Check the columns, the scale (Y = 100 is white) and that they are for D50.",
        )
    return scale
