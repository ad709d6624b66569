"""Lessons made: from a list of colors, typed or in a file, or from the colors of a filled sheet."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Form, Query, Response, UploadFile
from pydantic import BaseModel, Field

from laydown.app.keep_lesson import KeepLesson, keep_lesson
from laydown.app.new_lesson import LessonMade, NewLesson, TargetRow, new_lesson
from laydown.app.opening import Library
from laydown.app.show_sheet import SheetShown, show_sheet
from laydown.demo.files import CLASS_PAPER, LESSON, LESSON_FILE, read_bytes
from laydown.errors import BadFileError
from laydown.media.recipe import format_recipe
from laydown.web.asking import LONGEST, LONGEST_RECIPE
from laydown.web.desk import AtLibrary
from laydown.web.faces import enter, go_to, json_of, shows
from laydown.web.fields import lines_of
from laydown.web.pages.lessons import MOST_LINES, lesson_address, lesson_sent

router = APIRouter()
LARGEST = 2**31 - 1
MOST_CELLS = 2000
MOST_TEXT = 20_000
Role = Literal["", "highlight", "light", "midtone", "shadow", "accent"]
_Line = Annotated[str, Field(max_length=LONGEST)]
_Color = Annotated[str, Field(max_length=LONGEST_RECIPE)]
_Lines = Annotated[list[_Line], Field(max_length=MOST_LINES)]
_Cells = Annotated[list[_Line], Field(max_length=MOST_CELLS)]


class HeadFields(BaseModel):
    """The fields that say what stands at a lesson's head."""

    title: _Line = ""
    notes: Annotated[str, Field(max_length=MOST_TEXT)] = ""


class ListFields(HeadFields):
    """The fields of a list of colors, one of each a line; or its file."""

    paper: _Line = ""
    passage: _Lines = []
    role: Annotated[list[Role], Field(max_length=MOST_LINES)] = []
    color: Annotated[list[_Color], Field(max_length=MOST_LINES)] = []
    name: _Lines = []
    note: _Lines = []

    def rows(self) -> tuple[TargetRow, ...]:
        """Return the lines that name a color; one without a passage goes on with the last."""
        fields = (self.color, self.name, self.passage, self.role, self.note)
        found, passage = [], ""
        for line, (color, name, begun, role, note) in enumerate(zip_longest(*fields), start=1):
            passage = begun.strip() if begun and begun.strip() else passage
            if color and color.strip():
                found.append(
                    TargetRow(line, color.strip(), name or "", passage, role or "", note or "")
                )
        return tuple(found)


class SheetFields(HeadFields):
    """The fields of a filled sheet: each cell with its passage, and what its color is called."""

    sheet: Annotated[int, Field(ge=1, le=LARGEST)]
    cell: Annotated[list[Annotated[int, Field(ge=1, le=MOST_CELLS)]], Field(max_length=MOST_CELLS)]
    passage: _Cells = []
    name: _Cells = []


def from_list(fields: Annotated[ListFields, Form()], file: UploadFile | None = None) -> NewLesson:
    """Read a list of colors: typed, or a CSV file.

    Raises
    ------
    BadFileError
        Where no color is named.
    """
    sent, rows, notes = lesson_sent([file]), fields.rows(), tuple(lines_of(fields.notes))
    if sent:
        return NewLesson(sent[0].content, sent[0].name, fields.title, fields.paper, notes)
    if not rows:
        raise BadFileError(
            "No color was named.",
            hint="Fill in one line at least, or choose a list's file.",
        )
    title = fields.title or "A lesson"
    return NewLesson(None, "the list", title, fields.paper, notes, rows=rows)


def from_sheet(library: AtLibrary, fields: Annotated[SheetFields, Form()]) -> NewLesson:
    """Read which cells of a filled sheet belong together, and what their colors are called."""
    cells = tuple(
        CellSaid(cell, (passage or "").strip(), (name or "").strip())
        for cell, passage, name in zip_longest(fields.cell, fields.passage, fields.name)
        if cell
    )
    asked = NewLesson(
        None, "", fields.title, notes=tuple(lines_of(fields.notes)), sheet=fields.sheet
    )
    if any(cell.name for cell in cells):
        rows = tuple(_named(library, fields.sheet, cells))
        return replace(asked, source="the sheet", rows=rows)
    together: dict[str, set[int]] = {}
    for cell in cells:
        if cell.passage:
            together.setdefault(cell.passage, set()).add(cell.number)
    passages = tuple((name, frozenset(numbers)) for name, numbers in together.items())
    return replace(asked, passages=passages)


def from_demo() -> NewLesson:
    """Take the list of the demo's lesson, which is invented."""
    note = "Invented: it belongs to the demo."
    return NewLesson(read_bytes(LESSON_FILE), LESSON_FILE, LESSON, CLASS_PAPER, (note,))


@dataclass(frozen=True, slots=True)
class CellSaid:
    """A cell, the passage it was put into, and what its color is called; empty for none."""

    number: int
    passage: str
    name: str


def _named(library: Library, sheet: int, cells: Iterable[CellSaid]) -> Iterator[TargetRow]:
    """Return what was said of each recipe of a sheet, once where several cells have it."""
    recipes = {cell.number: cell.recipe for cell in show_sheet(library, sheet).cells}
    seen = set()
    for cell in cells:
        recipe = recipes.get(cell.number)
        if recipe is not None and recipe not in seen and (cell.passage or cell.name):
            seen.add(recipe)
            wanted = format_recipe(recipe, with_range=True)
            yield TargetRow(cell.number, wanted, cell.name, cell.passage)


def _enter(path: str, reads: Callable[..., NewLesson]) -> None:
    """Give a form that makes a lesson its page and its JSON; both keep the lesson."""

    def made(library: AtLibrary, asked: Annotated[NewLesson, Depends(reads)]) -> LessonMade:
        return new_lesson(library, asked)

    def page(library: AtLibrary, lesson: Annotated[LessonMade, Depends(made)]) -> Response:
        kept = keep_lesson(library, _file(lesson))
        return go_to(lesson_address(kept.number), f"“{kept.title}” is made and kept.")

    def data(library: AtLibrary, lesson: Annotated[LessonMade, Depends(made)]) -> Response:
        keep_lesson(library, _file(lesson))
        return json_of(lesson)

    enter(router, "POST", path, reads, page=page, data=data)


def _file(made: LessonMade) -> KeepLesson:
    return KeepLesson(made.text.encode(), made.lesson.title)


_enter("/lesson/from-list", from_list)
_enter("/lesson/from-sheet", from_sheet)
_enter("/lesson/from-demo", from_demo)


@shows(router, "/lesson/of-sheet", "lesson_of_sheet.html.j2")
def sheet_colors(library: AtLibrary, sheet: Annotated[int, Query(ge=1, le=LARGEST)]) -> SheetShown:
    """Show the colors of a filled sheet, to be put into passages."""
    return show_sheet(library, sheet)
