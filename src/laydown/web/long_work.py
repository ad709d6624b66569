"""Long work: a form that starts a job and leads to the page that watches it."""

from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Depends, Request

from laydown.app.encoding import to_text
from laydown.app.jobs import Job, Jobs
from laydown.errors import UnknownNameError
from laydown.web.asking import Count, Number
from laydown.web.desk import AtDesk, AtJobs, Desk
from laydown.web.faces import Told, changes, text_of
from laydown.web.form_again import FormSent, form_sent
from laydown.web.phone import FROM_PHONE

SHOWN_AT: dict[str, str] = {}
"""Pages by task, at which what a job of it found is shown; `starts` fills it."""
MENDED_AT: dict[str, str] = {}
"""Pages by task, at which what a job was asked can be mended; `starts` fills it."""
NAMED_AS: dict[str, str] = {}
"""Names in JSON of what a task finds that has no fields of its own; `starts` fills it."""
ONCE: set[str] = set()
"""Tasks that, once done, are not offered to be done again, for they would note things twice."""
FORM = "/job/form"
"""The page that shows the form which a job was asked on, as it was filled."""
PHONE = "phone"
"""What a job is said to be started by that a phone sent."""
Kind = TypeVar("Kind")
Function = TypeVar("Function", bound=Callable[..., Any])


def job_address(job: Job) -> str:
    """Return the page that watches a job."""
    return f"/job?number={job.id}"


def result_address(job: Job) -> str:
    """Return the page that shows what a job found."""
    page = SHOWN_AT.get(job.task)
    return f"{page}?job={job.id}" if page else f"/job/result.json?number={job.id}"


def mending_address(jobs: Jobs, job: Job) -> str:
    """Return the page that shows what a job was asked, to be mended; empty where there is none."""
    page = MENDED_AT.get(job.task)
    if page:
        return f"{page}?job={job.id}"
    return f"{FORM}?number={job.id}" if jobs.form(job.id) else ""


def is_worth_repeating(job: Job) -> bool:
    """Return whether a person may want to do once more what a job was asked."""
    return job.state != "done" or job.task not in ONCE


def starts(
    router: APIRouter,
    path: str,
    task: str,
    shown_at: str,
    title: Told,
    *,
    mended_at: str = "",
    once: bool = False,
    under: str = "",
) -> Callable[[Function], Function]:
    """Turn a function that reads a form into a task's request into a form that starts a job.

    `task`: in ``laydown.app.TASKS``. `shown_at`, `mended_at`: the pages that show the result, and,
    if there is one, what was asked; given ``?job=N``. `title`: what the job is called by its
    request. `once`: whether the task notes something that must not be noted twice. `under`: of the
    result, as for `laydown.web.faces.shows`.
    """
    SHOWN_AT[task], NAMED_AS[task] = shown_at, under
    if mended_at:
        MENDED_AT[task] = mended_at
    if once:
        ONCE.add(task)

    def register(reads: Function) -> Function:
        def started(
            request: Request,
            desk: AtDesk,
            asked: Annotated[Any, Depends(reads)],
            sent: Annotated[FormSent, Depends(form_sent)],
        ) -> Job:
            place = PHONE if FROM_PHONE in request.scope else ""
            called = text_of(title, asked)
            return start_job(desk, task, asked, sent, title=called, started_by=place)

        started.__doc__, started.__name__ = reads.__doc__, reads.__name__
        changes(router, path, job_address)(started)
        return reads

    return register


def start_job(
    desk: Desk, task: str, asked: object, sent: FormSent, *, title: str, started_by: str = ""
) -> Job:
    """Start a job with the form that it was asked on, for it to lead back."""
    form = "" if sent.path.endswith(".json") else to_text(sent)
    return desk.jobs.start(task, asked, title=title, started_by=started_by, form=form)


def jobs_of(jobs: Jobs, *tasks: str) -> tuple[Job, ...]:
    """Return the jobs of some tasks, the latest first."""
    return tuple(job for job in jobs.all() if job.task in tasks)


def found_by(jobs: Jobs, number: int, kind: type[Kind], *tasks: str) -> Kind:
    """Return what a job found, where it is of the kind that a page shows.

    `tasks`: those that find it, where several find such a kind. Raises UnknownNameError when there
    is no such job, it has found nothing yet, or something else.
    """
    result = jobs.result(number)
    if not isinstance(result, kind) or (tasks and jobs.get(number).task not in tasks):
        raise _did_something_else(number)
    return result


def finds(kind: type, *tasks: str, part: int | None = None) -> Callable[..., Any]:
    """Return the question what a job found, or a part of it, for `laydown.web.faces.shows`."""

    def found(jobs: AtJobs, job: Number) -> Any:
        result: Any = found_by(jobs, job, kind, *tasks)
        return result if part is None else result[part]

    found.__doc__ = f"Show what a job found: {' or '.join(tasks) or kind.__name__}."
    return found


def asks(kind: type[Kind], usual: Kind | None = None, *tasks: str) -> Callable[..., Kind | None]:
    """Return the question what a job was asked, as `laydown.web.faces.shows` takes it besides.

    Where no job is named, it is the usual, if there is one. `tasks` is as for `found_by`.
    """

    def asked(jobs: AtJobs, job: Number) -> Kind:
        return asked_by(jobs, job, kind, *tasks)

    def asked_or_usual(jobs: AtJobs, job: Count = 0) -> Kind | None:
        return asked_by(jobs, job, kind, *tasks) if job else usual

    return asked if usual is None else asked_or_usual


def lists(*tasks: str) -> Callable[..., tuple[Job, ...]]:
    """Return the question which jobs there are of some tasks, the latest first."""

    def listed(jobs: AtJobs) -> tuple[Job, ...]:
        return jobs_of(jobs, *tasks)

    listed.__doc__ = f"List the long work of {', '.join(tasks)}."
    return listed


def asked_by(jobs: Jobs, number: int, kind: type[Kind], *tasks: str) -> Kind:
    """Return what a job was asked, where it is of the kind that a page knows.

    `tasks` is as for `found_by`. Raises UnknownNameError when there is no such job, or it was asked
    something else.
    """
    request = jobs.request(number)
    if not isinstance(request, kind) or (tasks and jobs.get(number).task not in tasks):
        raise _did_something_else(number)
    return request


def _did_something_else(number: int) -> UnknownNameError:
    return UnknownNameError(
        f"Job {number} did something else.", hint="Look for it under Long work."
    )
