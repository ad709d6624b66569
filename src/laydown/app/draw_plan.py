"""Draw a plan's regions with their numbers, to edit it by."""

from dataclasses import dataclass

import numpy as np

from laydown.app.plan_files import read_plan
from laydown.app.plan_panels import plan_pixels
from laydown.color.value import grays
from laydown.imaging.picture_preview import numbered
from laydown.plan.picture import PicturePlan
from laydown.plan.regions import inner_places


@dataclass(frozen=True, slots=True)
class DrawPlan:
    """A plan file's content and name."""

    file: bytes
    source: str


def draw_plan(request: DrawPlan) -> bytes:
    """Return a PNG of the plan: each region in its color, outlined, with its own number in it."""
    return with_numbers(read_plan(request.file, source=request.source))


def with_numbers(plan: PicturePlan, *, values_only: bool = False) -> bytes:
    """Draw a plan that is read already; in values only where that is asked for."""
    labs = np.array([color.lab for color in plan.palette])
    pixels = plan_pixels(plan, grays(labs) if values_only else labs)
    return numbered(pixels, plan.values.labels, inner_places(plan.values.labels))
