"""A trial as every task shows it, and the forms in which its color is typed."""

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from laydown.app.color_in_words import ColorInWords, in_words, reflectance_in_words
from laydown.app.targets import SCREEN_DEVIATION
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, xyz_from_lab
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.color.screen import lab_from_hex
from laydown.color.solid import inside_object_solid
from laydown.errors import BadColorError, BadRecipeError
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.recipe import Recipe
from laydown.media.trial import Fill
from laydown.store.trial_records import StoredTrial


@dataclass(frozen=True, slots=True, eq=False)
class TrialShown:
    """A trial, its color in words and how far it is from what was wanted.

    Parameters
    ----------
    number, version, withdrawn, recorded
        As the library keeps them.
    done
        The day it was made, where that was said.
    kit, paper, recipe
        What was laid with what on what.
    color
        What came of it.
    wanted, intended, off
        As typed, in words, and what stays off (obtained minus wanted); None where none was wanted.
    measured, noise, fill, remark, photograph
        As noted; the noise in CIELAB units per axis.
    """

    number: int
    version: int
    withdrawn: bool
    recorded: datetime
    done: str
    kit: str
    paper: str
    recipe: Recipe
    color: ColorInWords
    wanted: str
    intended: ColorInWords | None
    off: Difference | None
    measured: str
    noise: float
    fill: Fill
    remark: str
    photograph: str


def shown(stored: StoredTrial) -> TrialShown:
    """Return a trial as tasks show it."""
    entry = stored.entry
    lab = lab_from_reflectance(entry.reflectance)
    return TrialShown(
        number=stored.number,
        version=stored.version,
        withdrawn=stored.withdrawn,
        recorded=stored.recorded,
        done=entry.done,
        kit=entry.kit,
        paper=entry.paper,
        recipe=entry.recipe,
        color=reflectance_in_words(entry.reflectance),
        wanted=entry.wanted,
        intended=None if entry.intended is None else in_words(entry.intended),
        off=None if entry.intended is None else difference(entry.intended, lab),
        measured=entry.measured,
        noise=entry.spread,
        fill=entry.fill,
        remark=entry.remark,
        photograph=entry.photograph,
    )


@dataclass(frozen=True, slots=True, eq=False)
class TypedColor:
    """A color as it was typed.

    Parameters
    ----------
    reflectance
        Shape (36,), the smoothest of that color.
    noise
        That its form brings with it [CIELAB units per axis]: a screen's color is only rough.
    """

    reflectance: FloatArray
    noise: float


def typed_color(text: str) -> TypedColor:
    """Read what came of a trial: a measured color, or a screen's ``#rrggbb``.

    Raises
    ------
    BadColorError
        For another form, numbers that are none, or a color that no surface can have.

    Examples
    --------
    >>> typed_color("lab:50,0,0").noise, typed_color("#808080").noise
    (0.0, 5.0)
    """
    if text.strip().startswith("#"):
        xyz = xyz_from_lab(lab_from_hex(text.strip()))
        return TypedColor(_reflectance(text, xyz), SCREEN_DEVIATION)
    return TypedColor(typed_reflectance(text), 0.0)


def typed_reflectance(text: str) -> FloatArray:
    """Return the smoothest reflectance of a color typed as ``lab:`` or ``xyz:``.

    Raises
    ------
    BadColorError
        For another form, numbers that are none, or a color that no surface can have.

    Examples
    --------
    >>> typed_reflectance("lab:50,0,0").shape
    (36,)
    """
    form, colon, numbers = text.strip().partition(":")
    if not colon or form.casefold() not in {"lab", "xyz"}:
        raise BadColorError(
            f"“{text}” is no measured color.",
            hint="Write lab:L,a,b or xyz:X,Y,Z, where the perfect white has Y = 100.",
        )
    values = _three(text, numbers)
    return _reflectance(text, xyz_from_lab(values) if form.casefold() == "lab" else values)


def _reflectance(text: str, xyz: FloatArray) -> FloatArray:
    if not inside_object_solid(xyz):
        raise BadColorError(
            f"“{text}” is a color that no surface can have.",
            hint="Check the numbers; of XYZ the perfect white has Y = 100.",
        )
    return reflectance_from_xyz(xyz)


def _three(text: str, numbers: str) -> FloatArray:
    try:
        values = np.array([float(part) for part in numbers.split(",")])
    except ValueError:
        values = np.empty(0)
    if values.shape != (3,) or not np.isfinite(values).all():
        raise BadColorError(
            f"“{text}” has not three numbers.",
            hint="Put points in the numbers and commas between them: lab:71,8,46.",
        )
    return values


def checked_day(text: str) -> str:
    """Return a day as ``YYYY-MM-DD``, or say why it is none; empty stays empty.

    Examples
    --------
    >>> checked_day(" 2026-03-04 ")
    '2026-03-04'
    """
    if not text.strip():
        return ""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise BadRecipeError(
            f"“{text}” is no day.", hint="Write it as year-month-day: 2026-03-04."
        ) from None
