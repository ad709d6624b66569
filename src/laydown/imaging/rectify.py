"""Straighten a page: where its millimetres lie in the picture, and the page drawn flat."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from laydown.color.arrays import FloatArray, Pixels, Plane
from laydown.imaging.markers import box_corners
from laydown.opencv import cv2
from laydown.sheet.page import CellBox

STEP = 16
"""The map is computed for every so many pixels of the flat page and drawn out between them."""
COARSEST, FINEST = 3.0, 9.0
"""Least and greatest resolution of the flat page [pixels per mm]."""
DEGREES = ((10, 3), (6, 2))
"""With at least so many markers, curl and lens are a polynomial of this degree; else a plane."""
STIFFNESS = 1e-3
"""Keeps the polynomial small where markers don't ask for it (ridge, relative to a marker)."""


@dataclass(frozen=True, slots=True, eq=False)
class PageMap:
    """Where each point of a page lies in a picture."""

    homography: FloatArray
    """Shape (3, 3), from page [mm] to picture [pixels], as if the page were flat."""
    bend: FloatArray
    """Shape (terms, 2), the polynomial that curl and lens add [pixels]."""
    degree: int
    """Of that polynomial."""
    width: float
    height: float
    """Of the page [mm]."""
    shift: FloatArray = field(default_factory=lambda: np.zeros((1, 2)))
    shift_degree: int = 0
    """A polynomial, shape (terms, 2), added to points of the page beforehand [mm]: what the cells'
    own borders showed."""

    def __call__(self, points: FloatArray) -> FloatArray:
        """Return the picture's pixels (x, y), shape (…, 2), of points of the page [mm]."""
        flat = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        size = (self.width, self.height)
        flat = flat + powers(flat / size, degree=self.shift_degree) @ self.shift
        seen = cv2.perspectiveTransform(flat[None], self.homography)[0]
        seen = seen + powers(flat / size, degree=self.degree) @ self.bend
        return np.asarray(seen).reshape(np.shape(points))

    def scale(self, points: FloatArray) -> FloatArray:
        """Return the picture's resolution [pixels per mm], shape (n,), at points (n, 2) [mm]."""
        across, along = np.array([0.5, 0.0]), np.array([0.0, 0.5])
        right = self(points + across) - self(points - across)
        down = self(points + along) - self(points - along)
        return np.asarray(np.minimum(np.hypot(*right.T), np.hypot(*down.T)))

    @property
    def middle_scale(self) -> float:
        """The same in the middle of the page."""
        return float(self.scale(np.array([[self.width / 2, self.height / 2]]))[0])


def powers(points: FloatArray, *, degree: int) -> FloatArray:
    """Return all products of powers of x and y up to a degree, for points scaled to 0 … 1.

    Examples
    --------
    >>> powers(np.array([[1.0, 0.0]]), degree=1).tolist()
    [[1.0, 1.0, -1.0]]
    """
    x, y = 2 * points[..., 0] - 1, 2 * points[..., 1] - 1
    terms = [x ** (n - k) * y**k for n in range(degree + 1) for k in range(n + 1)]
    return np.stack(terms, axis=-1)


def map_page(
    corners: Mapping[int, FloatArray], boxes: Mapping[int, CellBox], *, width: float, height: float
) -> PageMap:
    """Fit the map from markers.

    Parameters
    ----------
    corners
        Shape (4, 2) by place, in the picture [pixels].
    boxes
        Where they are printed [mm], by place.
    width, height
        Of the page [mm].

    Notes
    -----
    A homography, and what it leaves over as a polynomial in both directions: a curled page seen at
    an angle and a lens are smooth, and twelve markers of four corners see them from all sides.
    A fold or a torn corner is not smooth; its cells are off.

    Examples
    --------
    >>> places = enumerate([(0, 0), (80, 0), (80, 80), (0, 80)])
    >>> boxes = {place: CellBox(x, y, 10, 10) for place, (x, y) in places}
    >>> corners = {place: 2 * box_corners(box) for place, box in boxes.items()}
    >>> there = map_page(corners, boxes, width=90, height=90)
    >>> np.round(there(np.array([45.0, 30.0])), 6).tolist()
    [90.0, 60.0]
    """
    places = sorted(corners)
    page = np.concatenate([box_corners(boxes[place]) for place in places])
    picture = np.concatenate([corners[place] for place in places])
    homography = np.asarray(cv2.findHomography(page, picture, 0)[0], dtype=np.float64)
    degree = next((d for least, d in DEGREES if len(places) >= least), 0)
    flat = PageMap(homography, np.zeros((1, 2)), 0, width, height)
    terms = powers(page / (width, height), degree=degree)
    ridge = STIFFNESS * len(page) * np.eye(terms.shape[1])
    left = terms.T @ (picture - flat(page))
    bend = np.asarray(np.linalg.solve(terms.T @ terms + ridge, left), dtype=np.float64)
    return PageMap(homography, bend, degree, width, height)


@dataclass(frozen=True, slots=True, eq=False)
class FlatPage:
    """A page laid flat."""

    pixels: Pixels
    """Shape (h, w, 3), as encoded in the picture."""
    resolution: float
    """Pixels per mm."""
    page_map: PageMap
    """Where it was in the picture."""
    picture: tuple[int, int]
    """Width and height of the picture [pixels]."""

    def cut(self, box: CellBox) -> Pixels:
        """Return the pixels of a box, shape (h, w, 3); at least one of them."""
        top, left = (max(0, round(v * self.resolution)) for v in (box.top, box.left))
        bottom, right = (round(v * self.resolution) for v in (box.bottom, box.right))
        return self.pixels[top : max(bottom, top + 1), left : max(right, left + 1)]

    def contains(self, box: CellBox) -> bool:
        """Whether all of a box was in the picture."""
        seen = self.page_map(box_corners(box))
        return bool((seen >= 0).all() and (seen <= np.array(self.picture) - 1).all())


def flatten(pixels: Pixels, page_map: PageMap, *, finest: float = FINEST) -> FlatPage:
    """Draw the page flat, about as fine as the picture shows it.

    Parameters
    ----------
    pixels
        Shape (h, w, 3).
    page_map
        From `map_page`.
    finest
        Resolution beyond which it is drawn no finer [pixels per mm].
    """
    resolution = float(np.clip(page_map.middle_scale, COARSEST, finest))
    width, height = (round(side * resolution) for side in (page_map.width, page_map.height))
    columns, rows = (np.arange(0, side + STEP, STEP) for side in (width, height))
    points = np.stack(np.meshgrid(columns + 0.5, rows + 0.5), axis=-1).astype(np.float64)
    fine = _drawn_out(page_map(points / resolution), width, height)
    drawn = cv2.remap(pixels, fine, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return FlatPage(
        np.asarray(drawn, dtype=np.uint8), resolution, page_map, (pixels.shape[1], pixels.shape[0])
    )


def _drawn_out(coarse: FloatArray, width: int, height: int) -> Plane:
    """Interpolate the map between the points where it was computed."""
    x = (np.arange(width, dtype=np.float32) / STEP)[None].repeat(height, axis=0)
    y = (np.arange(height, dtype=np.float32) / STEP)[:, None].repeat(width, axis=1)
    return np.asarray(cv2.remap(coarse.astype(np.float32), x, y, cv2.INTER_LINEAR))


COARSE = 4.0
"""Resolution at which borders are looked for [pixels per mm], at most."""
REACH = 2.2
"""How far off a border may lie [mm]: less than the white between two cells."""
CELL_DEGREES = ((40, 4), (20, 3), (9, 2), (4, 1))
"""With at least so many cells, what they are off by is a polynomial of this degree."""
ROUNDS = 6
CELL_STIFFNESS = 3e-3
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
    if len(boxes) < CELL_DEGREES[-1][0]:
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
    degree = next(d for least, d in CELL_DEGREES if len(boxes) >= least)
    terms = powers(centers / (page_map.width, page_map.height), degree=degree)
    shift = np.stack([_smooth(terms, found[:, k]) for k in range(2)], axis=-1)
    return replace(page_map, shift=shift, shift_degree=degree)


def _turned(box: CellBox) -> CellBox:
    return CellBox(box.top, box.left, box.height, box.width)


def _offset(edges: Plane, box: CellBox, resolution: float) -> float:
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
        ridge = CELL_STIFFNESS * trust.sum() * np.eye(terms.shape[1])
        fitted = np.linalg.solve(weighted @ terms + ridge, weighted @ offsets)
        off = np.abs(offsets - terms @ fitted)
        scatter = max(0.05, 1.4826 * float(np.median(off)))
        trust = np.clip(1 - (off / (4 * scatter)) ** 2, 0, None) ** 2
    return np.asarray(fitted)
