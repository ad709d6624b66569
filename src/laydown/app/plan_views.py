"""A plan's pictures one by one, as a page shows them: each in color, or in values only."""

import numpy as np

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.draw_plan import with_numbers
from laydown.app.plan_files import PictureFile
from laydown.app.plan_panels import plan_pixels
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.color.screen import screen_pixels
from laydown.color.tristimulus import WHITE_D50
from laydown.color.value import grays, luminance_from_value
from laydown.imaging.balance import unbalanced
from laydown.imaging.picture import open_picture
from laydown.imaging.picture_preview import flat, soft
from laydown.plan.picture import PicturePlan

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
