"""Find a 24-patch reference chart in a picture: squares, their lattice, and which way it lies."""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from laydown.color.arrays import FloatArray, Pixels
from laydown.color.lab import ciede2000, lab_from_xyz, xyz_from_reflectance
from laydown.opencv import cv2
from laydown.reference.tables import load_table, numbers_of

ROWS, COLUMNS = 4, 6
CHART_WHITE = 18
"""The place of its white patch in the table."""
LONG_SIDES = (1400, 2800)
"""Longest sides at which squares are looked for, one after the other [pixels]."""
FEWEST = 9
"""Squares on one lattice without which no chart is claimed."""
MOST = 60
"""Squares on one lattice beyond which it is a cloth, tiles or a keyboard, and no chart, even with
another thing of squares beside it."""
ANY_SIZE = 2**31
WORST_FIT = 9.0
"""Mean CIEDE2000 of a simple fit beyond which it is not the chart, or not this chart."""
BRIGHTEST, BLOWN_SHARE = 254, 0.05
"""Encoded value from which a pixel says no more than that much, and the share of such in a patch
from which it is left out."""
SAME_WITHIN, ALIKE = 0.5, 0.6
"""Of a square's side: how near the middle of the same one lies, and at least how large it is."""
FRAME = 0.7
"""From the middle of an outer patch to the rim of the chart, in patches."""
STEP = 20
"""Size of a patch and its share of the frame when drawn flat [pixels]."""
BANDS = tuple(f"r{band}" for band in range(380, 740, 10))


@dataclass(frozen=True, slots=True, eq=False)
class FoundChart:
    """A chart in a picture."""

    centers: FloatArray
    """Shape (24, 2), middles of its patches in the picture [pixels: x, y], in the table's order."""
    boxes: Pixels
    """Pixels of the middle of each patch, encoded, shape (24, n, 3)."""

    @property
    def blown(self) -> NDArray[np.bool_]:
        """Which patches are as bright as the file can say in some channel, shape (24,)."""
        share = (self.boxes >= BRIGHTEST).any(axis=2).mean(axis=1)
        return np.asarray(share > BLOWN_SHARE, dtype=np.bool_)

    @property
    def outline(self) -> FloatArray:
        """Corners of the chart with a part of its frame, shape (4, 2), in the picture [pixels]."""
        to_picture = cv2.findHomography(_centers(), self.centers, 0)[0]
        right, bottom = COLUMNS - 1 + FRAME, ROWS - 1 + FRAME
        own = np.array([[-FRAME, -FRAME], [right, -FRAME], [right, bottom], [-FRAME, bottom]])
        return np.asarray(cv2.perspectiveTransform(own[None], to_picture)[0], dtype=np.float64)


def chart_xyz() -> FloatArray:
    """Return the chart's published colors under D50, shape (24, 3).

    The last row runs from white to black.

    >>> [round(y) for y in chart_xyz()[18:, 1].tolist()]
    [91, 59, 36, 19, 9, 3]
    """
    return xyz_from_reflectance(numbers_of(load_table("chart_24"), *BANDS))


def find_chart(
    pixels: Pixels, linear: FloatArray, *, blank: Sequence[FloatArray] = ()
) -> FoundChart | None:
    """Find the chart in a picture, shape (h, w, 3); None where no squares have its colors.

    Squares of like size that are neighbors along their own sides make a lattice; every place and
    turn of 4 × 6 patches on it is tried; the one whose colors a 3 × 3 matrix fits best is taken.
    `linear`, shape (256,), leads from encoded to linear, well enough to tell the patches apart;
    within the polygons `blank`, shape (n, 2) each, no patch is looked for: the sheet's own cells.
    """
    for side in LONG_SIDES:
        small, scale = _smaller(pixels, side)
        homography = _best(small, linear, [np.asarray(polygon) * scale for polygon in blank])
        if homography is not None:
            up = np.diag([1 / scale, 1 / scale, 1.0]) @ homography
            centers = cv2.perspectiveTransform(_centers()[None], up)[0]
            return FoundChart(np.asarray(centers), _drawn(pixels, up))
    return None


def _smaller(pixels: Pixels, side: int) -> tuple[Pixels, float]:
    scale = min(1.0, side / max(pixels.shape[:2]))
    size = (round(pixels.shape[1] * scale), round(pixels.shape[0] * scale))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8), scale


def _best(small: Pixels, linear: FloatArray, blank: Sequence[FloatArray]) -> FloatArray | None:
    best, least = None, WORST_FIT
    for lattice in _lattices(_squares(small, blank), most=MOST):
        for homography in _placements(lattice):
            off = _misfit(linear[_drawn(small, homography)].mean(axis=1))
            if off < least:
                best, least = homography, off
    return best


def lattice_map(
    pixels: Pixels, *, rows: int, columns: int, blank: Sequence[FloatArray] = ()
) -> FloatArray | None:
    """Return the map, shape (3, 3), from columns and rows of a lattice of squares to the picture.

    None where no lattice spans just so many rows and columns, which run to the right; within the
    polygons `blank`, shape (n, 2) each, no square is looked for.
    """
    small, scale = _smaller(pixels, LONG_SIDES[0])
    squares = _squares(small, [np.asarray(polygon) * scale for polygon in blank])
    for lattice in sorted(_lattices(squares), key=len, reverse=True):
        places = np.array(list(lattice), dtype=np.float64)
        middles = np.array(list(lattice.values())) / scale
        for turned in (places @ np.array(turn, dtype=np.float64) for turn in TURNS):
            own = turned - turned.min(axis=0)
            if tuple(np.ptp(turned, axis=0)) != (columns - 1, rows - 1):
                continue
            found = cv2.findHomography(own, middles, cv2.RANSAC, 8.0)[0]
            if found is not None and found[0, 0] > abs(found[1, 0]) and found[1, 1] > 0:
                return np.asarray(found, dtype=np.float64)
    return None


TURNS = (((1, 0), (0, 1)), ((0, 1), (-1, 0)), ((-1, 0), (0, -1)), ((0, -1), (1, 0)))
"""Quarter turns."""


def _squares(picture: Pixels, blank: Sequence[FloatArray]) -> list[FloatArray]:
    """Return four-cornered outlines that are about square, shape (4, 2) each."""
    found: list[FloatArray] = []
    smooth = cv2.bilateralFilter(picture, 5, 25, 5)
    planes = [*cv2.split(smooth), cv2.cvtColor(smooth, cv2.COLOR_RGB2GRAY)]
    window, mean = np.ones((3, 3), np.uint8), cv2.ADAPTIVE_THRESH_MEAN_C
    for plane in planes:
        edges = cv2.dilate(cv2.Canny(plane, 15, 45), window)
        levels = cv2.adaptiveThreshold(plane, 255, mean, cv2.THRESH_BINARY, 51, -3)
        for parted in (255 - edges, cv2.erode(levels, window)):
            outlines = cv2.findContours(parted, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)[0]
            found += [quad for outline in outlines for quad in _quad(outline, picture.shape)]
    return _distinct([quad for quad in found if not _inside(quad, blank)])


def _quad(outline: Pixels, shape: tuple[int, ...]) -> list[FloatArray]:
    area = cv2.contourArea(outline)
    if not 60 < area < 0.02 * shape[0] * shape[1]:
        return []
    hull = cv2.convexHull(outline)
    corners = cv2.approxPolyDP(hull, 0.07 * cv2.arcLength(hull, True), True)
    if len(corners) != 4 or area < 0.75 * cv2.contourArea(hull):
        return []
    quad = np.asarray(corners, dtype=np.float64).reshape(4, 2)
    sides = np.hypot(*(quad - np.roll(quad, 1, axis=0)).T)
    return [quad] if sides.min() >= 7 and sides.max() < 2.2 * sides.min() else []


def _inside(quad: FloatArray, blank: Sequence[FloatArray]) -> bool:
    middle = tuple(float(v) for v in quad.mean(axis=0))
    return any(
        cv2.pointPolygonTest(polygon.astype(np.float32), middle, False) >= 0 for polygon in blank
    )


def _distinct(quads: list[FloatArray]) -> list[FloatArray]:
    """Keep one of several outlines of the same square: the largest first."""
    if not quads:
        return []
    middles, sides = _middles_and_sides(quads)
    # what lies within half a side of a square not much larger lies within this of one's own
    near = cKDTree(middles).query_ball_point(middles, SAME_WITHIN / ALIKE * sides)
    kept: dict[int, None] = {}
    for i in np.argsort(-sides, kind="stable").tolist():
        same = (j for j in near[i] if j in kept and sides[i] > ALIKE * sides[j])
        apart = (np.hypot(*(middles[j] - middles[i])) / sides[j] for j in same)
        if all(share >= SAME_WITHIN for share in apart):
            kept[i] = None
    return [quads[i] for i in kept]


def _middles_and_sides(quads: list[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Return the middles of squares, shape (n, 2), and the means of their sides, shape (n,)."""
    every = np.array(quads).reshape(-1, 4, 2)
    edges = every - np.roll(every, 1, axis=1)
    return every.mean(axis=1), np.hypot(edges[..., 0], edges[..., 1]).mean(axis=1)


Lattice = dict[tuple[int, int], FloatArray]


def _lattices(quads: list[FloatArray], *, most: int = ANY_SIZE) -> Iterator[Lattice]:
    """Follow neighbors from each square not yet on a lattice; pass over those of more than most."""
    left = set(range(len(quads)))
    while left:
        start = min(left)
        grown = _grown(quads, start)
        left -= {start, *grown.values()}
        if FEWEST <= len(grown) <= most:
            yield {place: quads[index].mean(axis=0) for place, index in grown.items()}


def _grown(quads: list[FloatArray], start: int) -> dict[tuple[int, int], int]:
    middles, sides = _middles_and_sides(quads)
    grown = {(0, 0): start}
    axes = {start: np.array([quads[start][1] - quads[start][0], quads[start][3] - quads[start][0]])}
    queue = deque([((0, 0), start)])
    while queue:
        (column, row), at = queue.popleft()
        for step in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            place = (column + step[0], row + step[1])
            found = _neighbor(middles, sides, at, np.array(step) @ axes[at])
            if found is None or place in grown or found in axes:
                continue
            grown[place] = found
            # its own sides as axes, each the one nearest to its neighbor's
            quad = quads[found]
            ways = [quad[1] - quad[0], quad[3] - quad[0], quad[0] - quad[1], quad[0] - quad[3]]
            axes[found] = np.array([max(ways, key=axis.dot) for axis in axes[at]])
            queue.append((place, found))
    return grown


def _neighbor(middles: FloatArray, sides: FloatArray, at: int, way: FloatArray) -> int | None:
    """Return the square of like size that lies one pitch (1.0 to 1.7 sides) along a way."""
    apart = middles - middles[at]
    length = np.hypot(*way)
    along = apart @ way / length**2
    aside = np.abs(apart @ np.array([-way[1], way[0]])) / length**2
    alike = (sides > 0.65 * sides[at]) & (sides < 1.55 * sides[at])
    fits = (along > 0.85) & (along < 1.75) & (aside < 0.3) & alike
    return int(np.argmin(np.where(fits, along, np.inf))) if fits.any() else None


def _centers() -> FloatArray:
    columns, rows = np.meshgrid(np.arange(COLUMNS), np.arange(ROWS))
    return np.stack([columns, rows], axis=-1).reshape(-1, 2).astype(np.float64)


def _placements(lattice: Lattice) -> Iterator[FloatArray]:
    """Return maps from the chart's columns and rows to the picture, for each place and turn."""
    places = np.array(list(lattice), dtype=np.float64)
    middles = np.array(list(lattice.values()))
    for turned in (places @ np.array(turn, dtype=np.float64) for turn in TURNS):
        low, high = turned.min(axis=0), turned.max(axis=0)
        for column in np.arange(low[0] + min(0, high[0] - low[0] - COLUMNS + 1), high[0] + 1):
            for row in np.arange(low[1] + min(0, high[1] - low[1] - ROWS + 1), high[1] + 1):
                own = turned - (column, row)
                within = ((own >= 0) & (own < (COLUMNS, ROWS))).all(axis=1)
                if within.sum() >= FEWEST and np.ptp(own[within], axis=0).min() >= 1:
                    homography = cv2.findHomography(own[within], middles[within], 0)[0]
                    # whole, for the picture's corner may lie beyond the horizon of its plane
                    if homography is not None and np.linalg.det(homography) > 0:
                        yield np.asarray(homography, dtype=np.float64)


def _drawn(pixels: Pixels, homography: FloatArray) -> Pixels:
    """Return the middles of the 24 patches drawn flat, shape (24, n, 3)."""
    to_flat = np.array([[STEP, 0, STEP / 2], [0, STEP, STEP / 2], [0, 0, 1.0]])
    there = homography @ np.linalg.inv(to_flat)
    flat = cv2.warpPerspective(
        pixels, there, (COLUMNS * STEP, ROWS * STEP), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )
    cut = slice(round(0.32 * STEP), round(0.68 * STEP))
    patches = np.asarray(flat).reshape(ROWS, STEP, COLUMNS, STEP, 3).transpose(0, 2, 1, 3, 4)
    return np.asarray(patches[:, :, cut, cut].reshape(ROWS * COLUMNS, -1, 3), dtype=np.uint8)


def least_squares(signal: FloatArray, xyz: FloatArray) -> FloatArray:
    """Return the matrix from signals (n, 3) to XYZ whose relative errors are least, shape (3, 3).

    >>> signal = np.linspace(0.1, 0.9, 27).reshape(9, 3) ** [1.0, 1.5, 2.0]
    >>> bool(np.allclose(least_squares(signal, 50 * signal), 50 * np.eye(3)))
    True
    """
    weight = 1.0 / (xyz.sum(axis=1, keepdims=True) + 3.0) ** 0.67
    return np.asarray(np.linalg.lstsq(signal * weight, xyz * weight, rcond=None)[0])


def _misfit(signal: FloatArray) -> float:
    """Return the mean CIEDE2000 that a matrix by plain least squares leaves."""
    xyz = chart_xyz()
    made = lab_from_xyz(np.maximum(signal @ least_squares(signal, xyz), 0.0))
    return float(ciede2000(made, lab_from_xyz(xyz)).mean())
