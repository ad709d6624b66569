"""A picture's plan in words and screen colors, the same for paper, SVG and HTML."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.color.tristimulus import WHITE_D50
from laydown.color.value import grays, luminance_from_value
from laydown.documents.entries import TIGHT, Entry, Shade, entry_of, shade
from laydown.match.outcome import Verdict
from laydown.plan.picture import KitPicture, PicturePlan
from laydown.plan.picture_loss import painted

NO_PILES: FloatArray = np.empty((0, 3))
TRACE = "Pale outline: color on this page, or trace it onto your own paper."
READING = (
    "Each number stands for one color. In the list: the wanted color touching the one that the"
    " recipe makes, the gray of its value, and an empty box to color in first, on your own paper."
    " Value runs from 0, black, to 10, white; step 1 is the darkest."
)


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A color of a plan, ready to be set.

    Parameters
    ----------
    number
        As it stands in the regions.
    wanted
        The color.
    facts
        Its value step, how much of the picture it covers, and where.
    entry
        Its recipe and how it is judged; None where no kit was asked.
    """

    number: int
    wanted: Shade
    facts: str
    entry: Entry | None

    @property
    def shown(self) -> tuple[str, ...]:
        """Screen colors of what is wanted and, beside it, of what the recipe makes."""
        made = (self.entry.predicted.fill,) if self.entry else ()
        return (self.wanted.fill, *made)

    @property
    def gray(self) -> str:
        """Screen color of the gray of its value: the recipe's where there is one."""
        return self.entry.predicted.gray if self.entry else self.wanted.gray


def plan_rows(plan: PicturePlan) -> tuple[PlanRow, ...]:
    """Put the colors of a plan into words; in a plan of values alone, its steps from the lightest.

    The recipes are those of the first of its kits.
    """
    if not plan.palette:
        steps = reversed(range(plan.values.steps))
        return tuple(_value_row(plan, count, step) for count, step in enumerate(steps, start=1))
    matches = plan.kits[0].matches if plan.kits else (None,) * len(plan.palette)
    shared = frozenset(plan.kits[0].notes) if plan.kits else frozenset()
    rows = []
    for color, match in zip(plan.palette, matches, strict=True):
        entry = entry_of(color.number, match, NO_PILES, shared) if match else None
        facts = _facts(plan, color.value_step, color.share, _places(plan, color.number))
        rows.append(PlanRow(color.number, shade(color.lab), facts, entry))
    return tuple(rows)


def numbers_of(plan: PicturePlan) -> dict[int, str]:
    """Return what to print in each region, by its own number."""
    steps = plan.values.steps
    return {
        region.number: str(region.color if plan.palette else steps - region.value_step)
        for region in plan.values.regions
    }


def _value_row(plan: PicturePlan, count: int, step: int) -> PlanRow:
    share = sum(r.share for r in plan.values.regions if r.value_step == step)
    light = WHITE_D50 * float(luminance_from_value(plan.values.levels[step])) / 100
    return PlanRow(count, shade(lab_from_xyz(light)), _facts(plan, step, share, ""), None)


def _facts(plan: PicturePlan, step: int, share: float, places: str) -> str:
    covered = f"{share:.0f}{TIGHT}%" if share >= 0.5 else f"under 1{TIGHT}%"
    told = f"Value step {step + 1} of {plan.values.steps}, {covered} of the picture"
    return f"{told}; {places}" if places else told


def _places(plan: PicturePlan, color: int) -> str:
    """Name the passages and roles that a color serves, as somebody assigned them."""
    named = [
        f"{region.passage}, {region.role}" if region.role else region.passage
        for region in plan.values.regions
        if region.color == color and region.passage
    ]
    return "; ".join(dict.fromkeys(named))


def lead(plan: PicturePlan) -> str:
    """Say what the plan is for."""
    if not plan.kits:
        return "The values and colors of a picture, light to dark, before any kit is chosen."
    kit = plan.kits[0]
    aim = "its values, with whatever hues the kit holds" if kit.values_only else "its colors"
    return f"What to lay from {kit.kit} on {kit.paper} for {aim}."


def size_words(plan: PicturePlan) -> str:
    """Say how large the picture is and what it is made of."""
    values = plan.values
    colors = f", {len(plan.palette)} colors" if plan.palette else ""
    return (
        f"{values.width:.0f} × {values.height:.0f} mm: {values.steps} value steps{colors}, "
        f"{len(values.regions)} regions."
    )


def losses(plan: PicturePlan) -> tuple[str, ...]:
    """Say what this kit can't reach, and what the plan itself has left out."""
    if not plan.kits:
        return ()
    kit, rows = plan.kits[0], {row.number: row for row in plan_rows(plan)}
    told = [
        f"{n}, {rows[n].wanted.words}: {_lowered(rows[n].entry)}" for n in kit.lost.out_of_reach
    ]
    told += [f"{a} and {b} come out nearly alike." for a, b in kit.lost.merged]
    kept = f"{kit.lost.steps_kept:.0%}".replace("%", f"{TIGHT}%")
    told.append(
        f"Value: {kept} of the area stays in its value step; it is off by"
        f" {kit.lost.mean_value:.1f} of a value on average."
    )
    if not kit.values_only:
        told.append(
            f"Color: the area is off by ΔE {kit.lost.mean:.1f} on average, and number"
            f" {kit.lost.worst_color} by {kit.lost.worst:.1f}, the most."
        )
    told.append(
        "Before any kit: the plan, with its few flat colors, is off from the picture by"
        f" ΔE {kit.lost.flattened:.1f} on average."
    )
    return tuple(told)


def _lowered(entry: Entry | None) -> str:
    return entry.off[:1].lower() + entry.off[1:] if entry else ""


def notes(plan: PicturePlan) -> tuple[str, ...]:
    """Return what holds for the whole plan, each once."""
    own = plan.kits[0].notes if plan.kits else ()
    return tuple(dict.fromkeys([*plan.notes, *own]))


def is_invented(plan: PicturePlan) -> bool:
    """Tell whether a note says that the kit's data is made up."""
    return any("invented" in note.casefold() for note in notes(plan))


def verdicts(rows: Sequence[PlanRow]) -> tuple[Verdict, ...]:
    """Return the verdicts that occur, in their usual order."""
    seen = {row.entry.verdict for row in rows if row.entry}
    return tuple(verdict for verdict in Verdict if verdict in seen)


def views(plan: PicturePlan) -> tuple[tuple[str, FloatArray], ...]:
    """Return the picture as it is, as planned, and as a kit makes it, in color and in values.

    Returns
    -------
    tuple of (str, FloatArray)
        What each is called, and its pixels' CIELAB, shape (row, column, 3).
    """
    shown = [("The picture", plan.seen), ("Its values", grays(plan.seen)), *_planned(plan)]
    for kit in plan.kits:
        made = painted(plan, kit.shown)
        shown += [(f"From {kit.kit}", made), (f"{kit.kit}, its values", grays(made))]
    return tuple(shown)


def _planned(plan: PicturePlan) -> list[tuple[str, FloatArray]]:
    values = [("The plan's values", _stepped(plan))]
    return [("The plan", painted(plan)), *values] if plan.palette else values


def _stepped(plan: PicturePlan) -> FloatArray:
    """Return the picture in the mean gray of each value step; white where nothing is colored."""
    light = luminance_from_value(plan.values.levels)
    table = np.full(1 + max((r.number for r in plan.values.regions), default=0), 100.0)
    for region in plan.values.regions:
        table[region.number] = light[region.value_step]
    return lab_from_xyz(table[plan.values.labels][..., None] / 100 * WHITE_D50)


def kit_words(kit: KitPicture) -> str:
    """Name a kit and its paper."""
    return f"{kit.kit} on {kit.paper}"
