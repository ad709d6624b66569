"""Colors that are known already: chosen for a sheet, and found again in a picture of one."""

from collections.abc import Iterable, Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance, lab_from_xyz
from laydown.color.tristimulus import xyz_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.imaging.conversion import KnownColor
from laydown.imaging.development import FEWEST_KNOWN
from laydown.media.marker.design import one_coat
from laydown.media.recipe import Recipe, name_key
from laydown.media.swatch import Swatch, reading_noise
from laydown.store.library import Work

MOST_NOISE = 4.5
"""A color known no better than so is none to tell a camera by [CIELAB units per axis]: a sheet that
was read with a chart or a scanner is, one read by its paper alone is not."""
MEASURING = 0.5
"""Of an instrument, the patch it was laid on, and the hand that lays it again [same]."""
CHOSEN = 8
"""Known colors that a sheet is given."""
CARRIED = 3.0
"""Of a color that is known on another paper (chosen: papers drink unlike) [same]."""


def swatches_of(work: Work, recipes: Iterable[Recipe]) -> list[Swatch]:
    """Return the dry swatches of some recipes, on any paper."""
    wanted = {recipe for recipe in recipes if recipe.steps}
    ranges = {c.range for recipe in wanted for c in recipe.colorants}
    return [
        stored.swatch
        for label in sorted(ranges & {one.name for one in work.ranges()})
        for stored in work.swatches(label)
        if stored.swatch.recipe in wanted and stored.swatch.hours is None
    ]


def known_colors(
    work: Work, paper: str, recipes: Iterable[Recipe], *, carried: bool = True
) -> dict[Recipe, KnownColor]:
    """Return the colors of recipes as far as they are known well enough to tell a camera by.

    Parameters
    ----------
    paper
        Name of the paper they are laid on; it may be new.
    recipes
        Of the sheet or card.
    carried
        Whether what is known on another paper alone counts: it is taken for as much darker than
        its paper here as there.
    """
    known = {name_key(name) for name in work.paper_names()}
    here = work.paper(paper).reflectance if name_key(paper) in known else None
    found: dict[Recipe, list[tuple[bool, FloatArray, float]]] = {}
    for swatch in swatches_of(work, recipes):
        noise, same = reading_noise(swatch, MEASURING), name_key(swatch.paper) == name_key(paper)
        if noise > MOST_NOISE or not (same or carried):
            continue
        reflectance = swatch.reflectance
        if not same and here is not None:
            reflectance = reflectance * here / work.paper(swatch.paper).reflectance
        noise = noise if same else float(np.hypot(noise, CARRIED))
        entry = (same, xyz_from_reflectance(reflectance), noise)
        found.setdefault(swatch.recipe, []).append(entry)
    return {recipe: _best(entries) for recipe, entries in found.items()}


def _best(entries: Sequence[tuple[bool, FloatArray, float]]) -> KnownColor:
    """Return the mean of a recipe's colors on this paper, or else of those carried over."""
    same = any(entry[0] for entry in entries)
    counted = [entry for entry in entries if entry[0] is same]
    xyz = np.mean([entry[1] for entry in counted], axis=0)
    return KnownColor(xyz, float(np.mean([entry[2] for entry in counted])), here=same)


def choose_known(
    work: Work, label: str, paper: str, *, besides: Sequence[Recipe]
) -> tuple[Recipe, ...]:
    """Choose up to eight known colors of a range for a sheet, far from each other.

    Parameters
    ----------
    label
        The range.
    paper
        Of the sheet.
    besides
        What is on the sheet anyway, and known or not.

    Raises
    ------
    NotMeasuredError
        Where fewer than three are known.
    """
    asked = [one_coat(c) for c in work.colorants(label) if not c.blender]
    known = known_colors(work, paper, [recipe for recipe in asked if recipe not in besides])
    if len(known) < FEWEST_KNOWN:
        raise NotMeasuredError(
            f"{len(known)} colors of {label} are known well enough, and {FEWEST_KNOWN} are needed.",
            hint="Bring in a file of its measured swatches, or read a sheet of it with a scanner or"
            " a reference chart.",
        )
    recipes = list(known)
    lab = lab_from_xyz(np.array([known[recipe].xyz for recipe in recipes]))
    nearest = ciede2000(lab, np.array([95.0, 0.0, 0.0]))
    chosen: list[int] = []
    while len(chosen) < min(CHOSEN, len(known)):
        chosen.append(int(np.argmax(nearest)))
        nearest = np.minimum(nearest, ciede2000(lab, lab[chosen[-1]]))
    return tuple(recipes[place] for place in chosen)


def swatched_colors(work: Work, recipes: Iterable[Recipe]) -> dict[Recipe, FloatArray]:
    """Return the CIELAB of recipes as they were swatched before, mean over all papers."""
    found: dict[Recipe, list[FloatArray]] = {}
    for swatch in swatches_of(work, recipes):
        found.setdefault(swatch.recipe, []).append(lab_from_reflectance(swatch.reflectance))
    return {recipe: np.mean(labs, axis=0) for recipe, labs in found.items()}
