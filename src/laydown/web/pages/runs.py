"""Shading runs, and partners for a colorant."""

from functools import partial
from typing import Annotated, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Form, Query
from pydantic import Field

from laydown.app import runs as run_tasks
from laydown.app.fits import Supplies
from laydown.app.jobs import Job
from laydown.media.legible import name_key
from laydown.web import asking as ask
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, shows
from laydown.web.files import hands_over
from laydown.web.long_work import asked_by, finds, jobs_of, starts
from laydown.web.look import color_of_paper

router = APIRouter()
TASK = "list_runs"
ON_A_PAGE = 6
MOST_RANGES = 50
Shop = Annotated[
    list[Annotated[str, Field(max_length=ask.LONGEST)]], Form(), Field(max_length=MOST_RANGES)
]


def runs_around(
    library: AtLibrary,
    jobs: AtJobs,
    supplies: ask.SuppliesOf,
    job: ask.Count = 0,
) -> Beside:
    """Return what the form shows: what a job was asked, or what the address says."""
    asked = asked_by(jobs, job, run_tasks.ListRuns) if job else run_tasks.ListRuns(supplies)
    return {"choices": ask.choices_of(library), "asked": asked}


@shows(router, "/runs", "runs.html.j2", beside=runs_around, under="jobs")
def runs(jobs: AtJobs) -> tuple[Job, ...]:
    """List the searches for runs that were made."""
    return jobs_of(jobs, TASK)


@starts(
    router,
    "/runs",
    task=TASK,
    shown_at="/runs/found",
    mended_at="/runs",
    title=lambda asked: f"Shading runs of {ask.named(asked.supplies)}",
)
def look_for_runs(
    supplies: ask.SuppliesSent,
    coats: Annotated[int, Form(ge=1, le=3)] = 1,
    shop: Shop = [],  # noqa: B006  FastAPI copies it
    *,
    sense: Annotated[bool, Form()] = True,
) -> run_tasks.ListRuns:
    """Look for shading runs in a kit or a range."""
    return run_tasks.ListRuns(supplies, coats, tuple(name for name in shop if name), sense)


runs_found = finds(run_tasks.RunsFound)


Found = Annotated[run_tasks.RunsFound, Depends(runs_found)]


def _ranges(found: run_tasks.RunsFound) -> tuple[str, ...]:
    """Return the ranges that the colors come from."""
    tones = (tone for triad in found.triads for tone in triad.tones)
    shades = [shade for run in found.runs for shade in run.shades]
    shades += [tone.shade for tone in tones if tone.shade]
    recipes = (shade.recipe for shade in shades if shade.recipe)
    return tuple(sorted({c.range for recipe in recipes for c in recipe.colorants}))


def _partners(own: Supplies, label: str) -> str:
    """Return the address of a colorant's partners out of the same supplies."""
    named = [("kit", own.kit), ("paper", own.paper), ("carried_from", own.swatched_on)]
    listed = [*(("range", r) for r in own.ranges), *(("without", w) for w in own.without)]
    fields = [(name, told) for name, told in (*named, *listed) if told]
    return f"/partners?{urlencode([('color', label), *fields])}"


def runs_shown(
    library: AtLibrary,
    jobs: AtJobs,
    found: Found,
    *,
    job: ask.Number,
    rating: Literal["", "even", "usable", "rough"] = "",
    using: ask.Name = "",
    skip: ask.Count = 0,
    triads: ask.Count = 0,
) -> Beside:
    """Choose which runs are shown: those of a rating, or all, that have a colorant, or any."""
    key = name_key(using)
    return {
        "job": job,
        "paper": color_of_paper(library, found.paper),
        "rating": rating,
        "using": using,
        "skip": skip,
        "skip_triads": triads,
        "triads": sorted(found.triads, key=lambda triad: triad.complete),
        "complete": sum(triad.complete for triad in found.triads),
        "most": ON_A_PAGE,
        "runs": tuple(
            run
            for run in found.runs
            if rating in {"", run.rating} and any(key in name_key(name) for name in run.names)
        ),
        "ranges": _ranges(found),
        "partners_of": partial(_partners, asked_by(jobs, job, run_tasks.ListRuns).supplies),
    }


shows(router, "/runs/found", "runs_found.html.j2", beside=runs_shown)(runs_found)


hands_over(router, "/runs/file", runs_found, lambda found: f"runs of {found.kit}")


NOBODY_ASKED = {"colorant": ""}
"""The answer before a colorant was named."""
HowMany = Annotated[int, Query(ge=1, le=10)]


def partners_of(
    library: AtLibrary, supplies: ask.SuppliesOf, color: ask.Name = "", count: HowMany = 3
) -> run_tasks.PartnersFound | dict[str, str]:
    """Propose highlight and shadow for a colorant."""
    if not color.strip():
        return NOBODY_ASKED
    return run_tasks.list_partners(library, color, supplies, count=count)


shows(router, "/partners", "partners.html.j2", beside=ask.around_supplies)(partners_of)


hands_over(
    router, "/partners/file", partners_of, lambda found: f"partners for {found.colorant.name}"
)


Steps = Annotated[int, Query(ge=1, le=7)]
NO_PAIR = {"first": "", "second": ""}
"""The answer before two colors were named."""


def gradient_of(
    library: AtLibrary,
    supplies: ask.SuppliesOf,
    *,
    first: ask.Name = "",
    second: ask.Name = "",
    count: Steps = 3,
    sense: bool = True,
) -> run_tasks.GradientFound | dict[str, str]:
    """Show what lies between two colors."""
    if not first.strip() or not second.strip():
        return NO_PAIR
    return run_tasks.show_gradient(library, first, second, supplies, count=count, sense=sense)


shows(router, "/gradient", "gradient.html.j2", beside=ask.around_supplies)(gradient_of)


def _between(found: run_tasks.GradientFound) -> str:
    return f"from {found.gradient.first.name} to {found.gradient.second.name}"


hands_over(router, "/gradient/file", gradient_of, _between)
