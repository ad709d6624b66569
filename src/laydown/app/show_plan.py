"""Show what a picture's plan holds: its value steps, its palette and its regions."""

from dataclasses import dataclass

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.plan_files import read_plan
from laydown.color.arrays import FloatArray
from laydown.plan.picture import PaletteColor, PicturePlan
from laydown.plan.picture_loss import flattened


@dataclass(frozen=True, slots=True)
class ShowPlan:
    """A plan file's content and name."""

    file: bytes
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class ColorShown:
    """A color of the palette: its number, value step from 1 (the darkest), share [percent]."""

    number: int
    value_step: int
    share: float
    regions: int
    color: ColorInWords


@dataclass(frozen=True, slots=True, eq=False)
class RegionShown:
    """A region: its number, that of its color, passage, role, and share [percent]."""

    number: int
    palette_color: int
    value_step: int
    share: float
    passage: str
    role: str
    color: ColorInWords


@dataclass(frozen=True, slots=True, eq=False)
class PlanShown:
    """A plan in words and numbers, without its pixels.

    Parameters
    ----------
    title
        What it is called.
    width, height
        On paper [mm].
    columns, rows
        Of the plan [pixels].
    boundaries
        Values that part its steps, rising.
    levels
        Mean value of each step, the darkest first.
    palette, regions
        By number.
    flattened
        Mean CIEDE2000 between the picture and the plan.
    notes
        How it was read and planned.
    """

    title: str
    width: float
    height: float
    columns: int
    rows: int
    boundaries: FloatArray
    levels: FloatArray
    palette: tuple[ColorShown, ...]
    regions: tuple[RegionShown, ...]
    flattened: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PlanMade:
    """A plan in words, and as the file is to hold it."""

    shown: PlanShown
    file: bytes


def show_plan(request: ShowPlan) -> PlanShown:
    """Read a plan file and describe it; no library is needed."""
    return plan_in_words(read_plan(request.file, source=request.source))


def plan_in_words(plan: PicturePlan) -> PlanShown:
    """Describe a plan."""
    values = plan.values
    regions = tuple(
        RegionShown(
            r.number, r.color, r.value_step + 1, r.share, r.passage, r.role, in_words(r.lab)
        )
        for r in values.regions
    )
    return PlanShown(
        title=plan.title,
        width=values.width,
        height=values.height,
        columns=values.labels.shape[1],
        rows=values.labels.shape[0],
        boundaries=values.boundaries,
        levels=values.levels,
        palette=tuple(_color(plan, color) for color in plan.palette),
        regions=regions,
        flattened=flattened(plan),
        notes=plan.notes,
    )


def _color(plan: PicturePlan, color: PaletteColor) -> ColorShown:
    count = sum(region.color == color.number for region in plan.values.regions)
    return ColorShown(color.number, color.value_step + 1, color.share, count, in_words(color.lab))
