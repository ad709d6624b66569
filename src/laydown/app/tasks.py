"""How tasks are called by their names: at once, or as jobs."""

import importlib
import inspect
import typing
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from laydown.app import TASKS
from laydown.store.library import Library

Watch = Callable[[int, int], None]
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class JobTask:
    """A task as a job calls it."""

    run: Callable[..., Any]
    request: type[Any]
    result: type[Any]
    """The types it goes from and to."""
    takes: frozenset[str]

    def __call__(self, library: Library, request: object, *, watch: Watch, tell: Tell) -> object:
        """Do the task, with as much of watching and telling as it knows."""
        offered: dict[str, Any] = {
            "library": library,
            "request": request,
            "watch": watch,
            "tell": tell,
        }
        return self.run(**{name: offered[name] for name in offered.keys() & self.takes})


def do(
    name: str, library: Library, /, *given: Any, watch: Watch | None = None, **fields: Any
) -> Any:
    """Do a task at once, asked as its own signature says.

    All of them go from the library in use; one that takes ``watch`` tells it (done, total), in
    whatever it counts, and what that raises cancels the task. A name or a number that the library
    hasn't is an `UnknownNameError`, one that isn't clear an `AmbiguousNameError`.

    Parameters
    ----------
    name
        In ``laydown.app.TASKS``.
    given, fields
        Its arguments; of a task that goes from a request, that request or the fields of one.
    watch
        For a task that tells how far it has come.
    """
    run = _function(name)
    takes = inspect.signature(run).parameters
    told = {"watch": watch} if "watch" in takes else {}
    if fields and "request" in takes:
        return run(library, job_task(name).request(*given, **fields), **told)
    return run(library, *given, **fields, **told)


def _function(name: str) -> Callable[..., Any]:
    if name not in TASKS:
        raise ValueError(f"There is no task {name}.")
    run: Callable[..., Any] = getattr(importlib.import_module(f"laydown.app.{TASKS[name]}"), name)
    return run


@cache
def job_task(name: str) -> JobTask:
    """Return a task that goes from a request, frozen or a plain value, to a frozen result.

    Raises
    ------
    ValueError
        For any other name, and for a task that takes something else.
    """
    run = _function(name)
    hints = typing.get_type_hints(run)
    request = hints.get("request")
    if request is None:
        raise ValueError(f"The task {name} takes no request, so it can't be a job.")
    takes = frozenset(inspect.signature(run).parameters)
    return JobTask(run, typing.cast("type[Any]", request), hints["return"], takes)
