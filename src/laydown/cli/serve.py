"""``laydown serve``, ``laydown open``, and what a double click does: a start nobody watches."""

import html
import os
import sys
import webbrowser
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from importlib.resources import as_file, files
from pathlib import Path
from typing import TextIO

import click
from platformdirs import user_cache_path

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.errors import LaydownError


@commands.verb("serve", "")
@asking.option("--port", (0, 65535), 8017, "Where to listen; 0 takes any free port.")
@asking.flag("--no-browser", "Don't open the browser.")
@asking.flag("--phone", "Let one phone of your home network in, by a one-time code.")
@asking.flag("--stop", "Close the bench that is open at this port.")
@click.option(
    "--shortcut",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="Write files to double-click into a folder, which open and close the bench. Those for"
    " macOS and Windows were never run there yet.",
)
def serve(*, port: int, no_browser: bool, phone: bool, stop: bool, shortcut: Path | None) -> int:
    """Open the bench, a web app on this computer alone.

    It answers only to the browser that it was opened in, by the address that is printed, and to no
    other account of this computer; nothing leaves the computer. Ctrl-C, the
    page "Put the pencils away" or --stop closes it; all that was done is in the library. Given a
    second time, it leads to the bench that is open.

    With --phone, one phone can be let in to photograph sheets and drawings. The bench is then
    reached in your home network by plain http: what passes is not encrypted, and others in that
    network could look on. Do this only in a network that you trust. It ends when the bench closes.
    """
    if shortcut is not None:
        return _write_shortcuts(shortcut, port)
    if stop:
        return _close(port)
    if _is_open(port, for_phone=phone, browser=not no_browser):
        return commands.DONE
    from laydown.web.serving import serve as open_bench

    open_bench(
        commands.settings().library,
        port=port,
        browser=not no_browser,
        for_phone=phone,
        say=console.say,
    )
    return commands.DONE


def _is_open(port: int, *, for_phone: bool, browser: bool) -> bool:
    """Lead to the bench where it is open already."""
    from laydown.web.running import address_to_open, check_same, library_open_at

    there = library_open_at(port) if port else None
    if there is None:
        return False
    from laydown.app.library import name_of_place

    check_same(there, name_of_place(commands.settings().library), port=port, for_phone=for_phone)
    console.say(f"The bench is open already, at port {port}.")
    address = address_to_open(port)
    if browser and address:
        webbrowser.open(address)
    elif address:
        console.say(f"Open it, once and within a minute, at {address}")
    return True


def _close(port: int) -> int:
    from laydown.web.running import ask_to_close

    if ask_to_close(port):
        console.say("The pencils are put away.")
    else:
        console.say(f"No bench is open at port {port}.")
    return commands.DONE


def _write_shortcuts(folder: Path, port: int) -> int:
    from laydown.web.shortcuts import System, shortcuts, system_of

    command = [sys.executable, "-m", "laydown", "serve", "--port", str(port)]
    library = ["--db", _in_full(commands.settings().library)] if commands.settings().library else []
    system = system_of(sys.platform)
    with as_file(files("laydown.web") / "static" / "mark.svg") as icon:
        made = shortcuts([*command, *library], [*command, "--stop"], system=system, icon=str(icon))
    for name, content in made:
        path = folder / name
        console.write_whole(path, content)
        path.chmod(0o755)
    if system is not System.LINUX:
        console.say(f"These were never run on {system}: if they fail, please tell us.")
    console.suggest(f"double-click “{made[0][0]}”")
    return commands.DONE


def _in_full(library: str) -> str:
    """Return a library's path so that it is found from any folder; an address as it is."""
    return library if "://" in library else str(Path(library).expanduser().absolute())


DESKTOPS = ("DISPLAY", "WAYLAND_DISPLAY")
"""What a desktop session of Linux or BSD tells its programs; macOS and Windows always have one."""
PORTS = 5
"""How many are tried: another program may have taken the usual one."""
WINDOWED = ("win32", "darwin")
TOLD = """<!doctype html><html lang="en"><meta charset="utf-8"><title>laydown</title>
<body style="font: 1.2em/1.5 sans-serif; max-width: 34em; margin: 3em auto; padding: 0 1em">
<h1>The bench could not be opened</h1><p style="white-space: pre-line">{message}</p></body></html>
"""


@commands.verb("open", "keep_lesson", "lemons.txt")
@click.argument("file", required=False)
@click.pass_context
def open_bench(context: click.Context, file: str | None) -> int:
    """Open the bench, and FILE on it: a library, or a lesson, which your library then keeps.

    A double click on the program or on such a file does the same. Another person's library is
    opened where it lies; to make it your own, drop it on the bench's page “History”.
    """
    from laydown.app.library import is_library_file

    if file and not is_library_file(Path(file)):
        content = console.read_bytes(file, most=allowed_sizes.LESSON)
        console.ask(content, console.source_of(file), makes=True)
    elif file:
        commands.settings().library = file
    code: int = context.invoke(serve, port=_free_port())
    return code


def _free_port() -> int:
    """Return the first port that is free, or where a bench is open on this library.

    Whoever double-clicks can't name one.
    """
    from laydown.app.library import name_of_place
    from laydown.web.running import library_open_at
    from laydown.web.serving import USUAL_PORT, bind

    wanted = name_of_place(commands.settings().library)
    for port in range(USUAL_PORT, USUAL_PORT + PORTS):
        if library_open_at(port) == wanted:
            return port
        with suppress(LaydownError):
            bind(port).close()
            return port
    return USUAL_PORT


def is_double_click(
    arguments: Sequence[str],
    environment: Mapping[str, str],
    streams: Sequence[TextIO | None],
    *,
    platform: str,
) -> bool:
    """Return whether a start came from a desktop: no terminal, and nothing or a file to open.

    `arguments`: of the command line, without the program. `environment`: the process's own.
    `streams`: standard input, output and error; a program without a console has none. `platform`:
    as Python calls it.
    """
    if arguments and arguments[0] != open_bench.name:
        return False
    has_desktop = platform in WINDOWED or any(environment.get(name) for name in DESKTOPS)
    return has_desktop and not any(stream is not None and stream.isatty() for stream in streams)


def run_from_desktop(run: Callable[[Sequence[str]], int], arguments: Sequence[str]) -> int:
    """Run `open` where nobody sees a terminal: what went wrong is told in the browser.

    `run`: runs a command line and returns its exit code; what it complains of goes to standard
    error. `arguments`: those of the double click.
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
