"""The panels of a preview: the picture, its plan and each kit's, in color and in values only."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color, screen_pixels
from laydown.color.value import grays
from laydown.imaging.arrays import Pixels
from laydown.imaging.picture_preview import Panel
from laydown.plan.picture import PicturePlan, color_of_regions


def panels(plan: PicturePlan) -> tuple[tuple[Panel, ...], ...]:
    """Return two rows of panels: in color, and below it in values only."""
    wanted = np.array([color.lab for color in plan.palette])
    made = [("The plan", wanted, False)]
    made += [(f"From {k.kit} on {k.paper}", k.shown, k.values_only) for k in plan.kits]
    seen = plan.seen.astype(np.float64)
    top = [Panel("The picture", screen_pixels(seen))]
    bottom = [Panel("Its values", screen_pixels(grays(seen)))]
    for title, labs, values_only in made:
        gray = f"{title}, values only"
        top.append(Panel(gray if values_only else title, plan_pixels(plan, labs)))
        bottom.append(Panel(gray, plan_pixels(plan, grays(labs))))
    return tuple(top), tuple(bottom)


def plan_pixels(plan: PicturePlan, labs: FloatArray) -> Pixels:
    """Return the plan in given colors, white where nothing is colored."""
    shown = [screen_color(lab) for lab in labs]
    table = [(255, 255, 255), *((color.red, color.green, color.blue) for color in shown)]
    colors = color_of_regions(plan.values)[plan.values.labels]
    return np.asarray(table, dtype=np.uint8)[colors]
