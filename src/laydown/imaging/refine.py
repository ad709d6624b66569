"""Move the map of a page until it meets the cells' borders: curl hides between the markers."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.imaging.arrays import Linear, Pixels
from laydown.imaging.rectify import PageMap, flatten, powers
from laydown.opencv import cv2
from laydown.sheet.page import CellBox

COARSE = 4.0
"""Resolution at which borders are looked for [pixels per mm], at most."""
REACH = 2.2
"""How far off a border may lie [mm]: less than the white between two cells."""
DEGREES = ((40, 4), (20, 3), (9, 2), (4, 1))
"""With at least so many cells, what they are off by is a polynomial of this degree."""
ROUNDS = 6
STIFFNESS = 3e-3
CLEAR = 1.25
"""A border counts where the edge found is so much stronger than the mean along the search."""


def refine_map(pixels: Pixels, page_map: PageMap, boxes: Sequence[CellBox]) -> PageMap:
    """Return the map moved so that the borders of the cells lie where they were printed.

    Parameters
    ----------
    pixels
        The picture.
    page_map
        From the markers.
    boxes
        The cells.

    Notes
    -----
    For each cell the sum of the edges along its left and right side is followed over ±2.2 mm, then
    along its upper and lower side; where both sides agree is where the cell lies. A smooth
    polynomial through all cells, with Tukey's biweight, keeps cells with ragged strokes from
    pulling.
    """
    if len(boxes) < DEGREES[-1][0]:
        return page_map
    flat = flatten(pixels, page_map, finest=COARSE)
    gray = np.asarray(cv2.cvtColor(flat.pixels, cv2.COLOR_RGB2GRAY), dtype=np.float32)
    across = np.abs(cv2.Sobel(gray, cv2.CV_32F, 1, 0, ksize=3))
    along = np.abs(cv2.Sobel(gray, cv2.CV_32F, 0, 1, ksize=3))
    found = np.array(
        [
            [_offset(across, box, flat.resolution), _offset(along.T, _turned(box), flat.resolution)]
            for box in boxes
        ]
    )
    centers = np.array([box.center for box in boxes])
    degree = next(d for least, d in DEGREES if len(boxes) >= least)
    terms = powers(centers / (page_map.width, page_map.height), degree=degree)
    shift = np.stack([_smooth(terms, found[:, k]) for k in range(2)], axis=-1)
    return replace(page_map, shift=shift, shift_degree=degree)


def _turned(box: CellBox) -> CellBox:
    return CellBox(box.top, box.left, box.height, box.width)


def _offset(edges: Linear, box: CellBox, resolution: float) -> float:
    """Return how far to the right of its place a cell lies [mm]; nan where nothing is clear."""
    reach = int(REACH * resolution)
    top, bottom = (round(v * resolution) for v in (box.top + 1.0, box.bottom - 1.0))
    left, right = round(box.left * resolution), round(box.right * resolution)
    low, high = left - reach, right + reach + 1
    if low < 0 or high > edges.shape[1] or bottom > edges.shape[0] or bottom <= top:
        return float("nan")
    profile = np.sqrt(edges[top:bottom, low:high].mean(axis=0))
    width = right - left
    both = profile[: len(profile) - width] + profile[width:]
    best = int(np.argmax(both))
    if both[best] < CLEAR * both.mean() or not 0 < best < len(both) - 1:
        return float("nan")
    before, at, after = both[best - 1 : best + 2]
    part = 0.5 * (before - after) / min(before - 2 * at + after, -1e-9)
    return float((low + best + part + 0.5) / resolution - box.left)


def _smooth(terms: FloatArray, offsets: FloatArray) -> FloatArray:
    """Fit the offsets, shape (n,), robustly; cells with nan don't count."""
    known = np.isfinite(offsets)
    if known.sum() < terms.shape[1]:
        return np.zeros(terms.shape[1])
    terms, offsets = terms[known], offsets[known]
    trust = np.ones(len(offsets))
    fitted = np.zeros(terms.shape[1])
    for _ in range(ROUNDS):
        weighted = terms.T * trust
        ridge = STIFFNESS * trust.sum() * np.eye(terms.shape[1])
        fitted = np.linalg.solve(weighted @ terms + ridge, weighted @ offsets)
        off = np.abs(offsets - terms @ fitted)
        scatter = max(0.05, 1.4826 * float(np.median(off)))
        trust = np.clip(1 - (off / (4 * scatter)) ** 2, 0, None) ** 2
    return np.asarray(fitted)
