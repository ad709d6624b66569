"""``laydown library``, the one file that keeps everything, and ``laydown demo``, the whole job."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, recipe_text

if TYPE_CHECKING:
    from laydown.app.demo import DemoDone, DemoSupplies
    from laydown.match.outcome import Match


library = commands.Noun("library", "The one file that keeps everything.", "backup safe.db")


@library.verb("path", "show_library")
def path() -> None:
    """Say where the library is and what it holds."""
    found = console.ask()
    console.show(found, lambda f: str(f["location"]))
    swatches, colorants, ranges, papers, kits = (
        counted(found[f"{thing}{'es' if thing == 'swatch' else 's'}"], thing)
        for thing in ("swatch", "colorant", "range", "paper", "kit")
    )
    console.say(f"It holds {swatches} of {colorants} in {ranges}, {papers} and {kits}.")


@library.verb("backup", "back_up_library", "safe.db")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def backup(file: Path) -> None:
    """Write the whole library to FILE, which must not be there yet."""
    made = console.ask(file)
    console.show(made, lambda path: f"The library is backed up in {path}.", under="path")


@library.verb("copy", "copy_library", "postgresql://teacher@school/colors")
@click.argument("to")
def copy(to: str) -> None:
    """Copy the whole library to another place: a new file, or an empty database on a server.

    From a server, too: give its address with --db, and the path of a new file.
    """
    made = console.ask(to)
    console.show(made, lambda place: f"The library is copied to {place}.", under="location")


@library.verb("restore", "restore_library", "safe.db")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def restore(file: Path) -> None:
    """Put the backup FILE in place of the library; what is there now is kept beside it.

    It works on a library that is damaged and can't be opened any more, too.
    """
    made = console.ask(file, makes=True, mends=True)
    path, before, older = made
    told = f"{path} is now the library.\nWhat was there before: {before}"
    console.show(made, lambda _: told, under="path before is_older")
    if older:
        console.say("It was from an older laydown, and is brought up to date now.")


@library.verb("add-demo", "add_demo")
def add_demo() -> None:
    """Put the demo's ranges, papers and kits into this library, to try things out on.

    All of it is invented. For a library of the demo's own, see laydown demo.
    """
    made = console.ask(makes=True)
    console.show(made, lambda m: f"Put in, all invented: {_named(m)}.", under=OF_DEMO)
    console.suggest("laydown library remove-demo, when you have seen enough")


@library.verb("remove-demo", "remove_demo")
def remove_demo() -> None:
    """Take out of this library what add-demo put in, whatever was done since."""
    gone = console.ask()
    console.show(gone, lambda g: f"Taken out: {_named(g) or 'nothing'}.", under=OF_DEMO)


OF_DEMO = "ranges papers kits swatches"


def _named(held: "DemoSupplies") -> str:
    return ", ".join(name for names in held[:3] for name in names)


@library.verb("undo", "undo_change")
def undo() -> None:
    """Take back the latest command that changed the library, as a whole.

    Undoing again goes one command further back.
    """
    from laydown.app.library import undo_change

    with console.library_in_use() as library:
        undone, left = undo_change(library), len(library.history(own=True))
    more = f"{counted(left, 'change')} before it can be, too."
    console.show(undone, lambda change: f"Taken back: {change.label}.\n{more}")


@library.verb("redo", "redo_change")
def redo() -> None:
    """Do again what was taken back last, until something else is changed."""
    console.show(console.ask(), lambda change: f"Done again: {change.label}.")


@library.verb("history", "list_history")
def history() -> None:
    """List the changes that can be taken back, latest first."""
    found = console.ask()
    people = ["who"] if any(c.who for c in found) else []
    console.show_table(
        found,
        ["when", *people, "what", "rows"],
        lambda c: [f"{c.when:%Y-%m-%d %H:%M} UTC", *([c.who] if people else []), c.label, c.rows],
        under="changes",
        none="Nothing was changed yet.",
    )


FIRST_PARTS = 4
"""How many of the parts that fade first the demo tells of; its report tells all."""


@commands.verb("demo", "run_demo")
@click.option(
    "--folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("laydown-demo"),
    show_default=True,
    help="Where the demo's own library and its charts go.",
)
@asking.flag("--whole-range", "Convert all of the teacher's range, too.")
@asking.flag("--class for_class", "Make a class pack, runs and supplies, too.")
@asking.page_option
def demo(folder: Path, page: str, *, whole_range: bool, for_class: bool) -> None:
    """See a lesson converted from a teacher's markers to a student's, on invented data.

    An evening class draws "Lemons in a blue bowl". The teacher uses the range Estuary, a student
    owns Orchard, another the pencils of Hedgerow; the class paper is Gannet smooth. All of it is
    invented, and was swatched on a simulated bench that knows nothing of laydown's own model, so
    that the demo can say how far its predictions were from the truth. Your own library is not
    touched.
    """
    console.say("All data of the demo is invented.")
    asking.tell_of_compiling()
    from laydown.app.demo import RunDemo, run_demo

    request = RunDemo(folder, page, whole_range, for_class)
    with console.progress_bar("matching") as watch:
        done = run_demo(request, watch=watch, tell=console.say)
    console.show(done, _told)
    console.suggest(f'laydown match "Rope locker" --kit student --db "{done.library}"')


def _told(done: "DemoDone") -> str:
    """Tell what the demo did, paragraph by paragraph."""
    return "\n\n".join("\n".join(lines) for lines in _paragraphs(done) if lines)


def _paragraphs(done: "DemoDone") -> Iterator[list[str]]:
    missed, in_pencil, in_both = done.missed, done.missed_in_pencil, done.missed_in_both
    yield [f"“{done.chart.title}” from {done.chart.kit}'s markers on {done.chart.paper.name}"]
    yield [_table(done.chart.matches)]
    yield [
        f"Against the simulated truth, these {missed.recipes} predictions were off by",
        f"{missed.mean:.1f} on the mean and {missed.largest:.1f} at most (CIEDE2000);",
        f"{missed.inside} of the truths lie where 80 in 100 should.",
    ]
    yield ["The same for a student who works in pencil:"]
    yield [_table(done.in_pencil.matches)]
    yield [f"Off by {in_pencil.mean:.1f} on the mean and {in_pencil.largest:.1f} at most."]
    laid = ((m, m.best.prediction.recipe.colorants) for m in done.in_both.matches)
    layered = [match for match, colorants in laid if len({c.medium for c in colorants}) > 1]
    count = f"{len(layered)} of {in_both.recipes} recipes"
    yield [f"For one who owns both, {count} lay pencil over marker:"]
    yield [_table(layered)]
    yield [f"Off by {in_both.mean:.1f} on the mean and {in_both.largest:.1f} at most, all counted."]
    yield _sheet(done)
    yield from _wall(done)
    yield _lamp(done)
    yield _drawn(done)
    yield ["The charts:", *(f"  {path}" for path in done.files)]


def _drawn(done: "DemoDone") -> list[str]:
    drawn = done.drawn
    planned = f"{len(drawn.palette)} colors in {len(drawn.regions)} regions"
    student, teacher = (kit.lost.mean for kit in drawn.kits)
    return [
        "A drawing of the lemons, made by code so that each of its parts is known, was planned:",
        f"{planned}; {100 * done.right:.0f} % of it lies in the right step of value.",
        f"From the student's markers it is off by {student:.1f} on the mean, from the teacher's by",
        f"{teacher:.1f}.",
    ]


def _sheet(done: "DemoDone") -> list[str]:
    missed = done.missed_from_sheet
    return [
        "A student without an instrument colored a printed sheet in and photographed it:",
        f"{done.taken} of {done.cells} cells were taken over, {done.read_off:.1f} off on the",
        f"mean (the reading said {done.said_off:.1f}); the lesson from those is off by",
        f"{missed.mean:.1f} on the mean and {missed.largest:.1f} at most;",
        f"{missed.inside} of {missed.recipes} truths lie where 80 in 100 should.",
    ]


def _wall(done: "DemoDone") -> Iterator[list[str]]:
    from laydown.app.light.life import light_words, part_name

    life = done.on_a_wall
    yield [
        f"On a wall ({light_words(life.exposure)})",
        "the marker version changes just noticeably, by classes of lightfastness that are",
        "invented, too:",
    ]
    rows = [
        [part_name(part), f"{part.first} ({part.because})", part.noticeable_said]
        for part in life.parts[:FIRST_PARTS]
    ]
    yield [columns(["part that goes first", "by its", "just noticeable"], rows)]
    unknown = [part_name(part) for part in life.parts if not part.noticeable]
    yield [
        *(
            f"In {part_name(swap)}, {recipe_text(swap.recipe)} lasts longer. {swap.words}"
            for swap in life.swaps
            if swap.recipe
        ),
        *(f"No forecast for {name}: nothing is stated of a marker in it." for name in unknown),
    ]


def _lamp(done: "DemoDone") -> list[str]:
    from laydown.plan.light.lights import Holding, summary_words, verdict_words

    told = [
        "In pencil, under other lights (a window, a lamp, tubes and three LEDs):",
        summary_words([color.check for color in done.by_lamp.colors]),
    ]
    for color in done.by_lamp.colors:
        if color.check.holding is not Holding.BREAKS:
            continue
        told.append(f"{color.target.name} {verdict_words(color.check)};")
        if color.instead and color.instead_check:
            recipe = recipe_text(color.instead.prediction.recipe)
            told.append(f"  instead {recipe}: {verdict_words(color.instead_check)}.")
        else:
            told.append("  nothing in the kit holds better.")
    return told


def _table(matches: "Iterable[Match]") -> str:
    rows = [[*console.match_row(match), match.best.verdict] for match in matches]
    return columns([*console.MATCH_HEADER, "verdict"], rows)
