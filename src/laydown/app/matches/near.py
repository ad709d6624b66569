"""What lies near a color: in the box, lighter and darker, and in sets that aren't owned."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from laydown.app.fits.at_hand import Supplies
from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.media.colorant import Colorant
from laydown.media.recipe import Recipe, Step
from laydown.plan.run.runs import Shade, shade, turn
from laydown.reference.thresholds import thresholds
from laydown.store.library import Library

FEW = 6
SECTORS = 9
"""Into how many hues a box is laid out (chosen)."""
SAME_HUE = 30.0
"""How far shadow and light may turn from a color's hue [degrees of IPT] (chosen)."""
A_STEP = 0.6
"""How much lighter or darker they are at least [value] (chosen)."""
GRAY = 0.03
"""Chroma of IPT below which a hue says nothing (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Neighbors:
    """Colorants near a color as one coat was measured on a paper, the nearest first."""

    own: tuple[Shade, ...]
    """In the box."""
    lighter: tuple[Shade, ...]
    darker: tuple[Shade, ...]
    """In the box, of about the same hue, the nearest in value first."""
    elsewhere: tuple[Shade, ...]
    """Of sets that the box holds nothing of, or of colorants that it lacks."""


def measured_shades(library: Library, paper: str) -> tuple[Shade, ...]:
    """Return one coat of each colorant as it was measured on a paper; replicates on the mean."""
    with library.look() as work:
        stored = work.swatches(paper=paper)
    coats: dict[Colorant, list[FloatArray]] = {}
    for swatch in (one.swatch for one in stored if one.swatch.hours is None):
        colorant = next(iter(swatch.recipe.colorants), None)
        if colorant and not colorant.blender and swatch.recipe == Recipe((Step(colorant),)):
            coats.setdefault(colorant, []).append(swatch.reflectance)
    return tuple(
        shade(one.name, lab_from_reflectance(np.mean(spectra, axis=0)), Recipe((Step(one),)))
        for one, spectra in coats.items()
    )


def by_hue(shades: Iterable[Shade]) -> tuple[Shade, ...]:
    """Return shades by hue and from light to dark; grays come last."""
    return tuple(sorted(shades, key=lambda one: (_sector(one), -one.value, one.name)))


def in_box(library: Library, shades: Sequence[Shade], supplies: Supplies) -> tuple[Shade, ...]:
    """Return those that are at hand, by hue and from light to dark; grays come last."""
    owned = _owned(library, supplies)
    return by_hue(one for one in shades if _label(one) in owned)


def neighbors_of(
    library: Library, lab: FloatArray, supplies: Supplies, shades: Sequence[Shade]
) -> Neighbors:
    """Return what lies near a color, shape (3,), in what is at hand and beyond it.

    Parameters
    ----------
    lab
        The color.
    shades
        All that was measured on that paper.
    """
    owned = _owned(library, supplies)
    own = [one for one in shades if _label(one) in owned]
    rest = [one for one in shades if _label(one) not in owned]
    wanted = shade("", lab)
    alike = [one for one in own if _same_hue(wanted, one)]
    steps = [(one.value - wanted.value, one) for one in alike]
    return Neighbors(
        own=_nearest(own, lab),
        lighter=_by_step((step, one) for step, one in steps if step > A_STEP),
        darker=_by_step((-step, one) for step, one in steps if -step > A_STEP),
        elsewhere=_nearest(rest, lab),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Twin:
    """Two colors that are nearly the same; what isn't owned stands second."""

    first: Shade
    second: Shade
    off: float
    """CIEDE2000 between them."""


@dataclass(frozen=True, slots=True, eq=False)
class SetBesideBox:
    """A set that isn't owned as a whole: what of it the box has already, and what would be new."""

    name: str
    twins: tuple[Twin, ...]
    new: tuple[Shade, ...]
    """The farthest from all that is owned first."""


@dataclass(frozen=True, slots=True, eq=False)
class TwinsFound:
    """What is nearly the same, one coat of each compared on a paper."""

    kit: str
    paper: str
    own: tuple[Twin, ...]
    """Within the box, the nearest first."""
    sets: tuple[SetBesideBox, ...]


def find_twins(library: Library, supplies: Supplies) -> TwinsFound:
    """Look for what is nearly the same within a box, and between it and each set beyond it."""
    shades, owned = measured_shades(library, supplies.paper), _owned(library, supplies)
    own = [one for one in shades if _label(one) in owned]
    rest = [one for one in shades if _label(one) not in owned]
    names = sorted({one.recipe.colorants[0].range for one in rest if one.recipe})
    return TwinsFound(
        supplies.kit or ", ".join(supplies.ranges),
        supplies.paper,
        _sorted(Twin(*pair, _off(*pair)) for pair in combinations(own, 2)),
        tuple(
            _beside(name, own, [o for o in rest if _label(o).startswith(f"{name}/")])
            for name in names
        )
        if own
        else (),
    )


def _beside(name: str, own: Sequence[Shade], theirs: Sequence[Shade]) -> SetBesideBox:
    nearest = [min((Twin(one, o, _off(one, o)) for one in own), key=_by_off) for o in theirs]
    twins = _sorted(nearest)
    new = sorted((one for one in nearest if one not in twins), key=_by_off, reverse=True)
    return SetBesideBox(name, twins, tuple(one.second for one in new))


def _off(first: Shade, second: Shade) -> float:
    return float(ciede2000(np.asarray(first.lab), np.asarray(second.lab)))


def _by_off(twin: Twin) -> tuple[float, str]:
    return twin.off, twin.first.name


def _sorted(pairs: Iterable[Twin]) -> tuple[Twin, ...]:
    near = thresholds()["tolerance class"]
    return tuple(sorted((one for one in pairs if one.off <= near), key=_by_off))


def _owned(library: Library, supplies: Supplies) -> frozenset[str]:
    """Return the labels of what is at hand; a box may be empty."""
    with library.look() as work:
        named = [work.find_range(name).name for name in supplies.ranges]
        owned = [c for name in named for c in work.colorants(name)]
        return frozenset(c.label for c in (work.kit(supplies.kit) if supplies.kit else owned))


def _label(one: Shade) -> str:
    return one.recipe.colorants[0].label if one.recipe else ""


def _sector(one: Shade) -> int:
    return SECTORS if one.chroma < GRAY else int(one.hue % 360.0 // (360.0 / SECTORS))


def _same_hue(wanted: Shade, other: Shade) -> bool:
    if wanted.chroma < GRAY or other.chroma < GRAY:
        return max(wanted.chroma, other.chroma) < GRAY
    return bool(abs(turn(wanted.hue, other.hue)) <= SAME_HUE)


def _nearest(shades: Sequence[Shade], lab: FloatArray) -> tuple[Shade, ...]:
    if not shades:
        return ()
    off = ciede2000(np.array([one.lab for one in shades]), lab)
    return tuple(shades[place] for place in np.argsort(off, kind="stable")[:FEW])


def _by_step(steps: Iterable[tuple[float, Shade]]) -> tuple[Shade, ...]:
    return tuple(one for _, one in sorted(steps, key=lambda step: (step[0], step[1].name))[:3])
