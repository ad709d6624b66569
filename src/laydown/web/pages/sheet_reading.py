"""Reading sheets: pictures are sent, the proof is looked at, doubtful cells are settled, kept.

The pictures lie in the job that reads them, and go when it is put away; to settle cells is to read
the same pictures once more, and to keep what comes of it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import Field

from laydown.app.complete_names import names_in
from laydown.app.jobs import Jobs
from laydown.app.print_sheet import find_sheet
from laydown.app.read_sheet import PictureFile, ReadSheet, SheetRead
from laydown.app.supplies import Supplies
from laydown.errors import UnknownNameError
from laydown.web.asking import LONGEST
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.long_work import JobNumber, found_by, starts
from laydown.web.pages.sheets import Begun, begun_of
from laydown.web.uploads import is_chosen, sent_pictures

router = APIRouter()
TASK, SHOWN_AT = "read_sheet", "/sheet/reading"
MOST_CELLS = 2000
LARGEST = 2**31 - 1
Picture = Annotated[int, Query(ge=1, le=1000)]
Ways = Literal["auto", "profile", "chart", "known", "paper"]
Cells = Annotated[list[Annotated[int, Field(ge=1, le=MOST_CELLS)]], Form(max_length=MOST_CELLS)]


@dataclass(frozen=True, slots=True, eq=False)
class Settling:
    """What the page of a reading shows besides.

    Parameters
    ----------
    job
        That read.
    kept
        Whether what was read has become swatches.
    supplies
        What a color can be asked of then.
    wanted
        The color that somebody began with; empty where unknown.
    """

    job: int
    kept: bool
    supplies: Supplies
    wanted: str


def read_title(files: Iterable[PictureFile], *, keep: bool) -> str:
    """Return what the job of reading is called."""
    names = ", ".join(file.source for file in files)
    if keep:
        return f"Keeping {names}"
    return f"Reading {names}"


@starts(
    router,
    "/sheet/read",
    task=TASK,
    shown_at=SHOWN_AT,
    title=lambda asked: read_title(asked.files, keep=asked.keep),
)
def read(
    *,
    jobs: AtJobs,
    files: Annotated[list[UploadFile], File()] = [],  # noqa: B006  FastAPI copies it
    photograph: UploadFile | None = None,
    way: Annotated[Ways, Form()] = "auto",
    stage: Annotated[str, Form(max_length=LONGEST)] = "dry",
    sheet: Annotated[int | None, Form(ge=1, le=LARGEST)] = None,
    marks_lost: Annotated[bool, Form()] = False,
    page: Annotated[int, Form(ge=1, le=8)] = 1,
    before: Annotated[int, Form(ge=0, le=LARGEST)] = 0,
) -> ReadSheet:
    """Read pictures of sheets, to be looked at before anything is kept; those of before again."""
    chosen = [*files, photograph]
    if before and not any(map(is_chosen, chosen)):
        pictures = asked_of(jobs, before).files
    else:
        pictures = tuple(PictureFile(one.content, one.name) for one in sent_pictures(chosen))
    number = sheet if marks_lost else None
    return ReadSheet(pictures, way, stage, sheet=number, page=page, keep=False)


def asked_of(jobs: Jobs, number: int) -> ReadSheet:
    """Return what a job of reading was asked.

    Raises
    ------
    UnknownNameError
        Where it was asked something else.
    """
    asked = jobs.request(number)
    if not isinstance(asked, ReadSheet):
        raise UnknownNameError(
            f"Job {number} read no sheet.",
            hint="Look for it under Long work.",
        )
    return asked


@starts(
    router,
    "/sheet/settle",
    task=TASK,
    shown_at=SHOWN_AT,
    title=lambda asked: read_title(asked.files, keep=asked.keep),
)
def settle(
    *,
    jobs: AtJobs,
    job: Annotated[int, Form(ge=1, le=LARGEST)],
    accept: Cells = [],  # noqa: B006  FastAPI copies it
    redo: Cells = [],  # noqa: B006  FastAPI copies it
    accept_rough: Annotated[bool, Form()] = False,
) -> ReadSheet:
    """Keep what was read: what is sound, and of what is doubtful what was accepted."""
    return replace(
        asked_of(jobs, job),
        accept=frozenset(accept),
        redo=frozenset(redo),
        accept_rough=accept_rough,
        keep=True,
    )


def _settling(
    library: AtLibrary, jobs: AtJobs, job: JobNumber, begun: Annotated[Begun, Depends(begun_of)]
) -> Settling:
    read = found_by(jobs, job, SheetRead)
    paper = find_sheet(library, read.pages[0].sheet).paper
    ranges = tuple(sorted({c.range for cell in read.cells for c in cell.recipe.colorants}))
    kit = begun.kit if begun.kit in names_in(library, "kit").names else ""
    supplies = Supplies(kit, () if kit else ranges, paper)
    return Settling(job, asked_of(jobs, job).keep, supplies, next(iter(begun.wanted), ""))


@shows(router, SHOWN_AT, "reading.html.j2", beside=_settling)
def reading(jobs: AtJobs, job: JobNumber) -> SheetRead:
    """Show what was read from pictures of sheets."""
    return found_by(jobs, job, SheetRead)


@router.get("/sheet/proof", response_class=Response)
def proof(jobs: AtJobs, job: JobNumber, picture: Picture = 1) -> Response:
    """Show the picture again, flattened, with what was read of each cell drawn on it."""
    pages = found_by(jobs, job, SheetRead).pages
    if picture > len(pages):
        raise UnknownNameError(
            f"Job {job} read {len(pages)} pictures.",
            hint=f"Ask for 1 to {len(pages)}.",
        )
    return file_of(pages[picture - 1].proof, f"proof {picture}.png", shown=True)
