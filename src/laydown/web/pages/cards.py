"""Cards of one's own: a grid placed on a picture, a name for each place, read, settled, kept.

The picture lies in the job that reads it, so that grid and names can be mended without sending it
again.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Form, Query, Response, UploadFile
from pydantic import Field

from laydown.app.card_picture import card_picture
from laydown.app.jobs import Jobs
from laydown.app.read_card import CardRead, ReadCard
from laydown.app.read_sheet import PictureFile
from laydown.errors import BadRecipeError, UnknownNameError
from laydown.media.laydown import Medium
from laydown.web.asking import LONGEST, MediumSent, medium_of
from laydown.web.choices import choices_of
from laydown.web.desk import AtJobs
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.fields import names_of
from laydown.web.long_work import JobNumber, found_by, starts
from laydown.web.pages.sheet_reading import Cells, Ways, read_title
from laydown.web.uploads import is_chosen, sent_pictures

router = APIRouter()
TASK, SHOWN_AT = "read_card", "/card/reading"
LARGEST = 2**31 - 1
MOST_SIDE = 40
FARTHEST = 100_000.0
"""Of a corner from the picture's own, in pixels."""
Line = Annotated[str, Form(max_length=LONGEST)]
Places = Annotated[list[Annotated[str, Field(max_length=20)]], Form(max_length=4)]
Side = Annotated[int, Form(ge=1, le=MOST_SIDE)]


@dataclass(frozen=True, slots=True)
class CardAsked:
    """What a card is read with, as the form shows it.

    Parameters
    ----------
    job
        Whose picture is read again; 0 for a new one.
    source
        What that picture is called.
    rows, columns
        Of the grid.
    names
        A name for each place.
    paper, range
        What the card is made of, and where unknown names go.
    corners
        Of the grid in the picture; empty to have them found.
    coats_unknown
        Whether one coat is only assumed.
    medium
        Of unknown names; None where it was left open.
    """

    job: int = 0
    source: str = ""
    rows: int = 4
    columns: int = 6
    names: tuple[str, ...] = ()
    paper: str = ""
    range: str = ""
    corners: tuple[tuple[float, float], ...] = ()
    coats_unknown: bool = False
    medium: Medium | None = None


@dataclass(frozen=True, slots=True)
class CardSettling:
    """What the page of a card that was read shows besides."""

    job: int
    kept: bool
    paper: str


def request_of(jobs: Jobs, number: int) -> ReadCard:
    """Return what a job of reading a card was asked.

    Raises
    ------
    UnknownNameError
        Where it was asked something else.
    """
    asked = jobs.request(number)
    if not isinstance(asked, ReadCard):
        raise UnknownNameError(
            f"Job {number} read no card.",
            hint="Look for it under Long work.",
        )
    return asked


@shows(router, "/card", "card.html.j2", beside=choices_of)
def card(jobs: AtJobs, job: Annotated[int, Query(ge=0, le=LARGEST)] = 0) -> CardAsked:
    """Show the form for a card; with a job, as it was asked then."""
    if not job:
        return CardAsked()
    asked = request_of(jobs, job)
    return CardAsked(
        job,
        asked.file.source,
        asked.rows,
        asked.columns,
        asked.names,
        asked.paper,
        asked.range,
        asked.corners,
        asked.coats_unknown,
        asked.medium,
    )


@router.get("/card/picture", response_class=Response)
def picture(jobs: AtJobs, job: JobNumber) -> Response:
    """Show the picture of a card, to place the grid on."""
    return file_of(card_picture(request_of(jobs, job).file), "card.jpg", shown=True)


@starts(
    router,
    "/card",
    task=TASK,
    shown_at=SHOWN_AT,
    mended_at="/card",
    title=lambda asked: read_title([asked.file], keep=asked.keep),
)
def read(
    *,
    jobs: AtJobs,
    rows: Side,
    columns: Side,
    names: Annotated[str, Form(max_length=100_000)],
    paper: Annotated[str, Form(min_length=1, max_length=LONGEST)],
    file: UploadFile | None = None,
    job: Annotated[int, Form(ge=0, le=LARGEST)] = 0,
    add_to: Line = "",
    x: Places = [],  # noqa: B006  FastAPI copies it
    y: Places = [],  # noqa: B006  FastAPI copies it
    coats_unknown: Annotated[bool, Form()] = False,
    medium: MediumSent = "",
    way: Annotated[Ways, Form()] = "auto",
) -> ReadCard:
    """Read a card from a picture that is sent, or from that of an earlier job."""
    return ReadCard(
        file=_picture(jobs, file, job),
        rows=rows,
        columns=columns,
        names=names_of(names),
        paper=paper,
        range=add_to.strip(),
        corners=corners_of(x, y),
        coats_unknown=coats_unknown,
        way=way,
        medium=medium_of(medium),
        keep=False,
    )


def _picture(jobs: Jobs, file: UploadFile | None, job: int) -> PictureFile:
    if job and not is_chosen(file):
        return request_of(jobs, job).file
    (sent,) = sent_pictures([file])
    return PictureFile(sent.content, sent.name)


def corners_of(x: Sequence[str], y: Sequence[str]) -> tuple[tuple[float, float], ...]:
    """Read four corners from number fields; none where all are empty.

    Raises
    ------
    BadRecipeError
        For fewer than four, or for what is no number of pixels.

    Examples
    --------
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


@starts(
    router,
    "/card/settle",
    task=TASK,
    shown_at=SHOWN_AT,
    title=lambda asked: read_title([asked.file], keep=asked.keep),
)
def settle(
    *,
    jobs: AtJobs,
    job: Annotated[int, Form(ge=1, le=LARGEST)],
    accept: Cells = [],  # noqa: B006  FastAPI copies it
    accept_rough: Annotated[bool, Form()] = False,
) -> ReadCard:
    """Keep what was read of a card: what is sound, and what was accepted."""
    asked = request_of(jobs, job)
    return replace(asked, accept=frozenset(accept), accept_rough=accept_rough, keep=True)


def _settling(jobs: AtJobs, job: JobNumber) -> CardSettling:
    asked = request_of(jobs, job)
    return CardSettling(job, asked.keep, asked.paper)


@shows(router, SHOWN_AT, "card_reading.html.j2", beside=_settling)
def reading(jobs: AtJobs, job: JobNumber) -> CardRead:
    """Show what was read from a card."""
    return found_by(jobs, job, CardRead)


@router.get("/card/proof", response_class=Response)
def proof(jobs: AtJobs, job: JobNumber) -> Response:
    """Show the card again, flattened, with what was read of each place drawn on it."""
    return file_of(found_by(jobs, job, CardRead).proof, "proof.png", shown=True)
