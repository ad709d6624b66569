"""``laydown range``: lines of colorants, and what is known of them on a paper."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, recipe_text

if TYPE_CHECKING:
    from laydown.app.supplies.ranges import ColorantShown, Effect, Range, RangeShown
    from laydown.media.pan_marks import MarkedPan

ranges = commands.Noun(
    "range",
    words="Lines of colorants, and what is known of them.",
    example='laydown range show Orchard --paper "Gannet smooth"',
)


@ranges.verb("list", tasks=["list_ranges"], example="laydown range list")
def list_() -> None:
    """List all ranges, and the papers they were swatched on."""
    found = console.ask()
    console.show(found, _listed, under="ranges")
    if not found:
        console.say("There are no ranges yet.")
        console.suggest("laydown swatches import FILE")


def _listed(ranges: "Sequence[Range]") -> str:
    rows = [[r.name, r.medium.value, r.colorants, r.swatches, ", ".join(r.papers)] for r in ranges]
    return columns(["range", "medium", "colorants", "swatches", "on"], rows)


@ranges.verb(
    "show", tasks=["show_range"], example='laydown range show Orchard --paper "Gannet smooth"'
)
@click.argument("name", shell_complete=asking.names_of("range"))
@asking.named_option("paper")
@click.option("--quick", is_flag=True, help="Leave out which swatch would help most.")
def show_one(name: str, paper: str, *, quick: bool) -> None:
    """Show what is measured of the range NAME on a paper, what is assumed and what is missing."""
    found = console.ask(name, paper, quick=quick, progress="fitting")
    console.show(found, _shown)
    console.suggest(f'laydown match COLOR --range "{found.range}" --paper "{found.paper}"')


def _shown(found: "RangeShown") -> str:
    parts = [
        f"{found.range} on {found.paper}",
        columns(["colorant", "value", "color, one coat", "coats swatched"], _rows(found.colorants)),
        "How its coats lie down:\n" + "\n".join(f"  {_effect(e)}" for e in found.effects),
    ]
    if found.unmeasured:
        parts.append(f"Not swatched there: {', '.join(c.name for c in found.unmeasured)}.")
    if found.marked:
        parts.append("\n".join(map(_marked, found.marked)))
    if found.missing:
        parts.append(f"Missing for a full answer: {_missing(found)}.")
    if found.odd or found.notes:
        parts.append("\n".join([*found.odd, *found.notes]))
    if found.next_swatch:
        parts.append(f"Worth swatching next: {found.next_swatch}")
    return "\n\n".join(parts)


def _rows(colorants: "tuple[ColorantShown, ...]") -> list[list[object]]:
    return [
        [
            c.colorant.name,
            f"{c.one_coat.value:.1f}",
            "colorless" if c.colorant.blender else c.one_coat.words,
            c.most_coats,
        ]
        for c in colorants
    ]


def _effect(effect: "Effect") -> str:
    surety = "assumed" if effect.assumed else "fitted"
    return f"{effect.name:10}  {effect.fitted:5.2f} ± {effect.deviation:.2f}  {surety}"


def _missing(found: "RangeShown", most: int = 5) -> str:
    texts = [recipe_text(recipe) or "bare paper" for recipe in found.missing]
    shown = " | ".join(texts[:most])
    return f"{counted(len(texts), 'swatch')}: {shown}" + (" …" if len(texts) > most else "")


def _marked(pan: "MarkedPan") -> str:
    from laydown.media.pan_marks import marks_in_words

    return f"{pan.colorant.name}: {marks_in_words(pan)}"


@ranges.verb(
    "mark",
    tasks=["mark_pan"],
    example='laydown range mark "Millrace/Reed bed" transparent staining',
)
@click.argument("pan", shell_complete=asking.names_of("colorant"))
@click.argument("marks", nargs=-1, required=True)
def mark(pan: str, marks: tuple[str, ...]) -> None:
    """Say what the trade says of a PAN of watercolor, in place of what you said before.

    MARKS are transparent, semi-opaque or opaque; staining or lifting; granulating; none takes them
    back. Matches that use the pan then tell you what to mind. The colors they promise stay as they
    are: marks are common practice, no source.
    """
    console.show(console.ask(name=pan, marks=marks), _marked)
    console.suggest("laydown range show RANGE --paper PAPER")


@ranges.verb(
    "page",
    tasks=["make_range_page"],
    example="laydown range page Estuary --from Orchard --paper 'Gannet smooth' -o estuary.html",
)
@click.argument("name", shell_complete=asking.names_of("range"))
@click.option(
    "--from",
    "ranges",
    multiple=True,
    required=True,
    shell_complete=asking.names_of("range"),
    help="A range that students may own parts of; may be repeated.",
)
@asking.named_option("paper")
@asking.searching_options
@asking.code_options
@commands.by_several
def page_that_answers(
    name: str, ranges: tuple[str, ...], paper: str, address: str, ticked: tuple[str, ...]
) -> None:
    """Make one page that converts the range NAME for just what someone owns of others.

    It works like the page of a lesson, see laydown lesson page: whoever opens it ticks what they
    own, and each color of the range shows what to lay instead.
    """
    from laydown.app.fits import Supplies

    asking.tell_of_compiling()
    wanted = asking.asked(Supplies(ranges=ranges, paper=paper))
    made = console.ask(
        range=name, asking=wanted, address=address, ticked=ticked, progress="matching"
    )
    asking.give_page(made)


@ranges.verb("remove", tasks=["remove_range"], example="laydown range remove Orchard")
@click.argument("name", shell_complete=asking.names_of("range"))
@click.option("--with-swatches", is_flag=True, help="Remove the swatches that use it, too.")
def remove(name: str, *, with_swatches: bool) -> None:
    """Remove the range NAME and its colorants; with swatches only together with them."""
    gone = console.ask(name, with_swatches=with_swatches)
    console.show(gone, lambda g: f"Removed {name} and {counted(g, 'swatch')}.", under="swatches")
    console.suggest("laydown library undo, if that was not meant")


@ranges.verb(
    "compare",
    tasks=["compare_ranges", "write_report"],
    example='laydown range compare Estuary Orchard --paper "Gannet smooth" -o compared.pdf',
)
@click.argument("first", shell_complete=asking.names_of("range"))
@click.argument("second", shell_complete=asking.names_of("range"))
@asking.named_option("paper")
@asking.tolerance_option(help="How near counts as reached.")
@asking.page_option
def compare(first: str, second: str, paper: str, tolerance: str, page: str) -> None:
    """Compare what the ranges FIRST and SECOND reach on a paper, recipes counted.

    With -o the answer is written as .pdf, .html, .csv, .json, or .svg for its two plots: value over
    hue, and the wheel of hue and chroma.
    """
    form = asking.report_wanted()
    found = console.ask(
        first=first, second=second, paper=paper, tolerance=tolerance, progress="comparing"
    )
    asking.give_report(found, form, page)
