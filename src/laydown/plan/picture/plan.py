"""From a picture to its plan: values first, then colors, then regions worth coloring."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz, xyz_from_lab
from laydown.color.value import value_from_lab
from laydown.errors import BadFileError
from laydown.plan.picture.areas import closed_areas
from laydown.plan.picture.palette import (
    describe,
    find_colors,
    mean_of,
    with_palette,
    without_grain,
)
from laydown.plan.picture.picture import (
    Labels,
    PicturePlan,
    PlanRules,
    Region,
    ValuePlan,
    even_steps,
    most_steps,
    natural_steps,
)
from laydown.plan.picture.regions import Worth, hatched, majority, worth_of, worthwhile

OUTLINE_ENDS = (1.5, 9.5)
"""Values that the steps of line art are parted between: those of what colors can do (chosen)."""
OUTLINE = (
    "Lines on bare paper: planned by the {} areas that they close. Give each a color, or several a"
    " run from light to dark."
)
MOST_REGIONS = 5_000
"""More than anybody colors."""


@dataclass(frozen=True, slots=True, eq=False)
class _Plane:
    """The picture without its grain, and where it is to be colored."""

    lab: FloatArray
    value: FloatArray
    inside: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class _Values:
    """The value plan: its regions, the step of each pixel's region from 1, and `voice`.

    A pixel has a voice in what colors there are if it is of that step by itself; those of soft
    edges and dust are not.
    """

    regions: Labels
    step: Labels
    voice: NDArray[np.bool_]


def make_plan(
    seen: FloatArray,
    rules: PlanRules,
    *,
    title: str = "",
    opaque: NDArray[np.bool_] | None = None,
    notes: tuple[str, ...] = (),
) -> PicturePlan:
    """Plan a picture.

    Parameters
    ----------
    seen
        Shape (row, column, 3), CIELAB D50; about a thousand pixels on the longer side are enough
        for regions that a hand can color, and larger pictures cost time for nothing.
    rules
        How.
    title
        What to call it.
    opaque
        Shape (row, column), where it is to be colored; None for everywhere.
    notes
        Sentences on how it was read; those on the rules follow them.

    Returns
    -------
    PicturePlan
        Without kits.

    Notes
    -----
    Values are those of ASTM D1535 after a median over a window, see `without_grain`; hatching and
    all that is too fine for the tip counts as the mean of its light. The value plan stands before
    any color does: regions of colors part those of values and never join them, unless one is too
    small to be colored.

    Examples
    --------
    A dark half and a light half make two regions, the light one second, of half the area each.

    >>> seen = np.zeros((40, 60, 3)); seen[:, :30, 0], seen[:, 30:, 0] = 25.0, 85.0
    >>> plan = make_plan(seen, PlanRules(steps=2))
    >>> [(r.value_step, round(r.share)) for r in plan.values.regions]
    [(0, 50), (1, 50)]
    """
    inside = np.ones(seen.shape[:2], dtype=np.bool_) if opaque is None else opaque
    if not inside.any():
        raise BadFileError(
            "Nothing of this picture can be seen: all of it is transparent.",
            hint="Save it on white.",
        )
    worth = worth_of(rules, seen.shape[1])
    areas = closed_areas(seen, worth) if inside.all() else None
    if areas is not None and areas.max() <= MOST_REGIONS:
        return _outline(seen, rules, areas, title, notes)
    plane = _without_grain(seen, inside)
    plane = _hatching_averaged(plane, _boundaries(plane.value[inside], rules), worth)
    boundaries = _boundaries(plane.value[inside], rules)
    levels = _levels(plane.value[inside], boundaries)
    values = _valued(plane, boundaries, levels, worth)
    labels, colors = _colored(plane, values, worth, rules.colors)
    if labels.max() > MOST_REGIONS:
        raise BadFileError(
            f"These rules make {labels.max():,} regions; at most {MOST_REGIONS:,} are kept.",
            hint="Ask for larger ones: a broader tip, or more for the smallest region.",
            command="--tip, --least",
        )
    step_of = majority(labels, values.step)[1:] - 1
    regions, palette = describe(plane.lab, labels, colors, values.voice, step_of)
    plan = ValuePlan(labels, boundaries, levels, regions, rules.width)
    told = (*notes, *_rules_in_words(rules, len(levels)))
    return PicturePlan(title, rules, plan, palette, seen, notes=told)


def _outline(
    seen: FloatArray, rules: PlanRules, areas: Labels, title: str, notes: tuple[str, ...]
) -> PicturePlan:
    """Plan line art: its closed areas are regions, bare until each is given a color."""
    boundaries = np.linspace(*OUTLINE_ENDS, rules.steps + 1)[1:-1]
    paper = np.percentile(seen, 80.0, axis=(0, 1))
    step = int(np.digitize(float(value_from_lab(paper)), boundaries))
    share = 100.0 * np.bincount(areas.ravel())[1:] / areas.size
    bare = [Region(n, 1, step, paper, float(part)) for n, part in enumerate(share, start=1)]
    regions, palette = with_palette(bare)
    ends = np.array([OUTLINE_ENDS[0], *boundaries, OUTLINE_ENDS[1]])
    plan = ValuePlan(areas, boundaries, (ends[1:] + ends[:-1]) / 2.0, regions, rules.width)
    told = OUTLINE.format(len(regions))
    return PicturePlan(title, rules, plan, palette, seen, notes=(*notes, told))


def _without_grain(seen: FloatArray, inside: NDArray[np.bool_]) -> _Plane:
    lab = np.where(inside[..., None], without_grain(seen), seen)
    return _Plane(lab, np.asarray(value_from_lab(lab)), inside)


def _hatching_averaged(plane: _Plane, boundaries: FloatArray, worth: Worth) -> _Plane:
    """Give hatching, and all that is as fine, the mean of its light, as the eye does from afar."""
    fine = hatched(_classes(plane, boundaries), worth)
    if not fine.any():
        return plane
    weight = _blurred(plane.inside.astype(np.float64), worth.tip / 2.0)
    light = [
        _blurred(np.where(plane.inside, channel, 0.0), worth.tip / 2.0) / np.maximum(weight, 1e-9)
        for channel in np.moveaxis(xyz_from_lab(plane.lab), -1, 0)
    ]
    lab = np.where(fine[..., None], lab_from_xyz(np.stack(light, axis=-1)), plane.lab)
    return _Plane(lab, np.asarray(value_from_lab(lab)), plane.inside)


def _blurred(channel: FloatArray, sigma: float) -> FloatArray:
    return np.asarray(ndimage.gaussian_filter(channel, sigma, mode="nearest"), dtype=np.float64)


def _classes(plane: _Plane, boundaries: FloatArray) -> Labels:
    """Return the value step of each pixel, from 1; 0 for what is not to be colored."""
    step = np.digitize(plane.value, boundaries) + 1
    return np.where(plane.inside, step, 0).astype(np.int32)


def _boundaries(values: FloatArray, rules: PlanRules) -> FloatArray:
    steps = min(rules.steps, most_steps(values))
    part = even_steps if rules.even else natural_steps
    return part(values, steps)


def _levels(values: FloatArray, boundaries: FloatArray) -> FloatArray:
    """Return the mean value of each step; the middle of one that nothing lies in."""
    step = np.digitize(values, boundaries)
    count = np.bincount(step, minlength=len(boundaries) + 1)
    total = np.bincount(step, weights=values, minlength=len(boundaries) + 1)
    ends = np.array([values.min(), *boundaries, values.max()])
    middle = (ends[1:] + ends[:-1]) / 2.0
    return np.where(count > 0, total / np.maximum(count, 1), middle)


def _far(at: FloatArray) -> FloatArray:
    """Return how far classes are from each other, shape (classes + 1, classes + 1)."""
    found = np.zeros((len(at) + 1, len(at) + 1))
    found[1:, 1:] = np.linalg.norm(at[:, None, :] - at[None, :, :], axis=-1)
    return found


def _valued(plane: _Plane, boundaries: FloatArray, levels: FloatArray, worth: Worth) -> _Values:
    classes = _classes(plane, boundaries)
    regions = worthwhile(classes, plane.inside.astype(np.int32), worth, _far(levels[:, None]))
    step = majority(regions, classes)[regions].astype(np.int32)
    return _Values(regions, step, plane.inside & (classes == step))


def _colored(
    plane: _Plane, values: _Values, worth: Worth, colors: int | None
) -> tuple[Labels, Labels]:
    """Part the regions of values by color; returns regions, and the color class of each pixel."""
    inside, found = plane.inside, np.zeros(values.regions.shape, dtype=np.int32)
    found[inside] = find_colors(
        plane.lab[inside],
        values.step[inside] - 1,
        values.voice[inside],
        least=worth.least,
        colors=colors,
    )
    middles = mean_of(plane.lab, found, values.voice)
    return worthwhile(found, values.regions, worth, _far(middles[1:])), found


def _rules_in_words(rules: PlanRules, made: int) -> tuple[str, ...]:
    kind = "of even height" if rules.even else "parted at the picture's own breaks"
    few = (
        f" ({rules.steps} were asked for, but its values lie too near to each other)"
        if made < rules.steps
        else ""
    )
    palette = (
        f"{rules.colors} colors were asked for."
        if rules.colors
        else "Each step has as many colors as its hues and chromas ask for."
    )
    size = (
        f"For a picture {rules.width:g} mm wide: what a tip of {rules.tip:g} mm can't color goes "
        f"to its neighbor, and a region under {rules.least:g} mm² joins the one nearest in color."
    )
    return f"{made} value steps, {kind}{few}. {palette}", size
