"""Sheets: made, printed, and looked at with what was read from them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal
from urllib.parse import parse_qs

from fastapi import APIRouter, Cookie, Form, Query, Response, UploadFile

from laydown.app.list_sheets import SheetList, list_sheets
from laydown.app.match_color import Asking
from laydown.app.print_sheet import PrintSheet, SheetPrinted, draw_sheet, find_sheet, print_sheet
from laydown.app.show_sheet import SheetShown, show_sheet
from laydown.app.supplies import Supplies
from laydown.web.asking import LONGEST, MediumSent, SuppliesOf, SuppliesSent, medium_of
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.fields import lines_of, names_of
from laydown.web.uploads import sent_files

router = APIRouter()
LARGEST = 2**31 - 1
MOST_TEXT = 100_000
BEGUN = "begun"
"""A cookie: the kit that was begun with, and what was wanted then, so as not to ask again."""
Kind = Literal["first", "kit", "next", "pairs", "list", "anchors"]
Number = Annotated[int, Query(ge=1, le=LARGEST)]
Line = Annotated[str, Form(max_length=LONGEST)]
Lines = Annotated[str, Form(max_length=MOST_TEXT)]
KINDS: Mapping[Kind, str] = {
    "first": "A first short sheet: a dozen cells, enough for a first answer",
    "kit": "All that a kit or a range needs: an evening's work, and the surest answers",
    "next": "The next sheet: what would help most now",
    "pairs": "Pairs: pale over dark, and dark over pale",
    "list": "Recipes that I name myself",
    "anchors": "Anchors: a few again on a new paper, so that the rest can be carried over",
}


@dataclass(frozen=True, slots=True)
class ToMake:
    """What the page of sheets shows besides: names, kinds, and what the address asked for."""

    choices: Choices
    kinds: Mapping[Kind, str]
    kind: Kind
    supplies: Supplies


@dataclass(frozen=True, slots=True)
class Begun:
    """What somebody began with: the kit and the colors wanted; empty where unknown."""

    kit: str = ""
    wanted: tuple[str, ...] = ()


def begun_of(begun: Annotated[str, Cookie()] = "") -> Begun:
    """Read what somebody began with from the cookie that keeps it."""
    kept = parse_qs(begun[:4000])
    wanted = kept.get("wanted", [""])[0]
    return Begun(kept.get("kit", [""])[0], tuple(lines_of(wanted)))


def sheet_address(number: int) -> str:
    """Return the page of a sheet."""
    return f"/sheet?number={number}"


def _to_make(library: AtLibrary, supplies: SuppliesOf, kind: Kind = "first") -> ToMake:
    return ToMake(choices_of(library), KINDS, kind, supplies)


@shows(router, "/sheets", "sheets.html.j2", beside=_to_make)
def sheets(library: AtLibrary) -> SheetList:
    """List the sheets that were printed."""
    return list_sheets(library)


@shows(router, "/sheet", "sheet.html.j2")
def sheet(library: AtLibrary, number: Number) -> SheetShown:
    """Show a sheet: what belongs in each cell, and what was read there last."""
    return show_sheet(library, number)


@router.get("/sheet/file", response_class=Response)
def sheet_file(library: AtLibrary, number: Number) -> Response:
    """Hand a sheet over as PDF, to be printed at its true size."""
    found = find_sheet(library, number)
    return file_of(draw_sheet(library, found), f"{found.title} {number}.pdf")


@changes(
    router,
    "/sheets",
    leads_to=lambda made: sheet_address(made.sheet.number),
    says=lambda made: f"Sheet {made.sheet.number} is ready to be printed.",
)
def new_sheet(
    *,
    library: AtLibrary,
    supplies: SuppliesSent,
    kind: Annotated[Kind, Form()],
    recipes: Lines = "",
    add_to: Line = "",
    medium: MediumSent = "",
    colors: Lines = "",
    file: UploadFile | None = None,
    title: Line = "",
    page: Annotated[Literal["A4", "Letter"], Form()] = "A4",
    replicates: Annotated[int, Form(ge=1, le=5)] = 1,
    frame: Annotated[bool, Form()] = False,
) -> SheetPrinted:
    """Choose recipes for a sheet of a kind, and keep it."""
    sent = next(iter(sent_files([file] if file else [])), None)
    request = PrintSheet(
        kind=kind,
        asking=Asking(supplies),
        recipes=names_of(recipes),
        new_range=add_to,
        medium=medium_of(medium),
        colors=names_of(colors),
        file=sent.content if sent else None,
        source=sent.name if sent else "",
        title=title,
        page=page,
        replicates=replicates,
        framed=frame,
    )
    return print_sheet(library, request)
