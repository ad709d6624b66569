"""The demo's folder, and its invented supplies in one's own library, and out again."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from laydown.app.given_file import GivenFile
from laydown.app.invented import INVENTED, KITS, PAPERS, RANGES
from laydown.app.matches.laying import by_hue
from laydown.app.swatches import take_in
from laydown.color.lab import lab_from_reflectance
from laydown.demo.files import FILM_FILES, SECOND_PAPER_FILE, SWATCH_FILES, read_bytes, read_rows
from laydown.errors import BadFileError, DuplicateNameError
from laydown.media.legible import name_key
from laydown.plan.run.runs import Shade, shade
from laydown.store.files import find_location, usual_path
from laydown.store.library import Library, Work

MARK = "read me.txt"
FOLDER = "laydown demo"
TEXT = (
    "This folder belongs to the demo of laydown and is overwritten by the next one.\n"
    "All data in it is invented: ranges, papers, swatches and lesson.\n"
)


def folder_beside(library: Library) -> Path:
    """Return where the bench puts the demo: beside the library, or beside the usual place of one.

    Parameters
    ----------
    library
        In a file, or on a database server, which has no folder.
    """
    return (find_location(library.location).path or usual_path()).with_name(FOLDER)


def claim_folder(folder: Path) -> Path:
    """Make a folder the demo's own: a new one, an empty one, or one from an earlier demo.

    Returned is the same folder, with a library in it no longer.

    Raises
    ------
    BadFileError
        When something else lies there already; nothing is touched then.
    """
    mark = folder / MARK
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not mark.exists() and any(folder.iterdir()):
            raise BadFileError(
                f"The folder {folder} holds files that are not the demo's.",
                hint="Move them elsewhere: the demo needs a folder that is new or empty.",
                command="or --folder ANOTHER",
            )
        mark.write_text(TEXT, encoding="utf-8")
        for old in folder.glob("library.db*"):
            old.unlink()
    except OSError as error:
        raise BadFileError(
            f"The demo can't write into {folder}: {error.strerror}.",
            hint="Check the folder, your rights, and the room on the disk.",
            command="or --folder ANOTHER",
        ) from error
    return folder


FILES = (*SWATCH_FILES, *FILM_FILES, SECOND_PAPER_FILE)


@dataclass(frozen=True, slots=True)
class DemoAdded:
    """What came in, all of it invented."""

    ranges: tuple[str, ...]
    papers: tuple[str, ...]
    kits: tuple[str, ...]
    swatches: int


@cache
def demo_shades() -> tuple[Shade, ...]:
    """Return one coat of each of the student's invented markers, to look at before all else."""
    rows = read_rows("orchard_on_gannet_smooth.csv")
    bands = [name for name in rows[0] if re.fullmatch(r"r\d{3}", name)]
    laid = [r for r in rows if r["color"] and r["coats"] == "1" and not r["over"]]
    spectra = np.array([[float(row[band]) for band in bands] for row in laid])
    return by_hue(
        shade(row["color"], lab)
        for row, lab in zip(laid, lab_from_reflectance(spectra), strict=True)
    )


def add_demo(library: Library) -> DemoAdded:
    """Put the demo in as one change, which one undo takes back.

    Raises
    ------
    DuplicateNameError
        Where the library has something of one of its names, which may be real.
    """
    with library.work("put in the demo, all of it invented") as work:
        _refuse_taken(work)
        came = [take_in(work, GivenFile(read_bytes(name), name)) for name in FILES]
        for kit, ranges in KITS.items():
            work.add_kit(kit)
            work.own(kit, [c for name in ranges for c in work.colorants(name)])
    return DemoAdded(RANGES, PAPERS, tuple(KITS), sum(file.new for file in came))


def _refuse_taken(work: Work) -> None:
    ours = {name_key(name) for name in INVENTED}
    here = [*(r.name for r in work.ranges()), *work.paper_names(), *work.kit_names()]
    taken = [name for name in here if name_key(name) in ours]
    if taken:
        raise DuplicateNameError(
            f"There is {' and '.join(taken)} in this library already.",
            hint="If that is the demo of earlier, take it out first.",
        )


@dataclass(frozen=True, slots=True)
class DemoRemoved:
    """What went: names, and how many swatches."""

    names: tuple[str, ...]
    swatches: int


def remove_demo(library: Library) -> DemoRemoved:
    """Remove what has the demo's names, and the swatches that use it.

    A paper of the demo that carries swatches of one's own stays.
    """
    with library.work("take out the demo") as work:
        gone = _there(KITS, work.kit_names())
        for kit in gone:
            work.remove_kit(kit)
        ranges = _there(RANGES, [r.name for r in work.ranges()])
        swatches = sum(work.remove_range(name, with_swatches=True) for name in ranges)
        papers = _free(work, _there(PAPERS, work.paper_names()))
        swatches += sum(work.remove_paper(name, with_swatches=True) for name in papers)
    return DemoRemoved((*gone, *ranges, *papers), swatches)


def _there(wanted: Iterable[str], here: Iterable[str]) -> list[str]:
    ours = {name_key(name) for name in wanted}
    return [name for name in here if name_key(name) in ours]


def _free(work: Work, papers: list[str]) -> list[str]:
    """Return the papers that no range lies on any longer."""
    used = {covered.paper for covered in work.coverage()}
    return [name for name in papers if name not in used]
