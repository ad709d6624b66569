"""``laydown library``: the one file that keeps everything, and opening it for a command."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from laydown.cli import commands, console
from laydown.cli.console import columns, counted

if TYPE_CHECKING:
    from laydown.app.library import Change, LibraryShown


library = commands.Noun(
    "library", words="The one file that keeps everything.", example="laydown library backup safe.db"
)


@library.verb("path", tasks=["show_library"], example="laydown library path")
def path() -> None:
    """Say where the library is and what it holds."""
    found = console.ask()
    console.show(found, lambda f: f.location)
    console.say(_held(found))


def _held(found: "LibraryShown") -> str:
    return (
        f"It holds {counted(found.swatches, 'swatch')} of {counted(found.colorants, 'colorant')} "
        f"in {counted(found.ranges, 'range')}, {counted(found.papers, 'paper')} and "
        f"{counted(found.kits, 'kit')}."
    )


@library.verb("backup", tasks=["back_up_library"], example="laydown library backup safe.db")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def backup(file: Path) -> None:
    """Write the whole library to FILE, which must not be there yet."""
    made = console.ask(file)
    console.show(made, lambda path: f"The library is backed up in {path}.", under="path")


@library.verb(
    "copy",
    tasks=["copy_library"],
    example="laydown library copy postgresql://teacher@school/colors",
)
@click.argument("to")
def copy(to: str) -> None:
    """Copy the whole library to another place: a new file, or an empty database on a server.

    From a server, too: give its address with --db, and the path of a new file.
    """
    made = console.ask(to)
    console.show(made, lambda place: f"The library is copied to {place}.", under="location")


@library.verb("restore", tasks=["restore_library"], example="laydown library restore safe.db")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def restore(file: Path) -> None:
    """Put the backup FILE in place of the library; what is there now is kept beside it.

    It works on a library that is damaged and can't be opened any more, too.
    """
    made = console.ask(file, makes=True, mends=True)
    console.show(made, lambda m: f"{m.path} is now the library.\nWhat was there before: {m.before}")
    if made.is_older:
        console.say("It was from an older laydown, and is brought up to date now.")


@library.verb("add-demo", tasks=["add_demo"], example="laydown library add-demo")
def add_demo() -> None:
    """Put the demo's ranges, papers and kits into this library, to try things out on.

    All of it is invented. For a library of the demo's own, see laydown demo.
    """
    made = console.ask(makes=True)
    console.show(
        made, lambda m: f"Put in, all invented: {', '.join((*m.ranges, *m.papers, *m.kits))}."
    )
    console.suggest("laydown library remove-demo, when you have seen enough")


@library.verb("remove-demo", tasks=["remove_demo"], example="laydown library remove-demo")
def remove_demo() -> None:
    """Take out of this library what add-demo put in, whatever was done since."""
    gone = console.ask()
    console.show(gone, lambda g: f"Taken out: {', '.join(g.names) or 'nothing'}.")


@library.verb("undo", tasks=["undo_change"], example="laydown library undo")
def undo() -> None:
    """Take back the latest command that changed the library, as a whole.

    Undoing again goes one command further back.
    """
    from laydown.app.library import undo_change

    with console.library_in_use() as library:
        undone, left = undo_change(library), len(library.history(own=True))
    more = f"{counted(left, 'change')} before it can be, too."
    console.show(undone, lambda change: f"Taken back: {change.label}.\n{more}")


@library.verb("redo", tasks=["redo_change"], example="laydown library redo")
def redo() -> None:
    """Do again what was taken back last, until something else is changed."""
    console.show(console.ask(), lambda change: f"Done again: {change.label}.")


@library.verb("history", tasks=["list_history"], example="laydown library history")
def history() -> None:
    """List the changes that can be taken back, latest first."""
    found = console.ask()
    console.show(found, _changes, under="changes")
    if not found:
        console.say("Nothing was changed yet.")


def _changes(changes: "Sequence[Change]") -> str:
    people = ["who"] if any(c.who for c in changes) else []
    rows = [
        [f"{c.when:%Y-%m-%d %H:%M} UTC", *([c.who] if people else []), c.label, c.rows]
        for c in changes
    ]
    return columns(["when", *people, "what", "rows"], rows)
