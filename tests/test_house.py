"""The rules of the house that no linter knows."""

import ast
import re
import runpy
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import click
import pytest
from packaging.requirements import Requirement

from laydown.cli.main import door

ROOT = Path(__file__).parent.parent
SOURCES = sorted((ROOT / "src").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("test_*.py"))
MOST_FILES_OF_A_ROOM = 26
MOST_LINES_OF_A_FUNCTION = 60
NAMES_THAT_SAY_NOTHING = {"utils", "helpers", "common", "base", "misc", "core"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True)
class Module:
    """What the rules ask of a file: what it is read for, once, as its tree takes much room."""

    functions: tuple[tuple[str, int, str], ...]
    """Name, lines of code, and docstring."""
    classes: tuple[str, ...]
    told: tuple[str, ...]
    hints: tuple[str, ...]
    held: tuple[str, ...]
    used: frozenset[str]


@cache
def _module(path: Path) -> Module:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = list(ast.walk(tree))
    functions = [node for node in nodes if isinstance(node, Function)]
    return Module(
        tuple((f.name, _lines_of_code(f), ast.get_docstring(f) or "") for f in functions),
        tuple(node.name for node in nodes if isinstance(node, ast.ClassDef)),
        tuple(_told(nodes)),
        tuple(_hints(nodes)),
        tuple(_names_held(tree)),
        frozenset(_names_used(nodes)),
    )


def _lines_of_code(function: Function) -> int:
    first = function.body[0]
    told = ast.get_docstring(function) is not None and first.end_lineno
    documented = told - first.lineno + 1 if told else 0
    return (function.end_lineno or 0) - function.lineno + 1 - documented


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_functions_fit_in_the_eye(path: Path) -> None:
    """No function has over 60 lines, its docstring aside."""
    lengths = {name: size for name, size, _ in _module(path).functions}
    assert {n: size for n, size in lengths.items() if size > MOST_LINES_OF_A_FUNCTION} == {}


def test_rooms_hold_what_one_holds_in_the_head() -> None:
    """No folder holds more than 25 modules beside its ``__init__``."""
    rooms = Counter(path.parent for path in SOURCES)
    assert {str(room): n for room, n in rooms.items() if n > MOST_FILES_OF_A_ROOM} == {}


def test_one_name_is_one_thing() -> None:
    """No two classes of src share a name."""
    classes = Counter(name for path in SOURCES for name in _module(path).classes)
    assert [name for name, n in classes.items() if n > 1] == []


def test_no_folder_or_module_has_a_name_that_says_nothing() -> None:
    """Utils, helpers and their kin are not names of anything."""
    assert [
        path for path in SOURCES if {path.stem, path.parent.name} & NAMES_THAT_SAY_NOTHING
    ] == []


def _strings(nodes: Iterable[ast.AST]) -> dict[int, str]:
    """Return the strings in a piece of code, by the node that holds them."""
    return {
        id(node): node.value
        for node in nodes
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def _told(nodes: list[ast.AST]) -> Iterator[str]:
    """Give the strings that may reach the bench: no docstring, and no `command` of an error."""
    strings = _strings(nodes)
    for node in nodes:
        if isinstance(node, ast.Expr):
            strings.pop(id(node.value), None)
        elif isinstance(node, ast.keyword) and node.arg == "command":
            strings = {
                key: strings[key] for key in strings.keys() - _strings(ast.walk(node.value)).keys()
            }
    yield from strings.values()


def _commands(command: click.Command, typed: str) -> Iterator[str]:
    if not isinstance(command, click.Group):
        yield typed
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        member = command.get_command(context, name)
        assert member is not None
        yield from _commands(member, f"{typed} {name}")


def test_nothing_told_at_the_bench_is_to_be_typed_elsewhere() -> None:
    """Below the doors only an error's `command` names a command or an option."""
    typed = re.compile(rf"(?<!\w)--[a-z]|\b({'|'.join(_commands(door, 'laydown'))})\b")
    name_of_a_form_or_folder = re.compile(r"laydown [a-z ]+\d?")
    doors = {"cli", "web"}
    assert [
        (path.name, text)
        for path in SOURCES
        if doors.isdisjoint(path.relative_to(ROOT).parts)
        for text in _module(path).told
        if typed.search(text) and not name_of_a_form_or_folder.fullmatch(text)
    ] == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_hint_with_a_command_ends_with_a_mark(path: Path) -> None:
    """The command line puts what to type before the mark, so there must be one."""
    for hint in _module(path).hints:
        assert hint[-2] in ".?!"


def _hints(nodes: list[ast.AST]) -> Iterator[str]:
    for node in nodes:
        given = {k.arg: k.value for k in node.keywords} if isinstance(node, ast.Call) else {}
        hint = given.get("hint")
        if "command" in given and isinstance(hint, ast.Constant | ast.JoinedStr):
            yield ast.unparse(hint)


@pytest.mark.parametrize("path", TESTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_each_test_states_its_fact(path: Path) -> None:
    """Every test's docstring is a sentence."""
    tests = [(name, said) for name, _, said in _module(path).functions if name.startswith("test_")]
    assert [name for name, said in tests if not said.rstrip().endswith(".")] == []


def test_every_table_has_its_source_beside_it() -> None:
    """Each folder with CSV tables has a SOURCES.md that names every one of them."""
    tables = [*(ROOT / "src").rglob("*.csv"), *(ROOT / "tests" / "published").rglob("*.csv")]
    assert tables
    unnamed = [
        str(table.relative_to(ROOT))
        for table in tables
        if table.name not in (table.parent / "SOURCES.md").read_text(encoding="utf-8")
    ]
    assert unnamed == []


@pytest.mark.parametrize("name", ["docs/ARCHITECTURE.md", "README.md"])
def test_every_path_a_page_names_exists(name: str) -> None:
    """A path written in backquotes on these pages is there."""
    text = (ROOT / name).read_text(encoding="utf-8")
    paths = re.findall(r"`([a-z_]+/[\w./-]*|\.ci/run)`", text)
    assert paths
    places = (ROOT, ROOT / "src" / "laydown")
    assert [p for p in paths if not any((place / p).exists() for place in places)] == []


def test_lock_files_name_no_address() -> None:
    """The locks hold names, versions and hashes, never the address of a registry."""
    for name in ("requirements.lock", "requirements-dev.lock"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert "--hash=sha256:" in text
        assert "://" not in text


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-dev.lock"])
def test_the_locks_agree_with_the_project(lock: str) -> None:
    """Each dependency of pyproject.toml is locked at a version that it allows."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = project["dependencies"]
    if lock == "requirements-dev.lock":
        wanted = wanted + project["optional-dependencies"]["dev"]
    text = (ROOT / lock).read_text(encoding="utf-8")
    locked = dict(re.findall(r"^([\w.-]+)==([\w.]+)", text, flags=re.MULTILINE))
    for requirement in map(Requirement, wanted):
        assert requirement.specifier.contains(locked[requirement.name.lower()]), requirement


def test_every_name_is_used_somewhere() -> None:
    """No module of src holds a name that nothing in the project uses."""
    written = [*SOURCES, *TESTS, *(p for f in USERS for p in (ROOT / f).rglob("*.py"))]
    used = {name for path in dict.fromkeys(written) for name in _module(path).used}
    used |= {w for p in (ROOT / "src").rglob("*.j2") for w in re.findall(r"\w+", p.read_text())}
    idle = [f"{path.relative_to(ROOT)}: {name}" for path in SOURCES for name in _module(path).held]
    assert [one for one in idle if one.rpartition(" ")[2] not in used] == []


USERS = ("tests", "tools", "benchmarks")


def _names_held(tree: ast.Module) -> Iterator[str]:
    """Yield the names at a module's top, those aside that a decorator hands on or Python knows."""
    for node in tree.body:
        if isinstance(node, Function | ast.ClassDef) and not node.decorator_list:
            yield node.name
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = (n for target in targets for n in ast.walk(target) if isinstance(n, ast.Name))
            yield from (name.id for name in names if not name.id.startswith("__"))


def _names_used(nodes: list[ast.AST]) -> Iterator[str]:
    for node in nodes:
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.alias):
            yield node.name.rpartition(".")[2]
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield from re.findall(r"\w+", node.value) if len(node.value) < 100 else ()


def test_changes_by_hand_can_be_tried() -> None:
    """What is listed to be tried stands in the code, and numbers are halved, doubled, or moved."""
    tool = runpy.run_path(str(ROOT / "tools" / "try_changes.py"))
    assert len(tool["listed"]()) > 10
    text = 'FEW = (4, 7, 0)\nNEAR: float = 0.5\nNAME = "4"\ndef f(x=3): ...\n'
    found = list(tool["constants"]("x.py", text))
    made = [text[: c.start] + c.becomes + text[c.end :] for c in found]
    few = ("2, 7, 0", "8, 7, 0", "4, 6, 0", "4, 8, 0")
    near = (text.replace("0.5", number) for number in ("0.25", "1.0"))
    assert made == [*(text.replace("4, 7, 0", numbers) for numbers in few), *near]
