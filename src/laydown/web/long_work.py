"""Long work: a form that starts a job and leads to the page that watches it."""

from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Depends, Query, Response

from laydown.app.jobs import Job, Jobs
from laydown.errors import UnknownNameError
from laydown.web.desk import AtDesk
from laydown.web.faces import enter, go_to, json_of
from laydown.web.pages.jobs import LARGEST, SHOWN_AT, job_address

JobNumber = Annotated[int, Query(ge=1, le=LARGEST)]
"""The number of a job, in an address."""
Kind = TypeVar("Kind")
Function = TypeVar("Function", bound=Callable[..., Any])


def starts(
    router: APIRouter, path: str, *, task: str, shown_at: str, title: Callable[[Any], str]
) -> Callable[[Function], Function]:
    """Turn a function that reads a form into a task's request into a form that starts a job.

    Parameters
    ----------
    router
        Where the form and its JSON are entered.
    path
        That the form is sent to.
    task
        In ``laydown.app.TASKS``.
    shown_at
        The page that shows the result; it is given ``?job=N``.
    title
        From the request to what the job is called.
    """
    SHOWN_AT[task] = shown_at

    def register(reads: Function) -> Function:
        def started(desk: AtDesk, asked: Annotated[Any, Depends(reads)]) -> Job:
            return desk.jobs.start(task, asked, title=title(asked), started_by=path)

        def page(job: Annotated[Job, Depends(started)]) -> Response:
            return go_to(job_address(job))

        def data(job: Annotated[Job, Depends(started)]) -> Response:
            return json_of(job)

        enter(router, "POST", path, reads, page=page, data=data)
        return reads

    return register


def found_by(jobs: Jobs, number: int, kind: type[Kind]) -> Kind:
    """Return what a job found, where it is of the kind that a page shows.

    Raises
    ------
    UnknownNameError
        When there is no such job, it has found nothing yet, or something else.
    """
    result = jobs.result(number)
    if not isinstance(result, kind):
        raise UnknownNameError(
            f"Job {number} did something else.", hint="Look for it under Long work."
        )
    return result
