"""Line art, planned by the areas that its lines close: an outline drawing to color in."""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.plan.picture.picture import Labels
from laydown.plan.picture.regions import Worth

INKED = 18.0
"""So much darker than the paper about it, a pixel is part of a line [L*] (chosen)."""
PAPER = 8.0
"""So near to the paper about it, a pixel is bare [L*] (chosen: grain and a lamp's slope)."""
GRAY = 12.0
"""Paper that was photographed has less chroma than this (chosen)."""
BARE = 0.6
"""Least share of a picture that is bare where it is line art (chosen)."""
SHARE = (0.003, 0.3)
"""Of a picture that is lines (chosen)."""
WIDE = 0.1
"""Largest share of what is dark that may be wider than a tip: lines are thin (chosen)."""
AROUND = 4.0
"""How far about a pixel its paper is looked for [tips]."""
GAP = 0.25
"""Gaps in a line up to twice this width are closed [tips]."""


def closed_areas(lab: FloatArray, worth: Worth) -> Labels | None:
    """Find the areas of a picture that is lines on paper.

    Parameters
    ----------
    lab
        Shape (row, column, 3), CIELAB D50.
    worth
        What an area must have to be colored.

    Returns
    -------
    Labels or None
        Shape (row, column), areas numbered from 1, lines given to the nearest; None for a picture
        that is no line art, or whose lines close nothing.

    Examples
    --------
    >>> lab = np.zeros((60, 90, 3)); lab[..., 0] = 95.0
    >>> lab[:, 44:46, 0] = 20.0
    >>> found = closed_areas(lab, Worth(6.0, 100.0))
    >>> int(found[30, 10]), int(found[30, 80])
    (1, 2)
    """
    lines = _lines(lab, worth.tip)
    if lines is None:
        return None
    closed = ndimage.binary_closing(np.pad(lines, 9, mode="edge"), _disc(GAP * worth.tip))
    found, _ = ndimage.label(~(closed[9:-9, 9:-9] | lines))
    area = np.bincount(found.ravel())
    area[0] = 0
    kept = np.flatnonzero(area >= worth.least)
    if len(kept) < 2:
        return None
    number = np.zeros(len(area), dtype=np.int32)
    number[kept[np.argsort(-area[kept], kind="stable")]] = np.arange(1, len(kept) + 1)
    seeds = number[found]
    at = ndimage.distance_transform_edt(seeds == 0, return_distances=False, return_indices=True)
    return np.asarray(seeds[tuple(at)])


def _lines(lab: FloatArray, tip: float) -> NDArray[np.bool_] | None:
    """Return where the lines are; None where there is more than lines on bare paper."""
    light = lab[..., 0]
    size = 2 * round(AROUND * tip) + 1
    paper = ndimage.gaussian_filter(ndimage.maximum_filter(light, size), size / 4)
    darker = paper - light
    lines: NDArray[np.bool_] = darker > INKED
    bare = (darker < PAPER) & (np.hypot(lab[..., 1], lab[..., 2]) < GRAY)
    if bare.mean() < BARE or not SHARE[0] < lines.mean() < SHARE[1]:
        return None
    wide = ndimage.distance_transform_edt(lines) > tip / 2
    return None if wide.sum() > WIDE * lines.sum() else lines


def _disc(radius: float) -> NDArray[np.bool_]:
    reach = max(1, min(8, round(radius)))
    y, x = np.ogrid[-reach : reach + 1, -reach : reach + 1]
    return np.asarray(x * x + y * y <= reach * reach)
