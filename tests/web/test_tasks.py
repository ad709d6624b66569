"""Every task has a place at the bench."""

import ast
import importlib
from collections.abc import Iterable, Iterator
from inspect import isfunction, ismodule, unwrap
from pathlib import Path
from types import FunctionType

import pytest

import laydown.web
from laydown.app import TASKS
from laydown.web.long_work import SHOWN_AT
from laydown.web.pages import PAGES

WEB = Path(str(laydown.web.__file__)).parent


def functions(things: Iterable[object]) -> Iterator[FunctionType]:
    """Give the functions among some things, without the memory that may be wrapped around one."""
    bare = (unwrap(thing) if callable(thing) else thing for thing in things)
    return (one for one in bare if isfunction(one))


def imported(module: Path) -> Iterator[FunctionType]:
    """Give the functions of `laydown.app` that a module of the bench imports."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("laydown.app"):
            used = importlib.import_module(str(node.module))
            for thing in (getattr(used, name.name) for name in node.names):
                things = vars(thing).values() if ismodule(thing) else [thing]
                yield from functions(things)


# a page asks for the parts of these, which the task puts together
IN_PARTS = {
    "draw_plan": "with_numbers",
    "show_plan": "plan_in_words",
    "copy_library": "library_copied",
    "run_batch": "convert_lesson",
}


@pytest.fixture(scope="module")
def called() -> set[str]:
    """Return what pages call of `laydown.app`, themselves or through what is no task."""
    seen: set[FunctionType] = set()
    ahead = [function for module in WEB.rglob("*.py") for function in imported(module)]
    while ahead:
        function = ahead.pop()
        if function in seen or not function.__module__.startswith("laydown.app"):
            continue
        seen.add(function)
        if function.__name__ not in TASKS:
            world = function.__globals__
            ahead += functions(world.get(name) for name in function.__code__.co_names)
    return {function.__name__ for function in seen}


@pytest.mark.parametrize("task", TASKS)
def test_a_task_has_a_place_at_the_bench(task: str, called: set[str]) -> None:
    """A page calls it, or a form starts it as long work that leads to a page of its own."""
    assert PAGES
    part = IN_PARTS.get(task, task)
    assert part in called or part in SHOWN_AT
