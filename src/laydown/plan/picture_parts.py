"""What a plan says of its parts: each region and each color of the palette."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.plan.picture import Labels, PaletteColor, Region
from laydown.plan.regions import majority

WINDOW = 5
"""Side of the window whose median takes out grain [pixels of the plan]."""


def without_grain(seen: FloatArray) -> FloatArray:
    """Take the grain out of a picture and leave its edges: the median of a small window.

    Parameters
    ----------
    seen
        Shape (row, column, channel).

    Examples
    --------
    >>> seen = np.full((9, 9, 3), 50.0); seen[4, 4] = 90.0
    >>> float(without_grain(seen).max())
    50.0
    """
    channels = [
        ndimage.median_filter(seen[..., k], size=WINDOW, mode="nearest")
        for k in range(seen.shape[-1])
    ]
    return np.stack(channels, axis=-1).astype(np.float64)


def mean_of(seen: FloatArray, labels: Labels, voice: NDArray[np.bool_]) -> FloatArray:
    """Return the mean color of what each label marks, shape (labels + 1, 3).

    Parameters
    ----------
    seen
        Shape (row, column, 3).
    labels
        Shape (row, column), from 0.
    voice
        Shape (row, column), the pixels that count.

    Examples
    --------
    >>> seen, labels = np.array([[[10.0, 0.0, 0.0], [30.0, 0.0, 0.0]]]), np.array([[1, 1]])
    >>> mean_of(seen, labels, labels > 0)[1].tolist()
    [20.0, 0.0, 0.0]
    """
    own, wide = labels[voice], int(labels.max()) + 1
    count = np.maximum(np.bincount(own, minlength=wide), 1)
    sums = [np.bincount(own, weights=seen[voice][:, k], minlength=wide) for k in range(3)]
    return np.stack(sums, axis=-1) / count[:, None]


def describe(
    seen: FloatArray,
    labels: Labels,
    colors: Labels,
    voice: NDArray[np.bool_],
    steps: NDArray[np.int64],
) -> tuple[tuple[Region, ...], tuple[PaletteColor, ...]]:
    """Say what each region and each color of the palette is.

    Parameters
    ----------
    seen
        Shape (row, column, 3), the picture.
    labels
        Shape (row, column), its regions, numbered without gaps.
    colors
        Shape (row, column), the color class of each pixel.
    voice
        Shape (row, column), the pixels that are of their region's step by themselves; a region
        without any has all of its pixels count.
    steps
        Shape (regions,), the value step of each region.

    Examples
    --------
    ``describe(seen, labels, colors, voice, steps)[1][0]`` is the lightest color.
    """
    class_of = majority(labels, colors)
    own = voice & (colors == class_of[labels])
    own |= (np.bincount(labels[own], minlength=len(class_of)) == 0)[labels] & (labels > 0)
    lab = mean_of(seen, labels, own)
    area = np.bincount(labels.ravel(), minlength=len(lab))
    share = 100.0 * area / max(area[1:].sum(), 1)
    regions = tuple(
        Region(number, int(class_of[number]), int(step), lab[number], float(share[number]))
        for number, step in enumerate(steps, start=1)
    )
    return with_palette(regions)


def with_palette(
    regions: Sequence[Region],
) -> tuple[tuple[Region, ...], tuple[PaletteColor, ...]]:
    """Make the palette of regions and number it from light to dark.

    Parameters
    ----------
    regions
        Those of one color carry the same number, whatever it is; where they are of different value
        steps, each step has a color of its own.

    Examples
    --------
    >>> dark = Region(1, 7, 0, np.array([20.0, 0.0, 0.0]), 60.0)
    >>> light = Region(2, 3, 1, np.array([80.0, 0.0, 0.0]), 40.0)
    >>> [(c.number, c.value_step, c.share) for c in with_palette([dark, light])[1]]
    [(1, 1, 40.0), (2, 0, 60.0)]
    """
    kinds: dict[tuple[int, int], list[Region]] = {}
    for region in regions:
        kinds.setdefault((region.color, region.value_step), []).append(region)
    colors = {kind: _mean(members) for kind, members in kinds.items()}
    order = sorted(colors, key=lambda kind: (-kind[1], -colors[kind][0], kind[0]))
    number = {kind: place for place, kind in enumerate(order, start=1)}
    palette = tuple(
        PaletteColor(number[kind], kind[1], colors[kind], sum(r.share for r in kinds[kind]))
        for kind in order
    )
    return tuple(replace(r, color=number[r.color, r.value_step]) for r in regions), palette


def _mean(regions: Iterable[Region]) -> FloatArray:
    """Return the mean color of regions by their areas, shape (3,)."""
    listed = list(regions)
    weights = [region.share for region in listed]
    return np.asarray(np.average([region.lab for region in listed], axis=0, weights=weights))
