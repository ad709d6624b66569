"""``laydown batch``: many lessons from many ranges on many papers, at once."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import counted

if TYPE_CHECKING:
    from laydown.app.lessons.batch import BatchDone


@commands.verb("batch", tasks=["run_batch"], example="laydown batch term.toml --workers 4")
@click.argument("file", type=click.Path(dir_okay=False, exists=True, path_type=Path))
@commands.by_several
def batch(file: Path) -> int:
    """Convert each lesson file that FILE names from each of its ranges on each of its papers.

    FILE is TOML: the lists lessons, ranges and papers; and, where you like, write (pdf, html, csv,
    json, page; usually pdf), into (a folder), tolerance, steps and coats. Stop it whenever you
    like: the next time it makes what is missing, and what rests on swatches that have changed. The
    exit code is 3 when something can't be made.
    """
    from laydown.app.lessons.batch import read_batch

    asking.tell_of_compiling()
    content = console.read_bytes(str(file), most=allowed_sizes.LIST)
    request = read_batch(content, source=file.name, folder=file.parent)
    done = console.ask(request, progress="converting")
    console.show(done, _done)
    return commands.ANSWER_IS_NO if done.troubles else commands.DONE


def _done(found: "BatchDone") -> str:
    head = f"{counted(len(found.made), 'file')} made, {len(found.there)} there already."
    return "\n".join([head, *(f"Not made: {trouble}" for trouble in found.troubles)])
