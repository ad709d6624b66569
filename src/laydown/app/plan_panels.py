"""The panels of a preview: the picture, its plan and each kit's, in color and in values only."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color, screen_pixels
from laydown.imaging.arrays import Pixels
from laydown.imaging.picture_preview import Panel
from laydown.plan.picture import PicturePlan, color_of_regions


def panels(plan: PicturePlan) -> tuple[tuple[Panel, ...], ...]:
    """Return two rows of panels: in color, and below it in values only."""
    wanted = np.array([color.lab for color in plan.palette])
    titles = ["The plan", *(f"From {kit.kit} on {kit.paper}" for kit in plan.kits)]
    made = [wanted, *(kit.labs for kit in plan.kits)]
    seen = plan.seen.astype(np.float64)
    top = [Panel("The picture", screen_pixels(seen))]
    bottom = [Panel("Its values", screen_pixels(gray(seen)))]
    for title, labs in zip(titles, made, strict=True):
        top.append(Panel(title, plan_pixels(plan, labs)))
        bottom.append(Panel(f"{title}, values only", plan_pixels(plan, gray(labs))))
    return tuple(top), tuple(bottom)


def plan_pixels(plan: PicturePlan, labs: FloatArray) -> Pixels:
    """Return the plan in given colors, white where nothing is colored."""
    shown = [screen_color(lab) for lab in labs]
    table = [(255, 255, 255), *((color.red, color.green, color.blue) for color in shown)]
    colors = color_of_regions(plan.values)[plan.values.labels]
    return np.asarray(table, dtype=np.uint8)[colors]


def gray(lab: FloatArray) -> FloatArray:
    """Return colors as the neutral grays of their values, shape as given."""
    return lab * [1.0, 0.0, 0.0]
