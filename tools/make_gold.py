"""Ask what ``tests/gold/commands.toml`` lists, and keep the answers as gold files.

``python tools/make_gold.py`` writes them anew into ``tests/gold/`` and prints what differs from
those that were there: the file, the place in it, what stood there and what stands there now.
``--look`` prints without writing; names of files after that ask those alone.

A gold file is a number copied from our own output. It tells that an answer has changed, never that
it is right: each change is explained or mended, and the facts have tests of their own.
"""

import argparse
import contextlib
import json
import os
import re
import shlex
import shutil
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does

import numpy as np
from click.testing import CliRunner, Result
from PIL import Image

from laydown.cli.main import door
from laydown.demo.files import LIGHTFASTNESS_FILE, read_bytes
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.demo.photograph import colored_and_photographed
from laydown.imaging.files import open_photographs
from laydown.store.library import open_library

GOLD = Path(__file__).parent.parent / "tests" / "gold"
LIBRARY = "library.db"
SHEET, PHOTOGRAPH = "sheet.pdf", "photograph.png"
NUMBER = re.compile(r"(-?\d+\.\d+)")
LONG_NUMBER = re.compile(r"-?\d+\.\d{6,}")
OURS_ALONE = (
    (re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:[+-]\d\d:\d\d|Z)?"), "a moment"),
    (re.compile(r"\d{8}-\d{6}"), "a moment"),
    (re.compile(r"\b(?:[0-9a-f]{32}){1,2}\b"), "an identity"),
    (re.compile(r"^[A-Za-z0-9+/]{1000,}=*$"), "a picture"),
    (re.compile(r"^<!DOCTYPE html>.*", re.DOTALL), "a page"),
)
"""What no second run gives again, or what tests of its own look at, and what is kept instead."""
DECIMALS, DIGITS = 4, 6
"""Numbers are kept to so many decimals, or to so many digits where that is shorter."""
ABSOLUTE, RELATIVE = 1e-3, 1e-3
"""Two numbers are the same within these, see `same_number`."""

Difference = tuple[str, Any, Any]


def main() -> int:
    """Write the files, or look; return 1 where something differs and nothing was written."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--look", action="store_true", help="Print what differs; write nothing.")
    parser.add_argument("names", nargs="*", help="Of gold files, without ending.")
    asked = parser.parse_args()
    names = asked.names or [*commands("asked"), *commands("changed")]
    differing = 0
    with tempfile.TemporaryDirectory() as place:
        prepare(Path(place) / "made")
        for name in names:
            answer = ask(Path(place) / "made", name)
            found = list(differences(read_gold(name), answer))
            differing += bool(found)
            _tell(name, found)
            if not asked.look:
                write_gold(name, answer)
    if not asked.look and not asked.names:
        for old in GOLD.glob("*.json"):
            if old.stem not in names:
                old.unlink()
    print(f"{differing} of {len(names)} differ.")
    return 1 if differing and asked.look else 0


def _tell(name: str, found: list[Difference]) -> None:
    for path, was, now in found[:5]:
        print(f"{name}{path}: {_short(was)} is now {_short(now)}")
    if len(found) > 5:
        print(f"{name}: {len(found) - 5} places more")


def _short(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) < 80 else f"{text[:77]}…"


def commands(table: str) -> dict[str, str]:
    """Return the commands of a table of the list, by the names of their files."""
    found: dict[str, str] = _listed()[table]
    return found


def _listed() -> dict[str, Any]:
    return tomllib.loads((GOLD / "commands.toml").read_text(encoding="utf-8"))


def prepare(folder: Path, lay_demo: Callable[[Path], Path] | None = None) -> None:
    """Make the library that is asked, and the files that lie beside it, in a new folder.

    `lay_demo`: lays a library in which the demo and its fits are already, where there is one.
    """
    folder.mkdir()
    listed = _listed()
    if lay_demo:
        lay_demo(folder / LIBRARY)
    for name, text in listed["files"].items():
        (folder / name).write_text(text.removeprefix("\n"), encoding="utf-8")
    (folder / LIGHTFASTNESS_FILE).write_bytes(read_bytes(LIGHTFASTNESS_FILE))
    (folder / "drawing.png").write_bytes(lemons_png(draw_lemons(rows=160, columns=240)))
    _picture_card(folder / "card.png")
    for line in listed["prepare"][bool(lay_demo) :]:  # the first puts the demo in
        told = _run(folder, [*shlex.split(line), "-q"])
        if told.exit_code != 0:
            raise ValueError(f"{line}: {told.output}")
    _color_sheet(folder)


def _picture_card(path: Path) -> None:
    """Draw a card of two rows of three even patches, the first and the last of them bare."""
    picture = np.full((440, 620, 3), 235, np.uint8)
    colors = np.random.default_rng(1).integers(40, 200, (6, 3))
    for place in range(1, 5):
        top, left = 40 + 180 * (place // 3), 40 + 180 * (place % 3)
        picture[top : top + 150, left : left + 150] = colors[place]
    Image.fromarray(picture).save(path)


def _color_sheet(folder: Path) -> None:
    """Have the sheet that was printed colored in and photographed by the demo's student."""
    library = open_library(folder / LIBRARY)
    with library.look() as work:
        (number,) = work.sheets.numbers()
        sheet = work.sheets.get(number)
    library.close()
    printed = next(open_photographs((folder / SHEET).read_bytes(), source=SHEET)).pixels
    picture = colored_and_photographed(sheet, printed)
    Image.fromarray(picture).save(folder / PHOTOGRAPH, compress_level=1)


def ask(made: Path, name: str) -> dict[str, Any]:
    """Run one command on what was made, and return what belongs into its gold file.

    Parameters
    ----------
    made
        The folder that `prepare` made; it stays as it is.
    name
        Of the gold file.
    """
    asked, changed = commands("asked"), commands("changed")
    line = asked.get(name) or changed[name]
    with contextlib.ExitStack() as stack:
        folder = made
        if name in changed:
            place = stack.enter_context(tempfile.TemporaryDirectory())
            folder = Path(shutil.copytree(made, Path(place) / "made"))
        told = _run(folder, [*shlex.split(line), "--json"])
        if told.exit_code not in {0, 3}:
            raise ValueError(f"{line}: {told.output}")
        result = _plain(json.loads(told.stdout), str(folder.resolve()))
    return {"command": line, "code": told.exit_code, "result": result}


def _run(folder: Path, arguments: list[str]) -> Result:
    with contextlib.chdir(folder):
        database = {"LAYDOWN_DB": str(folder / LIBRARY)}
        return CliRunner().invoke(door, arguments, env=database)


def _plain(value: Any, folder: str) -> Any:
    """Return a result with numbers made short, and without what is of this day and place alone."""
    if isinstance(value, dict):
        return {key: _plain(item, folder) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item, folder) for item in value]
    if isinstance(value, float):
        return _short_number(value)
    return _plain_text(value, folder) if isinstance(value, str) else value


def _short_number(value: float) -> float:
    return float(f"{round(value, DECIMALS):.{DIGITS}g}") + 0.0


def _plain_text(text: str, folder: str) -> str:
    text = text.replace(folder + os.sep, "")
    for what, instead in OURS_ALONE:
        text = what.sub(instead, text)
    return LONG_NUMBER.sub(lambda number: str(_short_number(float(number[0]))), text)


def read_gold(name: str) -> Any:
    """Return what a gold file holds, or nothing where there is none."""
    path = GOLD / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else None


def write_gold(name: str, answer: dict[str, Any]) -> None:
    """Write a gold file: a line for the command, and a line for each first part of the result."""
    parts = answer["result"]
    rows = [
        f"{json.dumps(key)}: {json.dumps(item, ensure_ascii=False)}" for key, item in parts.items()
    ]
    head = f'{{"command": {json.dumps(answer["command"])}, "code": {answer["code"]}, "result": {{'
    text = head + "\n" + ",\n".join(rows) + "\n}}\n"
    (GOLD / f"{name}.json").write_text(text, encoding="utf-8")


def differences(was: Any, now: Any, path: str = "") -> Iterator[Difference]:
    """Yield where two results differ, in their order: the place, what stood and what stands there.

    Examples
    --------
    >>> list(differences({"best": [1.0, "Kelp"]}, {"best": [1.0, "Dune"]}))
    [('.best[1]', 'Kelp', 'Dune')]
    """
    if isinstance(was, dict) and isinstance(now, dict):
        yield from _of_pairs((f"{path}.{k}", was.get(k), now.get(k)) for k in {**was, **now})
        if [k for k in was if k in now] != [k for k in now if k in was]:
            yield path, list(was), list(now)
    elif isinstance(was, list) and isinstance(now, list) and len(was) == len(now):
        pairs = enumerate(zip(was, now, strict=True))
        yield from _of_pairs((f"{path}[{at}]", a, b) for at, (a, b) in pairs)
    elif not _same(was, now):
        yield path, was, now


def _of_pairs(pairs: Iterable[Difference]) -> Iterator[Difference]:
    for path, was, now in pairs:
        yield from differences(was, now, path)


def _same(was: Any, now: Any) -> bool:
    if isinstance(was, str) and isinstance(now, str):
        parts, others = NUMBER.split(was), NUMBER.split(now)
        return parts[::2] == others[::2] and all(
            same_number(float(a), float(b)) for a, b in zip(parts[1::2], others[1::2], strict=True)
        )
    return same_number(was, now) or (was == now and type(was) is type(now))


def same_number(was: Any, now: Any) -> bool:
    """Say whether two numbers are the same, but for how they were rounded and on what computer.

    Other processors add in another order and fuse other products. That moves the last digits of
    a sum, and an optimizer that stops at a tolerance hands them on larger: with plain arithmetic
    instead of that of the newest processors, the largest change was 5 parts in 100,000, in a
    covariance. What is spread over the axes of a covariance moves further where two axes are as
    long as each other: summed by two threads instead of one, the end of a range went from .0333
    to .0329.
    """
    if not all(isinstance(n, int | float) and not isinstance(n, bool) for n in (was, now)):
        return False
    return bool(abs(was - now) <= ABSOLUTE + RELATIVE * abs(was))


if __name__ == "__main__":
    sys.exit(main())
