"""``laydown swatches``: measured patches."""

from typing import TYPE_CHECKING

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, tenths

if TYPE_CHECKING:
    from laydown.app.swatches import FileImported, StoredSwatch, Swatches, SwatchesImported

FORMS = click.Choice(("csv", "cgats", "cxf"))
FLAGS = {
    "above-white": "more than white somewhere (a brightener, or fluorescence)",
    "extended-bands": "measured on fewer bands, and the ends extended",
}
_range = asking.named_option("range", "--range", "range_")

swatches = commands.Noun(
    "swatches", words="Measured patches.", example="laydown swatches import mine.csv"
)


@swatches.verb("import", "import_swatches", "laydown swatches import mine.csv")
@click.argument("files", nargs=-1, required=True, metavar="FILE…")
@click.option(
    "--format", "form", type=FORMS, default=None, help="Read it as this, whatever it looks like."
)
@click.option(
    "--range", "range_", default="", metavar="RANGE", help="Of patches whose range isn't said."
)
@click.option("--paper", default="", metavar="PAPER", help="Of patches whose paper isn't said.")
@click.option("--medium", default="", metavar="MEDIUM", help="Of patches whose medium isn't said.")
def import_(files: tuple[str, ...], form: str | None, range_: str, paper: str, medium: str) -> None:
    """Bring swatches in from CSV, CGATS.17 or CxF3 files; - is standard input.

    All of every file is taken in, or nothing at all. The columns of the CSV form are described in
    docs/cli.md.
    """
    content = tuple(console.given_file(file, most=allowed_sizes.SWATCHES) for file in files)
    taken = console.ask(
        files=content,
        form=form or "",
        range=range_,
        paper=paper,
        medium=medium,
        makes=True,
        progress="Bringing in",
    )
    console.show(taken, _imported)
    console.suggest(_after_import(taken))


def _imported(taken: "SwatchesImported") -> str:
    lines = [line for file in taken.files for line in _imported_file(file)]
    if taken.ranges:
        lines.append(f"New ranges: {', '.join(taken.ranges)}.")
    if taken.papers:
        lines.append(f"New papers: {', '.join(taken.papers)}.")
    if taken.colorants:
        lines.append(f"New colorants: {len(taken.colorants)}.")
    return "\n".join(lines)


def _imported_file(file: "FileImported") -> list[str]:
    lines = [f"{file.source}: {counted(file.new, 'new swatch')} of {file.rows}."]
    if file.repeated:
        lines.append(f"  Here already, and skipped: {_lines(file.repeated)}.")
    lines += [
        f"  Flagged {flag}: {counted(len(where), 'swatch')}, {FLAGS.get(flag, 'looking odd')}; "
        f"{_lines(where)}."
        for flag, where in file.flagged.items()
    ]
    return lines


def _lines(lines: tuple[int, ...], most: int = 8) -> str:
    shown = ", ".join(str(line) for line in lines[:most])
    more = "" if len(lines) <= most else f" and {len(lines) - most} more"
    return f"{'line' if len(lines) == 1 else 'lines'} {shown}{more}"


def _after_import(taken: "SwatchesImported") -> str:
    if taken.ranges:
        return f'laydown range show "{taken.ranges[0]}"'
    return "laydown range list"


@swatches.verb("export", "export_swatches", "laydown swatches export -o all.csv")
@_range
@asking.named_option("paper")
@click.option(
    "--format", "form", type=FORMS, default=None, help="Instead of what the file's name says."
)
def export(range_: str, paper: str, form: str | None) -> None:
    """Hand swatches out as a file that brings the same swatches in again.

    The ending of the name after -o says the form: .csv, .ti3 (CGATS.17) or .cxf.
    """
    from laydown.app.swatches import form_of_name

    output = commands.settings().output
    wanted = form or (
        "csv" if commands.settings().as_json or output == "-" else form_of_name(output)
    )
    count, content = console.ask(wanted, range=range_, paper=paper)
    told = {"form": wanted, "swatches": count, "text": content.decode()}
    console.show(told, lambda told: str(told["text"]))
    console.say(f"{counted(count, 'swatch')} as {wanted}.")


@swatches.verb("list", "list_swatches", "laydown swatches list --range Orchard")
@_range
@asking.named_option("paper")
@asking.named_option("colorant", "--color")
@asking.option("--skip", among=(0, None), default=0, help="Pass over so many first.")
@asking.option("--most", among=(1, None), help="List so many at most.")
def list_(*, range_: str, paper: str, color: str, skip: int, most: int | None) -> None:
    """List swatches: number, paper, what was laid, and the color in words and numbers."""
    found = console.ask(range=range_, paper=paper, colorant=color, skip=skip, most=most)
    console.show(found, _listed)
    if skip + len(found.swatches) < found.total:
        console.suggest(
            f"the same with --skip {skip + len(found.swatches)}, for more of {found.total}"
        )
    if not found.swatches:
        console.say("There are no such swatches.")
        console.suggest("laydown swatches import FILE")


def _listed(found: "Swatches") -> str:
    header = ["number", "paper", "laid", "value", "L*", "a*", "b*", "color", "remarks"]
    return columns(header, [_row(s) for s in found.swatches])


def _row(stored: "StoredSwatch") -> list[object]:
    from laydown.app.words import reflectance_in_words
    from laydown.media.recipe import format_recipe

    swatch, looks = stored.swatch, reflectance_in_words(stored.swatch.reflectance)
    remarks = ["XYZ only"] if swatch.basis == "xyz" else []
    remarks += [] if swatch.hours is None else [f"read after {swatch.hours:g} h"]
    return [
        stored.id,
        swatch.paper,
        format_recipe(swatch.recipe, with_range=True) or "bare paper",
        f"{looks.value:.1f}",
        *(tenths(number) for number in looks.lab),
        looks.words,
        ", ".join([*remarks, *sorted(swatch.flags)]),
    ]


@swatches.verb("remove", "remove_swatches", "laydown swatches remove 12 13")
@click.argument("numbers", nargs=-1, required=True, type=click.IntRange(1))
def remove(numbers: tuple[int, ...]) -> None:
    """Remove swatches by the NUMBERS that the list shows."""
    gone = console.ask(numbers)
    console.show(gone, lambda g: f"Removed {counted(g, 'swatch')}.", under="swatches")
    console.suggest("laydown library undo, if that was not meant")
