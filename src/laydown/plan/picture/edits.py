"""Changes by hand to a picture's plan: regions merged, split by value, assigned to a passage."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.color.value import value_from_lab
from laydown.errors import BadEditError
from laydown.media.legible import tidy_name
from laydown.plan.chart import ROLE_ORDER
from laydown.plan.picture.palette import mean_of, with_palette, without_grain
from laydown.plan.picture.picture import Labels, PicturePlan, Region, natural_steps
from laydown.plan.picture.regions import borders, worth_of, worthwhile
from laydown.reference.thresholds import thresholds

MOST_LETTERS = 60
"""Of a passage's name."""


Kind: TypeAlias = Literal["merge", "split", "assign", "color"]
Ends: TypeAlias = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Edit:
    """A change by hand to regions of a plan."""

    kind: Kind
    """*merge* makes them one, and the first keeps its number and its color; *split* parts the one
    named; *assign* says of which passage they are, or in which role; *color* gives them a color, or
    a run of even steps from one to another, in the order named."""
    numbers: tuple[int, ...]
    """Of the regions."""
    at: float | None = None
    """The value to part it at [0 to 10]; None for where its own lights and darks part."""
    passage: str | None = None
    role: str | None = None
    """None leaves it as it is."""
    lab: Ends | None = None
    to: Ends | None = None
    """CIELAB D50 of the color; of the run's other end, None for no run."""


def edited(plan: PicturePlan, edits: Sequence[Edit]) -> PicturePlan:
    """Return the plan after changes, one after the other.

    Raises BadEditError for a change that can't be made; it says which region and why.
    """
    change = {"merge": _merged, "split": _split, "assign": _assigned, "color": _painted}
    return reduce(lambda changed, edit: change[edit.kind](changed, edit), edits, plan)


def _named(plan: PicturePlan, numbers: Sequence[int]) -> list[Region]:
    """Return the regions of these numbers."""
    known = {region.number: region for region in plan.values.regions}
    unknown = [number for number in numbers if number not in known]
    if unknown:
        raise BadEditError(
            f"There is no region {unknown[0]} in this plan.",
            hint="Their numbers stand in its drawing.",
            command="laydown picture show PLAN -o regions.png",
        )
    return [known[number] for number in dict.fromkeys(numbers)]


def _merged(plan: PicturePlan, edit: Edit) -> PicturePlan:
    first, *others = _named(plan, edit.numbers)
    if not others:
        raise BadEditError(
            f"Only one region, {first.number}, is named.", hint="Name two or more to merge."
        )
    away = _out_of_touch(plan.values.labels, [first, *others])
    if away:
        raise BadEditError(
            f"Region {away[0]} touches none of the others.",
            hint="A region is all of one piece; merge what lies between, too.",
        )
    gone = {region.number for region in others}
    share = first.share + sum(region.share for region in others)
    regions = [
        replace(r, share=share) if r.number == first.number else r
        for r in plan.values.regions
        if r.number not in gone
    ]
    labels = np.where(np.isin(plan.values.labels, list(gone)), first.number, plan.values.labels)
    return _with(plan, labels.astype(np.int32), regions)


def _out_of_touch(labels: Labels, regions: Sequence[Region]) -> list[int]:
    """Return the numbers of those that can't be reached from the first through the others."""
    near, wanted = borders(labels), {region.number for region in regions}
    found, ahead = {regions[0].number}, [regions[0].number]
    while ahead:
        new = (wanted & set(near.get(ahead.pop(), {}))) - found
        found |= new
        ahead += sorted(new)
    return sorted(wanted - found)


def _split(plan: PicturePlan, edit: Edit) -> PicturePlan:
    (region,) = _named(plan, edit.numbers)
    inside = plan.values.labels == region.number
    # of each pixel, without grain; L* alone has a say in it
    values = np.asarray(value_from_lab(without_grain(plan.seen[..., :1]) * [1.0, 0.0, 0.0]))
    at = _break(values[inside], region) if edit.at is None else edit.at
    classes = np.where(inside, 1 + (values >= at), 0).astype(np.int32)
    tip, least = worth_of(plan.rules, inside.shape[1])
    found = worthwhile(classes, inside.astype(np.int32), np.zeros((3, 3)), tip=tip, least=least)
    if found.max() < 2:
        low, high = np.percentile(values[inside], (5, 95))
        raise BadEditError(
            f"Region {region.number} has nothing worth coloring on both sides of value {at:.1f}.",
            hint=f"Most of it lies between value {low:.1f} and {high:.1f}.",
        )
    # the largest part keeps the region's number, the others get new ones
    new = 1 + max(r.number for r in plan.values.regions)
    further = range(new, new + int(found.max()) - 1)
    numbers = np.array([0, region.number, *further], dtype=np.int32)
    labels = np.where(inside, numbers[found], plan.values.labels).astype(np.int32)
    kept = [r for r in plan.values.regions if r.number != region.number]
    return _with(plan, labels, [*kept, *_parts(plan, region, found, numbers)])


def _break(values: FloatArray, region: Region) -> float:
    found = natural_steps(values, 2)
    if not len(found):
        raise BadEditError(
            f"Region {region.number} is of one value all over.", hint="There is nothing to split."
        )
    return float(found[0])


def _parts(
    plan: PicturePlan, region: Region, found: Labels, numbers: NDArray[np.int32]
) -> list[Region]:
    """Describe the parts of a region; one that looks like a color of its step takes that color."""
    labs = mean_of(plan.seen, found, found > 0)
    steps = np.digitize(np.asarray(value_from_lab(labs)), plan.values.boundaries)
    area = np.bincount(found.ravel())
    parts = []
    for place in range(1, len(numbers)):
        step, lab = int(steps[place]), labs[place]
        parts.append(
            replace(
                region,
                number=int(numbers[place]),
                color=_color_like(plan, lab, step) or len(plan.palette) + place,
                value_step=step,
                lab=lab,
                share=float(region.share * area[place] / area[1:].sum()),
            )
        )
    return parts


def _color_like(plan: PicturePlan, lab: FloatArray, step: int) -> int:
    """Return the number of the nearest color of a step, 0 where none is near."""
    alike = [color for color in plan.palette if color.value_step == step]
    near = [(float(ciede2000(lab, color.lab)), color.number) for color in alike]
    off, number = min(near, default=(np.inf, 0))
    return number if off <= thresholds()["tolerance class"] else 0


def _assigned(plan: PicturePlan, edit: Edit) -> PicturePlan:
    wanted = {region.number for region in _named(plan, edit.numbers)}
    said: dict[str, Any] = {}
    if edit.passage is not None:
        said["passage"] = _passage(edit.passage)
    if edit.role is not None:
        said["role"] = _role(edit.role)
    regions = tuple(replace(r, **said) if r.number in wanted else r for r in plan.values.regions)
    return replace(plan, values=replace(plan.values, regions=regions))


def _painted(plan: PicturePlan, edit: Edit) -> PicturePlan:
    numbers = [region.number for region in _named(plan, edit.numbers)]
    labs = np.linspace(np.array(edit.lab), np.array(edit.to or edit.lab), len(numbers))
    wanted = dict(zip(numbers, labs, strict=True))
    known = {tuple(region.lab.tolist()): region.color for region in plan.values.regions}
    free = len(plan.palette) + 1
    for lab in map(tuple, labs.tolist()):
        known.setdefault(lab, free + len(known))
    regions = list(plan.values.regions)
    for place, region in enumerate(regions):
        if region.number in wanted:
            lab = wanted[region.number]
            step = int(np.digitize(float(value_from_lab(lab)), plan.values.boundaries))
            color = known[tuple(lab.tolist())]
            regions[place] = replace(region, lab=lab, color=color, value_step=step)
    return _with(plan, plan.values.labels, regions)


def _passage(text: str) -> str:
    name = tidy_name(text)
    if len(name) > MOST_LETTERS:
        raise BadEditError(
            f"A passage's name has {len(name)} letters; at most {MOST_LETTERS} are kept.",
            hint="Call it something shorter.",
        )
    return name


def _role(text: str) -> str:
    role = text.strip().casefold()
    if role and role not in ROLE_ORDER:
        raise BadEditError(f"“{text}” is no role.", hint=f"Roles are {', '.join(ROLE_ORDER)}.")
    return role


def _with(plan: PicturePlan, labels: Labels, regions: Sequence[Region]) -> PicturePlan:
    """Return the plan with other regions; its palette follows from them."""
    ordered = sorted(regions, key=lambda region: region.number)
    numbered, palette = with_palette(ordered)
    values = replace(plan.values, labels=labels, regions=numbered)
    return replace(plan, values=values, palette=palette)
