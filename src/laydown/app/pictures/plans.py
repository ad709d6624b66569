"""A picture's plan: made, shown, changed by hand, and turned into a lesson."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import PurePath

import numpy as np

from laydown.app.fits.at_hand import paper_named
from laydown.app.given_file import GivenFile
from laydown.app.lessons.lessons import LessonMade
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray
from laydown.color.tristimulus import WHITE_D50, xyz_from_reflectance
from laydown.documents.files.lessons import write_lesson
from laydown.documents.files.plans import is_plan, read_changes, read_plan, write_plan
from laydown.errors import BadFileError
from laydown.imaging.balance import (
    KnownPlace,
    PicturePlace,
    balanced,
    balanced_by_chart,
    gray_of_value,
    read_place,
    unbalanced,
)
from laydown.imaging.picture import Picture, open_picture
from laydown.plan.picture.edits import Edit, edited
from laydown.plan.picture.picture import PaletteColor, PicturePlan, PlanRules
from laydown.plan.picture.plan import make_plan
from laydown.plan.picture.recipes import flattened, lesson_of
from laydown.store.library import Library

CHART = "chart"
GRAY_CARD = 18.0
"""Reflectance of the gray card that photographers use, as published for it [percent]."""
NUMBER = re.compile(r"\d+(\.\d+)?")
HINT = (
    "Write what is known, an @ and where it is: paper@5%,5%,10%,4%, gray@400,300, 90%@…, "
    "value:5@…; or chart. Several may be named."
)


def in_its_light(
    library: Library | None, picture: Picture, white: Sequence[str], *, paper: str = ""
) -> Picture:
    """Balance a picture by what a person names in it.

    Parameters
    ----------
    library
        Where papers are; None is enough where `names_paper` says that none is named.
    picture
        As opened.
    white
        Each ``what@where``. What is known: ``paper`` (the one in question) or ``paper NAME``,
        ``gray`` (a gray card of 18 %), a reflectance (``90%``) or a value (``value:5``). Where it
        is: see `laydown.imaging.balance.read_place`. Or ``chart`` alone. Empty for no balance.
    paper
        The paper in question; empty where the library has only one.

    Raises
    ------
    BadFileError
        For a text of another form, or a place that tells nothing.
    UnknownNameError
        For a paper that is not there.
    """
    if not white:
        return unbalanced(picture)
    if CHART in white:
        if len(white) > 1:
            raise BadFileError("A chart tells the light by itself.", hint="Name nothing beside it.")
        return balanced_by_chart(picture)
    return balanced(picture, [_known(library, picture, text, paper) for text in white])


def names_paper(white: Sequence[str]) -> bool:
    """Return whether a paper is named, so that a library is needed.

    Examples
    --------
    >>> names_paper(["gray@10,10", "paper@5%,5%"]), names_paper(["chart"])
    (True, False)
    """
    return any(text.split("@")[0].split()[:1] == ["paper"] for text in white)


def _known(library: Library | None, picture: Picture, text: str, paper: str) -> KnownPlace:
    what, at, where = text.rpartition("@")
    kind, _, name = " ".join(what.replace(":", " ").replace(" %", "%").split()).partition(" ")
    if not at or not kind:
        raise BadFileError(f"{text!r} names no place of known color.", hint=HINT)
    place = read_place(where, size=picture.size)
    if kind == "paper" and library is not None:
        return _bare(library, place, name or paper)
    xyz, words = _gray(kind, name)
    return KnownPlace(place, xyz, words)


def _bare(library: Library, place: PicturePlace, name: str) -> KnownPlace:
    with library.look() as work:
        paper = work.paper(paper_named(work, name))
    words = f"bare paper, {paper.name}" + ("" if paper.measured else " (not measured)")
    return KnownPlace(place, xyz_from_reflectance(paper.reflectance), words)


def _gray(kind: str, name: str) -> tuple[FloatArray, str]:
    """Return the XYZ of a gray and what to call it."""
    if kind in ("gray", "grey") and name in ("", "card"):
        return WHITE_D50 * GRAY_CARD / 100, "a gray card"
    if kind == "value" and NUMBER.fullmatch(name) and float(name) <= 10:
        return gray_of_value(float(name)), f"a gray of value {name}"
    if kind.endswith("%") and NUMBER.fullmatch(kind[:-1]) and 0 < float(kind[:-1]) <= 100:
        return WHITE_D50 * float(kind[:-1]) / 100, f"a gray of {kind}"
    raise BadFileError(f"{f'{kind} {name}'.strip()!r} is nothing of known color.", hint=HINT)


__all__ = ["PictureFile", "plan_of", "planned", "read_plan", "write_plan"]

LONGEST = 1000
"""A picture is planned at so many pixels on its longer side: finer than a hand can color."""


@dataclass(frozen=True, slots=True)
class PictureFile:
    """A picture, or a plan that was made of one.

    Parameters
    ----------
    file, source
        Content and name.
    title
        What to call it; empty for the file's name.
    rules
        How it is planned.
    white
        What is of known color in it, see `laydown.app.pictures.plans.in_its_light`.
    paper
        The paper that is meant where `white` says only "paper".
    page
        Of a PDF or a TIFF, from 1.
    """

    file: bytes
    source: str
    title: str = ""
    rules: PlanRules = field(default_factory=PlanRules)
    white: tuple[str, ...] = ()
    paper: str = ""
    page: int = 1


def plan_of(library: Library | None, asked: PictureFile) -> PicturePlan:
    """Return the plan in a file; a picture is planned by the rules first."""
    if is_plan(asked.file):
        return read_plan(asked.file, source=asked.source)
    return planned(library, asked)


def planned(library: Library | None, asked: PictureFile) -> PicturePlan:
    """Open a picture, balance its light and plan it; a library is needed if a paper is named.

    Raises
    ------
    BadFileError
        For what is no picture.
    """
    opened = open_picture(asked.file, source=asked.source, longest=LONGEST, page=asked.page)
    picture = in_its_light(library, opened, asked.white, paper=asked.paper)
    title = asked.title or PurePath(asked.source).stem.replace("_", " ")
    return make_plan(
        picture.lab.astype(np.float64),
        asked.rules,
        title=title,
        opaque=picture.opaque,
        notes=picture.notes,
    )


@dataclass(frozen=True, slots=True, eq=False)
class ColorShown:
    """A color of the palette: its number, value step from 1 (the darkest), share [percent]."""

    number: int
    value_step: int
    share: float
    regions: int
    color: ColorInWords


@dataclass(frozen=True, slots=True, eq=False)
class RegionShown:
    """A region: its number, that of its color, passage, role, and share [percent]."""

    number: int
    palette_color: int
    value_step: int
    share: float
    passage: str
    role: str
    color: ColorInWords


@dataclass(frozen=True, slots=True, eq=False)
class PlanShown:
    """A plan in words and numbers, without its pixels.

    Parameters
    ----------
    title
        What it is called.
    width, height
        On paper [mm].
    columns, rows
        Of the plan [pixels].
    boundaries
        Values that part its steps, rising.
    levels
        Mean value of each step, the darkest first.
    palette, regions
        By number.
    flattened
        Mean CIEDE2000 between the picture and the plan.
    notes
        How it was read and planned.
    """

    title: str
    width: float
    height: float
    columns: int
    rows: int
    boundaries: FloatArray
    levels: FloatArray
    palette: tuple[ColorShown, ...]
    regions: tuple[RegionShown, ...]
    flattened: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PlanMade:
    """A plan in words, and as the file is to hold it."""

    shown: PlanShown
    file: bytes


def show_plan(file: bytes, source: str) -> PlanShown:
    """Read a plan file and describe it; no library is needed."""
    return plan_in_words(read_plan(file, source=source))


def plan_in_words(plan: PicturePlan) -> PlanShown:
    """Describe a plan."""
    values = plan.values
    regions = tuple(
        RegionShown(
            r.number, r.color, r.value_step + 1, r.share, r.passage, r.role, in_words(r.lab)
        )
        for r in values.regions
    )
    return PlanShown(
        title=plan.title,
        width=values.width,
        height=values.height,
        columns=values.labels.shape[1],
        rows=values.labels.shape[0],
        boundaries=values.boundaries,
        levels=values.levels,
        palette=tuple(_color(plan, color) for color in plan.palette),
        regions=regions,
        flattened=flattened(plan),
        notes=plan.notes,
    )


def _color(plan: PicturePlan, color: PaletteColor) -> ColorShown:
    count = sum(region.color == color.number for region in plan.values.regions)
    return ColorShown(color.number, color.value_step + 1, color.share, count, in_words(color.lab))


def plan_picture(library: Library | None, request: PictureFile) -> PlanMade:
    """Plan a photograph or a drawing.

    Parameters
    ----------
    library
        Knows the papers that may be named for its light; None where none is named.
    request
        The picture, and how it is planned.

    Raises
    ------
    BadFileError
        For what is no picture, or none that can be planned.
    """
    plan = planned(library, request)
    return PlanMade(plan_in_words(plan), write_plan(plan))


def edit_plan(
    file: bytes, source: str, edits: Sequence[Edit] = (), *, changes: GivenFile | None = None
) -> PlanMade:
    """Change a plan; all of the changes or none of them.

    Parameters
    ----------
    file, source
        Content and name of the plan.
    edits
        One after the other.
    changes
        A text file with further changes, a line each; None for none.

    Raises
    ------
    BadFileError
        For what is no plan, or a line that is no change.
    BadEditError
        For a change that can't be made.
    """
    plan = read_plan(file, source=source)
    further = read_changes(changes.content, source=changes.source) if changes else ()
    changed = edited(plan, [*edits, *further])
    return PlanMade(plan_in_words(changed), write_plan(changed))


def lesson_from_plan(file: bytes, source: str, *, title: str = "", paper: str = "") -> LessonMade:
    """Make a lesson of a plan's file; its colors stay what they are: estimates from a picture.

    Title and paper are what the lesson says at its head; empty for the plan's own, and for none.
    """
    plan = read_plan(file, source=source)
    lesson = lesson_of(plan, title=title, paper=paper)
    return LessonMade(lesson, write_lesson(lesson).decode())
