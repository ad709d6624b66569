"""The palette of a plan, and the parts of a picture."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.plan.picture.picture import Labels, PaletteColor, Region
from laydown.plan.picture.regions import majority

# The palette of a picture, value first: within each value step, the colors that are there.
#
# Lightness is settled by the steps, so colors of one step are told apart by hue and chroma alone.

SPREAD = 4.5
"""A color is parted in two while its pixels lie farther than this from it (root mean square of the
distance in hue and chroma, on a scale like CIEDE2000's): the sketch tolerance."""
MOST_COLORS = 24
"""Of a palette, unless a number is asked for: what a person can keep apart at a table (chosen)."""
COMPRESSION = 0.045
"""How fast differences of chroma shrink with chroma: CIEDE2000's S_C = 1 + 0.045 C."""
TURNS = 12
"""Rounds of moving colors to the middle of their pixels; few move after that."""
FINENESS = 1.0
"""Pixels that fall into the same box of this width in hue and chroma are counted as one."""


Members = NDArray[np.int64]
"""Places of the boxes that make a color on its way, all of one step."""


def hue_and_chroma(lab: FloatArray) -> FloatArray:
    """Put colors in a plane where equal distances in hue and chroma look about equal.

    `lab`: shape (…, 3). Returns shape (…, 2), a* and b* with chroma C turned into ln(1 + 0.045 C) /
    0.045.

    The integral of 1 / S_C of CIEDE2000 along the radius. Around it distances shrink a little more
    than S_H says.

    >>> hue_and_chroma(np.array([50.0, 0.0, 40.0])).round(1).tolist()
    [0.0, 22.9]
    """
    plane = np.asarray(lab, dtype=np.float64)[..., 1:]
    chroma = np.hypot(plane[..., :1], plane[..., 1:])
    shrunk = np.log1p(COMPRESSION * chroma) / COMPRESSION
    return np.asarray(plane * np.where(chroma > 0.0, shrunk / np.maximum(chroma, 1e-9), 1.0))


def find_colors(
    lab: FloatArray,
    step_of: Labels,
    voice: NDArray[np.bool_],
    *,
    least: float,
    colors: int | None = None,
) -> Labels:
    """Find the colors of a picture, those of each value step by themselves.

    `lab`: shape (pixels, 3). `step_of`: shape (pixels,), the value step of each, from 0. `voice`:
    shape (pixels,), which of them count; the others only take the nearest color of their step. In
    each step at least one counts. `least`: no color is parted into fewer pixels than this.
    `colors`: how many are wanted; None for as many as it takes until none spreads more than
    `SPREAD`, and at most `MOST_COLORS`. There is at least one for each step. Returns shape
    (pixels,), a color's number for each, from 1, those of the darkest step first.

    Starting with one color a step, the color that leaves the most (weight times square of spread)
    is parted in two along the direction in which it spreads most, and both halves settle by
    k-means; at last all colors of a step settle together.

    >>> yellow, blue = [70.0, 0.0, 60.0], [70.0, 0.0, -40.0]
    >>> seen, step, voice = np.array([yellow, blue, yellow]), np.zeros(3, int), np.ones(3, bool)
    >>> find_colors(seen, step, voice, least=1).tolist()
    [2, 1, 2]
    """
    step, at, weight, of_pixel = _boxes(hue_and_chroma(lab), step_of, voice)
    clusters = [_measured(at, weight, np.flatnonzero(step == s)) for s in np.unique(step)]
    stuck: list[Members] = []
    while clusters and len(clusters) + len(stuck) < (colors or MOST_COLORS):
        wide = [(bool(colors) or spread > SPREAD) * w * spread**2 for _, spread, w in clusters]
        place = int(np.argmax(wide))
        widest, spread, _ = clusters[place]
        if not colors and spread <= SPREAD:
            break
        del clusters[place]
        halves = [_measured(at, weight, half) for half in _halves(at, weight, widest, spread)]
        if min(mass for _, _, mass in halves) >= max(least, 1.0):
            clusters += halves
        else:
            stuck.append(widest)
    every = [*(members for members, _, _ in clusters), *stuck]
    return _settled(step, at, weight, every)[of_pixel]


def _boxes(
    plane: FloatArray, step_of: Labels, voice: NDArray[np.bool_]
) -> tuple[Labels, FloatArray, FloatArray, Members]:
    """Count pixels of like step and color, n boxes of them.

    Returns their steps, places in the plane (n, 2) and weights, and the box of each pixel.
    """
    corner = np.floor(plane / FINENESS).astype(np.int64) + 512
    code = (step_of.astype(np.int64) * 1024 + corner[:, 0]) * 1024 + corner[:, 1]
    _, first, of_pixel, count = np.unique(
        code, return_index=True, return_inverse=True, return_counts=True
    )
    mean = [np.bincount(of_pixel, weights=plane[:, k]) / count for k in range(2)]
    weight = np.asarray(np.bincount(of_pixel, weights=voice), dtype=np.float64)
    return step_of[first], np.stack(mean, axis=-1), weight, of_pixel


def _measured(at: FloatArray, weight: FloatArray, members: Members) -> tuple[Members, float, float]:
    """Return a color with how far it spreads and what it weighs."""
    weight, at = weight[members], at[members]
    if not weight.any():
        return members, 0.0, 0.0
    off = at - np.average(at, axis=0, weights=weight)
    spread = float(np.average(np.sum(off**2, axis=1), weights=weight)) ** 0.5
    return members, spread, float(weight.sum())


def _halves(at: FloatArray, weight: FloatArray, members: Members, spread: float) -> list[Members]:
    """Part a color in two, across the direction in which it spreads most."""
    at, weight = at[members], weight[members]
    middle = np.average(at, axis=0, weights=weight)
    _, directions = np.linalg.eigh((at - middle).T * weight @ (at - middle))
    along = directions[:, -1] * spread
    belongs = _settle(at, weight, np.stack([middle - along, middle + along]))
    return [members[belongs == side] for side in (0, 1)]


def _settle(at: FloatArray, weight: FloatArray, centers: FloatArray) -> NDArray[np.int64]:
    """Return the place of the nearest center, after the centers have moved to their members."""
    for _ in range(TURNS):
        far = np.sum((at[:, None, :] - centers[None, :, :]) ** 2, axis=-1)
        belongs = np.argmin(far, axis=1)
        mass = np.bincount(belongs, weights=weight, minlength=len(centers))
        for axis in range(2):
            total = np.bincount(belongs, weights=weight * at[:, axis], minlength=len(centers))
            centers[:, axis] = np.where(mass > 0, total / np.maximum(mass, 1e-9), centers[:, axis])
    return np.asarray(belongs, dtype=np.int64)


def _settled(step: Labels, at: FloatArray, weight: FloatArray, clusters: list[Members]) -> Labels:
    """Let the colors of each step settle together, and number them; shape (boxes,)."""
    numbers, next_number = np.zeros(len(step), dtype=np.int32), 1
    for one in np.unique(step):
        here = np.flatnonzero(step == one)
        own = [c for c in clusters if step[c[0]] == one]
        centers = np.array([np.average(at[c], axis=0, weights=weight[c]) for c in own])
        centers = centers[np.lexsort(centers.T)]
        belongs = _settle(at[here], weight[here], centers)
        numbers[here] = next_number + belongs
        next_number += len(own)
    return numbers


WINDOW = 5
"""Side of the window whose median takes out grain [pixels of the plan]."""


def without_grain(seen: FloatArray) -> FloatArray:
    """Take the grain out of a picture, shape (row, column, channel): the median of a small window.

    >>> seen = np.full((9, 9, 3), 50.0); seen[4, 4] = 90.0
    >>> float(without_grain(seen).max())
    50.0
    """
    filtered = ndimage.median_filter(seen, size=(WINDOW, WINDOW, 1), mode="nearest")
    return np.asarray(filtered, dtype=np.float64)


def mean_of(seen: FloatArray, labels: Labels, voice: NDArray[np.bool_]) -> FloatArray:
    """Return the mean color of what each label marks, shape (labels + 1, 3).

    `seen`: shape (row, column, 3). `labels`: shape (row, column), from 0. `voice`: shape (row,
    column), the pixels that count.

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

    `seen`: shape (row, column, 3), the picture. `labels`: shape (row, column), its regions,
    numbered without gaps. `colors`: shape (row, column), the color class of each pixel. `voice`:
    shape (row, column), the pixels that are of their region's step by themselves; a region without
    any has all of its pixels count. `steps`: shape (regions,), the value step of each region.
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


def with_palette(regions: Sequence[Region]) -> tuple[tuple[Region, ...], tuple[PaletteColor, ...]]:
    """Make the palette of regions and number it from light to dark.

    `regions`: those of one color carry the same number, whatever it is; where they are of different
    value steps, each step has a color of its own.

    >>> dark = Region(1, 7, 0, np.array([20.0, 0.0, 0.0]), 60.0)
    >>> light = Region(2, 3, 1, np.array([80.0, 0.0, 0.0]), 40.0)
    >>> [(c.number, c.value_step, c.share) for c in with_palette([dark, light])[1]]
    [(1, 1, 40.0), (2, 0, 60.0)]
    """
    kinds: dict[tuple[int, int], list[Region]] = {}
    for region in regions:
        kinds.setdefault((region.color, region.value_step), []).append(region)
    colors = {  # means by area
        kind: np.average([r.lab for r in members], axis=0, weights=[r.share for r in members])
        for kind, members in kinds.items()
    }
    order = sorted(colors, key=lambda kind: (-kind[1], -colors[kind][0], kind[0]))
    number = {kind: place for place, kind in enumerate(order, start=1)}
    palette = tuple(
        PaletteColor(number[kind], kind[1], colors[kind], sum(r.share for r in kinds[kind]))
        for kind in order
    )
    return tuple(replace(r, color=number[r.color, r.value_step]) for r in regions), palette
