"""``laydown picture``, changes by hand: merge, split, passage, edit."""

from typing import TYPE_CHECKING

import click

from laydown import allowed_sizes
from laydown.cli.console import read_bytes, suggest
from laydown.cli.picture import picture, source_of, tell
from laydown.cli.picture_terms import plan_in_words
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.plan.picture_edits import Edit

__all__ = ["picture"]

ROLES = ("highlight", "light", "midtone", "shadow", "accent")
plan_argument = click.argument("plan_", metavar="PLAN")


def _edit(plan: str, *edits: "Edit", changes: str = "") -> None:
    """Change a plan, and write it back, or to the file that was named."""
    from laydown.app.edit_plan import EditPlan, edit_plan

    kept = plan if settings().output == "-" else settings().output
    if kept == "-":
        raise click.UsageError("A plan from standard input needs -o NAME.plan to go to.")
    request = EditPlan(
        read_bytes(plan, most=allowed_sizes.PLAN),
        source_of(plan),
        edits,
        read_bytes(changes, most=allowed_sizes.CHANGES) if changes else None,
        source_of(changes),
    )
    made = edit_plan(request)
    tell(made.shown, lambda p: plan_in_words(p, regions=True), made.file, kept)
    suggest(f"laydown picture show {kept} -o regions.png, to look at its regions")


@picture.verb("merge", tasks=["edit_plan"], example="laydown picture merge lemons.plan 3 4 5")
@plan_argument
@click.argument("regions", nargs=-1, required=True, type=click.IntRange(1))
def merge(plan_: str, regions: tuple[int, ...]) -> None:
    """Make REGIONS of PLAN one; the first keeps its number and its color.

    They have to touch. PLAN is changed in place; with -o another file is written instead.
    """
    from laydown.plan.picture_edits import Merge

    _edit(plan_, Merge(regions))


@picture.verb("split", tasks=["edit_plan"], example="laydown picture split lemons.plan 7 --at 6.5")
@plan_argument
@click.argument("region", type=click.IntRange(1))
@click.option(
    "--at",
    type=click.FloatRange(0, 10),
    help="The value to part it at; where its own lights and darks part if not given.",
)
def split(plan_: str, region: int, at: float | None) -> None:
    """Part REGION of PLAN into what is lighter and what is darker than a value.

    The largest part keeps the number. PLAN is changed in place; with -o another file is written
    instead.
    """
    from laydown.plan.picture_edits import Split

    _edit(plan_, Split(region, at))


@picture.verb(
    "passage",
    tasks=["edit_plan"],
    example="laydown picture passage lemons.plan lemons 1 2 3 --role midtone",
)
@plan_argument
@click.argument("name")
@click.argument("regions", nargs=-1, required=True, type=click.IntRange(1))
@click.option("--role", type=click.Choice(ROLES), help="What they are in it.")
def passage(plan_: str, name: str, regions: tuple[int, ...], role: str | None) -> None:
    """Say that REGIONS of PLAN belong to the passage NAME; "" for none.

    Without --role, a lesson made of the plan gives roles by the order of values. PLAN is changed in
    place; with -o another file is written instead.
    """
    from laydown.plan.picture_edits import Assign

    _edit(plan_, Assign(regions, name, role))


@picture.verb("edit", tasks=["edit_plan"], example="laydown picture edit lemons.plan changes.txt")
@plan_argument
@click.argument("changes")
def edit(plan_: str, changes: str) -> None:
    """Make all CHANGES of a text file to PLAN, or none of them.

    A line each: merge 3 4; split 7 at 6.5; passage lemons: 1 2; role shadow: 3. PLAN is changed in
    place; with -o another file is written instead.
    """
    _edit(plan_, changes=changes)
