"""Pages that answer for whatever a student owns: made from a lesson or a range, and handed over."""

from typing import Annotated

from fastapi import APIRouter, Form, Response

from laydown.app.lessons.lessons import fetch_lesson, find_lesson, read_lesson
from laydown.app.lessons.pages import MakeLessonPage, MakeRangePage, PageMade
from laydown.errors import UnknownNameError
from laydown.web.asking import LONGEST, MOST_NAMES, AskingSent, Label, named
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, go_to, shows
from laydown.web.files import file_of
from laydown.web.long_work import JobNumber, found_by, starts
from laydown.web.pages.lessons import NumberSent, file_parts, lesson_address

router = APIRouter()
AddressSent = Annotated[str, Form(max_length=2 * LONGEST)]
KitsSent = Annotated[tuple[Label, ...], Form(max_length=MOST_NAMES)]
SHOWN_AT = "/page/made"
MENDED_AT = "/page/asked"


def _titled(asked: MakeLessonPage | MakeRangePage) -> str:
    made_of = named(asked.asking.supplies)
    if isinstance(asked, MakeRangePage):
        return f"Page: {asked.range} from {made_of}"
    return f"Page: {read_lesson(asked.file, source=asked.source).title} from {made_of}"


@starts(
    router,
    "/lesson/page",
    task="make_lesson_page",
    shown_at=SHOWN_AT,
    mended_at=MENDED_AT,
    title=_titled,
)
def lesson_page(
    library: AtLibrary,
    asking: AskingSent,
    number: NumberSent,
    address: AddressSent = "",
    ticked: KitsSent = (),
) -> MakeLessonPage:
    """Make the page of a lesson that answers for whatever a student owns."""
    return MakeLessonPage(
        *file_parts(fetch_lesson(library, number)), asking, address, tuple(filter(None, ticked))
    )


@starts(
    router,
    "/range/page",
    task="make_range_page",
    shown_at=SHOWN_AT,
    mended_at=MENDED_AT,
    title=_titled,
)
def range_page(
    asking: AskingSent,
    name: Annotated[str, Form(min_length=1, max_length=LONGEST)],
    address: AddressSent = "",
    ticked: KitsSent = (),
) -> MakeRangePage:
    """Make the page that converts a range for whatever someone owns of others."""
    return MakeRangePage(name, asking, address, tuple(filter(None, ticked)))


@router.get(MENDED_AT, response_class=Response)
def mend(library: AtLibrary, jobs: AtJobs, job: JobNumber) -> Response:
    """Lead to the lesson or the range that a page was to be made of."""
    asked = jobs.request(job)
    if isinstance(asked, MakeRangePage):
        return go_to("/ranges#page")
    lesson = (
        find_lesson(library, asked.file.decode()) if isinstance(asked, MakeLessonPage) else None
    )
    if lesson is None:
        raise UnknownNameError(
            "The lesson is not kept here any more.", hint="Undo its removal, or bring it in again."
        )
    return go_to(f"{lesson_address(lesson.number)}&job={job}#page")


def page_made(jobs: AtJobs, job: JobNumber) -> PageMade:
    """Show what a page holds."""
    return found_by(jobs, job, PageMade)


def made_by(job: JobNumber) -> Beside:
    """Return what the page of a page shows besides."""
    return {"job": job}


shows(router, SHOWN_AT, "page_made.html.j2", beside=made_by)(page_made)


@router.get("/page/file", response_class=Response)
def page_file(jobs: AtJobs, job: JobNumber) -> Response:
    """Hand a page over as its file."""
    made = found_by(jobs, job, PageMade)
    return file_of(made.html.encode(), f"{made.title}.html")
