"""What a kit's picture lacks against the plan, in color and in values."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.plan.palette_cost import DIFFERENT, STILL_DIFFERENT
from laydown.plan.picture import Lost, PicturePlan, color_of_regions
from laydown.reference.thresholds import thresholds


def lost(plan: PicturePlan, labs: FloatArray, out_of_reach: Sequence[int]) -> Lost:
    """Compare a kit's picture with the plan.

    Parameters
    ----------
    plan
        With its palette.
    labs
        Shape (colors, 3), what the kit gives for each color of the palette.
    out_of_reach
        Numbers of the colors that the kit does not come near, as the matching judged.

    Notes
    -----
    Every pixel of a color is off by the same, so the mean over the palette by area is the mean over
    the picture. Two colors count as merged if they were `DIFFERENT` in CIELAB in the plan and are
    not `STILL_DIFFERENT` from this kit, as for lessons.

    Examples
    --------
    ``lost(plan, kit.labs, ()).steps_kept`` is 1 where every value falls into its step.
    """
    wanted = np.array([color.lab for color in plan.palette])
    share = np.array([color.share for color in plan.palette]) / 100.0
    off = np.asarray(ciede2000(wanted, labs))
    value = np.asarray(value_from_lab(labs))
    in_step = np.digitize(value, plan.values.boundaries)
    kept = in_step == [color.value_step for color in plan.palette]
    worst = int(np.argmax(off))
    return Lost(
        mean=float(off @ share),
        worst=float(off[worst]),
        worst_color=plan.palette[worst].number,
        mean_value=float(np.abs(value - value_from_lab(wanted)) @ share),
        steps_kept=min(1.0, float(kept @ share)),
        out_of_reach=tuple(out_of_reach),
        merged=_merged(plan, wanted, labs),
        flattened=flattened(plan),
    )


def flattened(plan: PicturePlan) -> float:
    """Return the mean CIEDE2000 between the picture and its plan, before any kit comes in."""
    colored = plan.values.labels > 0
    return float(np.mean(ciede2000(plan.seen[colored], painted(plan)[colored])))


def painted(plan: PicturePlan, labs: FloatArray | None = None) -> FloatArray:
    """Return the picture in the colors of a kit, or of the plan itself.

    Parameters
    ----------
    plan
        With its regions.
    labs
        Shape (colors, 3), what a kit gives for each color; None for the palette's own.

    Returns
    -------
    FloatArray
        Shape (row, column, 3), CIELAB; white where nothing is to be colored.

    Examples
    --------
    ``painted(plan)`` is what the plan asks for, ``painted(plan, kit.labs)`` what the kit makes.
    """
    chosen = np.array([color.lab for color in plan.palette]) if labs is None else labs
    table = np.concatenate([[[100.0, 0.0, 0.0]], chosen])
    return np.asarray(table[color_of_regions(plan.values)[plan.values.labels]])


def off_in_value(plan: PicturePlan, labs: FloatArray) -> NDArray[np.bool_]:
    """Return which colors are off by more than the slack a match in value has, shape (colors,)."""
    wanted = value_from_lab(np.array([color.lab for color in plan.palette]))
    return np.asarray(np.abs(value_from_lab(labs) - wanted) > thresholds()["value slack"])


def _merged(plan: PicturePlan, wanted: FloatArray, labs: FloatArray) -> tuple[tuple[int, int], ...]:
    pairs = combinations(range(len(wanted)), 2)
    return tuple(
        (plan.palette[i].number, plan.palette[j].number)
        for i, j in pairs
        if np.linalg.norm(wanted[i] - wanted[j]) >= DIFFERENT
        and np.linalg.norm(labs[i] - labs[j]) < STILL_DIFFERENT
    )
