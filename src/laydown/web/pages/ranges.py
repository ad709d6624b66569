"""Ranges: all there are, and two of them compared on one paper."""

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Form, Query, Response

from laydown.app.compare_ranges import CompareRanges, RangesCompared
from laydown.app.jobs import Job
from laydown.app.list_ranges import Ranges, list_ranges
from laydown.app.write_report import WriteReport, write_report
from laydown.color.arrays import FloatArray
from laydown.web.asking import LONGEST, Name
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.long_work import LARGEST, JobNumber, asked_by, found_by, jobs_of, starts
from laydown.web.paper_color import color_of_paper

router = APIRouter()
TASK = "compare_ranges"
RangeName = Annotated[str, Form(min_length=1, max_length=LONGEST)]


@dataclass(frozen=True, slots=True)
class RangesAround:
    """What the page of ranges shows besides.

    Parameters
    ----------
    choices
        Names to choose from.
    comparisons
        Made before, the latest first.
    asked
        What the form begins with.
    """

    choices: Choices
    comparisons: tuple[Job, ...]
    asked: CompareRanges


def ranges_around(
    library: AtLibrary,
    jobs: AtJobs,
    first: Name = "",
    paper: Name = "",
    job: Annotated[int, Query(ge=0, le=LARGEST)] = 0,
) -> RangesAround:
    """Return what the page of ranges shows besides."""
    choices = choices_of(library)
    others = [*(name for name in choices.ranges if name != first), "", ""]
    asked = CompareRanges(first or others[0], others[0 if first else 1], paper)
    asked = asked_by(jobs, job, CompareRanges) if job else asked
    made = jobs_of(jobs, TASK)
    return RangesAround(choices, made, asked)


@shows(router, "/ranges", "ranges.html.j2", beside=ranges_around)
def ranges(library: AtLibrary) -> Ranges:
    """List the ranges, and the papers they were swatched on."""
    return list_ranges(library)


def _called(asked: CompareRanges) -> str:
    return f"{asked.first} and {asked.second} compared"


@starts(
    router,
    "/ranges/compare",
    task=TASK,
    shown_at="/ranges/compared",
    mended_at="/ranges",
    title=_called,
)
def compare(
    first: RangeName,
    second: RangeName,
    paper: Annotated[str, Form(max_length=LONGEST)] = "",
    tolerance: Annotated[Literal["sketch", "class", "close"], Form()] = "class",
) -> CompareRanges:
    """Compare what two ranges reach on a paper, recipes counted."""
    return CompareRanges(first, second, paper, tolerance)


def ranges_compared(jobs: AtJobs, job: JobNumber) -> RangesCompared:
    """Show two ranges compared."""
    return found_by(jobs, job, RangesCompared)


Compared = Annotated[RangesCompared, Depends(ranges_compared)]


@dataclass(frozen=True, slots=True, eq=False)
class ComparedOn:
    """The job that compared, and the color of its paper: shape (3,), CIELAB."""

    job: int
    paper: FloatArray


def compared_on(library: AtLibrary, found: Compared, job: JobNumber) -> ComparedOn:
    """Return what the page of a comparison needs besides."""
    return ComparedOn(job, color_of_paper(library, found.paper))


shows(router, "/ranges/compared", "ranges_compared.html.j2", beside=compared_on)(ranges_compared)


@router.get("/ranges/file", response_class=Response)
def ranges_file(
    found: Compared,
    form: Literal["pdf", "html", "csv", "json", "svg"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Hand over a comparison as a file, or its two plots."""
    made = found.comparison
    name = f"{made.first.name} and {made.second.name} compared.{form}"
    return file_of(write_report(WriteReport(found, form, page)), name)
