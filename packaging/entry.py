"""How the program that needs no Python starts: the same door as the command ``laydown``.

Four things differ from an installed laydown. The search comes compiled (``shipped_search``).
Programs that are started from here, the browser above all, must not be given the libraries of this
one. Another process of its own is this very program, asked for a module as Python would be
(``-m``). And a file alone is one to open: so macOS hands over what was double-clicked.
"""

import io
import os
import runpy
import sys
from pathlib import Path

import shipped_search

OWN_MODULES = frozenset({"laydown.imaging.pdf_drawing", "compile_search"})
"""Those that run in a process of their own: one at work, one while it is built."""


def give_back_libraries() -> None:
    """Set the search path of libraries to what it was before this program was started.

    The starter of a frozen program keeps it under this name; our own libraries are found already.
    """
    for name in ("LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH"):
        before = os.environ.pop(f"{name}_ORIG", None)
        if before is not None:
            os.environ[name] = before
        elif getattr(sys, "frozen", False):
            os.environ.pop(name, None)


def open_streams() -> None:
    """Give a program without a console somewhere to write to, as on Windows and macOS.

    Not the null device, which on Windows says that it is a terminal.
    """
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, io.StringIO())


def module_and_words(words: list[str]) -> tuple[str, list[str]]:
    """Return the module that is asked for and what is left for it.

    Examples
    --------
    >>> module_and_words(["-P", "-m", "compile_search", "here"])
    ('compile_search', ['here'])
    >>> module_and_words(["match", "Quince"])
    ('laydown', ['match', 'Quince'])
    """
    asked = words[1:] if words[:1] == ["-P"] else words
    if asked[:1] == ["-m"] and asked[1:2] and asked[1] in {"laydown", *OWN_MODULES}:
        return asked[1], asked[2:]
    if len(words) == 1 and Path(words[0]).is_file():
        return "laydown", ["open", *words]
    return "laydown", words


def main() -> None:
    """Run the module that was asked for, or the command line."""
    give_back_libraries()
    open_streams()
    module, sys.argv[1:] = module_and_words(sys.argv[1:])
    if module in OWN_MODULES:
        runpy.run_module(module, run_name="__main__", alter_sys=True)
        return
    shipped_search.use()
    from laydown.cli.main import main as run  # noqa: PLC0415  after the place of the search is set

    run()


if __name__ == "__main__":
    main()
