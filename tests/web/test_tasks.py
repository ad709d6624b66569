"""Every task has a place at the bench."""

import ast
import importlib
from collections.abc import Iterator
from inspect import isfunction, ismodule
from pathlib import Path
from types import FunctionType

import pytest

import laydown.web
from laydown.app import TASKS
from laydown.web.long_work import SHOWN_AT
from laydown.web.pages import PAGES

WEB = Path(str(laydown.web.__file__)).parent


def imported(module: Path) -> Iterator[FunctionType]:
    """Give the functions of `laydown.app` that a module of the bench imports."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("laydown.app"):
            used = importlib.import_module(str(node.module))
            for thing in (getattr(used, name.name) for name in node.names):
                things = vars(thing).values() if ismodule(thing) else [thing]
                yield from (one for one in things if isfunction(one))


# a page asks for the parts of these, which the task puts together
IN_PARTS = {"draw_plan": "with_numbers", "show_plan": "plan_in_words"}


@pytest.fixture(scope="module")
def called() -> set[str]:
    """Return what pages call of `laydown.app`, themselves or through what is no task."""
    found: set[str] = set()
    ahead = [function for module in WEB.rglob("*.py") for function in imported(module)]
    while ahead:
        function = ahead.pop()
        if function.__name__ in found or not function.__module__.startswith("laydown.app"):
            continue
        found.add(function.__name__)
        if function.__name__ not in TASKS:
            world = function.__globals__
            ahead += [f for name in function.__code__.co_names if isfunction(f := world.get(name))]
    return found


@pytest.mark.parametrize("task", TASKS)
def test_a_task_has_a_place_at_the_bench(task: str, called: set[str]) -> None:
    """A page calls it, or a form starts it as long work that leads to a page of its own."""
    assert PAGES
    assert IN_PARTS.get(task, task) in called or task in SHOWN_AT
