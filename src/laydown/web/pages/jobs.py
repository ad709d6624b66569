"""Long work: what runs, how far it has come, what came of it."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Query, Response

from laydown.app.jobs import Job
from laydown.web.desk import AtJobs
from laydown.web.faces import changes, json_of, shows

router = APIRouter()
LARGEST = 2**31 - 1
Asked = Annotated[int, Query(ge=1, le=LARGEST)]
Sent = Annotated[int, Form(ge=1, le=LARGEST)]

SHOWN_AT: dict[str, str] = {}
"""Pages by task, at which what a job of it found is shown; each takes the job's number as `job`."""


@dataclass(frozen=True, slots=True)
class JobList:
    """All jobs, the latest first."""

    jobs: tuple[Job, ...]


@dataclass(frozen=True, slots=True)
class JobPutAway:
    """A job that is gone."""

    number: int


def job_address(job: Job) -> str:
    """Return the page of a job."""
    return f"/job?number={job.id}"


def result_address(job: Job) -> str:
    """Return the page that shows what a job found."""
    page = SHOWN_AT.get(job.task)
    return f"{page}?job={job.id}" if page else f"/job/result.json?number={job.id}"


@shows(router, "/jobs", "jobs.html.j2")
def all_jobs(jobs: AtJobs) -> JobList:
    """List the long work that is kept."""
    return JobList(jobs.all())


def _way(jobs: AtJobs, number: Asked) -> str:
    """Say where what a job found is shown."""
    return result_address(jobs.get(number))


@shows(router, "/job", "job.html.j2", beside=_way)
def one_job(jobs: AtJobs, number: Asked) -> Job:
    """Show how far a job has come."""
    return jobs.get(number)


@router.get("/job/result.json", response_class=Response)
def result(jobs: AtJobs, number: Asked) -> Response:
    """Give what a job found, as the command line would have written it."""
    return json_of(jobs.result(number))


@changes(router, "/job/cancel", leads_to=job_address, says=lambda _: "")
def cancel(jobs: AtJobs, number: Sent) -> Job:
    """Stop a job at its next step."""
    return jobs.cancel(number)


@changes(
    router, "/job/again", leads_to=job_address, says=lambda job: f"{job.title} was begun again."
)
def again(jobs: AtJobs, number: Sent) -> Job:
    """Do once more what a job was asked."""
    return jobs.again(number)


@changes(router, "/job/remove", leads_to=lambda _: "/jobs", says=lambda _: "It is put away.")
def remove(jobs: AtJobs, number: Sent) -> JobPutAway:
    """Put a job away that is over, with what it found."""
    jobs.remove(number)
    return JobPutAway(number)
