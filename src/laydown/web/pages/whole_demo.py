"""The whole job on invented data: run as long work, into a folder beside the library."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Form, Query, Response

from laydown.app.demo_folder import folder_beside
from laydown.app.jobs import Job
from laydown.app.opening import Library
from laydown.app.run_demo import DemoDone, RunDemo
from laydown.errors import UnknownNameError
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.long_work import LARGEST, JobNumber, found_by, jobs_of, starts

router = APIRouter()
TASK = "run_demo"
Place = Annotated[int, Query(ge=1, le=LARGEST)]


@dataclass(frozen=True, slots=True)
class DemoRuns:
    """How often the demo was run here, the latest first."""

    runs: tuple[Job, ...]


@dataclass(frozen=True, slots=True)
class Whereto:
    """Where the demo's files go."""

    folder: Path


def _whereto(library: AtLibrary) -> Whereto:
    return Whereto(folder_beside(library))


@shows(router, "/demo", "demo.html.j2", beside=_whereto)
def demo(jobs: AtJobs) -> DemoRuns:
    """List how often the whole job was run on invented data."""
    return DemoRuns(jobs_of(jobs, TASK))


@starts(router, "/demo/run", task=TASK, shown_at="/demo/done", title=lambda _: "The demo")
def run(
    library: AtLibrary,
    page: Annotated[Literal["A4", "Letter"], Form()] = "A4",
    whole_range: Annotated[bool, Form()] = False,
    for_class: Annotated[bool, Form()] = False,
) -> RunDemo:
    """Run the whole job on invented data, into a folder of the demo's own."""
    return RunDemo(folder_beside(library), page, whole_range, for_class)


def done(jobs: AtJobs, job: JobNumber) -> DemoDone:
    """Show what the demo came to."""
    return found_by(jobs, job, DemoDone)


@dataclass(frozen=True, slots=True)
class Made:
    """The files that the demo made.

    Parameters
    ----------
    job
        That made them.
    folder
        Where they are.
    names
        Of all of them, in the order in which they were made.
    """

    job: int
    folder: Path
    names: tuple[str, ...]


def made(library: AtLibrary, found: Annotated[DemoDone, Depends(done)], job: JobNumber) -> Made:
    """Name the files that the demo made."""
    return Made(job, folder_beside(library), tuple(path.name for path in found.files))


shows(router, "/demo/done", "demo_done.html.j2", beside=made)(done)


@router.get("/demo/file", response_class=Response)
def demo_file(library: AtLibrary, jobs: AtJobs, job: JobNumber, number: Place) -> Response:
    """Hand over a file that the demo made, by its place in the list."""
    files = found_by(jobs, job, DemoDone).files
    path = files[number - 1] if number <= len(files) else None
    if path is None or not _is_the_demos(path, library):
        raise UnknownNameError(
            f"There is no file {number} of the demo here any longer.",
            hint="Run the demo again.",
        )
    return file_of(path.read_bytes(), path.name)


def _is_the_demos(path: Path, library: Library) -> bool:
    """Return whether a file lies in the demo's folder, whatever a library says of where it lay."""
    found = path.resolve()
    return found.is_file() and found.is_relative_to(folder_beside(library).resolve())
