"""``laydown open``, and what a double click does: a start that nobody watches in a terminal."""

import html
import os
import sys
import webbrowser
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TextIO

import click
from platformdirs import user_cache_path

from laydown import allowed_sizes
from laydown.cli.commands import settings, verb
from laydown.cli.console import ask, read_bytes, source_of
from laydown.cli.serve import serve
from laydown.errors import LaydownError

DESKTOPS = ("DISPLAY", "WAYLAND_DISPLAY")
"""What a desktop session of Linux or BSD tells its programs; macOS and Windows always have one."""
PORTS = 5
"""How many are tried: another program may have taken the usual one."""
WINDOWED = ("win32", "darwin")
TOLD = """<!doctype html><html lang="en"><meta charset="utf-8"><title>laydown</title>
<body style="font: 1.2em/1.5 sans-serif; max-width: 34em; margin: 3em auto; padding: 0 1em">
<h1>The bench could not be opened</h1><p style="white-space: pre-line">{message}</p></body></html>
"""


@verb("open", tasks=["keep_lesson"], example="laydown open lemons.txt")
@click.argument("file", required=False)
@click.pass_context
def open_bench(context: click.Context, file: str | None) -> int:
    """Open the bench, and FILE on it: a library, or a lesson, which your library then keeps.

    A double click on the program or on such a file does the same. Another person's library is
    opened where it lies; to make it your own, drop it on the bench's page “History”.
    """
    if file and not _is_library(file):
        ask(read_bytes(file, most=allowed_sizes.LESSON), source_of(file), makes=True)
    elif file:
        settings().library = file
    code: int = context.invoke(serve, port=_port())
    return code


def _port() -> int:
    """Return the first port that is free, or where a bench is open on this library.

    Whoever double-clicks can't name one.
    """
    from laydown.app.library import name_of_place
    from laydown.web.running import library_open_at
    from laydown.web.serving import USUAL_PORT, bind

    wanted = name_of_place(settings().library)
    for port in range(USUAL_PORT, USUAL_PORT + PORTS):
        if library_open_at(port) == wanted:
            return port
        with suppress(LaydownError):
            bind(port).close()
            return port
    return USUAL_PORT


def _is_library(file: str) -> bool:
    from laydown.app.library import is_library_file

    return is_library_file(Path(file))


def is_double_click(
    arguments: Sequence[str],
    environment: Mapping[str, str],
    streams: Sequence[TextIO | None],
    *,
    platform: str,
) -> bool:
    """Return whether a start came from a desktop: no terminal, and nothing or a file to open.

    Parameters
    ----------
    arguments
        Of the command line, without the program.
    environment
        The process's own.
    streams
        Standard input, output and error; a program without a console has none.
    platform
        As Python calls it.
    """
    if arguments and arguments[0] != open_bench.name:
        return False
    has_desktop = platform in WINDOWED or any(environment.get(name) for name in DESKTOPS)
    return has_desktop and not any(stream is not None and stream.isatty() for stream in streams)


def run_from_desktop(run: Callable[[Sequence[str]], int], arguments: Sequence[str]) -> int:
    """Run `open` where nobody sees a terminal: what went wrong is told in the browser.

    Parameters
    ----------
    run
        Runs a command line and returns its exit code; what it complains of goes to standard error.
    arguments
        Those of the double click.
    """
    said = user_cache_path("laydown", appauthor=False, ensure_exists=True) / "opened.html"
    log = said.with_suffix(".txt")
    with log.open("w", encoding="utf-8") as errors, open(os.devnull, "w") as nothing:  # noqa: PTH123
        before, (sys.stdout, sys.stderr) = (sys.stdout, sys.stderr), (nothing, errors)
        try:
            code = run(arguments or [str(open_bench.name)])
        finally:
            sys.stdout, sys.stderr = before
    if code:
        message = html.escape(log.read_text(encoding="utf-8"))
        said.write_text(TOLD.format(message=message), encoding="utf-8")
        webbrowser.open(said.as_uri())
    return code
