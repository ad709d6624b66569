"""The best choice of colorants that is known, and what is proven of it.

docs/decisions/runs-and-kits.md has how, and what was measured.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

from laydown.plan.kit.branch import WHOLE, Branching, price_unit
from laydown.plan.kit.exchanges import exchanged
from laydown.plan.kit.problem import Aim, KitProblem
from laydown.plan.kit.swaps import Choice, swapped

SHORT_WALK = 120
"""Turns of the walk before the first try to prove its end: a second at most."""
FIRST_TRY = 0.3
"""Share of the time for that walk and that first try."""
LONG_WALK = 0.7
"""Share of the time at which the long walk ends at the latest, so that some is left to prove."""

Clock = Callable[[], float]
"""Seconds from some beginning; the core has no clock of its own. It may raise: that ends the work
wherever it stands, for it is looked at again and again."""


@dataclass(frozen=True, slots=True, eq=False)
class Proven:
    """The best choice known and what is proven of it."""

    choice: Choice
    """The purchase."""
    bound: float
    """No purchase that misses as few colors makes the aim's value smaller than this."""
    proven: bool
    """Whether none is better."""

    @property
    def gap(self) -> float:
        """How far the value may be above the least, as a share of it; 0 where it is proven."""
        if self.proven or self.choice.value <= 0:
            return 0.0
        return (self.choice.value - self.bound) / self.choice.value


def solved(problem: KitProblem, *, seconds: float, clock: Clock) -> Proven:
    """Find the best choice: a short walk and a try to prove it; where that fails, a long one.

    Parameters
    ----------
    problem
        A reduced problem.
    seconds
        How long to try to prove, in all. What is proven is so on any machine; whether it is proven
        in time is not.
    clock
        Tells the time.
    """
    begin = clock()

    def after(share: float) -> Callable[[], bool]:
        return lambda: clock() - begin >= share * seconds

    first = after(FIRST_TRY)
    walked = swapped(problem, turns=SHORT_WALK, is_over=first)
    search = Branching(problem, exchanged(problem, walked, shakes=0, is_over=first))
    done = search.run(first)
    if not done:
        over = after(LONG_WALK)
        search.learn(exchanged(problem, swapped(problem, is_over=over), is_over=over))
        done = search.run(after(1.0))
    return Proven(search.best, search.best.value if done else _bound(problem, search), done)


def _bound(problem: KitProblem, search: Branching) -> float:
    """Return what is proven where time ended, rounded up to what prices can come to."""
    best = search.best
    if problem.aim is Aim.BEST:
        return min(best.value, search.bound)
    unit = price_unit(problem)
    whole = ceil((search.bound - WHOLE * max(1.0, search.bound)) / unit) * unit
    return float(min(best.value, max(0.0, whole)))
