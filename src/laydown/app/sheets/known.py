"""Colors that are known already: chosen for a sheet, found in a picture, and held against names."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from typing import NoReturn, TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance, lab_from_xyz, xyz_from_reflectance
from laydown.errors import BadFileError, NotMeasuredError
from laydown.imaging import conversion, development
from laydown.imaging.reading import PageReading, card_boxes
from laydown.media.legible import name_key
from laydown.media.marker.design import one_coat
from laydown.media.recipe import Recipe, Step
from laydown.media.recipe_words import recipe_words
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
) -> dict[Recipe, conversion.KnownColor]:
    """Return the colors of recipes as far as they are known well enough to tell a camera by.

    `paper` is that which they are laid on; it may be new. `carried` says whether what is
    known on another paper alone counts: it is taken for as much darker than its paper here as
    there.
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


def _best(entries: Sequence[tuple[bool, FloatArray, float]]) -> conversion.KnownColor:
    """Return the mean of a recipe's colors on this paper, or else of those carried over."""
    same = any(entry[0] for entry in entries)
    counted = [entry for entry in entries if entry[0] is same]
    xyz = np.mean([entry[1] for entry in counted], axis=0)
    return xyz, float(np.mean([entry[2] for entry in counted])), same


def choose_known(
    work: Work, label: str, paper: str, *, besides: Sequence[Recipe]
) -> tuple[Recipe, ...]:
    """Choose up to eight known colors of a range for a sheet, far from each other.

    `besides` is what is on the sheet anyway, and known or not. Raises `NotMeasuredError` where
    fewer than three are known.
    """
    asked = [one_coat(c) for c in work.colorants(label) if not c.blender]
    known = known_colors(work, paper, [recipe for recipe in asked if recipe not in besides])
    if len(known) < development.FEWEST_KNOWN:
        raise NotMeasuredError(
            f"{len(known)} colors of {label} are known well enough,"
            f" and {development.FEWEST_KNOWN} are needed.",
            hint="Bring in a file of its measured swatches, or read a sheet of it with a scanner or"
            " a reference chart.",
        )
    recipes = list(known)
    lab = lab_from_xyz(np.array([known[recipe][0] for recipe in recipes]))
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


Places: TypeAlias = NDArray[np.int64]
"""Numbers of a card's places, in its rows and columns."""

TINTED = 1.15
"""Strongest over weakest channel, against the other bare places, from which one is colored."""
DARK = 0.55
"""Light of a bare place against the lightest, below which it is no paper: light on a card seldom
falls to less."""
LIGHTER = 1.3
"""In every channel against bare paper, from which a colored place is more likely the paper."""
FAR = 20.0
"""CIEDE2000 from what is known of a recipe: more than a picture without a chart is off by."""
DARKENS = 8.0
"""L* by which more coats of a recipe may come out lighter, all the same."""
FEWEST_NAMED = 2
"""Known colors without which nothing is said against the names."""
WAYS_HELD: Mapping[str, Callable[[Places], Places]] = {
    "upside down": lambda grid: grid[::-1, ::-1],
    "mirrored": lambda grid: grid[:, ::-1],
    "mirrored, upside down": lambda grid: grid[::-1],
}
"""How a picture may show a card, by the words for it."""


def check_bare(
    reading: PageReading,
    recipes: Mapping[int, Recipe],
    *,
    grid: tuple[int, int],
    passed: Iterable[int],
) -> None:
    """Stop where places that are named as bare paper can't be that.

    `reading` is what was read of the card, bare paper being (1, 1, 1). `recipes` is by place; an
    empty one is bare paper. `passed`: places that a person has looked at and stands by. Raises
    `BadFileError`, which says the place, and how the card seems to be held where that would mend
    it.
    """
    light = {n: patch.mean for n, patch in reading.patches.items()}
    problem = _not_bare(light, recipes, set(passed))
    if problem:
        raise BadFileError(
            f"The card can't be as it is named: {problem}.",
            hint=_held(reading, recipes, grid),
            command="--accept PLACES, if it is right all the same",
        )


def _not_bare(
    light: Mapping[int, FloatArray], recipes: Mapping[int, Recipe], looked_at: AbstractSet[int]
) -> str:
    """Return which place can't be what it is named; empty for none."""
    bare = [n for n in sorted(light) if not recipes[n].steps]
    usual = np.median([light[n] for n in bare], axis=0)
    for place in (n for n in bare if n not in looked_at):
        if _is_colored(light[place], usual, lightest=max(light[n].mean() for n in bare)):
            return f"place {place} is named as bare paper and is colored"
    for place in (n for n in sorted(light) if recipes[n].steps and n not in looked_at):
        if (light[place] / usual).min() > LIGHTER:
            return f"place {place} is lighter than the places of bare paper"
    return ""


def _is_colored(seen: FloatArray, usual: FloatArray, *, lightest: float) -> bool:
    relative = seen / usual
    return bool(relative.max() > TINTED * relative.min() or seen.mean() < DARK * lightest)


def _held(reading: PageReading, recipes: Mapping[int, Recipe], grid: tuple[int, int]) -> str:
    """Return what to do: turn the picture, where that makes all bare places bare.

    The light that was taken out rests on places that aren't bare, so it is put in again.
    """
    boxes = card_boxes(rows=grid[0], columns=grid[1])
    light = {
        n: patch.mean * reading.light(np.array(boxes[n - 1].center))
        for n, patch in reading.patches.items()
    }
    places = np.arange(1, grid[0] * grid[1] + 1).reshape(grid)
    for held, turned in WAYS_HELD.items():
        there = dict(zip(places.ravel().tolist(), turned(places).ravel().tolist(), strict=True))
        bare = [light[there[n]] for n in light if not recipes[n].steps and there[n] in light]
        rest = [light[there[n]] for n in light if recipes[n].steps and there[n] in light]
        if bare and rest and _all_bare(np.array(bare), np.array(rest)):
            return (
                f"It seems to be {held} in the picture: turn the picture, or set the grid's corners"
                " from its first place on."
            )
    return "Check which places are bare paper, and where the grid's corners lie."


def _all_bare(bare: FloatArray, rest: FloatArray) -> bool:
    usual = np.median(bare, axis=0)
    lightest = bare.mean(axis=1).max()
    return not any(_is_colored(one, usual, lightest=lightest) for one in bare) and not bool(
        ((rest / usual).min(axis=1) > LIGHTER).any()
    )


def check_names(
    colors: Sequence[tuple[int, Recipe, FloatArray]], known: Mapping[Recipe, FloatArray]
) -> None:
    """Stop where names and colors can't belong together.

    `colors`: place, recipe and CIELAB of each place that nobody has accepted yet, bare ones left
    out. `known`: CIELAB of recipes as they were swatched before, on any paper. Raises
    `BadFileError` where most of what is known looks quite different, one recipe has two colors, or
    more coats of one come out lighter than fewer.
    """
    there = [(n, r, lab, known[r]) for n, r, lab in colors if r in known]
    off = [float(ciede2000(lab, before)) for _, _, lab, before in there]
    if len(off) >= FEWEST_NAMED and float(np.median(off)) > FAR:
        place, recipe, *_ = there[int(np.argmax(off))]
        _mixed_up(f"{recipe_words(recipe)}, at place {place}, was swatched quite differently")
    for at, (place, recipe, lab) in enumerate(colors):
        for other, earlier, before in colors[:at]:
            if earlier == recipe and float(ciede2000(lab, before)) > FAR:
                words = recipe_words(recipe)
                _mixed_up(f"{words} has two quite different colors at places {other} and {place}")
            if _lightens(earlier, before, recipe, lab) or _lightens(recipe, lab, earlier, before):
                _mixed_up(f"of places {other} and {place}, the one with more coats is the lighter")


def _lightens(fewer: Recipe, before: FloatArray, more: Recipe, after: FloatArray) -> bool:
    if len(fewer.steps) != 1 or len(more.steps) != 1:
        return False
    one, other = fewer.steps[0], more.steps[0]
    return (
        isinstance(one, Step)
        and isinstance(other, Step)
        and one.colorant == other.colorant
        and other.laydown.coats > one.laydown.coats
        and float(after[0] - before[0]) > DARKENS
    )


def _mixed_up(problem: str) -> NoReturn:
    raise BadFileError(
        f"These names and colors don't belong together: {problem}.",
        hint="Check that the list runs row by row from the first place, and that the picture"
        " is upright. If swatches taken in before are wrong, remove them first.",
        command="--accept PLACES, if it is right all the same",
    )
