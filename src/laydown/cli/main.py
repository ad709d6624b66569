"""The command ``laydown``: finds the command that was asked for, and turns errors into sentences.

This is one of the three places where errors are caught.
"""

import hashlib
import io
import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

import click
from platformdirs import user_cache_path

import laydown
from laydown.cli import commands
from laydown.cli.console import complain
from laydown.errors import LaydownError, bounded

NOUNS = {
    "swatches": ("sheet", "swatches", "Measured patches: bring in, hand out, list."),
    "paper": ("supplies", "paper", "Papers to color on."),
    "kit": ("supplies", "kit", "The colorants you own."),
    "range": ("supplies", "ranges", "Lines of colorants, and what is known of them."),
    "match": ("match", "match", "Find recipes for a wanted color."),
    "lesson": ("lesson", "lesson", "Lessons to hand on, and to convert as a whole."),
    "run": ("match", "run", "Shading runs, and partners for a colorant."),
    "chart": ("match", "chart", "Convert a list of colors into a chart."),
    "batch": ("lesson", "batch", "Many lessons from many ranges on many papers."),
    "sheet": ("sheet", "sheet", "Pages to color in and read back from a photograph."),
    "light": ("light", "light", "Matches under another light, and life on a wall."),
    "picture": ("picture", "picture", "Plan a picture, and make it from a kit."),
    "trial": ("notebook", "trial", "The notebook: what you tried, and what it teaches."),
    "finished": ("notebook", "finished", "Finished works: picture, paper, recipes."),
    "hand": ("notebook", "hand", "How much you lay down against someone else."),
    "serve": ("serve", "serve", "Open the bench, in your browser."),
    "open": ("serve", "open_bench", "Open the bench, and a file on it."),
    "library": ("library", "library", "The file that keeps everything."),
    "demo": ("library", "demo", "See the whole job done on invented data."),
    "completion": ("asking", "completion", "Let your shell complete commands."),
}


class Door(commands.LazyNouns):
    """The command line as a whole, with the boundary at which errors become sentences."""

    def main(self, args: Sequence[str] | None = None, *_: Any, **extra: Any) -> NoReturn:
        """Run a command line and leave with its exit code."""
        arguments = list(sys.argv[1:] if args is None else args)
        sys.exit(self.run(arguments, **extra))

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; a reader of our output that has had enough is no error."""
        try:
            code = super().invoke(ctx)
            sys.stdout.flush()
        except BrokenPipeError:
            # what is left goes to nowhere, so that Python's own flush at the end stays silent
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return commands.DONE
        return code

    def run(self, arguments: Sequence[str], **extra: Any) -> int:
        """Run a command line and return its exit code."""
        if "_LAYDOWN_COMPLETE" in os.environ:
            from laydown.cli.asking import complete_bash  # only where a shell asks

            complete_bash()
        try:
            code = super().main(
                list(arguments), "laydown", standalone_mode=False, obj=extra.get("obj")
            )
        except click.Abort:
            complain("Stopped; the library is as it was.")
            return commands.INTERRUPTED
        except click.ClickException as error:
            told = io.StringIO()
            error.show(told)
            complain(bounded(told.getvalue()))
            return commands.USAGE
        except LaydownError as error:
            return _explain(error, debug="--debug" in arguments)
        except Exception as error:  # nobody should meet a traceback unasked
            return _confess(error, debug="--debug" in arguments)
        return code if isinstance(code, int) else commands.DONE


def _explain(error: LaydownError, *, debug: bool) -> int:
    if debug:
        complain("".join(traceback.format_exception(error)))
    complain(error.message)
    if error.hint and error.command:  # what to type stands in brackets before the last mark
        complain(f"{error.hint[:-1]} ({error.command}){error.hint[-1]}")
    elif error.hint:
        complain(error.hint)
    return error.exit_code


def _confess(error: Exception, *, debug: bool) -> int:
    if debug:
        complain("".join(traceback.format_exception(error)))
    complain(bounded(f"This is a fault of laydown, not yours: {type(error).__name__}: {error}"))
    if not debug:
        complain("Run the same command with --debug to see where it arose, and report that.")
    return commands.CAN_BE_MENDED


door = Door(
    "laydown",
    words=(
        "Find a wanted color among the markers, pencils and washes you own, on the paper you "
        "have: which ones, in which order, how many coats, and how sure.\n\n"
        "laydown demo shows the whole job on invented data."
    ),
    example=(
        "laydown swatches import mine.csv\n"
        'laydown match lab:71,8,46 --kit mine --paper "Gannet smooth"'
    ),
    members=NOUNS,
)
click.version_option(laydown.__version__, prog_name="laydown", message="%(prog)s %(version)s")(door)


SOURCES = Path(__file__).parent.parent / "match"
COMPILER = b"laydown.match.search.compiling"
"""Named by each module that has a compiled loop."""


def use_compiled_cache() -> Path:
    """Send the compiled search to the user's cache folder, unless the environment names another.

    It must be called before the search is first imported. Each state of the compiled loops has a
    folder of its own: the compiler itself looks only at the file that a loop stands in, and would
    go on using it after a loop that it calls was changed in another file. What is returned may not
    be there yet.
    """
    usual = user_cache_path("laydown", appauthor=False) / "search" / state_of_search()
    return Path(os.environ.setdefault("NUMBA_CACHE_DIR", str(usual)))


def state_of_search() -> str:
    """Return a hash of all modules that have compiled loops."""
    content = hashlib.sha256()
    for path in sorted(SOURCES.rglob("*.py")):
        text = path.read_bytes()
        if COMPILER in text:
            content.update(text)
    return content.hexdigest()[:16]


def main() -> NoReturn:
    """Run the command line of this process."""
    for library in ("OPENBLAS", "MKL"):  # docs/decisions/house.md: our matrices are small
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    use_compiled_cache()
    arguments, streams = sys.argv[1:], (sys.stdin, sys.stdout, sys.stderr)
    if arguments[:1] in ([], ["open"]):
        from laydown.cli.serve import is_double_click, run_from_desktop

        if is_double_click(arguments, os.environ, streams, platform=sys.platform):
            sys.exit(run_from_desktop(door.run, arguments))
    door.main()
