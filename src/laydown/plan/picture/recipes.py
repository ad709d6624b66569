"""A plan from a kit: its recipes, what is lost, and its lesson."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.color.naming import color_name
from laydown.color.screen import screen_color
from laydown.color.value import value_from_lab
from laydown.plan.lesson.conversion import DIFFERENT, STILL_DIFFERENT
from laydown.plan.lesson.lesson import Lesson, LessonColor, roles_by_value
from laydown.plan.picture.picture import Lost, PicturePlan, Region, color_of_regions


def lost(plan: PicturePlan, labs: FloatArray, out_of_reach: Sequence[int]) -> Lost:
    """Compare a kit's picture with the plan.

    `labs`: shape (colors, 3), what the kit gives for each color of the palette. `out_of_reach`:
    numbers of the colors that the kit does not come near, as the matching judged.

    Every pixel of a color is off by the same, so the mean over the palette by area is the mean over
    the picture. Two colors count as merged if they were `DIFFERENT` in CIELAB in the plan and are
    not `STILL_DIFFERENT` from this kit, as for lessons.
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

    `labs`: shape (colors, 3), what a kit gives for each color; None for the palette's own. Returns
    shape (row, column, 3), CIELAB; white where nothing is to be colored.
    """
    chosen = np.array([color.lab for color in plan.palette]) if labs is None else labs
    table = np.concatenate([[[100.0, 0.0, 0.0]], chosen])
    return np.asarray(table[color_of_regions(plan.values)[plan.values.labels]])


def _merged(plan: PicturePlan, wanted: FloatArray, labs: FloatArray) -> tuple[tuple[int, int], ...]:
    return tuple(
        (plan.palette[i].number, plan.palette[j].number)
        for i, j in combinations(range(len(wanted)), 2)
        if np.linalg.norm(wanted[i] - wanted[j]) >= DIFFERENT
        and np.linalg.norm(labs[i] - labs[j]) < STILL_DIFFERENT
    )


NOTE = "Its colors were taken from a picture and are estimates; trust their values first."


def lesson_of(plan: PicturePlan, *, title: str = "", paper: str = "") -> Lesson:
    """Make a lesson of a plan.

    `title`: empty for the plan's. `paper`: name of the paper it is meant for. Returns one color for
    each color of each passage, as a screen estimate, with its share of the area; those of no
    passage come last. A role is the one that its largest region was given, else it follows from the
    order of values in the passage.
    """
    passages = sorted({r.passage for r in plan.values.regions}, key=lambda p: (not p, p.casefold()))
    colors = [color for passage in passages for color in _colors(plan, passage)]
    return Lesson(title or plan.title, paper, tuple(colors), notes=(NOTE,))


def _colors(plan: PicturePlan, passage: str) -> list[LessonColor]:
    gathered: dict[int, list[Region]] = {}
    for region in plan.values.regions:
        if region.passage == passage:
            gathered.setdefault(region.color, []).append(region)
    numbers = sorted(gathered)  # the palette goes from light to dark
    roles = roles_by_value([-n for n in numbers]) if passage else ("",) * len(numbers)
    return [
        _color(plan, passage, gathered[number], role)
        for number, role in zip(numbers, roles, strict=True)
    ]


def _color(plan: PicturePlan, passage: str, regions: Sequence[Region], role: str) -> LessonColor:
    color = plan.palette[regions[0].color - 1]
    largest = max(regions, key=lambda region: (region.share, -region.number))
    name = f"{color.number} {color_name(color.lab)}"
    return LessonColor(
        name=f"{name}, {passage}" if passage else name,
        passage=passage,
        role=largest.role or role,
        share=round(sum(region.share for region in regions), 1),
        screen=screen_color(color.lab),
    )
