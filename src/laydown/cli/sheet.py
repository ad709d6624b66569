"""``laydown swatches``, measured patches; ``laydown sheet``, pages to color in and read back."""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, tenths

if TYPE_CHECKING:
    from laydown.app.sheets import printing, reading
    from laydown.app.swatches import FileImported, StoredSwatch, SwatchesImported
    from laydown.sheet.reading import Accuracy


FORMS = ("csv", "cgats", "cxf")
FLAGS = {
    "above-white": "more than white somewhere (a brightener, or fluorescence)",
    "extended-bands": "measured on fewer bands, and the ends extended",
}
_range = asking.named_option("range", "--range range_")

swatches = commands.Noun("swatches", "Measured patches.", "import mine.csv")


@swatches.verb("import", "import_swatches", "mine.csv")
@click.argument("files", nargs=-1, required=True, metavar="FILE…")
@asking.option("--format form", FORMS, words="Read it as this, whatever it looks like.")
@asking.text("--range range_", "RANGE", "Of patches whose range isn't said.")
@asking.text("--paper", "PAPER", "Of patches whose paper isn't said.")
@asking.text("--medium", "MEDIUM", "Of patches whose medium isn't said.")
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
    console.suggest(
        f'laydown range show "{taken.ranges[0]}"' if taken.ranges else "laydown range list"
    )


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


@swatches.verb("export", "export_swatches", "-o all.csv")
@_range
@asking.named_option("paper")
@asking.option("--format form", FORMS, words="Instead of what the file's name says.")
def export(range_: str, paper: str, form: str | None) -> None:
    """Hand swatches out as a file that brings the same swatches in again.

    The ending of the name after -o says the form: .csv, .ti3 (CGATS.17) or .cxf.
    """
    from laydown.app.swatches import form_of_name

    call = commands.settings()
    usual = "csv" if call.as_json or call.output == "-" else ""
    wanted = form or usual or form_of_name(call.output)
    count, content = console.ask(wanted, range=range_, paper=paper)
    told = {"form": wanted, "swatches": count, "text": content.decode()}
    console.show(told, lambda told: str(told["text"]))
    console.say(f"{counted(count, 'swatch')} as {wanted}.")


@swatches.verb("list", "list_swatches", "--range Orchard")
@_range
@asking.named_option("paper")
@asking.named_option("colorant", "--color")
@asking.option("--skip", (0, None), 0, "Pass over so many first.")
@asking.option("--most", (1, None), words="List so many at most.")
def list_swatches(*, range_: str, paper: str, color: str, skip: int, most: int | None) -> None:
    """List swatches: number, paper, what was laid, and the color in words and numbers."""
    found = console.ask(range=range_, paper=paper, colorant=color, skip=skip, most=most)
    listed, total = found
    header = ["number", "paper", "laid", "value", "L*", "a*", "b*", "color", "remarks"]
    console.show(found, lambda _: columns(header, list(map(_row, listed))), under="swatches total")
    console.suggest_more(skip + len(listed), total)
    if not listed:
        console.say("There are no such swatches.")
        console.suggest("laydown swatches import FILE")


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


@swatches.verb("remove", "remove_swatches", "12 13")
@click.argument("numbers", nargs=-1, required=True, type=click.IntRange(1))
def remove_swatches(numbers: tuple[int, ...]) -> None:
    """Remove swatches by the NUMBERS that the list shows."""
    gone = console.ask(numbers)
    console.show(gone, lambda g: f"Removed {counted(g, 'swatch')}.", under="swatches")
    console.suggest("laydown library undo, if that was not meant")


def cell_numbers(text: str) -> frozenset[int]:
    """Read cell numbers.

    >>> sorted(cell_numbers("3,7-9"))
    [3, 7, 8, 9]
    """
    found: set[int] = set()
    for part in filter(None, re.split(r"[,\s]+", text)):
        match = re.fullmatch(r"(\d{1,4})(?:-(\d{1,4}))?", part)
        if match is None:
            raise click.UsageError(f"“{part}” is no cell number; write them like 3,7-9.")
        first, last = int(match[1]), int(match[2] or match[1])
        found |= set(range(first, last + 1))
    return frozenset(found)


def grid_of(text: str) -> tuple[int, int]:
    """Return the rows and columns of a card, typed as ``4x6``."""
    match = re.fullmatch(r"(\d{1,2})\s*[x×]\s*(\d{1,2})", text.strip())
    if match is None or not int(match[1]) or not int(match[2]):
        raise click.UsageError(f"“{text}” is no grid; write rows x columns, for example 4x6.")
    return int(match[1]), int(match[2])


def corners_of(text: str) -> tuple[tuple[float, float], ...]:
    """Return the four outer corners of a grid, typed as ``x,y;…`` in pixels; none for no text."""
    if not text.strip():
        return ()
    numbers = re.findall(r"-?\d+(?:\.\d+)?", text)
    if len(numbers) != 8:
        raise click.UsageError("Four corners are x,y;x,y;x,y;x,y in the picture's pixels.")
    values = [float(number) for number in numbers]
    return tuple(zip(values[::2], values[1::2], strict=True))


KINDS = ("first", "kit", "next", "pairs", "list", "anchors", "target")
WAYS = ("auto", "profile", "chart", "known", "paper")
_reading_options = asking.together(
    asking.option("--by way", WAYS, "auto", "What turns the picture's numbers into colors."),
    asking.text(
        "--gray grays",
        "WHAT@WHERE",
        "A gray of known lightness in the picture: gray@400,300 for a gray card, or value:5@….",
        many=True,
    ),
    asking.text("--accept", "CELLS", "Take these although flagged: 3,7-9."),
    asking.flag("--accept-rough", "Take readings although the paper looks tinted."),
    asking.text("--proof", "PNG", "Write the proof picture here."),
    asking.flag("--only-look", "Read, show and keep nothing."),
)
KEPT_THEN = "the same without --only-look, to keep what would be taken"
KNOWN_NOW = "laydown range show RANGE, to see what is known now"
TONED = "laydown paper edit PAPER --color lab:L,a,b, if the paper is toned and you measured it"

sheet = commands.Noun(
    "sheet",
    "Pages of cells to color in, and to read back from a scan or a photograph.",
    'print first --range Orchard --paper "Gannet smooth" -o sheet.pdf',
)


@sheet.verb("print", "print_sheet", 'kit --range Orchard --paper "Gannet smooth" -o sheet.pdf')
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("recipes", nargs=-1, metavar="[RECIPE]…")
@asking.supplies_options
@asking.named_option("paper", "--known-on", "For a new paper: the one that the range is known on.")
@asking.text("--color colors", "COLOR", "A wanted color.", many=True)
@asking.text("--colors-in", "LIST", "A CSV file of wanted colors.")
@asking.text("--add-to new_range", "RANGE", "Add unknown colorants to this range.")
@asking.medium_option
@asking.text("--title", words="The sheet's title.")
@asking.page_option
@asking.option("--replicates", (1, 5), 1, "Cells for each recipe, at random places.")
@asking.flag("--frame framed", "A frame to cut out, for paper no printer takes.")
@asking.named_option("range", "--known", "Put in eight known colors of this range to read by.")
@click.option("--again", type=int, default=None, metavar="NUMBER", help="Print this sheet again.")
def print_(*, kind: str, known_on: str, colors_in: str, again: int | None, **given: Any) -> None:
    """Print a sheet of KIND: first, kit, next, pairs, list, anchors or target.

    first: one page, with likely candidates for the colors given, each color once, and of a small
    box some with a second coat. kit: all that the models of its media need. next: what would help
    the given colors most. pairs: pale over dark and dark over pale. list: the given RECIPEs.
    anchors: a few colorants again, on a new paper. target: a small one to lay into your sketchbook;
    color patches beside it by hand, in rows.
    """
    if kind in ("first", "next") and (given["colors"] or colors_in):
        asking.tell_of_compiling()
    from laydown.app.matches.colors import Asking
    from laydown.app.sheets import printing
    from laydown.sheet.words import why

    request = printing.PrintSheet(
        kind=kind,
        asking=Asking(replace(asking.supplies(), swatched_on=known_on)),
        file=console.read_if(colors_in, most=allowed_sizes.LIST),
        source=colors_in,
        **given,
    )
    with console.library_in_use(may_make=True) as library:
        if again is None:
            made = printing.print_sheet(library, request)
        else:
            made = printing.find_sheet(library, again)
        console.show_document(made, lambda: printing.draw_sheet(library, made))
    if kind == "target":
        console.say(f"Target {made.number}: cut it out and tape it into your sketchbook.")
        console.suggest(
            "color patches beside it, let them dry, then: laydown sheet read PHOTO --only-look"
            " --proof proof.png"
        )
        return
    bare = sum(cell.bare for cell in made.cells)
    console.say(
        f"Sheet {made.number}: {counted(len(made.grids), 'page')}, "
        f"{counted(len(made.cells) - bare, 'cell')} to color, {bare} to leave bare. {why(made)}"
    )
    console.suggest(console.COLOR_IN)


@sheet.verb("list", "list_sheets")
def list_() -> None:
    """List the sheets that were printed, and how much of each has been read."""
    console.show_table(
        console.ask(),
        ["sheet", "title", "kind", "paper", "cells to color", "taken over"],
        lambda s: [s.number, s.title, s.kind, s.paper, s.cells, s.taken],
        under="sheets",
    )


@sheet.verb("show", "show_sheet", "12")
@click.argument("number", type=click.IntRange(1))
def show_one(number: int) -> None:
    """Show what belongs in each cell of sheet NUMBER, and what was read there last."""
    console.show(console.ask(number), _shown)


def _shown(found: "printing.SheetShown") -> str:
    rows = [
        [c.number, c.words, c.color.words if c.color else "", "taken" if c.taken else ""]
        for c in found.cells
    ]
    head = f"Sheet {found.number}: {found.title}, on {found.paper}"
    return head + "\n\n" + columns(["cell", "what to lay", "read last", ""], rows)


@sheet.verb("remove", "remove_sheet", "12")
@click.argument("number", type=click.IntRange(1))
def remove(number: int) -> None:
    """Remove the sheet NUMBER that was printed by mistake; one that was read stays."""
    console.show(console.ask(number), lambda n: f"Sheet {n} is gone.", under="number")


@sheet.verb("read", "read_sheet", "photo.jpg --proof proof.png")
@click.argument("files", nargs=-1, required=True, metavar="FILE…")
@_reading_options
@asking.text(
    "--stage", "STAGE", 'dry, wet, or "after solvent by swab".', default="dry", show_default=True
)
@asking.text("--redo", "CELLS", "Leave these out; they are done again.")
@click.option("--sheet", type=int, default=None, help="Which sheet, if marks are lost.")
@asking.text("--names", "LIST", "A text file that names a target's patches, once.")
@asking.text("--add-to range", "RANGE", "Add unknown colorants to this range.")
@asking.medium_option
@asking.option("--sheet-page page", (1, 8), 1, "Which page of it.")
def read(
    *,
    files: tuple[str, ...],
    accept: str,
    redo: str,
    names: str,
    proof: str,
    only_look: bool,
    **given: Any,
) -> None:
    """Read colored-in sheets from FILEs: PNG, JPEG, TIFF, HEIC, DNG or PDF.

    Several pictures of one page are weighed against each other. A cell with a flag is not stored
    unless you accept it; the proof picture shows which is meant. Name the patches beside
    a target once, a line each in LIST, row by row ("-" passes one over); their places are known
    from then on.
    """
    found = console.ask(
        files=tuple(console.given_file(file, most=allowed_sizes.PICTURE) for file in files),
        accept=cell_numbers(accept),
        redo=cell_numbers(redo),
        names=console.names_in(names, most=allowed_sizes.LIST),
        keep=not only_look,
        progress="reading",
        **given,
    )
    for place, page in enumerate(found.pages if proof else (), start=1):
        path = Path(proof)
        numbered = path if place == 1 else path.with_stem(f"{path.stem} {place}")
        console.write_whole(numbered, page.proof)
    head = [*(_page(page) for page in found.pages), *found.notes]
    console.show(found, lambda f: _cells(head, "cell", f.cells, kept=not only_look))
    _what_next(found, proof, kept=not only_look)


def _page(page: "reading.PageRead") -> str:
    told = page.accuracy
    lines = [
        f"{page.source}: sheet {page.sheet}, page {page.page}; {page.resolution:.1f} pixels per mm",
        f"  colors by {told.conversion}: {_accuracy(told)}",
        f"  the light on the page falls to {100 * page.evenness:.0f} % and was taken out",
    ]
    if page.missing:
        lines.append(f"  marks missing: {', '.join(page.missing)}")
    return "\n".join([*lines, *(f"  {note}" for note in page.notes)])


def _accuracy(told: "Accuracy") -> str:
    return (
        f"off by {told.mean:g} on average and within {told.likely:g} in 80 of 100 "
        f"(ΔE00; {told.basis})"
    )


def _what_next(found: "reading.SheetRead", proof: str, *, kept: bool) -> None:
    console.say(
        f"{_taken_over(counted(found.taken, 'cell'), kept=kept)}; {found.doubtful} with a flag; "
        f"{len(found.cells) - found.taken} not taken."
    )
    if any(cell.why_not == "no name yet" for cell in found.cells):
        console.suggest("the same with --names LIST, a name a line, without --only-look")
    elif any(cell.why_not.startswith("rough") for cell in found.cells):
        console.suggest(
            "the same by daylight, with a 24-patch chart in the picture, or --accept-rough"
        )
    elif any("bare paper" in cell.why_not for cell in found.cells):
        console.suggest(TONED)
    elif found.doubtful and not proof:
        console.suggest("the same with --proof proof.png, then --accept or --redo for each cell")
    else:
        console.suggest(KNOWN_NOW if kept else KEPT_THEN)


def _taken_over(how_many: str, *, kept: bool) -> str:
    return f"{how_many} taken over" if kept else f"Nothing was kept. {how_many} would be taken"


@sheet.verb("card", "read_card", 'card.jpg --grid 4x6 --names names.txt --paper "Gannet smooth"')
@click.argument("file", metavar="FILE")
@asking.text("--grid", "ROWSxCOLUMNS", "Of the card's patches.", required=True)
@asking.text("--names", "LIST", "A text file with a name a line, row by row.", required=True)
@asking.named_option("paper", words="What the card is made of.", required=True)
@asking.text("--add-to range", "RANGE", "Add unknown colorants to this range.")
@asking.medium_option
@asking.text("--corners", "X,Y;…", "The grid's four outer corners.")
@asking.flag("--coats-unknown", "One coat is only assumed.")
@_reading_options
def card(
    *,
    file: str,
    grid: str,
    names: str,
    corners: str,
    accept: str,
    proof: str,
    only_look: bool,
    **given: Any,
) -> None:
    """Read a swatch card that laydown didn't print, from a picture in FILE.

    LIST has a line for each place, row by row: a colorant or a recipe, "paper" for bare paper, or
    "-" to pass over.
    """
    rows, columns_ = grid_of(grid)
    found = console.ask(
        files=(console.given_file(file, most=allowed_sizes.PICTURE),),
        rows=rows,
        columns=columns_,
        names=console.names_in(names, most=allowed_sizes.LIST),
        corners=corners_of(corners),
        accept=cell_numbers(accept),
        keep=not only_look,
        makes=True,
        **given,
    )
    if proof:
        console.write_whole(proof, found.pages[0].proof)
    (page,) = found.pages
    told = page.accuracy
    head = [f"Colors by {told.conversion}: {_accuracy(told)}", *page.notes, *found.notes]
    console.show(found, lambda f: _cells(head, "place", f.cells, kept=not only_look))
    console.say(f"{_taken_over(counted(found.taken, 'place'), kept=not only_look)}.")
    known = KEPT_THEN if only_look else KNOWN_NOW
    console.suggest(TONED if any("bare paper" in place.why_not for place in found.cells) else known)


def _cells(
    head: Sequence[str], what: str, read: "Sequence[reading.CellRead]", *, kept: bool
) -> str:
    """Lay out what was read of a sheet's cells, or a card's places."""
    from laydown.media.recipe_words import recipe_words

    done = "taken" if kept else "would be taken"
    rows = [
        [
            cell.number,
            "?" if cell.why_not == "no name yet" else recipe_words(cell.recipe),
            *(f"{v:.0f}" for v in cell.lab),
            f"{cell.reading.spread:.1f}",
            done if cell.taken else f"not taken: {cell.why_not}",
        ]
        for cell in read
    ]
    table = columns([what, "laid", "L*", "a*", "b*", "spread", ""], rows)
    return "\n".join([*head, "", table])
