"""Which tasks can be run as jobs, and how each is called."""

import dataclasses
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
    """A task as a job calls it.

    Parameters
    ----------
    run
        Its function.
    request, result
        The types it goes from and to.
    takes
        Names of its parameters.
    """

    run: Callable[..., Any]
    request: type[Any]
    result: type[Any]
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


@cache
def job_task(name: str) -> JobTask:
    """Return a task that goes from a frozen request to a frozen result.

    Parameters
    ----------
    name
        In ``laydown.app.TASKS``.

    Raises
    ------
    ValueError
        For any other name, and for a task that takes something else.
    """
    if name not in TASKS:
        raise ValueError(f"There is no task {name}.")
    run = getattr(importlib.import_module(f"laydown.app.{TASKS[name]}"), name)
    hints = typing.get_type_hints(run)
    request = hints.get("request")
    if not dataclasses.is_dataclass(request):
        raise ValueError(f"The task {name} takes no request, so it can't be a job.")
    takes = frozenset(inspect.signature(run).parameters)
    return JobTask(run, typing.cast("type[Any]", request), hints["return"], takes)
