"""``laydown paper``: papers to color on."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, tenths

if TYPE_CHECKING:
    from laydown.app.supplies.papers import PaperInWords, PaperShown

COATS = click.IntRange(1, 99)
SURFACES = click.Choice(("coated", "uncoated"))
SURFACE = "Whether it is coated: on a coated paper color stays on top."
COLOR = "Its bare color, measured: lab:L,a,b or xyz:X,Y,Z."

paper = commands.Noun("paper", words="Papers to color on.", example="laydown paper list")


@paper.verb("add", tasks=["add_paper"], example='laydown paper add "Gannet smooth" --coats-limit 6')
@click.argument("name")
@click.option("--coats-limit", type=COATS, help="How many coats in all it bears.")
@click.option("--color", default="", metavar="COLOR", help=COLOR)
@click.option("--surface", type=SURFACES, help=SURFACE)
def add(name: str, coats_limit: int | None, color: str, surface: str | None) -> None:
    """Add the paper NAME, before anything was swatched on it.

    Importing swatches adds their papers by itself.
    """
    from laydown.media.recipe import USUAL_COATS_LIMIT, Surface

    limit = coats_limit or USUAL_COATS_LIMIT
    made = console.ask(
        name, coats_limit=limit, color=color, surface=Surface(surface or ""), makes=True
    )
    console.show(
        made, lambda p: f"Added {p.name}, which bears {counted(p.coats_limit, 'coat')} in all."
    )
    bare = "" if made.measured else ", with a patch of the bare paper in it"
    console.suggest(f"laydown swatches import FILE{bare}")


@paper.verb(
    "anchors",
    tasks=["choose_anchors"],
    example='laydown paper anchors Orchard --known-on "Gannet smooth"',
)
@click.argument("name", metavar="RANGE", shell_complete=asking.names_of("range"))
@asking.named_option("paper", "--known-on")
@asking.option("--count", among=(1, 99), default=5)
def anchors(name: str, known_on: str, count: int) -> None:
    """Name the few colorants of RANGE to swatch on a new paper, so that the rest can be carried."""
    found = console.ask(name, paper=known_on, count=count)
    named = "\n".join(f"  {colorant.name}" for colorant in found.anchors)
    told = f"Lay one coat of each of these, and leave a patch bare:\n{named}"
    console.show(found, lambda _: told)
    console.suggest(
        f'lay one coat of each, import them, then laydown match COLOR --range "{found.range}" '
        f'--paper NEW --carried-from "{found.paper}"'
    )


@paper.verb("list", tasks=["list_papers"], example="laydown paper list")
def list_() -> None:
    """List all papers with their color."""
    found = console.ask()
    console.show(found, _listed, under="papers")
    if not found:
        console.say("There are no papers yet.")
        console.suggest("laydown swatches import FILE")


def _listed(papers: "Sequence[PaperInWords]") -> str:
    rows = [
        [
            p.name,
            f"{p.color.value:.1f}",
            p.color.words,
            "measured" if p.measured else "assumed",
            p.coats_limit,
        ]
        for p in papers
    ]
    return columns(["paper", "value", "color", "which is", "coats it bears"], rows)


@paper.verb("show", tasks=["show_paper"], example='laydown paper show "Gannet smooth"')
@click.argument("name", shell_complete=asking.names_of("paper"))
def show_one(name: str) -> None:
    """Show the paper NAME and what has been swatched on it."""
    console.show(console.ask(name), _shown)


def _shown(paper: "PaperShown") -> str:
    told = (
        f"{counted(paper.bare_swatches, 'bare patch')} measured"
        if paper.measured
        else ("not measured: a usual white is assumed")
    )
    L, a, b = (tenths(number) for number in paper.color.lab)
    lines = [
        paper.name,
        (
            f"color    {paper.color.words}, value {paper.color.value:.1f}, "
            f"L* {L} a* {a} b* {b} ({told})"
        ),
        f"coats    {paper.coats_limit} at most in all",
    ]
    if paper.surface:
        lines.append(f"surface  {paper.surface}")
    if paper.fluorescent:
        lines.append("light    it sends out more than falls on it at some wavelengths (brightener)")
    lines += [
        f"{r.range}: {counted(r.swatches, 'swatch')} of {counted(r.colorants, 'colorant')}"
        for r in paper.ranges
    ]
    return "\n".join(lines)


@paper.verb(
    "edit", tasks=["edit_paper"], example='laydown paper edit "Gannet smooth" --coats-limit 8'
)
@click.argument("name", shell_complete=asking.names_of("paper"))
@click.option("--coats-limit", type=COATS, help="How many coats in all it bears.")
@click.option("--color", default="", metavar="COLOR", help=COLOR)
@click.option("--surface", type=SURFACES, help=SURFACE)
def edit(name: str, coats_limit: int | None, color: str, surface: str | None) -> None:
    """Say how many coats in all the paper NAME bears, or what color it is bare.

    It bears as many as it takes before it pills, bleeds or fills. A color goes before what
    pictures said of the bare paper.
    """
    from laydown.media.recipe import Surface

    if coats_limit is None and not color and surface is None:
        raise click.UsageError("Say what to change: --coats-limit, --color or --surface.")
    told = None if surface is None else Surface(surface)
    made = console.ask(name, coats_limit=coats_limit, color=color, surface=told)
    console.show(made, _edited)


def _edited(paper: "PaperInWords") -> str:
    how = "measured" if paper.measured else "assumed"
    return (
        f"{paper.name} bears {counted(paper.coats_limit, 'coat')} in all; bare it is "
        f"{paper.color.words}, value {paper.color.value:.1f} ({how})."
    )


@paper.verb("remove", tasks=["remove_paper"], example='laydown paper remove "Gannet smooth"')
@click.argument("name", shell_complete=asking.names_of("paper"))
@click.option("--with-swatches", is_flag=True, help="Remove the swatches on it, too.")
def remove(name: str, *, with_swatches: bool) -> None:
    """Remove the paper NAME; one that has swatches only together with them."""
    gone = console.ask(name, with_swatches=with_swatches)
    console.show(gone, lambda g: f"Removed {g.name} and {counted(g.swatches, 'swatch')}.")
    console.suggest("laydown library undo, if that was not meant")
