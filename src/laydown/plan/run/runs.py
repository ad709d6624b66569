"""Shading runs, and what would complete a colorant without neighbors."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import (
    WHITE_D50,
    ciede2000,
    hue_and_chroma,
    lab_from_reflectance,
    lab_from_xyz,
)
from laydown.color.value import luminance_from_value, value_from_lab
from laydown.match.question import asked_of, best_of
from laydown.match.ranking import Limits
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.media.kit.fit import AnyFit, reflectance
from laydown.media.recipe import Recipe, Step

GRAY = 0.03
"""IPT chroma below which hue fades out of the comparison; CIELAB chroma of about 5 (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Shade:
    """A color that can be a step of a run."""

    name: str
    """A colorant's name, or a recipe in its text form."""
    lab: FloatArray
    """Shape (3,), CIELAB D50."""
    value: float
    """0 black to 10 white, ASTM D1535."""
    hue: float
    chroma: float
    """Of IPT; hue in degrees."""
    recipe: Recipe | None = None
    """What makes it; None for a color that nobody has said how to make."""


def shade(name: str, lab: FloatArray, recipe: Recipe | None = None) -> Shade:
    """Return a color as a shade.

    >>> round(shade("gray", np.array([50.0, 0.0, 0.0])).value, 1)
    4.9
    """
    hue, chroma = hue_and_chroma(lab)
    return Shade(name, lab, float(value_from_lab(lab)), float(hue), float(chroma), recipe)


def shades_of(fit: AnyFit, recipes: Iterable[tuple[str, Recipe]]) -> tuple[Shade, ...]:
    """Return the shades that a fit expects of named recipes."""
    named = [(name, recipe, reflectance(fit, recipe)) for name, recipe in recipes]
    labs = lab_from_reflectance(np.array([spectrum for *_, spectrum in named]).reshape(-1, 36))
    return shades([(name, recipe) for name, recipe, _ in named], labs)


def shades(named: Sequence[tuple[str, Recipe | None]], labs: FloatArray) -> tuple[Shade, ...]:
    """Return colors, shape (count, 3), as shades with their names and recipes."""
    values, _, hues, chromas = (part.tolist() for part in tones_of(labs))
    seen = zip(labs, values, hues, chromas, strict=True)
    return tuple(
        Shade(name, lab, value, hue, chroma, recipe)
        for (name, recipe), (lab, value, hue, chroma) in zip(named, seen, strict=True)
    )


def one_coats(fit: AnyFit, *, without: frozenset[str] = frozenset()) -> tuple[Shade, ...]:
    """Return one coat of each colorant of a fit; not of blenders and of the labels excluded."""
    laid = repertoire(fit, limits=Limits(steps=1, coats=1, without=without))
    seen = {laid.recipe(place): laid.lab[place] for place in range(len(laid))}
    colorants = [c for c in fit.colorants if not c.blender and c.label not in without]
    named = [(c.name, Recipe((Step(c),))) for c in colorants]
    return shades(named, np.array([seen[recipe] for _, recipe in named]).reshape(-1, 3))


def turn(from_hue: FloatArray | float, to_hue: FloatArray | float) -> FloatArray:
    """Return the way round from one hue to another [degrees, -180 to 180].

    >>> float(turn(350.0, 10.0))
    20.0
    """
    return np.asarray((np.asarray(to_hue) - from_hue + 180.0) % 360.0 - 180.0)


Tones: TypeAlias = tuple[FloatArray, FloatArray, FloatArray, FloatArray]
"""What runs compare of colors: value, lightness L*, and IPT hue and chroma, each shape (…)."""


def tones_of(lab: FloatArray) -> Tones:
    """Return what runs compare of colors, shape (…, 3)."""
    seen = hue_and_chroma(lab)
    return np.asarray(value_from_lab(lab)), np.asarray(lab[..., 0]), seen[..., 0], seen[..., 1]


def steps_between(lighter: Tones, darker: Tones) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the steps from some colors to others; their shapes broadcast.

    Returns value steps, above 0 where the first is lighter; hue differences [IPT degrees], fading
    out towards gray; natural logs of the ratio of chroma, the first over the second, as far as
    paling and darkening don't explain it. Towards white chroma shrinks with the distance from it,
    towards black with lightness below the middle, as in `at_value`: a tint may have any chroma from
    there to all of its middle's, and a shade likewise.
    """
    (value, light, hue, chroma), (other_value, other_light, other_hue, other_chroma) = (
        lighter,
        darker,
    )
    ratio = np.log((chroma + CHROMA_FLOOR) / (other_chroma + CHROMA_FLOOR))
    white, other_white = (np.maximum(100.0 - L, 1.0) for L in (light, other_light))
    dark, other_dark = (np.clip(L, 1.0, MIDDLE) for L in (light, other_light))
    paled = np.minimum(np.log(white / other_white), 0.0)
    darkened = np.maximum(np.log(dark / other_dark), 0.0)
    fading = np.minimum(1.0, np.minimum(chroma, other_chroma) / GRAY)
    return (
        np.asarray(value - other_value),
        np.asarray(turn(hue, other_hue) * fading),
        np.asarray(ratio - np.clip(ratio, paled, darkened)),
    )


MIDDLE = 50.0
"""L* below which darker colors of a run lose chroma (common practice, no source)."""


def at_value(lab: FloatArray, value: float) -> FloatArray:
    """Return a color moved to another value, as a run of its hue would have it, shape (3,).

    Towards white chroma shrinks with the distance from it; towards black it shrinks with lightness
    below the middle only. Common practice, no source.

    >>> np.round(at_value(np.array([60.0, 20.0, 0.0]), 8.0)).tolist()
    [81.0, 10.0, 0.0]
    """
    Y = float(luminance_from_value(np.array(min(max(value, 0.2), 9.8))))
    L = float(lab_from_xyz(WHITE_D50 * Y / 100.0)[0])
    if lab[0] < L:
        share = (100.0 - L) / max(100.0 - lab[0], 1.0)
    else:
        share = min(1.0, L / min(max(float(lab[0]), 1.0), MIDDLE))
    return np.array([L, lab[1] * share, lab[2] * share])


STEPS = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0)
"""Value steps that runs are looked for at."""
DRIFTS = (2.0, 4.0, 8.0)
"""Hue differences between neighbors [IPT degrees] that runs are looked for at: strict to free."""
UNEVEN = 0.3
"""A value step that is off by this share of the run's step costs one."""
CHROMA_JUMP = 0.3
"""A change of this in the natural log of chroma between neighbors costs one, over what paling or
darkening explains."""
CHROMA_FLOOR = 0.01
"""Added to IPT chroma, so that grays have a log."""
WORTH = 4.0
"""What a further step is worth: one that costs more ends the run. Chosen, with the costs above, on
the renotation's pages: see docs/decisions/runs-and-kits.md."""
LEAST = 3
"""Fewer colors than highlight, midtone and shadow are no run (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A shading run, from light to dark."""

    shades: tuple[Shade, ...]
    """Its colors."""
    step: float
    """Mean value step."""
    unevenness: float
    """The most by which a step differs from the mean [value steps]."""
    drift: float
    """The greatest hue difference between neighbors [IPT degrees, fading out towards gray]."""
    chroma_ratio: float
    """The greatest ratio of chroma between neighbors over what paling or darkening explains; 1 for
    none."""
    rating: str
    """"even", "usable" or "rough"."""

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its colors."""
        return tuple(shade.name for shade in self.shades)


def find_runs(shades: Sequence[Shade], *, besides: Sequence[Run] = ()) -> tuple[Run, ...]:
    """Find the shading runs among colors.

    For each usual value step and each freedom of hue the best chain to every color is found: the
    one whose steps, each worth the same, cost least by unevenness, hue drift and change of chroma.
    Of chains with the same colors one is kept, and a chain within a longer one that is rated as
    well is left out. `besides`: runs that are known already, such as triads. Returns the best rated
    and longest first.

    >>> from laydown.plan.run.runs import shade
    >>> grays = [shade(f"gray {L}", np.array([float(L), 0.0, 0.0])) for L in (80, 60, 40, 20)]
    >>> find_runs(grays)[0].names
    ('gray 80', 'gray 60', 'gray 40', 'gray 20')
    """
    order = sorted(range(len(shades)), key=lambda i: (-shades[i].value, shades[i].name, i))
    sorted_shades = [shades[i] for i in order]
    chains: set[tuple[int, ...]] = set()
    off = _all_steps(sorted_shades)
    for step in STEPS:
        for freedom in DRIFTS:
            chains |= _chains(off, step=step, freedom=freedom)
    runs = [rated([sorted_shades[i] for i in chain]) for chain in sorted(chains)]
    runs += besides
    return tuple(sorted(_kept(runs), key=_rank))


def _all_steps(shades: Sequence[Shade]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the steps between all pairs, shape (n, n)."""
    lab = np.array([s.lab for s in shades]).reshape(-1, 3)
    return steps_between(tones_of(lab[:, None]), tones_of(lab[None, :]))


def _chains(
    off: tuple[FloatArray, FloatArray, FloatArray], *, step: float, freedom: float
) -> set[tuple[int, ...]]:
    """Return the best chains that can't be made longer, by places from light to dark."""
    value, hue, chroma = off
    cost = ((value - step) / (UNEVEN * step)) ** 2
    cost = cost + (hue / freedom) ** 2 + (chroma / CHROMA_JUMP) ** 2
    gain = np.where((value > 0) & (cost < WORTH), WORTH - cost, -np.inf)
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
        if len(chain) >= LEAST:
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
    steps, hues, chromas = (np.diagonal(off, 1) for off in _all_steps(shades))
    uneven = float(np.abs(steps - steps.mean()).max())
    hue = float(np.abs(hues).max())
    ratio = float(np.exp(np.abs(chromas).max()))
    worst = max(uneven / (0.2 * max(steps.mean(), 1e-9)), hue / 6.0, (ratio - 1.0) / 0.5)
    rating = "even" if worst <= 1 else "usable" if worst <= 2 else "rough"
    return Run(tuple(shades), float(steps.mean()), uneven, hue, ratio, rating)


_ORDER = ("even", "usable", "rough")


def _rank(run: Run) -> tuple[int, int, float, tuple[str, ...]]:
    return _ORDER.index(run.rating), -len(run.shades), run.unevenness, run.names


def _kept(runs: Sequence[Run]) -> list[Run]:
    """Leave out a run whose colors are all in one that is rated as well or better."""
    kept: list[tuple[frozenset[Recipe | str], Run]] = []
    for run in sorted(runs, key=lambda r: (-len(r.shades), _rank(r))):
        own = frozenset(shade.recipe or shade.name for shade in run.shades)
        rank = _ORDER.index(run.rating)
        if not any(own <= other and _ORDER.index(r.rating) <= rank for other, r in kept):
            kept.append((own, run))
    return [run for _, run in kept]


GAP = 1.5
"""A step of a run this many times its mean is a gap (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Mending:
    """A shade that is missing, and what would stand in for it."""

    place: str
    """What it would be: "between Kelp and Dune"."""
    lab: FloatArray
    value: float
    """The shade wanted."""
    recipe: Recipe
    recipe_off: float
    """What a match gives from what is at hand, and its CIEDE2000."""
    purchase: str
    purchase_off: float
    """The nearest single colorant that could be bought, and its CIEDE2000; empty where nothing was
    offered."""


def lonely(shades: Sequence[Shade], runs: Sequence[Run]) -> tuple[Shade, ...]:
    """Return the shades that belong to no run, in their order."""
    used = {id(s) for run in runs for s in run.shades}
    names = {s.name for run in runs for s in run.shades}
    return tuple(s for s in shades if id(s) not in used and s.name not in names)


def mend_gaps(run: Run, repertoire: Repertoire, shop: Sequence[Shade] = ()) -> tuple[Mending, ...]:
    """Return the shade that is missing in each gap of a run, halfway between its neighbors."""
    return tuple(
        mending(f"between {a.name} and {b.name}", (a.lab + b.lab) / 2.0, repertoire, shop)
        for a, b in pairwise(run.shades)
        if a.value - b.value > GAP * run.step
    )


def mending(place: str, lab: FloatArray, repertoire: Repertoire, shop: Sequence[Shade]) -> Mending:
    """Return what would stand in for one missing shade."""
    recipe = best_of(asked_of(repertoire, lab), repertoire)
    off = float(ciede2000(lab, repertoire.lab[recipe]))
    purchase, purchase_off = "", float("nan")
    if shop:
        all_off = ciede2000(lab, np.array([s.lab for s in shop]))
        best = int(np.argmin(all_off))
        purchase, purchase_off = shop[best].name, float(all_off[best])
    laid, value = repertoire.recipe(recipe), float(value_from_lab(lab))
    return Mending(place, lab, value, laid, off, purchase, purchase_off)
