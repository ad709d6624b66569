"""What people call a color, turned into a target.

A target is typed as ``lab:L,a,b``; as ``#rrggbb``, which is only a screen's idea of it; in the
notation of ASTM D1535 (``5YR 6/8``, ``N 5/``); as the name of a colorant; or as a recipe of the
library's colorants, measured where it was swatched and predicted where it wasn't.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.app.kit_fits import kit_fit_for
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, xyz_from_lab
from laydown.color.notation import HINT, lab_from_notation
from laydown.color.screen import lab_from_hex
from laydown.color.solid import inside_object_solid
from laydown.documents.target_csv import TargetRow
from laydown.errors import BadColorError, LaydownError, NotMeasuredError, UnknownNameError
from laydown.match.outcome import Origin, Target
from laydown.media.colorant import Colorant
from laydown.media.kit_fit import guessed_spectra, predict
from laydown.media.recipe import Recipe, format_recipe, parse_recipe
from laydown.media.swatch import Basis, Swatch
from laydown.store.library import Library
from laydown.store.work import Work

SCREEN_DEVIATION = 5.0
"""Standard deviation of a color read off a screen, per CIELAB axis: about what an uncalibrated
screen is off by (common practice, no source)."""
NOTATION = re.compile(r"(\d+(\.\d+)?\s*(R|YR|Y|GY|G|BG|B|PB|P|RP)|N)\s*\d+(\.\d+)?\s*/.*", re.I)
LIKE_NOTATION = re.compile(r"(\d+(\.\d+)?\s*[A-Z]{1,2}|N)\s*\d.*", re.I)
"""What was perhaps meant as one; only where no colorant has that name."""
FORMS = "Write lab:L,a,b, #rrggbb, a notation such as 5YR 6/8, a colorant's name or a recipe."


@dataclass(frozen=True, slots=True)
class Wanted:
    """A wanted color as it was typed, and where it belongs.

    Parameters
    ----------
    text
        The color.
    name
        What to call it; empty for the text itself.
    passage, role
        As a lesson gives them.
    place
        Where it was typed, for messages; empty on the command line.
    """

    text: str
    name: str = ""
    passage: str = ""
    role: str = ""
    place: str = ""


def wanted_in_file(rows: Iterable[TargetRow], *, source: str) -> tuple[Wanted, ...]:
    """Return the wanted colors of a list."""
    return tuple(
        Wanted(r.color, r.name, r.passage, r.role, f"{source}, line {r.line}") for r in rows
    )


def settle_targets(library: Library, wanted: Iterable[Wanted], *, paper: str) -> tuple[Target, ...]:
    """Turn what was typed into targets.

    Parameters
    ----------
    library
        Knows the colorants that names stand for.
    wanted
        In the order wanted.
    paper
        The paper that named colorants and recipes are wanted as on.

    Raises
    ------
    BadColorError
        For what is no color, with its place.
    UnknownNameError, AmbiguousNameError, NotMeasuredError
        For names that the library can't answer for.
    """
    return tuple(_settle_in_place(library, one, paper) for one in wanted)


def _settle_in_place(library: Library, wanted: Wanted, paper: str) -> Target:
    try:
        return _settle(library, wanted, paper)
    except LaydownError as error:
        if not wanted.place:
            raise
        raise error.told_as(f"{wanted.place}: {error.message}") from error


def _settle(library: Library, wanted: Wanted, paper: str) -> Target:
    text = wanted.text.strip()
    target = typed_target(text)
    if target is None and LIKE_NOTATION.fullmatch(text):
        target = _perhaps_notation(library, text, paper)
    elif target is None:
        target = _from_library(library, text, paper)
    return replace(
        target, name=wanted.name or target.name, passage=wanted.passage, role=wanted.role
    )


def typed_target(text: str) -> Target | None:
    """Return the target that is told by numbers alone; None for names and recipes.

    Raises
    ------
    BadColorError
        For numbers that are no color.

    Examples
    --------
    >>> typed_target("Kelp*2; Dune") is None
    True
    >>> typed_target("lab:71,8,46").lab.tolist()
    [71.0, 8.0, 46.0]
    """
    if text.casefold().startswith("lab:"):
        return Target(text, _typed_lab(text), origin=Origin.TYPED)
    if text.startswith("#"):
        return _from_screen(text)
    if NOTATION.fullmatch(text):
        return Target(text, lab_from_notation(text), origin=Origin.TYPED)
    return None


def _perhaps_notation(library: Library, text: str, paper: str) -> Target:
    try:
        return _from_library(library, text, paper)
    except UnknownNameError as error:
        raise BadColorError(
            f"“{text}” is neither a colorant here nor a notation of hue, value and chroma.",
            hint=HINT,
        ) from error


def _typed_lab(text: str) -> FloatArray:
    try:
        lab = np.array([float(part) for part in text[4:].split(",")])
    except ValueError:
        lab = np.empty(0)
    if lab.shape != (3,) or not np.isfinite(lab).all():
        raise BadColorError(
            f"“{text}” is not lab: and three numbers.",
            hint="Write it like lab:71,8,46, with points in the numbers and commas between them.",
        )
    if not 0 <= lab[0] <= 100 or not inside_object_solid(xyz_from_lab(lab)):
        raise BadColorError(
            f"“{text}” is a color that no surface can have.",
            hint="L* is 0 to 100, and strong colors exist only at middling L*.",
        )
    return lab


def _from_screen(text: str) -> Target:
    scatter = SCREEN_DEVIATION**2 * np.eye(3)
    return Target(text, lab_from_hex(text), origin=Origin.SCREEN, covariance=scatter)


def _from_library(library: Library, text: str, paper: str) -> Target:
    with library.look() as work:
        recipe = parse_recipe(text, work.find_colorant)
        if not recipe.steps:
            raise BadColorError("No color was named.", hint=FORMS)
        measured = _swatches_of(work, recipe, paper)
    if measured:
        return _as_measured(text, measured)
    return _as_predicted(library, text, recipe, paper)


def _swatches_of(work: Work, recipe: Recipe, paper: str) -> list[Swatch]:
    on_paper = work.swatches(paper=paper, colorant=recipe.colorants[-1])
    return [s.swatch for s in on_paper if s.swatch.recipe.key == recipe.key]


def _as_measured(name: str, swatches: list[Swatch]) -> Target:
    reflectance = np.mean([s.reflectance for s in swatches], axis=0)
    variance = float(np.mean([s.spread**2 for s in swatches])) / len(swatches)
    known = all(s.basis is Basis.SPECTRUM for s in swatches)
    return Target(
        name,
        lab_from_reflectance(reflectance),
        covariance=variance * np.eye(3),
        reflectance=reflectance if known else None,
    )


def _as_predicted(library: Library, name: str, recipe: Recipe, paper: str) -> Target:
    fit = kit_fit_for(library, [c.range for c in recipe.colorants], paper)
    seen = predict(fit, recipe)
    return Target(
        name,
        seen.lab,
        origin=Origin.SWATCHED,
        covariance=seen.covariance,
        reflectance=None if guessed_spectra(fit, recipe) else seen.reflectance,
    )


def range_targets(library: Library, range_name: str, paper: str) -> tuple[Wanted, ...]:
    """Return one wanted color for each colorant of a range that was laid in one coat on a paper."""
    with library.look() as work:
        found = work.find_range(range_name).name
        wanted = _laid(work, work.colorants(found), paper)
    return _some(wanted, found, paper)


def kit_targets(library: Library, kit: str, paper: str) -> tuple[Wanted, ...]:
    """Return one wanted color for each colorant of a kit that was laid in one coat on a paper."""
    with library.look() as work:
        wanted = _laid(work, work.kit(kit), paper)
    return _some(wanted, f"the kit {kit}", paper)


def _laid(work: Work, colorants: Sequence[Colorant], paper: str) -> tuple[Wanted, ...]:
    laid = {format_recipe(s.swatch.recipe, with_range=True) for s in work.swatches(paper=paper)}
    colored = [c for c in colorants if c.label in laid and not c.blender]
    return tuple(Wanted(c.label, name=c.name) for c in colored)


def _some(wanted: tuple[Wanted, ...], source: str, paper: str) -> tuple[Wanted, ...]:
    if not wanted:
        raise NotMeasuredError(
            f"No colorant of {source} was swatched in one coat on {paper}.",
            hint="Measure one coat of each, or say on which paper it was.",
            command="--from-paper",
        )
    return wanted
