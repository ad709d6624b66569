"""Close the bench from one of its own pages."""

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response

import laydown
from laydown.web.desk import AtDesk
from laydown.web.faces import shows
from laydown.web.rendering import render
from laydown.web.running import NAME, STOP

router = APIRouter()


@dataclass(frozen=True, slots=True)
class BenchOpen:
    """The bench that is open: by this a second start knows it.

    Parameters
    ----------
    bench, version
        Its name and version.
    library
        Where its library is.
    unfinished
        How many jobs closing would break off.
    """

    bench: str
    version: str
    library: str
    unfinished: int


@shows(router, STOP, "stop.html.j2")
def bench_open(desk: AtDesk) -> BenchOpen:
    """Show what closing the bench would break off."""
    unfinished = sum(not job.state.is_over for job in desk.jobs.all())
    return BenchOpen(NAME, laydown.__version__, desk.library.location, unfinished)


@router.post(STOP, response_class=Response)
def close_bench(request: Request, desk: AtDesk) -> Response:
    """Close the bench, once this answer is drawn."""
    desk.closing.set()
    return render(request, "stopped.html.j2")
