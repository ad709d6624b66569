"""Shading runs, and partners for a colorant."""

from functools import partial
from typing import Annotated, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Form, Query

from laydown.app import runs as run_tasks
from laydown.app.fits import Supplies
from laydown.media.legible import name_key
from laydown.web import asking as ask
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, shows
from laydown.web.files import hands_over
from laydown.web.long_work import asked_by, finds, lists, starts

router = APIRouter()
ON_A_PAGE = 6
MOST_RANGES = 50


def runs_asked(jobs: AtJobs, supplies: ask.SuppliesOf, job: ask.Count = 0) -> run_tasks.ListRuns:
    """Return what the form shows: what a job was asked, or what the address says."""
    return asked_by(jobs, job, run_tasks.ListRuns) if job else run_tasks.ListRuns(supplies)


shows(router, "/runs", "runs.html.j2", beside=runs_asked, under="jobs")(lists("list_runs"))


@starts(
    router,
    "/runs",
    "list_runs",
    "/runs/found",
    lambda asked: f"Shading runs of {ask.named(asked.supplies)}",
    mended_at="/runs",
)
def look_for_runs(
    supplies: ask.SuppliesSent,
    coats: Annotated[int, Form(ge=1, le=3)] = 1,
    shop: Annotated[list[ask.Line], Form(max_length=MOST_RANGES)] = [],  # noqa: B006  FastAPI copies it
    *,
    sense: Annotated[bool, Form()] = True,
) -> run_tasks.ListRuns:
    """Look for shading runs in a kit or a range."""
    return run_tasks.ListRuns(supplies, coats, tuple(name for name in shop if name), sense)


runs_found = finds(run_tasks.RunsFound)


def _ranges(found: run_tasks.RunsFound) -> tuple[str, ...]:
    """Return the ranges that the colors come from."""
    shades = [shade for run in found.runs for shade in run.shades]
    shades += [tone.shade for triad in found.triads for tone in triad.tones if tone.shade]
    recipes = (shade.recipe for shade in shades if shade.recipe)
    return tuple(sorted({c.range for recipe in recipes for c in recipe.colorants}))


def _partners(own: Supplies, label: str) -> str:
    """Return the address of a colorant's partners out of the same supplies."""
    named = [("kit", own.kit), ("paper", own.paper), ("carried_from", own.swatched_on)]
    listed = [*(("range", r) for r in own.ranges), *(("without", w) for w in own.without)]
    fields = [(name, told) for name, told in (*named, *listed) if told]
    return f"/partners?{urlencode([('color', label), *fields])}"


def runs_shown(
    jobs: AtJobs,
    found: Annotated[run_tasks.RunsFound, Depends(runs_found)],
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
hands_over(router, "/runs/file", runs_found, "runs of {0.kit}")
NOBODY_ASKED = {"colorant": ""}
"""The answer before a colorant was named."""


def partners_of(
    library: AtLibrary,
    supplies: ask.SuppliesOf,
    color: ask.Name = "",
    count: Annotated[int, Query(ge=1, le=10)] = 3,
) -> run_tasks.PartnersFound | dict[str, str]:
    """Propose highlight and shadow for a colorant."""
    named = color.strip()
    return run_tasks.list_partners(library, color, supplies, count=count) if named else NOBODY_ASKED


shows(router, "/partners", "partners.html.j2", beside=ask.supplies_of)(partners_of)
hands_over(router, "/partners/file", partners_of, "partners for {0.colorant.name}")
NO_PAIR = {"first": "", "second": ""}
"""The answer before two colors were named."""


def gradient_of(
    library: AtLibrary,
    supplies: ask.SuppliesOf,
    *,
    first: ask.Name = "",
    second: ask.Name = "",
    count: Annotated[int, Query(ge=1, le=7)] = 3,
    sense: bool = True,
) -> run_tasks.GradientFound | dict[str, str]:
    """Show what lies between two colors."""
    if not first.strip() or not second.strip():
        return NO_PAIR
    return run_tasks.show_gradient(library, first, second, supplies, count=count, sense=sense)


shows(router, "/gradient", "gradient.html.j2", beside=ask.supplies_of)(gradient_of)
hands_over(
    router,
    "/gradient/file",
    gradient_of,
    "from {0.gradient.first.name} to {0.gradient.second.name}",
)
