"""Every task has a place at the bench."""

import ast
import importlib
from collections.abc import Iterator
from inspect import isfunction
from pathlib import Path

import pytest

import laydown.app
import laydown.web
from laydown.app import TASKS
from laydown.web.long_work import SHOWN_AT
from laydown.web.pages import PAGES

APP, WEB = (Path(str(package.__file__)).parent for package in (laydown.app, laydown.web))


def called_in(module: Path) -> Iterator[str]:
    """Return the modules of `laydown.app` of which a module uses a function."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.ImportFrom) or not node.module:
            continue
        if node.module == "laydown.app":
            yield from (name.name for name in node.names)
        if node.module.startswith("laydown.app."):
            used = importlib.import_module(node.module)
            if any(isfunction(getattr(used, name.name)) for name in node.names):
                yield node.module.rpartition(".")[2]


@pytest.fixture(scope="module")
def called() -> set[str]:
    """Return what pages call of `laydown.app`, themselves or by what is no task of its own."""
    found: set[str] = set()
    ahead = [name for module in WEB.rglob("*.py") for name in called_in(module)]
    while ahead:
        name = ahead.pop()
        if name not in found and name not in TASKS and (APP / f"{name}.py").exists():
            ahead += called_in(APP / f"{name}.py")
        found.add(name)
    return found


@pytest.mark.parametrize("task", TASKS)
def test_a_task_has_a_place_at_the_bench(task: str, called: set[str]) -> None:
    """A page calls it, or a form starts it as long work that leads to a page of its own."""
    assert PAGES
    assert task in called or task in SHOWN_AT
