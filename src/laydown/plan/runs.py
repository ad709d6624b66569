"""Shading runs: colors of about one hue whose values step evenly from light to dark."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.plan.shades import Shade, drift

STEPS = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0)
"""Value steps that runs are looked for at."""
DRIFTS = (2.0, 4.0, 8.0)
"""Hue differences between neighbors [IPT degrees] that runs are looked for at: strict to free."""
UNEVEN = 0.3
"""A value step that is off by this share of the run's step costs one."""
CHROMA_JUMP = 0.3
"""A change of this in the natural log of chroma between neighbors costs one."""
CHROMA_FLOOR = 0.01
"""Added to IPT chroma, so that grays have a log."""
WORTH = 4.0
"""What a further step is worth: one that costs more ends the run. Chosen, with the costs above, on
the renotation's pages: see docs/decisions/0030-runs.md."""
LEAST = 3
"""Fewer colors than highlight, midtone and shadow are no run (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A shading run, from light to dark.

    Parameters
    ----------
    shades
        Its colors.
    step
        Mean value step.
    unevenness
        The most by which a step differs from the mean [value steps].
    drift
        The greatest hue difference between neighbors [IPT degrees, fading out towards gray].
    chroma_ratio
        The greatest ratio of chroma between neighbors, 1 for none.
    rating
        "even", "usable" or "rough".
    """

    shades: tuple[Shade, ...]
    step: float
    unevenness: float
    drift: float
    chroma_ratio: float
    rating: str

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its colors."""
        return tuple(shade.name for shade in self.shades)


def find_runs(shades: Sequence[Shade], *, least: int = LEAST) -> tuple[Run, ...]:
    """Find the shading runs among colors.

    For each usual value step and each freedom of hue the best chain to every color is found: the
    one whose steps, each worth the same, cost least by unevenness, hue drift and change of chroma.
    Of chains with the same colors one is kept, and a chain within a longer one that is rated as
    well is left out.

    Parameters
    ----------
    shades
        In any order.
    least
        The fewest colors of a run.

    Returns
    -------
    tuple of Run
        The best rated and longest first.

    Examples
    --------
    >>> from laydown.plan.shades import shade
    >>> grays = [shade(f"gray {L}", np.array([float(L), 0.0, 0.0])) for L in (80, 60, 40, 20)]
    >>> find_runs(grays)[0].names
    ('gray 80', 'gray 60', 'gray 40', 'gray 20')
    """
    order = sorted(range(len(shades)), key=lambda i: (-shades[i].value, shades[i].name, i))
    sorted_shades = [shades[i] for i in order]
    chains: set[tuple[int, ...]] = set()
    off = _Differences.of(sorted_shades)
    for step in STEPS:
        for freedom in DRIFTS:
            chains |= _chains(off, step=step, freedom=freedom, least=least)
    runs = [rated([sorted_shades[i] for i in chain]) for chain in sorted(chains)]
    return tuple(sorted(_kept(runs), key=_rank))


@dataclass(frozen=True, slots=True, eq=False)
class _Differences:
    """Between all pairs, shape (n, n): value steps down, hue, log of chroma."""

    value: FloatArray
    hue: FloatArray
    chroma: FloatArray

    @classmethod
    def of(cls, shades: Sequence[Shade]) -> "_Differences":
        value = np.array([s.value for s in shades])
        chroma = np.log(np.array([s.chroma for s in shades]) + CHROMA_FLOOR)
        hue = drift([s.hue for s in shades], [s.chroma for s in shades])
        return cls(
            value[:, None] - value[None, :], hue, np.asarray(chroma[:, None] - chroma[None, :])
        )


def _chains(off: _Differences, *, step: float, freedom: float, least: int) -> set[tuple[int, ...]]:
    """Return the best chains that can't be made longer, by places from light to dark."""
    cost = ((off.value - step) / (UNEVEN * step)) ** 2
    cost = cost + (off.hue / freedom) ** 2 + (off.chroma / CHROMA_JUMP) ** 2
    gain = np.where((off.value > 0) & (cost < WORTH), WORTH - cost, -np.inf)
    before, worth = _best_before(gain)
    onward = {int(i) for i in before[before >= 0]}
    found = set()
    for last in range(len(before)):
        better = len(gain) > last + 1 and float((worth[last] + gain[last]).max()) > worth[last]
        if before[last] < 0 or (better and last in onward):
            continue
        chain = [last]
        while before[chain[-1]] >= 0:
            chain.append(int(before[chain[-1]]))
        if len(chain) >= least:
            found.add(tuple(chain[::-1]))
    return found


def _best_before(gain: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """Return for each color the one before it in its best chain, or -1, and the chain's worth."""
    before, worth = np.full(len(gain), -1), np.zeros(len(gain))
    for place in range(1, len(gain)):
        sums = worth[:place] + gain[:place, place]
        best = int(np.argmax(sums))
        if sums[best] > 0:
            before[place], worth[place] = best, sums[best]
    return before, worth


def rated(shades: Sequence[Shade]) -> Run:
    """Rate a chain of at least two colors, from light to dark.

    Even: no step is off by more than a fifth of the mean step, no neighbors differ in hue by more
    than 6 degrees of IPT or in chroma by more than half. Usable: twice that. These bounds are
    common practice, no source.
    """
    off = _Differences.of(shades)
    along = np.arange(len(shades) - 1), np.arange(1, len(shades))
    steps = off.value[along]
    uneven = float(np.abs(steps - steps.mean()).max())
    hue = float(np.abs(off.hue[along]).max())
    ratio = float(np.exp(np.abs(off.chroma[along]).max()))
    worst = max(uneven / (0.2 * max(steps.mean(), 1e-9)), hue / 6.0, (ratio - 1.0) / 0.5)
    rating = "even" if worst <= 1 else "usable" if worst <= 2 else "rough"
    return Run(tuple(shades), float(steps.mean()), uneven, hue, ratio, rating)


_ORDER = ("even", "usable", "rough")


def _rank(run: Run) -> tuple[int, int, float, tuple[str, ...]]:
    return _ORDER.index(run.rating), -len(run.shades), run.unevenness, run.names


def _kept(runs: Sequence[Run]) -> list[Run]:
    """Leave out a run whose colors are all in one that is rated as well or better."""
    kept: list[tuple[frozenset[int], Run]] = []
    for run in sorted(runs, key=lambda r: (-len(r.shades), _rank(r))):
        own = frozenset(id(shade) for shade in run.shades)
        rank = _ORDER.index(run.rating)
        if not any(own <= other and _ORDER.index(r.rating) <= rank for other, r in kept):
            kept.append((own, run))
    return [run for _, run in kept]
