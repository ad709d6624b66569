"""``laydown lesson``: lessons to hand on, to keep, and to convert to your own kit."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, recipe_text
from laydown.cli.sheet import cell_numbers

if TYPE_CHECKING:
    from laydown.app.lessons import lessons
    from laydown.app.lessons.lessons import LessonShown

lesson = commands.Noun(
    "lesson",
    "Lessons: colors by passage, to hand on and to convert.",
    'convert lemons.txt --kit mine --paper "Gannet smooth"',
)


@lesson.verb(
    "new",
    "new_lesson",
    (
        'lemons.csv --paper "Gannet smooth" -o lemons.txt\n'
        "--sheet 7 --passage lemon=2-4 --passage bowl=5,6,9 -o lemons.txt"
    ),
)
@click.argument("list_", metavar="[LIST]", required=False, default="")
@asking.text("--title", words="Of the lesson; the list's name if not given.")
@asking.text("--note notes", words="What holds for all of it; may be repeated.", many=True)
@asking.named_option("paper", words="The paper the colors are wanted as on; a sheet knows its own.")
@click.option(
    "--sheet", type=int, default=None, metavar="NUMBER", help="The colors of this filled sheet."
)
@asking.text(
    "--passage passages",
    "NAME=CELLS",
    "These cells of it are a passage, from highlight to shadow: lemon=2-4; may be repeated.",
    many=True,
)
def new(
    *, list_: str, paper: str, sheet: int | None, passages: tuple[str, ...], **given: Any
) -> None:
    """Make a lesson file from LIST, a CSV file of colors with passages, roles and notes.

    Colors that were swatched come with their measured spectra, and layers that weren't come as
    predicted: whoever gets the file needs none of your colorants. With --sheet, colors come as
    they were read from that sheet's cells: all of them, in passages as --passage says, with roles
    by their values; or those that LIST names.
    """
    if not list_ and sheet is None:
        raise click.UsageError("Name a LIST, or a filled sheet with --sheet.")
    if passages and (list_ or sheet is None):
        raise click.UsageError("--passage goes with --sheet; a LIST has a column for passages.")
    if paper and sheet is not None:
        raise click.UsageError("A sheet knows its paper; leave --paper out.")
    from laydown.app.lessons.lessons import new_lesson, write_lesson

    content = console.read_if(list_, most=allowed_sizes.LIST)
    fields = {"paper": paper, "sheet": sheet, "passages": tuple(map(_passage, passages)), **given}
    with console.library_in_use() as library:
        made = new_lesson(library, content, console.source_of(list_), **fields)
    console.show(made, lambda lesson: write_lesson(lesson).decode())
    console.say(f"“{made.title}”: {counted(len(made.colors), 'color')}.")
    for trouble in made.troubles:
        console.say(trouble)
    console.suggest("laydown lesson convert FILE --kit KIT")


def _asked_of(file: str) -> dict[str, Any]:
    """Return what a request says of a lesson file, and how its colors are looked for."""
    content = console.read_bytes(file, most=allowed_sizes.LIST)
    return {"file": content, "source": console.source_of(file), "asking": asking.asked()}


def _passage(text: str) -> tuple[str, frozenset[int]]:
    name, _, cells = (part.strip() for part in text.partition("="))
    if not name or not cells:
        raise click.UsageError("Write each passage as NAME=CELLS, for example lemon=2-4.")
    return name, cell_numbers(cells)


@lesson.verb("show", "show_lesson", "lemons.txt")
@click.argument("file")
def show_one(file: str) -> None:
    """Show what the lesson FILE holds; no library is needed."""
    from laydown.app.lessons.lessons import show_lesson

    found = show_lesson(console.read_bytes(file, most=allowed_sizes.LIST), console.source_of(file))
    console.show(found, _shown, under="lesson troubles looks")


def _shown(found: "LessonShown") -> str:
    lesson, troubles, looks_of = found
    rows = [
        [c.passage, c.role, c.name, looks.words, f"{looks.value:.1f}", c.target.origin.value]
        for c, looks in zip(lesson.colors, looks_of, strict=True)
    ]
    head = f"“{lesson.title}”" + (f" on {lesson.paper}" if lesson.paper else "")
    table = columns(["passage", "role", "color", "looks", "value", "known"], rows)
    return "\n".join([head, *lesson.notes, *troubles, "", table])


@lesson.verb(
    "convert", "convert_lesson", 'lemons.txt --kit mine --paper "Gannet smooth" -o lemons.pdf'
)
@click.argument("file")
@asking.option(
    "--as way",
    ("together", "singly", "turned"),
    "together",
    "Which answer a chart shows: as a whole, color by color, or transposed.",
)
@asking.option("--turns", (0, 8), 3, "How many transposed palettes to offer.")
@asking.option("--turn", (1, 8), 1, "Which of them a chart shows.")
@asking.named_option(
    "range",
    "--shop",
    "Name what could be bought of this range to mend a passage; may be repeated.",
    many=True,
)
@asking.page_option
@asking.details_option
@asking.asking_options
@commands.by_several
def convert(
    *, file: str, way: str, turns: int, turn: int, shop: tuple[str, ...], page: str, details: bool
) -> int:
    """Convert the lesson FILE to what you have: as a whole, with the values in order.

    Three answers: color by color; as a whole, where the order and spacing of values in each
    passage and the difference between colors count before closeness; and transposed, the same
    values in other hues that your kit reaches best. With -o a chart is written (.pdf, .html, .csv,
    .json); without it the answer is told. The exit code is 3 when a passage loses its shape
    whatever is chosen.
    """
    asking.tell_of_compiling()
    as_json = commands.settings().as_json
    form = "" if as_json else console.form_wanted(asking.FORMS, "a chart", usual="html")
    made = console.ask(**_asked_of(file), turns=turns, shop=shop, progress="matching")
    if not form:
        console.show(made, lambda m: "\n".join(_converted(m)))
        console.suggest("the same with -o lesson.pdf, to print it")
    else:
        from laydown.app.matches.colors import write_chart

        if way == "turned" and turn > len(made.turned_charts):
            raise click.UsageError(f"There are {len(made.turned_charts)} turns; --turn is {turn}.")
        console.give(write_chart(made.chart(way, turn), form, page, details=details))
        console.say("\n".join(_in_short(made)))
    return commands.ANSWER_IS_NO if made.conversion.lost else commands.DONE


def _in_short(made: "lessons.LessonConverted") -> Iterator[str]:
    whole = made.conversion
    optimum = whole.optimum
    sure = "proven the least" if optimum.proven else f"not proven; bound {optimum.bound:.1f}"
    yield (
        f"“{made.title}” from {made.kit} on {made.paper}: off by {whole.mean:.1f} on the mean as a"
        f" whole, {whole.mean_singly:.1f} color by color."
    )
    yield (
        f"Value orders broken: {len(whole.broken)} as a whole, {len(whole.broken_singly)} color by"
        f" color. Cost {optimum.cost:.1f} ({sure})."
    )
    yield from made.notes
    for lost in whole.lost:
        mend = lost.mending
        cure = f"for {mend.place}, buy {mend.purchase}"
        cure = cure if mend.purchase else f"a colorant for {mend.place}; try --shop"
        yield f"{lost.words} What would mend it: {cure}."


def _converted(made: "lessons.LessonConverted") -> Iterator[str]:
    yield from _in_short(made)
    yield ""
    rows = [[*console.match_row(m), m.best.difference.words] for m in made.together.matches]
    yield columns([*console.MATCH_HEADER, "what is off"], rows)
    if made.conversion.departures:
        yield "\nNot what each would have alone, for the sake of the whole:"
        for d in made.conversion.departures:
            text = f"{d.name}: {recipe_text(d.recipe)}, not {recipe_text(d.instead_of)}"
            yield from console.wrapped([f"{text}. {d.reason} {d.words}"])
    for number, turned in enumerate(made.turned, start=1):
        yield (
            f"\nTransposed {number}: {turned.turn.words}; off by {turned.mean:.1f} on the mean,"
            f" {turned.largest:.1f} at most"
        )
        lines = zip(made.names, turned.recipes, strict=True)
        yield columns(["color", "recipe"], [[n, recipe_text(r)] for n, r in lines])


@lesson.verb("pack", "pack_lesson", "lemons.txt --range Orchard --range Estuary -o pack")
@click.argument("file")
@asking.page_option
@asking.asking_options
@commands.by_several
def pack(file: str, page: str) -> None:
    """Make a class pack from the lesson FILE: a PDF and one HTML file for students.

    Each --range has a copy on pages of its own: supplies with what may stand in, a value strip, the
    conversion, a blend strip for each passage and a sheet to color with a box for each step, the
    way without solvent, and cautions. With -o NAME it writes NAME.pdf and NAME.html; students
    install nothing.
    """
    asking.tell_of_compiling()
    from laydown.app.lessons import packs

    packed = console.ask(**_asked_of(file), progress="matching")
    for trouble in packed.troubles:
        console.say(trouble)
    if commands.settings().as_json:
        console.show(packed, str)
        return
    if commands.settings().output == "-":
        console.give_text(packs.write_pack(packed, "html", page).decode())
        return
    base = Path(commands.settings().output)
    base = base.with_suffix("") if base.suffix.lower() in {".pdf", ".html"} else base

    for form in ("pdf", "html"):
        path = base.with_name(f"{base.name}.{form}")
        console.write_whole(path, packs.write_pack(packed, form, page))
    console.suggest("print the PDF at its true size; hand out the HTML file as it is")


@lesson.verb(
    "page", "make_lesson_page", "lemons.txt --range Orchard --range Estuary -o lemons.html"
)
@click.argument("file")
@asking.asking_options
@asking.code_options
@commands.by_several
def page_that_answers(file: str, address: str, ticked: tuple[str, ...]) -> None:
    """Make one page for students of the lesson FILE that answers for just what each of them owns.

    A student opens it in any browser, without a network, ticks what they own of each --range, and
    sees for every color what to lay, what stays off and how sure that is. Mail it, or put it on any
    web space. The lesson can be read back from it: laydown lesson show PAGE, and all else that
    takes a lesson file.
    """
    asking.tell_of_compiling()
    made = console.ask(**_asked_of(file), address=address, ticked=ticked, progress="matching")
    asking.give_page(made)


@lesson.verb("gather", "gather_lessons", "lemons.txt Ana=ana.txt Ben=ben.txt -o class.csv")
@click.argument("file")
@click.argument("returns", nargs=-1, required=True, metavar="PERSON=FILE…")
def gather(file: str, returns: tuple[str, ...]) -> None:
    """Gather what students made of the lesson FILE; each return keeps its person and paper.

    A return is a lesson file made from the sheet that a student colored in, see laydown lesson new.
    Colors are told by their names. With -o NAME.csv every color of everyone is listed.
    """
    from laydown.app.lessons import packs
    from laydown.app.lessons.lessons import LessonAsked

    parted = [text.partition("=") for text in returns]
    if not all(person and name for person, _, name in parted):
        raise click.UsageError("Write each return as PERSON=FILE.")
    backs = tuple(
        (person, console.given_file(name, most=allowed_sizes.LIST)) for person, _, name in parted
    )
    content = console.read_bytes(file, most=allowed_sizes.LIST)
    gathered = packs.gather_lessons(LessonAsked(content, console.source_of(file), returns=backs))
    if commands.settings().output.lower().endswith(".csv") and not commands.settings().as_json:
        console.give(packs.gathered_csv(gathered))
    else:
        console.show_table(
            gathered,
            ["person", "paper", "colors", "off", "value", "not in it"],
            lambda p: [
                *(p.person, p.paper, len(p.colors)),
                *(f"{p.mean:.1f}", f"{p.value:+.1f}", ", ".join(p.missing)),
            ],
            under="people",
        )


@lesson.verb("keep", "keep_lesson", "lemons.txt")
@click.argument("file")
def keep(file: str) -> None:
    """Keep the lesson FILE in the library, where the bench finds it, too.

    What is kept is the file's own text. The same text is kept only once.
    """
    content = console.read_bytes(file, most=allowed_sizes.LESSON)
    kept = console.ask(content, console.source_of(file))
    console.show(kept, lambda k: f"Lesson {k.number}: “{k.title}”, {counted(k.colors, 'color')}.")
    console.suggest("laydown lesson list")


@lesson.verb("list", "list_lessons")
def list_() -> None:
    """List the lessons that are kept."""
    console.show_table(
        console.ask(),
        ["number", "title", "paper", "colors", "kept"],
        lambda one: [one.number, one.title, one.paper, one.colors, f"{one.kept:%Y-%m-%d}"],
        under="lessons",
        none="No lesson is kept yet.",
    )


@lesson.verb("fetch", "fetch_lesson", "3 -o lemons.txt")
@click.argument("number", type=int)
def fetch(number: int) -> None:
    """Write out the lesson NUMBER that is kept, as its file was."""
    console.show(console.ask(number).content.decode(), str, under="text")


@lesson.verb("remove", "remove_lesson", "3")
@click.argument("number", type=int)
def remove(number: int) -> None:
    """Remove the lesson NUMBER that is kept; undo brings it back."""
    console.show(console.ask(number), lambda g: f"“{g.title}” is gone.")
    console.say("Bring it back with: laydown library undo")


@commands.verb("batch", "run_batch", "term.toml --workers 4")
@click.argument("file", type=click.Path(dir_okay=False, exists=True, path_type=Path))
@commands.by_several
def batch(file: Path) -> int:
    """Convert each lesson file that FILE names from each of its ranges on each of its papers.

    FILE is TOML: the lists lessons, ranges and papers; and, where you like, write (pdf, html, csv,
    json, page; usually pdf), into (a folder), tolerance, steps and coats. Stop it whenever you
    like: the next time it makes what is missing, and what rests on swatches that have changed. The
    exit code is 3 when something can't be made.
    """
    from laydown.app.lessons.pages import read_batch

    asking.tell_of_compiling()
    content = console.read_bytes(str(file), most=allowed_sizes.LIST)
    asked = read_batch(content, source=file.name, folder=file.parent)
    done = console.ask(**asked, progress="converting")
    made, there, troubles = done
    head = f"{counted(len(made), 'file')} made, {len(there)} there already."
    told = [head, *(f"Not made: {trouble}" for trouble in troubles)]
    console.show(done, lambda _: "\n".join(told), under="made there troubles")
    return commands.ANSWER_IS_NO if troubles else commands.DONE
