"""How tasks are called, at once or as jobs; the files they are given, the waits they tell."""

import importlib
import inspect
import math
import os
import time
import typing
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from laydown.app import TASKS
from laydown.errors import BadFileError

if TYPE_CHECKING:
    from laydown.store.library import Library

Watch = Callable[[int, int], None]
Tell = Callable[[str], None]


def do(
    name: str, library: "Library", /, *given: Any, watch: Watch | None = None, **fields: Any
) -> Any:
    """Do a task at once, asked as its own signature says.

    All of them go from the library in use; one that takes ``watch`` tells it (done, total), in
    whatever it counts, and what that raises cancels the task. A name or a number that the library
    hasn't is an `UnknownNameError`, one that isn't clear an `AmbiguousNameError`. `name`: in
    ``laydown.app.TASKS``. `given` and `fields`: its arguments; of a task that goes from a request,
    that request or the fields of one. `watch` is for a task that tells how far it has come.
    """
    run = _function(name)
    takes = inspect.signature(run).parameters
    told = {"watch": watch} if "watch" in takes else {}
    if fields and "request" in takes:
        return run(library, job_task(name)[1](*given, **fields), **told)
    return run(library, *given, **fields, **told)


def _function(name: str) -> Callable[..., Any]:
    if name not in TASKS:
        raise ValueError(f"There is no task {name}.")
    run: Callable[..., Any] = getattr(importlib.import_module(f"laydown.app.{TASKS[name]}"), name)
    return run


def do_with(run: Callable[..., Any], **offered: Any) -> Any:
    """Do a task as a job does: with as much of what is offered as it takes."""
    takes = inspect.signature(run).parameters
    return run(**{name: one for name, one in offered.items() if name in takes})


@cache
def job_task(name: str) -> tuple[Callable[..., Any], type[Any], type[Any]]:
    """Return a task that goes from a request, frozen or a plain value, and the types of both ends.

    Raises `ValueError` for any other name, and for a task that takes something else.
    """
    run = _function(name)
    hints = typing.get_type_hints(run)
    request = hints.get("request")
    if request is None:
        raise ValueError(f"The task {name} takes no request, so it can't be a job.")
    return run, typing.cast("type[Any]", request), hints["return"]


@dataclass(frozen=True, slots=True)
class GivenFile:
    """What a file holds, and what it is called: a path, or the name that a browser sent."""

    content: bytes
    source: str


def write_file(path: Path, content: bytes) -> None:
    """Write a file, and its folder, so that it is there whole or as it was before.

    Raises `BadFileError` where it can't be written.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            part.write_bytes(content)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise BadFileError(
            f"{path} can't be written: {error.strerror}.",
            hint="Check the folder, your rights, and the room on the disk, or name another place.",
            command="-o",
        ) from error


BY_CLOCK = frozenset({"choose_kit"})
"""Tasks that tell how much of the time allowed is over, and most end long before it."""
LONG, FIRST_LOOK = 10.0, 1.0
"""A wait worth telling beforehand, and how long work goes on before its rate is taken [s]."""


def told_if_long(
    watch: Watch | None,
    tell: Callable[[int, float], None],
    *,
    clock: Callable[[], float] = time.monotonic,
) -> Watch:
    """Return a watch that tells once, from the rate of what is done, that the rest takes long.

    `watch` is who is told besides. `tell` is told of how much all there is, and the longest that
    the rest may take [s]: a search goes faster the more it has seen, and takes a quarter of this to
    nearly all (measured). It may raise to stop the work. `clock` says what time it is [s].
    """
    begun: list[tuple[float, int]] = []
    told: list[bool] = []

    def look(done: int, total: int) -> None:
        if watch:
            watch(done, total)
        if not begun:
            begun.append((clock(), done))
            return
        (start, first), now = begun[0], clock()
        if told or done <= first or now - start < FIRST_LOOK:
            return
        told.append(True)
        left = (total - done) * (now - start) / (done - first)
        if left > LONG:
            tell(total, left)

    return look


def wait_words(seconds: float, *, recipes: int = 0) -> str:
    """Say how long something takes at most, and how many recipes there are where they are counted.

    >>> wait_words(200.0)
    'This may take up to 4 minutes more.'
    >>> wait_words(20.0, recipes=5_000_000)
    'There are 5,000,000 recipes to search. This may take up to 20 seconds more.'
    """
    wait = f"{seconds:.0f} seconds" if seconds < 100 else f"{math.ceil(seconds / 60)} minutes"
    much = f"There are {recipes:,} recipes to search. " if recipes else ""
    return f"{much}This may take up to {wait} more."
