"""Long work: what runs, how far it has come, what came of it."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request, Response

from laydown.app.jobs import Job
from laydown.app.kept_text import from_text
from laydown.errors import UnknownNameError
from laydown.web.desk import AtJobs
from laydown.web.faces import changes, json_of, shows
from laydown.web.form_again import FormSent, Said, page_of
from laydown.web.long_work import (
    FORM,
    LARGEST,
    JobNumber,
    is_worth_repeating,
    job_address,
    mending_address,
    result_address,
)

router = APIRouter()
Sent = Annotated[int, Form(ge=1, le=LARGEST)]


@dataclass(frozen=True, slots=True)
class JobList:
    """All jobs, the latest first."""

    jobs: tuple[Job, ...]


@dataclass(frozen=True, slots=True)
class JobPutAway:
    """A job that is gone."""

    number: int


@dataclass(frozen=True, slots=True)
class WaysOn:
    """Where what a job found is shown, what it was asked is mended, and whether it may repeat."""

    shown_at: str
    mended_at: str
    again: bool


@shows(router, "/jobs", "jobs.html.j2")
def all_jobs(jobs: AtJobs) -> JobList:
    """List the long work that is kept."""
    return JobList(jobs.all())


def _ways(jobs: AtJobs, number: JobNumber) -> WaysOn:
    """Say where a job leads on to."""
    job = jobs.get(number)
    return WaysOn(result_address(job), mending_address(job), is_worth_repeating(job))


@shows(router, "/job", "job.html.j2", beside=_ways)
def one_job(jobs: AtJobs, number: JobNumber) -> Job:
    """Show how far a job has come."""
    return jobs.get(number)


def _form_of(jobs: AtJobs, number: JobNumber) -> tuple[Job, FormSent]:
    form = jobs.form(number)
    if not form:
        raise _no_form(number)
    return jobs.get(number), from_text(form, FormSent)


def _no_form(number: int) -> UnknownNameError:
    return UnknownNameError(
        f"The form of job {number} is not here any more.",
        hint="Ask for it anew.",
    )


@router.get(FORM, response_class=Response)
async def form(
    request: Request, asked: Annotated[tuple[Job, FormSent], Depends(_form_of)]
) -> Response:
    """Show the form that a job was asked on, as it was filled, with what is wrong."""
    job, sent = asked
    said = Said(job.message, job.hint)
    page = await page_of(request, sent, lambda _: said, before=job.id)
    if page is None:
        raise _no_form(job.id)
    return page


@router.get("/job/result.json", response_class=Response)
def result(jobs: AtJobs, number: JobNumber) -> Response:
    """Give what a job found, as the command line would have written it."""
    return json_of(jobs.result(number))


@changes(router, "/job/cancel", leads_to=job_address, says=lambda _: "")
def cancel(jobs: AtJobs, number: Sent) -> Job:
    """Stop a job at its next step."""
    return jobs.cancel(number)


@changes(
    router,
    "/job/again",
    leads_to=job_address,
    says=lambda job: f"{job.title} was begun again.",
)
def again(jobs: AtJobs, number: Sent) -> Job:
    """Do once more what a job was asked."""
    return jobs.again(number)


@changes(router, "/job/remove", leads_to=lambda _: "/jobs", says=lambda _: "It is put away.")
def remove(jobs: AtJobs, number: Sent) -> JobPutAway:
    """Put a job away that is over, with what it found."""
    jobs.remove(number)
    return JobPutAway(number)
