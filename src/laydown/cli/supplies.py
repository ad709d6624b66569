"""``laydown range``, ``paper`` and ``kit``: what there is, what you own, and what to buy."""

from typing import TYPE_CHECKING, Any

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, recipe_text

if TYPE_CHECKING:
    from laydown.app.supplies.kits import BoxLaidOut, KitChanged
    from laydown.app.supplies.papers import PaperInWords
    from laydown.app.supplies.ranges import RangeShown
    from laydown.media.pan_marks import MarkedPan
    from laydown.media.recipe import Medium


UNDO = "laydown library undo, if that was not meant"

ranges = commands.Noun(
    "range",
    "Lines of colorants, and what is known of them.",
    'show Orchard --paper "Gannet smooth"',
)


@ranges.verb("list", "list_ranges")
def list_ranges() -> None:
    """List all ranges, and the papers they were swatched on."""
    console.show_table(
        console.ask(),
        ["range", "medium", "colorants", "swatches", "on"],
        lambda r: [r.name, r.medium.value, r.colorants, r.swatches, ", ".join(r.papers)],
        under="ranges",
        none="There are no ranges yet.",
        then="laydown swatches import FILE",
    )


@ranges.verb("show", "show_range", 'Orchard --paper "Gannet smooth"')
@click.argument("name", shell_complete=asking.names_of("range"))
@asking.named_option("paper")
@asking.flag("--quick", "Leave out which swatch would help most.")
def show_range(name: str, paper: str, *, quick: bool) -> None:
    """Show what is measured of the range NAME on a paper, what is assumed and what is missing."""
    found = console.ask(name, paper, quick=quick, progress="fitting")
    console.show(found, _range)
    console.suggest(f'laydown match COLOR --range "{found.range}" --paper "{found.paper}"')


MOST_MISSING = 5
"""Swatches that are named; of more it is told how many there are."""


def _range(found: "RangeShown") -> str:
    rows = [
        [
            c.colorant.name,
            f"{c.one_coat.value:.1f}",
            "colorless" if c.colorant.blender else c.one_coat.words,
            c.most_coats,
        ]
        for c in found.colorants
    ]
    surety = {True: "assumed", False: "fitted"}
    effects = (
        f"  {e.name:10}  {e.fitted:5.2f} ± {e.deviation:.2f}  {surety[e.assumed]}"
        for e in found.effects
    )
    parts = [
        f"{found.range} on {found.paper}",
        columns(["colorant", "value", "color, one coat", "coats swatched"], rows),
        "\n".join(["How its coats lie down:", *effects]),
    ]
    if found.unmeasured:
        parts.append(f"Not swatched there: {', '.join(c.name for c in found.unmeasured)}.")
    if found.marked:
        parts.append("\n".join(map(_marked, found.marked)))
    if found.missing:
        texts = [recipe_text(recipe) or "bare paper" for recipe in found.missing]
        shown = " | ".join(texts[:MOST_MISSING]) + (" …" if len(texts) > MOST_MISSING else "")
        parts.append(f"Missing for a full answer: {counted(len(texts), 'swatch')}: {shown}.")
    if found.odd or found.notes:
        parts.append("\n".join([*found.odd, *found.notes]))
    if found.next_swatch:
        parts.append(f"Worth swatching next: {found.next_swatch}")
    return "\n\n".join(parts)


def _marked(pan: "MarkedPan") -> str:
    from laydown.media.pan_marks import marks_in_words

    return f"{pan.colorant.name}: {marks_in_words(pan)}"


@ranges.verb("mark", "mark_pan", '"Millrace/Reed bed" transparent staining')
@click.argument("pan", shell_complete=asking.names_of("colorant"))
@click.argument("marks", nargs=-1, required=True)
def mark_pan(pan: str, marks: tuple[str, ...]) -> None:
    """Say what the trade says of a PAN of watercolor, in place of what you said before.

    MARKS are transparent, semi-opaque or opaque; staining or lifting; granulating; none takes them
    back. Matches that use the pan then tell you what to mind. The colors they promise stay as they
    are: marks are common practice, no source.
    """
    console.show(console.ask(name=pan, marks=marks), _marked)
    console.suggest("laydown range show RANGE --paper PAPER")


@ranges.verb(
    "page", "make_range_page", "Estuary --from Orchard --paper 'Gannet smooth' -o estuary.html"
)
@click.argument("name", shell_complete=asking.names_of("range"))
@asking.text(
    "--from ranges",
    words="A range that students may own parts of; may be repeated.",
    many=True,
    required=True,
    shell_complete=asking.names_of("range"),
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
    codes: dict[str, Any] = {"address": address, "ticked": ticked}
    asking.give_page(console.ask(range=name, asking=wanted, **codes, progress="matching"))


@ranges.verb("remove", "remove_range", "Orchard")
@click.argument("name", shell_complete=asking.names_of("range"))
@asking.flag("--with-swatches", "Remove the swatches that use it, too.")
def remove_range(name: str, *, with_swatches: bool) -> None:
    """Remove the range NAME and its colorants; with swatches only together with them."""
    _tell_removed(name, console.ask(name, with_swatches=with_swatches))


def _tell_removed(name: str, swatches: int) -> None:
    """Say that a range or a paper is gone, and how many swatches with it."""
    told = f"Removed {name} and {counted(swatches, 'swatch')}."
    console.show(swatches, lambda _: told, under="swatches")
    console.suggest(UNDO)


@ranges.verb(
    "compare",
    "compare_ranges write_report",
    'Estuary Orchard --paper "Gannet smooth" -o compared.pdf',
)
@click.argument("first", shell_complete=asking.names_of("range"))
@click.argument("second", shell_complete=asking.names_of("range"))
@asking.named_option("paper")
@asking.tolerance_option(words="How near counts as reached.")
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


_paper_options = asking.together(
    asking.option("--coats-limit", (1, 99), words="How many coats in all it bears."),
    asking.text("--color", "COLOR", "Its bare color, measured: lab:L,a,b or xyz:X,Y,Z."),
    asking.option(
        "--surface",
        ("coated", "uncoated"),
        words="Whether it is coated: on a coated paper color stays on top.",
    ),
)
paper = commands.Noun("paper", "Papers to color on.", "list")


@paper.verb("add", "add_paper", '"Gannet smooth" --coats-limit 6')
@click.argument("name")
@_paper_options
def add(name: str, coats_limit: int | None, color: str, surface: str | None) -> None:
    """Add the paper NAME, before anything was swatched on it.

    Importing swatches adds their papers by itself.
    """
    from laydown.media.recipe import USUAL_COATS_LIMIT, Surface

    limit, told = coats_limit or USUAL_COATS_LIMIT, Surface(surface or "")
    made = console.ask(name, coats_limit=limit, color=color, surface=told, makes=True)
    bears = counted(made.coats_limit, "coat")
    console.show(made, lambda p: f"Added {p.name}, which bears {bears} in all.")
    bare = "" if made.measured else ", with a patch of the bare paper in it"
    console.suggest(f"laydown swatches import FILE{bare}")


@paper.verb("anchors", "choose_anchors", 'Orchard --known-on "Gannet smooth"')
@click.argument("name", metavar="RANGE", shell_complete=asking.names_of("range"))
@asking.named_option("paper", "--known-on")
@asking.option("--count", (1, 99), 5)
def anchors(name: str, known_on: str, count: int) -> None:
    """Name the few colorants of RANGE to swatch on a new paper, so that the rest can be carried."""
    found = console.ask(name, paper=known_on, count=count)
    named = "\n".join(f"  {colorant.name}" for colorant in found)
    told = f"Lay one coat of each of these, and leave a patch bare:\n{named}"
    console.show(found, lambda _: told, under="anchors")
    console.suggest(
        f'lay one coat of each, import them, then laydown match COLOR --range "{name}" '
        f'--paper NEW --carried-from "{known_on or "PAPER"}"'
    )


@paper.verb("list", "list_papers")
def list_papers() -> None:
    """List all papers with their color."""
    known = {True: "measured", False: "assumed"}
    console.show_table(
        console.ask(),
        ["paper", "value", "color", "which is", "coats it bears"],
        lambda p: [p.name, f"{p.color.value:.1f}", p.color.words, known[p.measured], p.coats_limit],
        under="papers",
        none="There are no papers yet.",
        then="laydown swatches import FILE",
    )


@paper.verb("show", "show_paper", '"Gannet smooth"')
@click.argument("name", shell_complete=asking.names_of("paper"))
def show_paper(name: str) -> None:
    """Show the paper NAME and what has been swatched on it."""
    console.show(console.ask(name), _paper)


def _paper(paper: "PaperInWords") -> str:
    told = "not measured: a usual white is assumed"
    if paper.measured:
        told = f"{counted(paper.bare_swatches or 0, 'bare patch')} measured"
    lines = [
        paper.name,
        f"color    {console.color_text(paper.color)} ({told})",
        f"coats    {paper.coats_limit} at most in all",
    ]
    if paper.surface:
        lines.append(f"surface  {paper.surface}")
    if paper.fluorescent:
        lines.append("light    it sends out more than falls on it at some wavelengths (brightener)")
    lines += [
        f"{r.range}: {counted(r.swatches, 'swatch')} of {counted(r.colorants, 'colorant')}"
        for r in paper.ranges or ()
    ]
    return "\n".join(lines)


@paper.verb("edit", "edit_paper", '"Gannet smooth" --coats-limit 8')
@click.argument("name", shell_complete=asking.names_of("paper"))
@_paper_options
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
    how = "measured" if made.measured else "assumed"
    bare = f"bare it is {made.color.words}, value {made.color.value:.1f} ({how})"
    bears = counted(made.coats_limit, "coat")
    console.show(made, lambda p: f"{p.name} bears {bears} in all; {bare}.")


@paper.verb("remove", "remove_paper", '"Gannet smooth"')
@click.argument("name", shell_complete=asking.names_of("paper"))
@asking.flag("--with-swatches", "Remove the swatches on it, too.")
def remove_paper(name: str, *, with_swatches: bool) -> None:
    """Remove the paper NAME; one that has swatches only together with them."""
    _tell_removed(name, console.ask(name, with_swatches=with_swatches))


MOST_BYTES = 1_000_000
"""A longer list of names is some other file."""

kit = commands.Noun("kit", "The colorants you own.", 'own mine Quince Fig "Orchard/Pear skin"')


@kit.verb("create", "create_kit", "mine")
@click.argument("name")
def create(name: str) -> None:
    """Create the kit NAME with nothing in it."""
    console.show(console.ask(name, makes=True), lambda k: f"Created the kit {k}.", under="name")
    console.suggest(f'laydown kit own "{name}" COLORANT…, or --range RANGE')


@kit.verb("list", "list_kits")
def list_kits() -> None:
    """List all kits."""
    console.show_table(
        console.ask(),
        ["kit", "colorants", "out of"],
        lambda k: [k.name, len(k.colorants), ", ".join(k.ranges)],
        under="kits",
        none="There are no kits yet.",
        then="laydown kit create NAME",
    )


@kit.verb("show", "show_kit", "mine")
@click.argument("name", shell_complete=asking.names_of("kit"))
def show_kit(name: str) -> None:
    """Show what is in the kit NAME, and on which papers it was swatched."""
    console.show_table(
        console.ask(name),
        ["colorant", "range", "medium", "code", "swatched on", "stock"],
        lambda k: [
            k.colorant.name,
            k.colorant.range,
            k.colorant.medium.value,
            k.colorant.code,
            ", ".join(k.papers) or "no paper yet",
            "" if k.stock.value == "there" else k.stock.value,
        ],
        under="colorants",
    )


@kit.verb("page", "lay_out_box write_report", '--kit mine --paper "Gannet smooth" -o box.pdf')
@asking.page_option
@asking.supplies_options
def lay_out(page: str) -> None:
    """Lay out all you own on a page for the wall: by hue and value, with names, and as a wheel.

    With -o it is written as .pdf, .html, .csv or .json.
    """
    form = asking.report_wanted()
    found = console.ask(supplies=asking.supplies())
    asking.give_report(found, form, page, tell=_laid_out)
    console.suggest("the same with -o box.pdf, to pin it to the wall")


def _laid_out(found: "BoxLaidOut") -> str:
    from laydown.color.naming import color_name

    listed = sorted(found.shades, key=lambda one: -one.value)
    rows = [[one.name, f"{one.value:.1f}", color_name(one.lab)] for one in listed]
    return columns(["colorant", "value", "one coat"], rows)


_names = asking.together(
    click.argument("name", shell_complete=asking.names_of("kit")),
    click.argument("colorants", nargs=-1, shell_complete=asking.names_of("colorant")),
    asking.named_option(
        "range", "--range ranges", "A range as a whole; may be given several times.", many=True
    ),
    asking.text("--from listed", "FILE", "A text file with one name a line; - is stdin."),
)
"""The parameters that say which colorants of which kit are meant."""
AS_CHANGED = "kit changed unchanged colorants"


@kit.verb("own", "own_colorants", "mine Quince Fig")
@_names
@asking.text("--add-to", "RANGE", "Add unknown colorants to this range.")
@asking.medium_option
def own(*, name: str, add_to: str, medium: "Medium | None", **named: Any) -> None:
    """Put COLORANTS into the kit NAME.

    A colorant is named by its name, by Range/Name, or by the code you gave it.
    """
    changed = console.ask(name, **_named(**named), new_range=add_to, medium=medium)
    console.show(changed, lambda c: _changed(c, "Now in", "Already in"), under=AS_CHANGED)
    console.suggest(f'laydown match COLOR --kit "{name}"')


@kit.verb("disown", "disown_colorants", "mine Fig")
@_names
def disown(name: str, **named: Any) -> None:
    """Take COLORANTS out of the kit NAME; their swatches stay."""
    changed = console.ask(name, **_named(**named))
    console.show(changed, lambda c: _changed(c, "No longer in", "Not in"), under=AS_CHANGED)


@kit.verb("mark", "mark_stock", 'mine Fig --as "running low"')
@click.argument("name", shell_complete=asking.names_of("kit"))
@click.argument("colorant", shell_complete=asking.names_of("colorant"))
@asking.option(
    "--as stock",
    ("there", "running low", "used up", "on loan"),
    words="How it stands with it.",
    required=True,
)
def mark_stock(name: str, colorant: str, stock: str) -> None:
    """Say that COLORANT of the kit NAME runs low, is used up, is on loan, or is there again.

    What is used up or on loan is left out of every search in the kit until it is there again.
    """
    from laydown.media.recipe import Stock

    marked = console.ask(name, colorant, Stock(stock))
    console.show(marked, lambda m: f"{m.colorant.name} in {name}: {m.stock}.")


def _named(colorants: tuple[str, ...], ranges: tuple[str, ...], listed: str) -> dict[str, Any]:
    names = (*colorants, *console.names_in(listed, most=MOST_BYTES))
    if not names and not ranges:
        raise click.UsageError("Say which colorants: by name, with --range, or with --from FILE.")
    return {"names": names, "ranges": ranges}


def _changed(changed: "KitChanged", moved: str, same: str) -> str:
    name, new, old, held = changed
    lines = [f"{moved} {name}: {counted(len(new), 'colorant')}."]
    if old:
        lines.append(f"{same} {name}: {', '.join(c.name for c in old)}.")
    lines.append(f"The kit now holds {counted(held, 'colorant')}.")
    return "\n".join(lines)


@kit.verb("check", "check_names", "--from list.txt")
@click.argument("names", nargs=-1)
@asking.text("--from listed", "FILE", "A text file with one name a line.")
def check(names: tuple[str, ...], listed: str) -> None:
    """Say which NAMES stand for colorants here, and what the others may have meant."""
    asked = (*names, *console.names_in(listed, most=MOST_BYTES))
    if not asked:
        raise click.UsageError("Say which names, or --from FILE.")
    found = console.ask(asked)
    clear, unclear = found
    lines = [f"{counted(len(clear), 'colorant')} clear."]
    lines += [f"{name}: {' or '.join(m) or 'nothing near'}?" for name, m in unclear.items()]
    console.show(found, lambda _: "\n".join(lines), under="found unclear")


@kit.verb("begin", "begin_kit", 'mine Quince Fig --paper "Gannet smooth" -o sheet.pdf')
@click.argument("name")
@click.argument("colorants", nargs=-1)
@asking.text("--from listed", "FILE", "A text file with one name a line.")
@asking.text("--paper", "PAPER", "What you color on.", required=True)
@asking.text("--range range_", "RANGE", "What new ones belong to.")
@asking.medium_option
@asking.text("--color wanted", "COLOR", "A wanted color.", many=True)
@asking.page_option
def begin(name: str, colorants: tuple[str, ...], listed: str, range_: str, **given: Any) -> None:
    """Begin with nothing but names: the kit NAME of COLORANTS, and its first short sheet as PDF."""
    from laydown.app.sheets.printing import begin_kit, draw_sheet
    from laydown.app.supplies.kits import show_kit
    from laydown.sheet.words import why

    names = (*colorants, *console.names_in(listed, most=MOST_BYTES))
    with console.library_in_use(may_make=True) as library:
        made = begin_kit(library, names, kit=name, range=range_, **given)
        held = counted(len(show_kit(library, name)), "colorant")
        console.show_document(made, lambda: draw_sheet(library, made))
    console.say(f"The kit {name} holds {held}. {why(made)}")
    console.suggest(console.COLOR_IN)


@kit.verb("remove", "remove_kit", "mine")
@click.argument("name", shell_complete=asking.names_of("kit"))
def remove_kit(name: str) -> None:
    """Remove the kit NAME; its colorants and their swatches stay in the library."""
    console.show(console.ask(name), lambda k: f"Removed the kit {k}.", under="name")
    console.suggest(UNDO)


@kit.verb(
    "choose",
    "choose_kit write_report",
    'lemons.txt --range Orchard --paper "Gannet smooth" -o buy.pdf',
)
@click.argument("lessons", nargs=-1)
@asking.named_option(
    "range",
    "--range ranges",
    "What could be bought; may be repeated. Without it, all ranges known on the paper.",
    many=True,
)
@asking.flag("--apart", "Choose within each range by itself, side by side.")
@asking.named_option("paper")
@asking.named_option("kit", words="What is owned already.")
@asking.named_option(
    "kit",
    "--out-of out_of",
    "Choose out of this kit, as for a journey; without LESSONS all its colors are wanted.",
)
@asking.text("--must", "COLORANT", "Buy this in any case.", many=True)
@asking.text("--never", "COLORANT", "Don't use this.", many=True)
@asking.option(
    "--aim",
    ("fewest", "cheapest", "best"),
    "fewest",
    "Fewest colorants, cheapest purchase, or the best that --most purchases do.",
)
@asking.option("--most", (0, None), words="At most so many purchases.")
@asking.option(
    "--budget",
    (0.0, None),
    words="All may cost so much, solvent and paper counted.",
    callback=lambda _, __, euros: None if euros is None else round(100 * euros),
)
@asking.text(
    "--prices",
    "FILE",
    "A price list: CSV with kind (single, set, extra), name, contents, price, currency."
    " A range named as a single prices each of its colorants.",
)
@asking.tolerance_option(words="How close is close enough.")
@asking.option("--steps", (1, 2), 2)
@asking.option("--coats", (1, 3), 2)
@asking.option("--kl k_L", (0.1, 10.0), 0.5, asking.K_L)
@asking.option("--step-effort step", (0.0, 20.0), words=asking.STEP_EFFORT)
@asking.option("--coat-effort coat", (0.0, 20.0), words=asking.COAT_EFFORT)
@asking.sense_option()
@asking.option("--seconds", (1.0, 3600.0), 60.0, "How long to try to prove the choice.")
@asking.page_option
def choose(lessons: tuple[str, ...], prices: str, page: str, **given: Any) -> int:
    """Choose what to buy so that the colors of LESSONS can be made near enough.

    Recipes of two steps count, by what your hand will get: what is named for a color is what
    `match` gives from what you then have. A color counts as made that is probably close, or that
    may pass where nothing brings it nearer. The answer says whether it is proven the best, else the
    gap that is proven; what fewer purchases cost and more bring; and what can be made with nothing
    bought. A color that only a longer recipe makes is named with it. With -o a supply list is
    written (.pdf, .html, .csv, .json). The exit code is 3 when a color is out of reach whatever you
    buy, as `lesson convert` says of it too.
    """
    if given["aim"] == "best" and given["most"] is None:
        raise click.UsageError("The best of how many purchases? Say --most N.")
    if not lessons and not given["out_of"]:
        raise click.UsageError("Missing argument 'LESSONS...'. Or say --out-of KIT.")
    form = asking.report_wanted()
    found = console.ask(
        lessons=tuple(console.given_file(name, most=allowed_sizes.LIST) for name in lessons),
        prices=console.given_file(prices, most=allowed_sizes.LIST) if prices else None,
        progress="choosing",
        **given,
    )
    asking.give_report(found, form, page)
    unreachable = any(group.choice.unreachable for group in found.groups)
    return commands.ANSWER_IS_NO if unreachable else commands.DONE
