"""Read each cell of a flat page: a robust mean against the paper beside it, spread, and flags."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray, Pixels
from laydown.imaging.rectify import FlatPage, LightField
from laydown.sheet.page import CellBox
from laydown.sheet.reading import Flag

MARGIN = 0.18
"""Share of a cell's shorter side that is left out along each side: border, blur, ragged strokes."""
TRIM = 0.05
"""Share of the pixels dropped at either end before the mean."""
BLOCKS = 4
"""The spread is that of so many by so many blocks of a cell."""
STRIP = (0.9, 1.9)
"""From a cell's side, where the white beside it is read [mm]."""
SATURATED, EMPTY = 254, 0
"""Encoded values at which a pixel says no more than that much, or that little."""
CLIPPED_SHARE, EMPTY_SHARE = 0.02, 0.3
GLARE, GLARE_SHARE = 1.10, 0.02
"""Brighter than bare paper by this factor in all channels, over that share of a cell."""
BARE_ABOVE, BARE_SHARE = 0.9, 0.12
"""Paper shows through where all channels are above this, over more than that share."""
INKED_BELOW, INKED_SHARE = 0.8, 0.12
"""Ink lies beyond the border where a channel is below this, over more than that share…"""
INKED_COLOR, INKED_DARK = 0.12, 0.5
"""…and the channels differ by this share, or all are below that."""
BORDER, ALL_ACROSS = 0.5, 0.9
"""Width of a border and what blurs round it [mm]; share of a row of the white between two cells
that is inked where ink runs from one to the other."""
SHADOW = 0.08
"""Natural log by which the paper on one side of a cell is off the smooth light."""


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """One cell as the picture shows it, bare paper being (1, 1, 1)."""

    mean: FloatArray
    """Shape (3,), robust mean of the linear signal."""
    blocks: FloatArray
    """Shape (n, 3), means of the cell's blocks."""
    noise: FloatArray
    """Shape (3,), variance that the pixels' own noise lends each block."""
    flags: frozenset[Flag]
    """What the pixels alone tell."""


Decode = Callable[[Pixels], FloatArray]
"""From encoded pixels (…, 3) to linear ones."""


Strips: TypeAlias = tuple[FloatArray, FloatArray]
"""The white beside a cell: middles of the strips to its left and right, shape (2, 2) [mm], and
their linear pixels, shape (2, n, 3)."""


def read_strips(page: FlatPage, box: CellBox, decode: Decode) -> Strips:
    """Read the white to the left and right of a cell; the words stand below it."""
    near, far = STRIP
    tall = box.inset(MARGIN * box.height)
    strips = [
        CellBox(box.left - far, tall.top, far - near, tall.height),
        CellBox(box.right + near, tall.top, far - near, tall.height),
    ]
    cut = [decode(page.cut(strip)).reshape(-1, 3) for strip in strips]
    shortest = min(map(len, cut))  # rounding may give one strip a column more
    alike = [one[:: max(1, len(one) // shortest)][:shortest] for one in cut]
    return np.array([strip.center for strip in strips]), np.stack(alike)


def inked_share(strips: Strips, light: LightField) -> float:
    """Return how much of the white on either side of a cell holds ink, the larger share.

    Ink is colored, or far darker than a shadow makes paper; a pale gray beyond the border passes
    for a shadow, and is flagged as one.
    """
    points, pixels = strips
    relative = pixels / light(points)[:, None]
    return float(_inked(relative).mean(axis=-1).max())


def crossed(
    page: FlatPage, box: CellBox, neighbor: CellBox, light: LightField, decode: Decode
) -> bool:
    """Return whether ink runs from a cell to its neighbor on the right, all across the white."""
    width = neighbor.left - box.right - 2 * BORDER
    if width <= 0:
        return False
    tall = box.inset(MARGIN * box.height)
    gap = CellBox(box.right + BORDER, tall.top, width, tall.height)
    encoded = page.cut(gap)
    relative = decode(encoded) / light.over(*_places(page, gap, encoded.shape))
    return bool((_inked(relative).mean(axis=1) > ALL_ACROSS).mean() > INKED_SHARE)


def _inked(relative: FloatArray) -> NDArray[np.bool_]:
    most, least = relative.max(axis=-1), relative.min(axis=-1)
    differs = (most - least > INKED_COLOR * most) | (most < INKED_DARK)
    return np.asarray((least < INKED_BELOW) & differs)


def inner(box: CellBox) -> CellBox:
    """Return the part of a cell that is read.

    >>> inner(CellBox(0, 0, 100, 200))
    CellBox(left=18.0, top=18.0, width=64.0, height=164.0)
    """
    return box.inset(MARGIN * min(box.width, box.height))


def bare_signal(page: FlatPage, box: CellBox, decode: Decode) -> FloatArray:
    """Return the linear signal of a cell's middle, shape (3,), as a sample of paper."""
    return np.asarray(np.median(decode(page.cut(inner(box))).reshape(-1, 3), axis=0))


def read_patch(
    page: FlatPage, box: CellBox, light: LightField, decode: Decode, *, smooth: bool = False
) -> Patch:
    """Read a cell against the light that bare paper would show there.

    Where its color lies as smooth as a marker's, the median of each channel counts, so that flecks,
    dried drops and dust tell nothing. Otherwise the mean is of what is left when the brightest and
    the darkest 5 % of the pixels are dropped: specks and fibres go, streaks stay, for the eye
    averages them too.
    """
    encoded = page.cut(inner(box))
    relative = decode(encoded) / light.over(*_places(page, inner(box), encoded.shape))
    flat = relative.reshape(-1, 3)
    order = np.argsort(flat.sum(axis=-1), kind="stable")
    drop = int(TRIM * len(order))
    kept = flat[order[drop : len(order) - drop]]
    mean = np.median(flat, axis=0) if smooth else np.asarray(kept.mean(axis=0))
    blocks, noise = _blocks(relative)
    return Patch(mean, blocks, noise, _flags(encoded, relative))


def _places(page: FlatPage, box: CellBox, shape: tuple[int, ...]) -> tuple[FloatArray, FloatArray]:
    """Return the columns and the rows of a cut [mm]."""
    x = round(box.left * page.resolution) + np.arange(shape[1]) + 0.5
    y = round(box.top * page.resolution) + np.arange(shape[0]) + 0.5
    return np.asarray(x / page.resolution), np.asarray(y / page.resolution)


def _blocks(relative: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the means of the blocks, and what the pixels' noise alone would make them differ."""
    parts = [
        part.reshape(-1, 3)
        for band in np.array_split(relative, BLOCKS, axis=0)
        for part in np.array_split(band, BLOCKS, axis=1)
        if part.size
    ]
    means = np.array([part.mean(axis=0) for part in parts])
    noise = np.mean([part.var(axis=0) / len(part) for part in parts], axis=0)
    return means, noise


def _flags(encoded: Pixels, relative: FloatArray) -> frozenset[Flag]:
    full = (encoded >= SATURATED).any(axis=-1).mean() > CLIPPED_SHARE
    empty = (encoded <= EMPTY).any(axis=-1).mean() > EMPTY_SHARE
    least = relative.min(axis=-1)
    glare = (least > GLARE).mean() > GLARE_SHARE
    bare, colored = (least > BARE_ABOVE).mean(), (least < BARE_ABOVE - 0.1).mean()
    shows = min(bare, colored) > BARE_SHARE
    told = ((Flag.CLIPPED, full or empty), (Flag.GLARE, glare), (Flag.NOT_FILLED, shows))
    return frozenset(flag for flag, true in told if true)
