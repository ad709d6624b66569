"""Where a command's words go, and how its tables stand."""

import contextlib
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any, TypeVar

import click

from laydown import allowed_sizes
from laydown.app.tasks import GivenFile, write_file
from laydown.cli import commands
from laydown.errors import BadFileError, LibraryError
from laydown.media.legible import legible

if TYPE_CHECKING:
    from laydown.app.library import Library
    from laydown.app.words import ColorInWords
    from laydown.match.outcome import Match
    from laydown.media.recipe import Recipe

Result = TypeVar("Result")
WIDTH = 88
COLOR_IN = "print it at its true size, color it in, let it dry, then: laydown sheet read PHOTO"
Watch = Callable[[int, int], None]


def show(result: Result, render: Callable[[Result], str], *, under: str = "") -> None:
    """Give a task's result: as JSON where that was asked for, else as `render` puts it.

    `under`: names in JSON of what has no fields of its own, see `laydown.app.encoding.to_json`.
    """
    if commands.settings().as_json:
        from laydown.app.encoding import to_json

        give_text(to_json(result, under=under))
    else:
        give_text(render(result))


def show_table(
    found: Sequence[Any],
    header: Sequence[str],
    cells: Callable[[Any], Sequence[object]],
    *,
    under: str,
    none: str = "",
    then: str = "",
) -> None:
    """Show a list as a table, see `show`; where it is empty say so, and what to do then."""
    show(found, lambda f: columns(header, [cells(one) for one in f]), under=under)
    if none and not found:
        say(none)
        if then:
            suggest(then)


def show_document(result: object, draw: Callable[[], bytes]) -> None:
    """Write what is drawn of a result; where JSON was asked for, the result itself."""
    if commands.settings().as_json:
        show(result, str)
    else:
        give(draw())


def give_text(text: str) -> None:
    """Write a result that is text, with a line end behind it and nothing that steers a screen."""
    give((legible(text).rstrip("\n") + "\n").encode())


def give(content: bytes) -> None:
    """Write a result to the file that was named, or to standard output."""
    output = commands.settings().output
    if output != "-":
        write_whole(output, content)
        return
    sys.stdout.flush()
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()


def form_wanted(forms: Sequence[str], what: str = "this", *, usual: str = "") -> str:
    """Return the form that the ending of the output's name asks for; empty for standard output.

    Raises `BadFileError` for an ending of no form, or for none where there is no usual one: to be
    told before there is anything to write.
    """
    output = commands.settings().output
    ending = Path(output).suffix.lower().lstrip(".") or usual
    if output == "-" or ending in forms:
        return "" if output == "-" else ending
    raise BadFileError(
        f"{output}: {what} can't be written as {'.' + ending if ending else 'a file of no kind'}.",
        hint=f"End the name in {', '.join('.' + form for form in forms)}.",
    )


def wrapped(sentences: Iterable[str], margin: str = "") -> list[str]:
    """Break sentences into lines that a terminal holds."""
    return [
        line
        for sentence in sentences
        for line in wrap(sentence, WIDTH, initial_indent=margin, subsequent_indent=margin)
    ]


def write_whole(named: str | Path, content: bytes) -> None:
    """Write a file as a whole or not at all, and say so."""
    write_file(Path(named), content)
    say(f"Written: {named}")


def say(sentence: str) -> None:
    """Tell the user something that is not the result."""
    if not commands.settings().quiet:
        complain(sentence)


def complain(text: str) -> None:
    """Write to standard error whatever is asked for: the one way there, for words and names alike.

    A file's name, or a value that is told back, may hold signs that steer a terminal.
    """
    click.echo(legible(text).rstrip(), err=True)


def suggest(command: str) -> None:
    """Name the command to go on with."""
    say(f"Next: {command}")


def suggest_more(shown: int, total: int) -> None:
    """Name how to go on with a list of which so many were shown, where there are more."""
    if shown < total:
        suggest(f"the same with --skip {shown}, for more of {total}")


@contextlib.contextmanager
def progress_bar(label: str) -> Iterator[Watch | None]:
    """Give a watch that draws a bar on standard error; None where nobody would see it."""
    is_lively = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
    if not is_lively or commands.settings().quiet:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(label, total=None)

        def watch(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)

        yield watch


def say_if_long(total: int, seconds: float, *, recipes: bool) -> None:
    """Say how long something may take, and what is sooner done where recipes are counted."""
    from laydown.app.tasks import wait_words

    wait = wait_words(seconds, recipes=total if recipes else 0)
    fewer = " --steps 2 or --coats 2 is sooner done." if recipes else ""
    say(f"{wait} Ctrl-C stops it, and nothing is kept.{fewer}")


def read_bytes(source: str, *, most: int) -> bytes:
    """Read a file, or standard input for ``-``, of no more than `most` bytes."""
    try:
        if source == "-":
            content = sys.stdin.buffer.read(most + 1)
        else:
            with Path(source).open("rb") as stream:
                content = stream.read(most + 1)
    except OSError as error:
        raise BadFileError(
            f"{source} can't be read: {error.strerror}.", hint="Check the name and the folder."
        ) from error
    if len(content) > most:
        raise BadFileError(
            f"{source} has more than {most / 1e6:.0f} million bytes, the most that is allowed.",
            hint="Split it into smaller files.",
        )
    return content


def read_if(file: str, *, most: int) -> bytes | None:
    """Read a file, as `read_bytes` does, where one is named."""
    return read_bytes(file, most=most) if file else None


def names_in(file: str, *, most: int) -> tuple[str, ...]:
    """Read a file, as `read_bytes` does, of one name a line; none where no file is named."""
    try:
        text = (read_if(file, most=most) or b"").decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadFileError(
            f"{file}, byte {error.start + 1}: this is not UTF-8 text.",
            hint="Save the list as plain text in UTF-8, one name a line.",
        ) from error
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def source_of(file: str) -> str:
    """Return what to call a file in messages."""
    return "standard input" if file == "-" else file


def photograph_given(file: str) -> GivenFile | None:
    """Read a photograph that is to be kept, where one is named; its folder is nobody's business."""
    content = read_if(file, most=allowed_sizes.PHOTOGRAPH)
    return None if content is None else GivenFile(content, Path(file).name)


def given_file(file: str, *, most: int) -> GivenFile:
    """Read a file, as `read_bytes` does, with what to call it."""
    return GivenFile(read_bytes(file, most=most), source_of(file))


def measured_since(file: str, pictures: Sequence[str]) -> dict[str, Any]:
    """Return what a request says of a file of swatches and of pictures of sheets, if any."""
    sheets = tuple(given_file(one, most=allowed_sizes.PHOTOGRAPH) for one in pictures)
    content = read_if(file, most=allowed_sizes.SWATCHES)
    return {"file": content, "source": file, "pictures": sheets}


def columns(header: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """Lay rows out under a header; numbers to the right, words to the left.

    >>> print(columns(["name", "value"], [["Kelp", 3.5], ["Dune", 10]]))
    name  value
    Kelp    3.5
    Dune     10
    """
    texts = [list(header), *([str(cell) for cell in row] for row in rows)]
    widths = [max(len(row[i]) for row in texts) for i in range(len(header))]
    right = [
        bool(rows) and all(isinstance(row[i], int | float) for row in rows)
        for i in range(len(header))
    ]
    return "\n".join(
        "  ".join(
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(row, widths, right, strict=True)
        ).rstrip()
        for row in texts
    )


MATCH_HEADER = ("passage", "role", "wanted", "recipe", "off")


def match_row(match: "Match") -> list[object]:
    """Return the cells that a table of matches begins with, under `MATCH_HEADER`."""
    target, best = match.target, match.best
    recipe, off = recipe_text(best.prediction.recipe), f"{best.difference.delta_e:.1f}"
    return [target.passage, target.role, target.name, recipe, off]


def counted(number: int, thing: str) -> str:
    """Say how many there are of a thing.

    >>> counted(1, "swatch"), counted(2, "swatch"), counted(3, "kit")
    ('1 swatch', '2 swatches', '3 kits')
    """
    plural = f"{thing}es" if thing.endswith(("s", "ch")) else f"{thing}s"
    return f"{number:,} {thing if number == 1 else plural}"


def tenths(number: float) -> str:
    """Write a number with one decimal, and never as negative zero.

    >>> tenths(-0.04), tenths(12.34)
    ('0.0', '12.3')
    """
    return f"{round(float(number), 1) + 0.0:.1f}"


def color_text(color: "ColorInWords") -> str:
    """Say a color in words and numbers."""
    L, a, b = (tenths(number) for number in color.lab)
    return f"{color.words}, value {color.value:.1f}, L* {L} a* {a} b* {b}"


def recipe_text(recipe: "Recipe") -> str:
    """Write a recipe as it is typed; the numerical libraries are loaded with the first."""
    from laydown.media.recipe import format_recipe

    return format_recipe(recipe)


def ask(
    *given: Any, makes: bool = False, mends: bool = False, progress: str = "", **fields: Any
) -> Any:
    """Have the task of the running verb done in the library in use, and return its result.

    `given`, `fields`: what it is asked, see `laydown.app.tasks.do`. `makes`, `mends`: whether a
    library will do that isn't there yet, or is broken, see `library_in_use`. `progress`: what a bar
    is called that shows how far the task has come; empty for none.
    """
    from laydown.app.tasks import BY_CLOCK, do, told_if_long

    command = click.get_current_context().command
    (task, *_) = command.tasks if isinstance(command, commands.Verb) else ()
    with library_in_use(may_make=makes, to_mend=mends) as library:
        if not progress:
            return do(task, library, *given, **fields)
        with _crew(), progress_bar(progress) as bar:
            told = partial(say_if_long, recipes=task == "match_color")
            watch = bar if task in BY_CLOCK else told_if_long(bar, told)
            return do(task, library, *given, watch=watch, **fields)


def _crew() -> contextlib.AbstractContextManager[None]:
    """Have the processes ready that the command line asks for; none is the usual case."""
    asked = commands.settings()
    if not asked.workers and not asked.cluster:
        return contextlib.nullcontext()
    from laydown.app.crew import crew

    return crew(workers=asked.workers, cluster=asked.cluster)


@contextlib.contextmanager
def library_in_use(*, may_make: bool = False, to_mend: bool = False) -> "Iterator[Library]":
    """Give the library of ``--db``, or the user's own.

    `may_make`: whether the command brings something in, so that a library named but not there yet
    is made; else it is refused, since its name is likely mistyped. `to_mend`: whether a backup is
    to take its place, so that it may be broken. Raises `LibraryError` where the library named is
    not there.
    """
    from laydown.app.library import library_is_there, open_named, open_to_mend, update_words

    named = commands.settings().library
    if named and not library_is_there(named):
        if not may_make:
            raise LibraryError(
                f"There is no library at {named}.",
                hint="Check the path. A command that brings something in, such as laydown swatches"
                " import, makes a new one.",
            )
        say(f"A new library is made: {named}")
    library = open_to_mend(named) if to_mend else open_named(named)
    if updated := update_words(library):
        say(updated)
    try:
        yield library
    finally:
        library.close()
