"""What a plan looks like: its panels, its regions with numbers, in color and in values."""

import numpy as np

from laydown.app.pictures.plans import PictureFile, read_plan
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.color.screen import screen_color, screen_pixels
from laydown.color.tristimulus import WHITE_D50
from laydown.color.value import grays, luminance_from_value
from laydown.imaging.arrays import Pixels
from laydown.imaging.balance import unbalanced
from laydown.imaging.picture import open_picture
from laydown.imaging.picture_preview import Panel, flat, numbered, soft
from laydown.plan.picture.picture import PicturePlan, color_of_regions
from laydown.plan.picture.regions import inner_places


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


def draw_plan(file: bytes, source: str) -> bytes:
    """Return a PNG of the plan: each region in its color, outlined, with its own number in it."""
    return with_numbers(read_plan(file, source=source))


def with_numbers(plan: PicturePlan, *, values_only: bool = False) -> bytes:
    """Draw a plan that is read already; in values only where that is asked for."""
    labs = np.array([color.lab for color in plan.palette])
    pixels = plan_pixels(plan, grays(labs) if values_only else labs)
    return numbered(pixels, plan.values.labels, inner_places(plan.values.labels))


__all__ = ["with_numbers"]

POINTED_AT = 900
"""Longer side of a picture that places are pointed at in [pixels]."""


def picture_itself(plan: PicturePlan, *, values_only: bool = False) -> bytes:
    """Return what was planned, to be looked at, as a WebP."""
    return soft(screen_pixels(grays(plan.seen) if values_only else plan.seen))


def in_steps(plan: PicturePlan) -> bytes:
    """Return the value plan, as a PNG: each region in the gray of its step."""
    steps = np.array([gray_of_step(float(level)).lab for level in plan.values.levels])
    return flat(plan_pixels(plan, steps[[color.value_step for color in plan.palette]]))


def in_colors(
    plan: PicturePlan, labs: FloatArray | None = None, *, values_only: bool = False
) -> bytes:
    """Return the plan, as a PNG.

    Parameters
    ----------
    plan
        The plan.
    labs
        Shape (colors, 3), what a kit makes of its palette; None for the palette itself.
    values_only
        Whether each color is shown by the gray of its value.
    """
    shown = np.array([color.lab for color in plan.palette]) if labs is None else labs
    return flat(plan_pixels(plan, grays(shown) if values_only else shown))


def map_of_regions(plan: PicturePlan) -> bytes:
    """Return which region each pixel belongs to, as a PNG: its number is 256 × red + green."""
    labels = plan.values.labels
    return flat(np.stack([labels >> 8, labels & 255, 0 * labels], axis=-1).astype(np.uint8))


def gray_of_step(level: float) -> ColorInWords:
    """Describe the gray of a value.

    Examples
    --------
    >>> round(gray_of_step(5.0).value, 3)
    5.0
    """
    luminance = luminance_from_value(np.clip(level, 0.0, 10.0))
    return in_words(lab_from_xyz(luminance / 100.0 * WHITE_D50))


def picture_sent(asked: PictureFile) -> bytes:
    """Return a picture that is to be planned, as a WebP, to point at places in it.

    Raises
    ------
    BadFileError
        For what is no picture.
    """
    opened = open_picture(asked.file, source=asked.source, longest=POINTED_AT, page=asked.page)
    return soft(screen_pixels(unbalanced(opened).lab.astype(np.float64)), longest=POINTED_AT)
