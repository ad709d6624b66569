"""Sheets made, printed and read, and cards of one's own."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Annotated, Literal
from urllib.parse import parse_qs

from fastapi import APIRouter, Cookie, Depends, File, Form, Response, UploadFile
from pydantic import Field

from laydown.app.fits import Supplies
from laydown.app.matches.colors import Asking
from laydown.app.sheets import printing as printing_tasks
from laydown.app.sheets.cards import card_picture
from laydown.app.sheets.reading import ReadSheet, SheetRead
from laydown.app.supplies.names import names_in
from laydown.app.tasks import GivenFile
from laydown.errors import BadRecipeError, UnknownNameError
from laydown.sheet.sheet import Sheet
from laydown.web import asking as ask
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, of_library, shows
from laydown.web.files import file_of, file_sent, hands, is_chosen, sent_pictures
from laydown.web.long_work import asked_by, asks, finds, found_by, starts

router = APIRouter()
MOST_TEXT = 100_000
BEGUN = "begun"
"""A cookie: the kit that was begun with, and what was wanted then, so as not to ask again."""
Kind = Literal["first", "kit", "next", "pairs", "list", "anchors", "target"]
KINDS: Mapping[Kind, str] = {
    "first": "A first sheet: each color once, of a small box some with a second coat",
    "kit": "All that a box or a set needs: an evening's work, and the surest answers",
    "next": "The next sheet: what would help most now",
    "pairs": "Pairs: pale over dark, and dark over pale",
    "list": "Recipes that I name myself",
    "anchors": "Anchors: a few again on a new paper, so that the rest can be carried over",
    "target": "A target for my own sketchbook: I color patches beside it, in rows",
}
KitAndWanted = tuple[str, tuple[str, ...]]
"""What somebody began with: the kit and the colors wanted; empty where unknown."""


def begun_of(begun: Annotated[str, Cookie()] = "") -> KitAndWanted:
    """Read what somebody began with from the cookie that keeps it."""
    kept = parse_qs(begun[:4000])
    wanted = kept.get("wanted", [""])[0]
    return kept.get("kit", [""])[0], tuple(ask.lines_of(wanted))


def sheet_address(number: int) -> str:
    """Return the page of a sheet."""
    return f"/sheet?number={number}"


def _to_make(supplies: ask.SuppliesOf, kind: Kind = "first") -> Beside:
    return {"kinds": KINDS, "kind": kind, "supplies": supplies}


shows(router, "/sheets", "sheets.html.j2", beside=_to_make, under="sheets")(
    of_library(printing_tasks.list_sheets)
)
shows(router, "/sheet", "sheet.html.j2")(of_library(printing_tasks.show_sheet, number=ask.Number))


@router.get("/sheet/file", response_class=Response)
def sheet_file(library: AtLibrary, number: ask.Number) -> Response:
    """Hand a sheet over as PDF, to be printed at its true size."""
    found = printing_tasks.find_sheet(library, number)
    return file_of(printing_tasks.draw_sheet(library, found), f"{found.title} {number}.pdf")


changes(router, "/sheet/remove", "/sheets", "Sheet {0} is gone.", under="number")(
    of_library(printing_tasks.remove_sheet, number=ask.NumberSent)
)


@changes(router, "/sheets", "/sheet?number={0.number}", "Sheet {0.number} is ready to be printed.")
def new_sheet(
    *,
    library: AtLibrary,
    supplies: ask.SuppliesSent,
    kind: Annotated[Kind, Form()],
    recipes: ask.Lines = "",
    add_to: ask.Line = "",
    medium: ask.MediumSent = None,
    colors: ask.Lines = "",
    file: UploadFile | None = None,
    title: ask.Line = "",
    page: Annotated[Literal["A4", "Letter"], Form()] = "A4",
    replicates: Annotated[int, Form(ge=1, le=5)] = 1,
    frame: Annotated[bool, Form()] = False,
    known: ask.Line = "",
) -> Sheet:
    """Choose recipes for a sheet of a kind, and keep it."""
    sent = file_sent(file)
    request = printing_tasks.PrintSheet(
        kind=kind,
        asking=Asking(supplies),
        recipes=ask.names_of(recipes),
        new_range=add_to,
        medium=medium,
        colors=ask.names_of(colors),
        file=sent.content if sent else None,
        source=sent.source if sent else "",
        title=title,
        page=page,
        replicates=replicates,
        framed=frame,
        known=known,
    )
    return printing_tasks.print_sheet(library, request)


# Reading sheets: pictures are sent, the proof is looked at, doubtful cells are settled, kept.
#
# The pictures lie in the job that reads them, and go when it is put away; to settle cells is to
# read the same pictures once more, and to keep what comes of it.

MOST_CELLS = 2000
Ways = Literal["auto", "profile", "chart", "known", "paper"]
Cells = Annotated[list[Annotated[int, Field(ge=1, le=MOST_CELLS)]], Form(max_length=MOST_CELLS)]


READ_SHEET, READ_CARD = "read_sheet", "read_card"


def _titled(asked: ReadSheet) -> str:
    named = ", ".join(file.source for file in asked.files)
    return f"{'Keeping' if asked.keep else 'Reading'} {named}"


@starts(router, "/sheet/read", READ_SHEET, "/sheet/reading", _titled)
def read_sheets(
    *,
    jobs: AtJobs,
    files: Annotated[list[UploadFile], File()] = [],  # noqa: B006  FastAPI copies it
    photograph: UploadFile | None = None,
    way: Annotated[Ways, Form()] = "auto",
    stage: ask.Line = "dry",
    sheet: Annotated[int | None, Form(ge=1, le=ask.LARGEST)] = None,
    marks_lost: Annotated[bool, Form()] = False,
    page: Annotated[int, Form(ge=1, le=8)] = 1,
    before: ask.CountSent = 0,
    grays: ask.Line = "",
) -> ReadSheet:
    """Read pictures of sheets, to be looked at before anything is kept; those of before again."""
    chosen = [*files, photograph]
    if before and not any(map(is_chosen, chosen)):
        pictures = asked_by(jobs, before, ReadSheet, READ_SHEET).files
    else:
        pictures = sent_pictures(chosen)
    known, number = grays_of(grays), sheet if marks_lost else None
    return ReadSheet(pictures, way, known, stage, sheet=number, page=page, keep=False)


def grays_of(text: str) -> tuple[str, ...]:
    """Read which grays of known lightness are in a picture, with semicolons between.

    >>> grays_of("gray@10%,20%; value:8@400,300")
    ('gray@10%,20%', 'value:8@400,300')
    """
    return tuple(named.strip() for named in text.split(";") if named.strip())


@starts(router, "/sheet/settle", READ_SHEET, "/sheet/reading", _titled)
def settle_cells(
    *,
    jobs: AtJobs,
    job: ask.NumberSent,
    accept: Cells = [],  # noqa: B006  FastAPI copies it
    redo: Cells = [],  # noqa: B006  FastAPI copies it
    accept_rough: Annotated[bool, Form()] = False,
    names: Annotated[list[ask.Line], Form(max_length=MOST_CELLS)] = [],  # noqa: B006  FastAPI copies it
    add_to: ask.Line = "",
    medium: ask.MediumSent = None,
) -> ReadSheet:
    """Keep what was read: what is sound, and of what is doubtful what was accepted."""
    return replace(
        asked_by(jobs, job, ReadSheet, READ_SHEET),
        accept=frozenset(accept),
        redo=frozenset(redo),
        accept_rough=accept_rough,
        names=tuple(name.strip() or "-" for name in names),
        range=add_to.strip(),
        medium=medium,
        keep=True,
    )


def _settling_cells(
    library: AtLibrary,
    jobs: AtJobs,
    job: ask.Number,
    begun: Annotated[KitAndWanted, Depends(begun_of)],
) -> Beside:
    reading = found_by(jobs, job, SheetRead)
    paper = printing_tasks.find_sheet(library, reading.pages[0].sheet).paper
    ranges = tuple(sorted({c.range for cell in reading.cells for c in cell.recipe.colorants}))
    kit = begun[0] if begun[0] in names_in(library, "kit") else ""
    supplies = Supplies(kit, () if kit else ranges, paper)
    return {
        "kept": asked_by(jobs, job, ReadSheet, READ_SHEET).keep,
        "supplies": supplies,
        "wanted": next(iter(begun[1]), ""),
    }


sheet_reading = finds(SheetRead)
shows(router, "/sheet/reading", "reading.html.j2", beside=_settling_cells)(sheet_reading)


@router.get("/sheet/proof", response_class=Response)
def sheet_proof(jobs: AtJobs, job: ask.Number, picture: ask.Number = 1) -> Response:
    """Show the picture again, flattened, with what was read of each cell drawn on it."""
    pages = found_by(jobs, job, SheetRead).pages
    if picture > len(pages):
        raise UnknownNameError(
            f"Job {job} read {len(pages)} pictures.", hint=f"Ask for 1 to {len(pages)}."
        )
    return file_of(pages[picture - 1].proof, f"proof {picture}.png", shown=True)


# Cards of one's own: a grid placed on a picture, a name for each place, read, settled, kept.
#
# The picture lies in the job that reads it, so that grid and names can be mended without sending
# it again.

FARTHEST = 100_000.0
"""Of a corner from the picture's own, in pixels."""
Places = Annotated[list[Annotated[str, Field(max_length=20)]], Form(max_length=4)]
Side = Annotated[int, Form(ge=1, le=40)]
NEW_CARD = ReadSheet((GivenFile(b"", ""),), rows=4, columns=6)
"""How the form stands before a card was read."""
ON_THE_FORM = "rows columns names paper range corners coats_unknown medium grays"
"""What of a card the form shows as it was asked then."""


@shows(router, "/card", "card.html.j2")
def card(jobs: AtJobs, job: ask.Count = 0) -> Beside:
    """Show the form for a card; with a job, as it was asked then."""
    asked = asked_by(jobs, job, ReadSheet, READ_CARD) if job else NEW_CARD
    said = {name: getattr(asked, name) for name in ON_THE_FORM.split()}
    return {"job": job, "source": asked.files[0].source, **said}


card_asked = asks(ReadSheet, None, READ_CARD)
hands(
    router,
    "/card/picture",
    card_asked,
    lambda asked: card_picture(asked.files[0]),  # to place the grid on
    "card.jpg",
    shown=True,
)


@starts(router, "/card", READ_CARD, "/card/reading", _titled, mended_at="/card")
def read_cards(
    *,
    jobs: AtJobs,
    rows: Side,
    columns: Side,
    names: Annotated[str, Form(max_length=100_000)],
    paper: ask.FullLine,
    file: UploadFile | None = None,
    job: ask.CountSent = 0,
    add_to: ask.Line = "",
    x: Places = [],  # noqa: B006  FastAPI copies it
    y: Places = [],  # noqa: B006  FastAPI copies it
    coats_unknown: Annotated[bool, Form()] = False,
    medium: ask.MediumSent = None,
    way: Annotated[Ways, Form()] = "auto",
    grays: ask.Line = "",
) -> ReadSheet:
    """Read a card from a picture that is sent, or from that of an earlier job."""
    if job and not is_chosen(file):
        pictures = asked_by(jobs, job, ReadSheet, READ_CARD).files
    else:
        pictures = sent_pictures([file])
    return ReadSheet(
        files=pictures,
        rows=rows,
        columns=columns,
        names=ask.names_of(names),
        paper=paper,
        range=add_to.strip(),
        corners=corners_of(x, y),
        coats_unknown=coats_unknown,
        way=way,
        grays=grays_of(grays),
        medium=medium,
        keep=False,
    )


def corners_of(x: Sequence[str], y: Sequence[str]) -> tuple[tuple[float, float], ...]:
    """Read four corners from number fields; none where all are empty.

    Raises `BadRecipeError` for fewer than four, or for what is no number of pixels.

    >>> corners_of(["1", "9", "9", "1"], ["2", "2", "8", "8"])
    ((1.0, 2.0), (9.0, 2.0), (9.0, 8.0), (1.0, 8.0))
    >>> corners_of(["", "", "", ""], ["", "", "", ""])
    ()
    """
    if not any((*x, *y)):
        return ()
    try:
        found = tuple((float(across), float(down)) for across, down in zip(x, y, strict=True))
    except ValueError:
        found = ()
    if len(found) != 4 or not all(abs(v) <= FARTHEST for corner in found for v in corner):
        raise BadRecipeError(
            "The grid needs four corners, each with two numbers of pixels.",
            hint="Fill in all eight, or leave all empty to have the grid found.",
        )
    return found


@starts(router, "/card/settle", READ_CARD, "/card/reading", _titled)
def settle_places(
    *,
    jobs: AtJobs,
    job: ask.NumberSent,
    accept: Cells = [],  # noqa: B006  FastAPI copies it
    accept_rough: Annotated[bool, Form()] = False,
) -> ReadSheet:
    """Keep what was read of a card: what is sound, and what was accepted."""
    asked = asked_by(jobs, job, ReadSheet, READ_CARD)
    return replace(asked, accept=frozenset(accept), accept_rough=accept_rough, keep=True)


card_reading = finds(SheetRead)
shows(router, "/card/reading", "card_reading.html.j2", beside=card_asked)(card_reading)
hands(
    router, "/card/proof", card_reading, lambda read: read.pages[0].proof, "proof.png", shown=True
)
