"""Change the core by hand, one number or sign at a time, and name what no test sees.

``python tools/try_changes.py --only src/laydown/media/kit`` halves and doubles each number that a
module of the core holds at its top (a whole number becomes one less and one more where half of it
is none), and makes the changes that ``tools/changes_to_try.toml`` lists inside functions. Each is
made in a copy of the tree, never in the tree itself, and the tests that concern the module are run
there until the first fails. Gold files don't count.

What came of each change is added to a table as it goes, so that a run that was broken off goes on
where it stopped, and no change is tried twice: ``--out`` names another table.
"""

import argparse
import ast
import csv
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import astuple, dataclass, fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
SRC = Path("src", "laydown")
TABLE = ROOT / "benchmarks" / "results" / "tried_changes.csv"
LISTED = Path(__file__).with_name("changes_to_try.toml")
CORE = ("color", "media", "match", "plan", "sheet")
TESTED_IN = {
    "color": ("color",),
    "media": ("media",),
    "match": ("match",),
    "plan": ("plan",),
    "sheet": ("sheet",),
}
"""Below ``tests``, where the tests of a part of the core are."""
COPIED = ("src", "tests", "tools", "pyproject.toml", "README.md", "docs", "benchmarks")
UNDECIDED = "undecided: no test failed in the time there was"
FAILED = re.compile(r"^(?:FAILED|ERROR) (\S+)", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Change:
    """One change: the file below ``src/laydown``, and what text there becomes which."""

    path: str
    name: str
    was: str
    becomes: str
    start: int
    end: int

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What it is known by in the table."""
        return self.path, self.name, self.was, self.becomes


@dataclass(frozen=True, slots=True)
class Tried:
    """A row of the table: `seen_by` is the first test that failed, or empty."""

    day: str
    path: str
    name: str
    was: str
    becomes: str
    seen_by: str
    ran: str


def main() -> int:
    """Try what has not been tried; return 1 where some change was seen by no test."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--only", action="append", default=[], help="A file or folder of src.")
    parser.add_argument("--out", type=Path, default=TABLE, help="The table, added to.")
    parser.add_argument("--seconds", type=float, default=300.0, help="At most, for one change.")
    parser.add_argument("--list", action="store_true", help="Say what would be tried.")
    asked = parser.parse_args()
    done = {(row.path, row.name, row.was, row.becomes) for row in read_table(asked.out)}
    due = [c for c in changes(asked.only) if c.key not in done]
    if asked.list:
        for change in due:
            print(f"{change.path}: {change.name}: {change.was} -> {change.becomes}")
        return 0
    with tempfile.TemporaryDirectory() as place:
        copy = copied(Path(place))
        for change in due:
            row = tried(copy, change, seconds=asked.seconds)
            add_to_table(asked.out, row)
            print(f"{row.path}: {row.name}: {row.was} -> {row.becomes}: {row.seen_by or 'UNSEEN'}")
    missed = [row for row in read_table(asked.out) if row.seen_by in {"", UNDECIDED}]
    print(f"{len(due)} changes tried; in the table {len(missed)} were seen by no test.")
    return 1 if missed else 0


def changes(only: list[str]) -> list[Change]:
    """Return what can be changed in the files asked for, or in all of the core."""
    roots = [Path(path).resolve() for path in only] or [ROOT / SRC / part for part in CORE]
    files = sorted({p for r in roots for p in (r.rglob("*.py") if r.is_dir() else [r])})
    found = [change for file in files for change in constants(_below_src(file), _text(file))]
    return found + [
        change for file in files for change in listed() if change.path == _below_src(file)
    ]


def listed() -> list[Change]:
    """Return the changes that are listed, wherever below the path that is named they stand now.

    Raises
    ------
    ValueError
        For one whose text stands nowhere, or more than once.
    """
    found = []
    for one in tomllib.loads(_text(LISTED))["change"]:
        root, was = ROOT / SRC / one["path"], one["was"]
        files = [root] if root.is_file() else sorted(root.rglob("*.py"))
        holders = [file for file in files if was in _text(file)]
        if len(holders) != 1 or _text(holders[0]).count(was) != 1:
            raise ValueError(f"{one['path']}: {was!r} must stand there once, and only once")
        start = _text(holders[0]).index(was)
        end = start + len(was)
        found.append(Change(_below_src(holders[0]), "listed", was, one["becomes"], start, end))
    return found


def _below_src(file: Path) -> str:
    return file.relative_to(ROOT / SRC).as_posix()


def _text(file: Path) -> str:
    return file.read_text(encoding="utf-8")


def constants(path: str, text: str) -> Iterator[Change]:
    """Yield each number at a module's top, halved and doubled."""
    lines = [0, *(m.end() for m in re.finditer("\n", text))]
    for node in ast.parse(text).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        name = ", ".join(ast.unparse(target) for target in targets)
        parts = list(_numbers(node.value))
        for number, (part, value) in enumerate(parts):
            place = f"{name}[{number}]" if len(parts) > 1 else name
            start = lines[part.lineno - 1] + part.col_offset
            end = lines[part.lineno - 1] + (part.end_col_offset or 0)
            for becomes in halved_and_doubled(value):
                yield Change(path, place, text[start:end], becomes, start, end)


def _numbers(node: ast.AST) -> Iterator[tuple[ast.Constant, float]]:
    for part in ast.walk(node):
        if isinstance(part, ast.Constant) and type(part.value) in {int, float} and part.value:
            value: Any = part.value
            yield part, value


def halved_and_doubled(value: int | float) -> tuple[str, ...]:
    """Return a number by half and twice; one less and one more where a whole one has no half."""
    if isinstance(value, float):
        return repr(value / 2.0), repr(value * 2.0)
    return (str(value - 1), str(value + 1)) if value % 2 else (str(value // 2), str(value * 2))


def copied(place: Path) -> Path:
    """Copy the tree to where it may be changed."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, place / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, place / name)
    if (ROOT / "test-data").exists():
        (place / "test-data").symlink_to(ROOT / "test-data")
    return place


def tried(copy: Path, change: Change, *, seconds: float) -> Tried:
    """Make a change in the copy, run the tests that concern it, and put the file back."""
    file = copy / SRC / change.path
    text = file.read_text(encoding="utf-8")
    tests = tests_of(copy, change.path)
    file.write_text(text[: change.start] + change.becomes + text[change.end :], encoding="utf-8")
    try:
        seen_by = first_failing(copy, tests, fresh=is_compiled(copy, change), seconds=seconds)
    finally:
        file.write_text(text, encoding="utf-8")
    day = datetime.now(UTC).date().isoformat()
    ran = " ".join(test.relative_to(copy / "tests").as_posix() for test in tests)
    return Tried(day, *change.key, seen_by, ran)


def tests_of(copy: Path, path: str) -> list[Path]:
    """Return the tests that import a module, then those that import what imports it."""
    module = module_of(path)
    above = [
        module_of(p.relative_to(copy / SRC).as_posix())
        for p in (copy / SRC).rglob("*.py")
        if _imports(p, [module])
    ]
    part = path.split("/", maxsplit=1)[0]
    files = sorted(f for t in TESTED_IN[part] for f in (copy / "tests" / t).rglob("test_*.py"))
    direct = [file for file in files if _imports(file, [module])]
    return direct + [f for f in files if f not in direct and _imports(f, above)]


def module_of(path: str) -> str:
    """Return a module's name by its file below ``src/laydown``."""
    return ".".join(["laydown", *Path(path).with_suffix("").parts])


def _imports(file: Path, modules: list[str]) -> bool:
    text = file.read_text(encoding="utf-8")
    return any(re.search(rf"^from {re.escape(m)} import", text, re.MULTILINE) for m in modules)


def is_compiled(copy: Path, change: Change) -> bool:
    """Say whether compiled code may hold the number: its cache doesn't notice other files."""
    if "@compiled" in (copy / SRC / change.path).read_text(encoding="utf-8"):
        return True
    names = [name for name in re.split(r"\W+", change.name) if name and name != "listed"]
    return any(
        any(re.search(rf"\b{name}\b", text) for name in names)
        for text in (p.read_text(encoding="utf-8") for p in (copy / SRC).rglob("*.py"))
        if "@compiled" in text
    )


def first_failing(copy: Path, tests: list[Path], *, fresh: bool, seconds: float) -> str:
    """Return the first test that fails, nothing where none does, or that time was too short."""
    if not tests:
        return ""
    cache = copy / "compiled"
    if fresh:
        shutil.rmtree(cache, ignore_errors=True)
    environment = os.environ | {
        "PYTHONPATH": str(copy / "src"),
        "PYTHONDONTWRITEBYTECODE": "1",
        "NUMBA_CACHE_DIR": str(cache),
    }
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:randomly"]
    try:
        run = subprocess.run(
            [*command, *map(str, tests)],
            cwd=copy,
            env=environment,
            capture_output=True,
            text=True,
            timeout=seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return UNDECIDED
    finally:
        if fresh:
            shutil.rmtree(cache, ignore_errors=True)
    found = FAILED.search(run.stdout)
    if found:
        return found[1].replace(f"{copy}/", "")
    return "" if run.returncode == 0 else "can't be run"


def read_table(path: Path) -> list[Tried]:
    """Return the rows of the table; none where there is none yet."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as file:
        return [Tried(**row) for row in csv.DictReader(file)]


def add_to_table(path: Path, row: Tried) -> None:
    """Add a row at the end, below the names of the columns."""
    begun = path.exists()
    with path.open("a", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        if not begun:
            writer.writerow([field.name for field in fields(Tried)])
        writer.writerow(astuple(row))


if __name__ == "__main__":
    sys.exit(main())
