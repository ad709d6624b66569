"""Many conversions at once: each lesson from each range on each paper, as far as is missing."""

import hashlib
import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from pathlib import Path, PurePath
from typing import Any

import laydown
from laydown.app.fits import Supplies
from laydown.app.lessons.lessons import LessonAsked, convert_lesson
from laydown.app.lessons.pages import make_lesson_page
from laydown.app.matches.charts import FORMS, write_chart
from laydown.app.matches.colors import Asking
from laydown.app.tasks import write_file
from laydown.errors import BadFileError, LaydownError, NotMeasuredError
from laydown.match.ranking import Watch
from laydown.store.library import Library

PAGE = "page"
WRITTEN = (*FORMS, PAGE)
"""What can be made: charts of these forms, and the page that answers."""
MADE = "made.json"
"""Where it is kept what each file was made from."""
LISTS = ("lessons", "ranges", "papers", "write")
NUMBERS = {"steps": (1, 3), "coats": (1, 3)}
WAYS = ("sketch", "class", "close")
UNFIT = re.compile(r'[\\/:*?"<>|\x00-\x1f]')
"""What no file name holds on one of the systems people use."""


@dataclass(frozen=True, slots=True)
class RunBatch:
    """What is to be made, and where."""

    lessons: tuple[tuple[str, bytes], ...]
    """Name and content of each lesson or list of colors."""
    ranges: tuple[str, ...]
    papers: tuple[str, ...]
    """Each lesson is converted from each of these ranges on each of these papers."""
    folder: str
    write: tuple[str, ...] = ("pdf",)
    """Of `WRITTEN`."""
    asking: Asking = field(default_factory=Asking)
    """How each color is looked for; its supplies are set one after the other."""


@dataclass(frozen=True, slots=True)
class BatchDone:
    """What came of it."""

    made: tuple[str, ...]
    """Names of the files that were made now."""
    there: tuple[str, ...]
    """The same of those that were there from before, made from what still holds."""
    troubles: tuple[str, ...]
    """Sentences on what can't be made, and why."""


def read_batch(content: bytes, *, source: str, folder: Path) -> RunBatch:
    """Read a list of what is to be made: TOML (toml.io).

    Parameters
    ----------
    content, source
        Of the file: the lists ``lessons``, ``ranges`` and ``papers``; and where it is given,
        ``write``, ``into``, ``tolerance``, ``steps``, ``coats``.
    folder
        In which it lies: names of files in it are seen from there.

    Raises
    ------
    BadFileError
        For what can't be read, isn't known, or is missing.
    """
    try:
        told = tomllib.loads(content.decode())
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadFileError(f"{source} can't be read: {error}.", hint=AS_IN) from error
    odd = sorted(set(told) - {*LISTS, *NUMBERS, "into", "tolerance"})
    if odd:
        raise BadFileError(f"{source}: “{odd[0]}” means nothing here.", hint=AS_IN)
    lists = {name: _words(told, name, source) for name in LISTS}
    unknown = [form for form in lists["write"] if form not in WRITTEN]
    if unknown:
        raise BadFileError(
            f"{source}: “{unknown[0]}” can't be written.", hint=f"There are {', '.join(WRITTEN)}."
        )
    asking = Asking(tolerance=_one_of(told, "tolerance", WAYS, "class", source))
    limits = {
        name: _one_of(told, name, (1, 2, 3), getattr(asking, name), source) for name in NUMBERS
    }
    return RunBatch(
        lessons=tuple((name, _content(folder / name, source)) for name in lists["lessons"]),
        ranges=lists["ranges"],
        papers=lists["papers"],
        folder=str(folder / str(told.get("into", "converted"))),
        write=lists["write"] or ("pdf",),
        asking=replace(asking, **limits),
    )


AS_IN = (
    'Write it as in: lessons = ["lemons.txt"], ranges = ["Orchard"], papers = ["Gannet smooth"].'
)


def _words(told: Mapping[str, Any], name: str, source: str) -> tuple[str, ...]:
    found = told.get(name, [] if name == "write" else None)
    if not isinstance(found, list) or not all(isinstance(one, str) and one for one in found):
        raise BadFileError(f"{source}: “{name}” must be a list of names.", hint=AS_IN)
    if not found and name != "write":
        raise BadFileError(f"{source}: “{name}” names nothing.", hint=AS_IN)
    return tuple(dict.fromkeys(found))


def _one_of(
    told: Mapping[str, Any], name: str, among: Sequence[Any], usual: Any, source: str
) -> Any:
    found = told.get(name, usual)
    if found not in among or isinstance(found, bool):
        listed = ", ".join(map(str, among))
        raise BadFileError(f"{source}: “{name}” can be {listed}.", hint=AS_IN)
    return found


def _content(path: Path, source: str) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise BadFileError(
            f"{source}: {path.name} can't be read ({error.strerror}).",
            hint="Names of files are seen from where the batch lies.",
        ) from error


def run_batch(library: Library, request: RunBatch, *, watch: Watch | None = None) -> BatchDone:
    """Make what isn't there yet, or no longer holds; a batch that was stopped goes on so."""
    folder = Path(request.folder)
    folder.mkdir(parents=True, exist_ok=True)
    known = _known(folder)
    made, there, troubles = [], [], []
    parts = list(product(request.lessons, request.ranges, request.papers, request.write))
    for done, ((name, content), label, paper, form) in enumerate(parts):
        if watch is not None:
            watch(done, len(parts))
        asking = replace(request.asking, supplies=Supplies(ranges=(label,), paper=paper))
        target = folder / _file_name(name, label, paper, form)
        try:
            rests_on = _digest(library, content, form, asking)
            if known.get(target.name) == rests_on and target.exists():
                there.append(target.name)
                continue
            write_file(target, _made(library, name, content, form, asking))
        except LaydownError as error:
            troubles.append(f"{target.name}: {error.message}")
            continue
        known[target.name] = rests_on
        write_file(folder / MADE, (json.dumps(known, indent=1, sort_keys=True) + "\n").encode())
        made.append(target.name)
    return BatchDone(tuple(made), tuple(there), tuple(troubles))


def _made(library: Library, name: str, content: bytes, form: str, asking: Asking) -> bytes:
    asked = LessonAsked(content, name, asking, turns=0)
    if form == PAGE:
        return make_lesson_page(library, asked).html.encode()
    return write_chart(convert_lesson(library, asked).together, form)


def _file_name(lesson: str, label: str, paper: str, form: str) -> str:
    """Return what a file is called.

    Examples
    --------
    >>> _file_name("bowl/lemons.txt", "Orchard", "Gannet: smooth", "page")
    'lemons from Orchard on Gannet- smooth, answers.html'
    """
    told = f"{PurePath(lesson).stem} from {label} on {paper}"
    ending = ", answers.html" if form == PAGE else f".{form}"
    return UNFIT.sub("-", told) + ending


def _digest(library: Library, content: bytes, form: str, asking: Asking) -> str:
    """Return a hash of all that a file rests on."""
    (label,), paper = asking.supplies.ranges, asking.supplies.paper
    with library.look() as work:
        if not work.count_swatches(range=label, paper=paper):
            raise NotMeasuredError(f"{label} isn't swatched on {paper}.")
        swatches = work.swatch_hash([label], paper)
    parts = (laydown.__version__, form, swatches, repr(asking))
    return hashlib.sha256("\n".join(parts).encode() + content).hexdigest()


def _known(folder: Path) -> dict[str, str]:
    """Return what is kept of an earlier run; of a file that isn't ours, nothing."""
    try:
        found = json.loads((folder / MADE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
