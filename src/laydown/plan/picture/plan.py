"""From a picture to its plan: values first, then colors, then regions worth coloring."""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz, xyz_from_lab
from laydown.color.value import value_from_lab
from laydown.errors import BadFileError
from laydown.plan.picture.palette import describe, find_colors, mean_of, with_palette, without_grain
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
from laydown.plan.picture.regions import closed_areas, hatched, majority, worth_of, worthwhile

OUTLINE_ENDS = (1.5, 9.5)
"""Values that the steps of line art are parted between: those of what colors can do (chosen)."""
OUTLINE = (
    "Lines on bare paper: planned by the {} areas that they close. Give each a color, or several a"
    " run from light to dark."
)
MOST_REGIONS = 5_000
"""More than anybody colors."""


def make_plan(
    seen: FloatArray,
    rules: PlanRules,
    *,
    title: str = "",
    opaque: NDArray[np.bool_] | None = None,
    notes: tuple[str, ...] = (),
) -> PicturePlan:
    """Plan a picture.

    `seen`: shape (row, column, 3), CIELAB D50; about a thousand pixels on the longer side are
    enough for regions that a hand can color, and larger pictures cost time for nothing. `opaque`:
    shape (row, column), where it is to be colored; None for everywhere. `notes`: sentences on how
    it was read; those on the rules follow them.

    Values are those of ASTM D1535 after a median over a window, see `without_grain`; hatching and
    all that is too fine for the tip counts as the mean of its light. The value plan stands before
    any color does: regions of colors part those of values and never join them, unless one is too
    small to be colored.

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
    tip, least = worth_of(rules, seen.shape[1])
    areas = closed_areas(seen, tip=tip, least=least) if inside.all() else None
    if areas is not None and areas.max() <= MOST_REGIONS:
        return _outline(seen, rules, areas, title, notes)
    lab = np.where(inside[..., None], without_grain(seen), seen)
    lab = _hatching_averaged(lab, inside, rules, tip)
    values = np.asarray(value_from_lab(lab))
    boundaries = _boundaries(values[inside], rules)
    levels = _levels(values[inside], boundaries)
    classes = _classes(values, inside, boundaries)
    parts = worthwhile(
        classes, inside.astype(np.int32), _far(levels[:, None]), tip=tip, least=least
    )
    step = majority(parts, classes)[parts].astype(np.int32)
    # A pixel has a voice in what colors there are if it is of its region's step by itself; those
    # of soft edges and dust are not.
    voice = inside & (classes == step)
    colors = np.zeros_like(step)
    colors[inside] = find_colors(
        lab[inside], step[inside] - 1, voice[inside], least=least, colors=rules.colors
    )
    labels = worthwhile(colors, parts, _far(mean_of(lab, colors, voice)[1:]), tip=tip, least=least)
    if labels.max() > MOST_REGIONS:
        raise BadFileError(
            f"These rules make {labels.max():,} regions; at most {MOST_REGIONS:,} are kept.",
            hint="Ask for larger ones: a broader tip, or more for the smallest region.",
            command="--tip, --least",
        )
    regions, palette = describe(lab, labels, colors, voice, majority(labels, step)[1:] - 1)
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


def _hatching_averaged(
    lab: FloatArray, inside: NDArray[np.bool_], rules: PlanRules, tip: float
) -> FloatArray:
    """Give hatching, and all that is as fine, the mean of its light, as the eye does from afar."""
    values = np.asarray(value_from_lab(lab))
    fine = hatched(_classes(values, inside, _boundaries(values[inside], rules)), tip=tip)
    if not fine.any():
        return lab
    weight = _blurred(inside.astype(np.float64), tip / 2.0)
    light = [
        _blurred(np.where(inside, channel, 0.0), tip / 2.0) / np.maximum(weight, 1e-9)
        for channel in np.moveaxis(xyz_from_lab(lab), -1, 0)
    ]
    return np.where(fine[..., None], lab_from_xyz(np.stack(light, axis=-1)), lab)


def _blurred(channel: FloatArray, sigma: float) -> FloatArray:
    return np.asarray(ndimage.gaussian_filter(channel, sigma, mode="nearest"), dtype=np.float64)


def _classes(values: FloatArray, inside: NDArray[np.bool_], boundaries: FloatArray) -> Labels:
    """Return the value step of each pixel, from 1; 0 for what is not to be colored."""
    return np.where(inside, np.digitize(values, boundaries) + 1, 0).astype(np.int32)


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


def _rules_in_words(rules: PlanRules, made: int) -> tuple[str, ...]:
    kind = "of even height" if rules.even else "parted at the picture's own breaks"
    few = f" ({rules.steps} were asked for, but its values lie too near to each other)"
    few = few if made < rules.steps else ""
    palette = "Each step has as many colors as its hues and chromas ask for."
    palette = f"{rules.colors} colors were asked for." if rules.colors else palette
    size = (
        f"For a picture {rules.width:g} mm wide: what a tip of {rules.tip:g} mm can't color goes "
        f"to its neighbor, and a region under {rules.least:g} mm² joins the one nearest in color."
    )
    return f"{made} value steps, {kind}{few}. {palette}", size
