"""Read patches colored by hand beside a target: found by what differs from the paper."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray, Pixels
from laydown.color.screen import light_of_signal
from laydown.errors import BadFileError
from laydown.imaging.conversion import KnownPatch
from laydown.imaging.markers import FoundPage
from laydown.imaging.patches import Decode, bare_signal
from laydown.imaging.reading import PageCell, PageReading, read_by_samples
from laydown.imaging.rectify import FlatPage, PageMap, fit_light, flatten, map_page
from laydown.opencv import cv2
from laydown.sheet.markers import GRAYS, OUTLINE, target_grays, target_marks
from laydown.sheet.page import CellBox, in_rows

REACH = 230.0
"""How far from a target patches are looked for [mm]: over a page of A4."""
FINE, BLOCK = 3.0, 12
"""Resolution at which they are looked for [pixels per mm], and side of a sample of paper there."""
AROUND = 12.0
"""From the target, within which most is the page's bare paper [mm]."""
LIKE_PAPER, PAPER_TINT = (0.55, 1.4), 1.12
"""Of that paper's signal, and strongest over weakest channel, in which a sample is paper too."""
TINTED, DARKER = 0.06, 0.88
"""Channels that differ by more, or light below which paper is colored; both against paper."""
STROKE = 9
"""Narrower marks are writing or lines [pixels: 3 mm]."""
SIDES, FILLED = (5.0, 70.0), 0.6
"""Least and greatest side of a patch [mm], and its share of the upright box around it."""
MOVED = 10.0
"""How far a patch may be from where its neighbors' shifts make it expected [mm]."""
FOLLOWED, HELD_FLAT = 4.0, 8.0
"""Power of their distance by which shifts of far patches count less, and how far neighbors must
reach to tell that shifts differ [mm]; both chosen on rendered pages with a crease."""
BESIDE = 4.0
"""Kept of the page around all patches [mm]."""
BLACK = 0.04
"""What a home printer's black sends back, against its paper (chosen)."""
WHITE_NOISE, GRAY_NOISE = 2.5, 6.0
"""How far printing paper is off a usual white, and printed grays off what they should be (nobody
measured the printer; chosen) [CIELAB units per axis]."""


Samples: TypeAlias = tuple[FloatArray, FloatArray]
"""Of a page's bare paper: where, shape (n, 2) [mm of the target], and linear signal, (n, 3)."""


def map_target(found: FoundPage) -> PageMap:
    """Return where a target's millimetres lie in a picture, on the page around it too."""
    return map_page(found.corners, target_marks(), width=OUTLINE.width, height=OUTLINE.height)


def find_patches(
    pixels: Pixels, target: PageMap, decode: Decode
) -> tuple[tuple[tuple[CellBox, ...], ...], Samples]:
    """Find the patches around a target, row by row, and samples of the paper between them.

    A patch is a spot that differs from the paper around it, is about as full as an upright box, and
    touches neither the target nor what reaches out of the picture, as a table around the page does.
    """
    flat = flatten(pixels, _moved(target, OUTLINE.inset(-REACH)), finest=FINE)
    linear = decode(flat.pixels)
    y, x = (
        (np.arange(side, dtype=np.float64) + 0.5) / flat.resolution for side in linear.shape[:2]
    )
    apart = _apart(flat, x, y)
    points, signal = _paper(linear, apart, x, y)
    page = flat.page_map
    light = fit_light(points, signal, width=page.width, height=page.height, most=2)
    relative = (linear / light.over(x, y)).astype(np.float32)
    boxes = [
        CellBox(*(side / flat.resolution for side in spot))
        for spot in _spots(cv2.medianBlur(relative, 5), apart)
    ]
    patches = [
        box.moved(-REACH, -REACH)
        for box in boxes
        if SIDES[0] <= min(box.width, box.height) and max(box.width, box.height) <= SIDES[1]
    ]
    return in_rows(patches), (points - REACH, signal)


def places_now(known: Sequence[CellBox], found: Sequence[CellBox]) -> list[CellBox]:
    """Return where patches lie now [mm of the target], of which some are found.

    They were known to lie, as the marks alone placed them, elsewhere in an earlier picture. Marks
    tell one plane, and a page that is creased or curls beside the target leaves it. So patches are
    followed from the target outwards: each is looked for where its neighbors' shifts make it
    expected, and one that isn't found is placed by them.

    A row that has moved by 4 mm, and of which the middle one is too pale to be found:

    >>> row = [CellBox(x, 60.0, 10.0, 10.0) for x in (0.0, 30.0, 60.0)]
    >>> moved = [CellBox(box.left + 4.0, box.top, 10.0, 10.0) for box in row]
    >>> [round(box.left) for box in places_now(row, [moved[0], moved[2]])]
    [4, 34, 64]
    """
    shifts: dict[int, FloatArray] = {}
    seen = np.array([box.center for box in found]).reshape(-1, 2)
    middles = np.array([box.center for box in known]).reshape(-1, 2)
    now = list(known)
    for place in np.argsort(np.hypot(*(middles - OUTLINE.center).T), kind="stable").tolist():
        apart = np.hypot(*(seen - middles[place] - _shift(middles, shifts, place)).T)
        near = int(np.argmin(apart)) if len(seen) else -1
        if len(seen) and apart[near] < min(MOVED, known[place].width / 2, known[place].height / 2):
            now[place], shifts[place] = found[near], seen[near] - middles[place]
    for place in set(range(len(known))) - set(shifts):
        x, y = _shift(middles, shifts, place)
        now[place] = known[place].moved(float(x), float(y))
    return now


def _shift(middles: FloatArray, shifts: Mapping[int, FloatArray], place: int) -> FloatArray:
    """Return how far a patch is expected to have moved, by a surface through neighbors' shifts.

    It may be twisted, for a page that rises spreads its rows. Near ones count most, and where they
    are few it is held flat.
    """
    if not shifts:
        return np.zeros(2)
    apart = middles[list(shifts)] - middles[place]
    weight = np.maximum(np.hypot(*apart.T), 1.0) ** -FOLLOWED
    terms = np.column_stack([np.ones(len(apart)), apart, apart.prod(axis=1)])
    held = weight.sum() * np.diag([0.0, HELD_FLAT**2, HELD_FLAT**2, HELD_FLAT**4])
    weighted = terms.T * weight
    wanted = weighted @ np.array(list(shifts.values()))
    return np.asarray(np.linalg.solve(weighted @ terms + held, wanted)[0])


def _moved(target: PageMap, box: CellBox) -> PageMap:
    """Return the map of a box on the target's plane, whose corner is then the origin."""
    to_target = np.array([[1.0, 0.0, box.left], [0.0, 1.0, box.top], [0.0, 0.0, 1.0]])
    return PageMap(target.homography @ to_target, box.width, box.height)


def _apart(flat: FlatPage, x: FloatArray, y: FloatArray) -> NDArray[np.uint8]:
    """Return what is no page: 1 out of the picture, 2 on the target; shape (h, w)."""
    coarse = np.stack(np.meshgrid(x[::BLOCK], y[::BLOCK]), axis=-1)
    seen = flat.page_map(coarse)
    out = ((seen < 1) | (seen > np.array(flat.picture) - 2)).any(axis=-1).astype(np.uint8)
    apart = np.asarray(out.repeat(BLOCK, axis=0).repeat(BLOCK, axis=1)[: len(y), : len(x)])
    across = np.abs(x - REACH - OUTLINE.width / 2) < OUTLINE.width / 2 + 1
    along = np.abs(y - REACH - OUTLINE.height / 2) < OUTLINE.height / 2 + 1
    apart[np.ix_(along, across)] = 2
    return apart


def _paper(
    linear: FloatArray, apart: NDArray[np.uint8], x: FloatArray, y: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return samples of bare paper: places [mm], shape (n, 2), and signal, shape (n, 3)."""
    rows, columns = len(y) // BLOCK, len(x) // BLOCK
    cut = linear[: rows * BLOCK, : columns * BLOCK].reshape(rows, BLOCK, columns, BLOCK, 3)
    signal = np.median(cut, axis=(1, 3)).reshape(-1, 3)
    middle = np.meshgrid(x[BLOCK // 2 :: BLOCK][:columns], y[BLOCK // 2 :: BLOCK][:rows])
    points = np.stack(middle, axis=-1).reshape(-1, 2)
    free = apart[BLOCK // 2 :: BLOCK, BLOCK // 2 :: BLOCK][:rows, :columns].ravel() == 0
    points, signal = points[free], signal[free]
    beyond = np.abs(points - REACH - np.array(OUTLINE.center)) - np.array(
        [OUTLINE.width / 2, OUTLINE.height / 2]
    )
    near = beyond.max(axis=-1) < AROUND
    usual = np.percentile(signal[near], 60, axis=0) if near.any() else np.ones(3)
    ratio = signal / np.maximum(usual, 1e-4)
    low, high = ratio.min(axis=-1), ratio.max(axis=-1)
    alike = (low > LIKE_PAPER[0]) & (high < LIKE_PAPER[1]) & (high < PAPER_TINT * low)
    if not alike.any():
        raise BadFileError(
            "No bare paper was found around the target.",
            hint="Show more of the page, and leave a finger's width around the target.",
        )
    return points[alike], signal[alike]


def _spots(relative: NDArray[np.float32], apart: NDArray[np.uint8]) -> list[tuple[int, ...]]:
    """Return left, top, width and height of each full spot that stands free [pixels]."""
    most, least = relative.max(axis=-1), relative.min(axis=-1)
    differs = ((most - least > TINTED * most) | (relative.mean(axis=-1) < DARKER)).astype(np.uint8)
    stroke = np.ones((STROKE, STROKE), np.uint8)
    spots = cv2.morphologyEx(differs, cv2.MORPH_OPEN, stroke) | (apart > 0).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(spots)
    touched = set(np.unique(labels[apart > 0]).tolist()) | {0}
    return [
        tuple(map(int, (left, top, width, height)))
        for label, (left, top, width, height, area) in enumerate(stats)
        if label not in touched and area > FILLED * width * height
    ]


def read_beside(
    pixels: Pixels,
    target: PageMap,
    samples: Samples,
    boxes: Sequence[CellBox],
    smooth: Sequence[bool],
    *,
    decode: Decode,
) -> tuple[PageReading, tuple[PageCell, ...]]:
    """Read the boxes beside a target [mm of it], by the samples of paper that `find_patches` gives.

    `smooth` tells of each whether its color lies as evenly as a marker's. Returns the reading of a
    page that holds the target and all patches, and its cells, numbered from 1.
    """
    listed = [OUTLINE, *boxes]
    left, top = min(b.left for b in listed) - BESIDE, min(b.top for b in listed) - BESIDE
    right, low = max(b.right for b in listed) + BESIDE, max(b.bottom for b in listed) + BESIDE
    page = _moved(target, CellBox(left, top, right - left, low - top))
    flat = flatten(pixels, page)
    cells = tuple(
        PageCell(number, box.moved(-left, -top), bare=False, smooth=even)
        for number, (box, even) in enumerate(zip(boxes, smooth, strict=True), start=1)
    )
    points, signal = samples
    return read_by_samples(flat, cells, points - (left, top), signal, decode), cells


def grays_of_target(
    reading: PageReading, target: PageMap, white: FloatArray, decode: Decode
) -> list[KnownPatch]:
    """Return what a picture shows of a target's white and grays against the page's bare paper.

    `white`, shape (3,), is XYZ of the paper that it is printed on.
    """
    corner = np.linalg.solve(target.homography, reading.flat.page_map.homography)
    left, top = (corner[:2, 2] / corner[2, 2]).tolist()
    linear = light_of_signal(np.array(GRAYS) / 255)
    known: list[KnownPatch] = []
    for box, share in zip(target_grays(), linear, strict=True):
        there = box.moved(-left, -top)
        signal = bare_signal(reading.flat, there, decode)
        noise = GRAY_NOISE if known else WHITE_NOISE
        color = white * (BLACK + (1 - BLACK) * share), noise, True
        known.append((signal / reading.light(np.array(there.center)), color))
    return known
