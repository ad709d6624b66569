"""Waits that are told beforehand: how long work takes is taken from the rate of what is done."""

import math
import time
from collections.abc import Callable

from laydown.app.tasks import Watch

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

    Parameters
    ----------
    watch
        Who is told besides.
    tell
        Told of how much all there is, and the longest that the rest may take [s]: a search goes
        faster the more it has seen, and takes a quarter of this to nearly all (measured). It may
        raise to stop the work.
    clock
        Says what time it is [s].
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

    Examples
    --------
    >>> wait_words(200.0)
    'This may take up to 4 minutes more.'
    >>> wait_words(20.0, recipes=5_000_000)
    'There are 5,000,000 recipes to search. This may take up to 20 seconds more.'
    """
    wait = f"{seconds:.0f} seconds" if seconds < 100 else f"{math.ceil(seconds / 60)} minutes"
    much = f"There are {recipes:,} recipes to search. " if recipes else ""
    return f"{much}This may take up to {wait} more."
