"""Every answer of the command line as it was when it was last looked at.

A gold file is a number copied from our own output: it tells that an answer has changed, and is
never the only evidence that it is right. Where a change is meant, ``python tools/make_gold.py``
writes the files anew and prints what differs; each difference is explained in the commit.
"""

import runpy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest

from laydown.cli.main import door

TOOL = runpy.run_path(str(Path(__file__).parents[2] / "tools" / "make_gold.py"))
COMMANDS: dict[str, str] = TOOL["commands"]("asked") | TOOL["commands"]("changed")
SHOWN = 20
SILENT = {
    "library redo": "needs an undo before it, which the tests of the journal do",
    "batch": "writes files, which its own tests look into",
    "completion": "prints lines of a shell",
    "demo": "is the whole job, which is judged against the simulated truth",
    "library add-demo": "is what all of this begins with",
    "trial print": "prints; its JSON tells only how many bytes",
    "open": "opens the bench, too",
    "serve": "opens the bench and answers when it closes",
}
"""Commands that need no gold file, and why."""


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory, lay_demo: Callable[[Path], Path]) -> Path:
    """Make the library that all commands ask, once."""
    folder = tmp_path_factory.mktemp("gold") / "made"
    TOOL["prepare"](folder, lay_demo)
    return folder


@pytest.mark.parametrize("name", COMMANDS)
def test_the_answer_is_still_the_same(made: Path, name: str) -> None:
    """What a command gives with --json is what its gold file holds, texts and numbers."""
    found = list(TOOL["differences"](TOOL["read_gold"](name), TOOL["ask"](made, name)))
    told = [f"{name}.json{path}: {was!r} is now {now!r}" for path, was, now in found]
    assert not told, "\n".join([*told[:SHOWN], f"{len(told)} places differ"])


def test_every_gold_file_has_its_command() -> None:
    """No file is left of a command that is no longer asked."""
    kept = {path.stem for path in Path(__file__).parent.glob("*.json")}
    assert kept == set(COMMANDS)


def test_every_noun_and_verb_has_a_gold_file() -> None:
    """A command that gives JSON is asked at least once, but for those that say why not."""
    asked = {" ".join(line.split()[:2]) for line in COMMANDS.values()}
    asked |= {line.split()[0] for line in COMMANDS.values()}
    assert sorted(_words(door) - asked - set(SILENT)) == []


def _words(command: click.Command, before: str = "") -> set[str]:
    if not isinstance(command, click.Group):
        return {before.strip()}
    context = click.Context(command)
    names = command.list_commands(context)
    parts = {name: command.get_command(context, name) for name in names}
    return {w for name, part in parts.items() if part for w in _words(part, f"{before} {name}")}


@pytest.mark.parametrize(
    ("was", "now", "where"),
    [
        ({"a": [1.0, 2.0]}, {"a": [1.0, 2.01]}, ".a[1]"),
        ({"a": "Kelp"}, {"a": "Dune"}, ".a"),
        ({"a": 1}, {"a": 1, "b": None, "c": 2}, ".c"),
        ({"a": [1]}, {"a": [1, 2]}, ".a"),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}, ""),
        ({"a": "x: 0.50000, 1"}, {"a": "x: 0.51000, 1"}, ".a"),
        ({"a": True}, {"a": 1}, ".a"),
        ({"a": None}, {"a": 0.0}, ".a"),
    ],
)
def test_a_difference_is_named_by_its_place(was: Any, now: Any, where: str) -> None:
    """A number, a text, a part more, the order of the parts: each is told with where it stands."""
    assert next(path for path, _, _ in TOOL["differences"](was, now)) == where
    assert list(TOOL["differences"](was, was)) == []


@pytest.mark.parametrize(("was", "now"), [(71.2, 71.20009), ("0.86185 0.5", "0.86186 0.5")])
def test_what_a_computer_rounds_otherwise_is_no_difference(was: Any, now: Any) -> None:
    """Neither in a number nor in one that stands in a text."""
    assert list(TOOL["differences"](was, now)) == []
