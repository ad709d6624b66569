"""``laydown serve``: the bench, in the browser of this computer."""

import sys
import webbrowser
from importlib.resources import as_file, files
from pathlib import Path

import click

from laydown.cli import asking, commands, console


@commands.verb("serve", tasks=[], example="laydown serve")
@asking.option(
    "--port", among=(0, 65535), default=8017, help="Where to listen; 0 takes any free port."
)
@click.option("--no-browser", is_flag=True, help="Don't open the browser.")
@click.option(
    "--phone", is_flag=True, help="Let one phone of your home network in, by a one-time code."
)
@click.option("--stop", is_flag=True, help="Close the bench that is open at this port.")
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
        console.say(f"Written: {path}")
    if system is not System.LINUX:
        console.say(f"These were never run on {system}: if they fail, please tell us.")
    console.suggest(f"double-click “{made[0][0]}”")
    return commands.DONE


def _in_full(library: str) -> str:
    """Return a library's path so that it is found from any folder; an address as it is."""
    return library if "://" in library else str(Path(library).expanduser().absolute())
