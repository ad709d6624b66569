"""Compile every loop of the search into a folder, by asking each medium for one color.

Run by the program itself while it is built (``-P -m compile_search FOLDER``), so that what is
compiled is compiled for what is shipped.
"""

import os
import sys
import tempfile
from pathlib import Path

RANGES = ("Orchard", "Hedgerow", "Millrace")
"""The demo's markers, pencils and washes."""


def ask_each_medium(folder: Path) -> None:
    """Fit the demo's ranges in a library of their own and look for one color in each, and in two.

    Parameters
    ----------
    folder
        For the library.
    """
    from laydown.demo.files import FILM_FILES, SWATCH_FILES, data_file  # noqa: PLC0415

    library = ["--db", str(folder / "library.db"), "--quiet"]
    for name in (*SWATCH_FILES, *FILM_FILES):
        _run("swatches", "import", str(data_file(name)), *library)
    for kit in (*((one,) for one in RANGES), RANGES[:2]):
        ranges = [word for name in kit for word in ("--range", name)]
        paper = ["--paper", "Gannet smooth"]
        _run("match", "lab:60,10,20", *ranges, *paper, "--coats", "2", *library)


def _run(*words: str) -> None:
    from laydown.cli.main import door  # noqa: PLC0415

    try:
        door.main(list(words))
    except SystemExit as left:
        if left.code not in (0, 3):  # 3: answered, and out of reach
            raise


if __name__ == "__main__":
    import shipped_search

    os.environ["NUMBA_CACHE_DIR"] = sys.argv[1]
    shipped_search.use()
    with tempfile.TemporaryDirectory() as name:
        ask_each_medium(Path(name))
