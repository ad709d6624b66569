"""Swatches: brought in from files, listed in pages, handed out; and what is known of what where."""

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import Field

from laydown.app import swatches as swatche_tasks
from laydown.app.jobs import Job
from laydown.errors import BadFileError
from laydown.web.asking import LARGEST, Count, Line, Name
from laydown.web.desk import AtDesk, AtLibrary
from laydown.web.faces import Beside, changes, shows
from laydown.web.files import file_of, sent_files
from laydown.web.form_again import FormSent, form_sent
from laydown.web.long_work import SHOWN_AT, finds, job_address, start_job

router = APIRouter()
ON_A_PAGE = 50
IMPORT = "import_swatches"
AT_ONCE = 500_000
"""Bytes of files that come in while the page is waited for: a thousand swatches or so."""
ENDINGS = {"csv": "csv", "cgats": "ti3", "cxf": "cxf"}
Most = Annotated[int, Query(ge=1, le=1000)]


def _asked(
    range: Name = "", paper: Name = "", color: Name = "", skip: Count = 0, most: Most = ON_A_PAGE
) -> Beside:
    return {"range": range, "paper": paper, "colorant": color, "skip": skip, "most": most}


@shows(router, "/swatches", "swatches.html.j2", beside=_asked, under="swatches total")
def swatches(
    library: AtLibrary, asked: Annotated[Beside, Depends(_asked)]
) -> tuple[tuple[swatche_tasks.StoredSwatch, ...], int]:
    """List swatches, a page at a time."""
    return swatche_tasks.list_swatches(library, **asked)


@router.get("/swatches/file", response_class=Response)
def export(
    library: AtLibrary,
    form: Literal["csv", "cgats", "cxf"] = "csv",
    range: Name = "",
    paper: Name = "",
) -> Response:
    """Hand swatches out as a file that brings the same swatches in again."""
    _, content = swatche_tasks.export_swatches(library, form, range=range, paper=paper)
    name = " ".join(part for part in (range, paper) if part) or "swatches"
    return file_of(content, f"{name}.{ENDINGS[form]}")


def _came(made: swatche_tasks.SwatchesImported) -> str:
    new, rows = sum(file.new for file in made.files), sum(file.rows for file in made.files)
    flagged = sum(len(lines) for file in made.files for lines in file.flagged.values())
    told = [f"{new} new swatches of {rows}."]
    if made.ranges:
        told.append(f"New ranges: {', '.join(made.ranges)}.")
    if made.papers:
        told.append(f"New papers: {', '.join(made.papers)}.")
    if flagged:
        told.append(f"{flagged} of them look odd, see the remarks.")
    return " ".join(told)


def _to_bring_in(
    *,
    files: Annotated[list[UploadFile], File()],
    form: Annotated[Literal["", "csv", "cgats", "cxf"], Form()] = "",
    range: Line = "",
    paper: Line = "",
    medium: Annotated[Literal["", "marker", "pencil", "wash"], Form()] = "",
) -> swatche_tasks.ImportSwatches:
    sent = sent_files(files)
    if not sent:
        raise BadFileError("No file was chosen.", hint="Choose one, or several.")
    return swatche_tasks.ImportSwatches(sent, form, range, paper, medium)


def bring_in(
    desk: AtDesk,
    asked: Annotated[swatche_tasks.ImportSwatches, Depends(_to_bring_in)],
    sent: Annotated[FormSent, Depends(form_sent)],
) -> swatche_tasks.SwatchesImported | Job:
    """Bring in swatches from files, all of every file or nothing; many as long work."""
    if sum(len(file.content) for file in asked.files) <= AT_ONCE:
        return swatche_tasks.import_swatches(desk.library, asked)
    return start_job(
        desk, IMPORT, asked, sent, title=f"Swatches from {', '.join(f.source for f in asked.files)}"
    )


changes(
    router,
    "/swatches/import",
    lambda made: job_address(made) if isinstance(made, Job) else "/swatches",
    lambda made: "" if isinstance(made, Job) else _came(made),
)(bring_in)
SHOWN_AT[IMPORT] = "/swatches/imported"
imported = finds(swatche_tasks.SwatchesImported)
shows(router, SHOWN_AT[IMPORT], "swatches_imported.html.j2", beside=lambda: _came)(imported)


def _gone(count: int) -> str:
    return f"{count} swatch{' is' if count == 1 else 'es are'} gone; History takes that back."


@changes(router, "/swatches/remove", "/swatches", _gone, under="swatches")
def remove(
    library: AtLibrary,
    number: Annotated[list[Annotated[int, Field(ge=1, le=LARGEST)]], Form(max_length=1000)],
) -> int:
    """Remove swatches by their numbers, all of them or none."""
    return swatche_tasks.remove_swatches(library, tuple(number))
