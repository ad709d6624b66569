"""How the program that needs no Python starts: the same door as the command ``laydown``.

Three things differ from an installed laydown. The search comes compiled (``shipped_search``).
Programs that are started from here, the browser above all, must not be given the libraries of this
one. And another process of its own is this very program, asked for a module (``-P -m``).
"""

import io
import os
import runpy
import sys

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


def main() -> None:
    """Run the module that was asked for, or the command line."""
    give_back_libraries()
    open_streams()
    if sys.argv[1:3] == ["-P", "-m"] and sys.argv[3] in OWN_MODULES:
        sys.argv = sys.argv[3:]
        runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)
        return
    shipped_search.use()
    from laydown.cli.main import main as run  # noqa: PLC0415  after the place of the search is set

    run()


if __name__ == "__main__":
    main()
