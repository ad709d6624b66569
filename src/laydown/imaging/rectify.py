"""Straighten a page and take the light out: where its millimetres lie, drawn flat, evenly lit."""

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
    width: float
    height: float
    """Of the page [mm]."""
    bend: FloatArray = field(default_factory=lambda: np.zeros((1, 2)))
    degree: int = 0
    """The polynomial that curl and lens add, shape (terms, 2) [pixels]."""
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

    >>> powers(np.array([[1.0, 0.0]]), degree=1).tolist()
    [[1.0, 1.0, -1.0]]
    """
    x, y = 2 * points[..., 0] - 1, 2 * points[..., 1] - 1
    terms = [x ** (n - k) * y**k for n in range(degree + 1) for k in range(n + 1)]
    return np.stack(terms, axis=-1)


def map_page(
    corners: Mapping[int, FloatArray], boxes: Mapping[int, CellBox], *, width: float, height: float
) -> PageMap:
    """Fit the map of a page [mm] from its markers' corners, shape (4, 2), by place [pixels].

    A homography, and what it leaves over as a polynomial in both directions: a curled page seen at
    an angle and a lens are smooth, and twelve markers of four corners see them from all sides. A
    fold or a torn corner is not smooth; its cells are off.

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
    flat = PageMap(homography, width, height)
    terms = powers(page / (width, height), degree=degree)
    ridge = STIFFNESS * len(page) * np.eye(terms.shape[1])
    left = terms.T @ (picture - flat(page))
    bend = np.asarray(np.linalg.solve(terms.T @ terms + ridge, left), dtype=np.float64)
    return replace(flat, bend=bend, degree=degree)


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
    """Draw a page flat, as fine as the picture shows it, but at most `finest` [pixels per mm]."""
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
    x, y = np.meshgrid(*(np.arange(n, dtype=np.float32) / STEP for n in (width, height)))
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
    turned = [CellBox(box.top, box.left, box.height, box.width) for box in boxes]
    found = [
        np.array([_offset(edges, box, flat.resolution) for box in own])
        for edges, own in ((across, boxes), (along.T, turned))
    ]
    centers = np.array([box.center for box in boxes])
    degree = next(d for least, d in CELL_DEGREES if len(boxes) >= least)
    terms = powers(centers / (page_map.width, page_map.height), degree=degree)
    shift = np.stack([_smooth(terms, offsets) for offsets in found], axis=-1)
    return replace(page_map, shift=shift, shift_degree=degree)


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


LIGHT_DEGREES = ((90, 4), (40, 3), (12, 2), (4, 1))
"""With at least so many samples of paper, the light is a polynomial of this degree."""
LIGHT_ROUNDS = 8
"""Rounds of weighting down samples that are not lit bare paper."""
USUAL_OFF = 0.01
"""Least scatter of samples of paper that is taken for real (natural log)."""
LIGHT_STIFFNESS = 1e-3
"""Keeps the polynomial flat where no sample asks for a slope (ridge, per sample)."""
DARKEST = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class LightField:
    """The light on bare paper, over a page and a little beyond."""

    terms: FloatArray
    """Shape (terms, 3), of the natural log of the linear signal of bare paper."""
    degree: int
    """Of the polynomial."""
    width: float
    height: float
    """Of the page [mm]."""
    off: FloatArray
    """Shape (n,), how far each sample of paper lies off it (natural log, all channels' mean)."""
    evenness: float
    """Darkest over brightest paper."""

    def __call__(self, points: FloatArray) -> FloatArray:
        """Return bare paper's linear signal, shape (…, 3), at points (…, 2) of the page [mm]."""
        scaled = np.asarray(points, dtype=np.float64) / (self.width, self.height)
        return np.asarray(np.exp(powers(scaled, degree=self.degree) @ self.terms))

    def over(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return the same on a grid, shape (len(y), len(x), 3), for columns x and rows y [mm].

        The terms of x and y are summed apart, which for a whole cell takes a tenth of the time.
        """
        orders = range(self.degree + 1)
        square = np.zeros((self.degree + 1, self.degree + 1, 3))
        places = [(k, n - k) for n in orders for k in range(n + 1)]
        for place, term in zip(places, self.terms, strict=True):
            square[place] = term
        across = np.stack([(2 * x / self.width - 1) ** n for n in orders], axis=-1)
        along = np.stack([(2 * y / self.height - 1) ** n for n in orders], axis=-1)
        return np.asarray(np.exp(across @ np.tensordot(along, square, axes=1)))


def fit_light(
    points: FloatArray,
    signal: FloatArray,
    *,
    weight: FloatArray | None = None,
    width: float,
    height: float,
    most: int = 4,
) -> LightField:
    """Fit the light on bare paper, from samples of it at points (n, 2) of the page [mm].

    `signal`, shape (n, 3), is linear; `weight`, shape (n,), is how far each sample is trusted to be
    paper; `most` is the highest degree of the polynomial: 2 where light beside the page is wanted
    too.

    Polynomials of the log signal, by weighted least squares with Tukey's biweight (Beaton & Tukey
    1974, Technometrics 16, 147) over the mean of the channels, so that ink beyond a border, a
    shadow or a reflection do not bend the light. The shadow of a hand with a sharp edge is no
    smooth surface: cells near it are flagged.

    >>> x, y = np.meshgrid(np.linspace(0, 200, 5), np.linspace(0, 300, 5))
    >>> points = np.stack([x.ravel(), y.ravel()], axis=-1)
    >>> signal = np.exp(-points[:, :1] / 400) * np.ones(3)
    >>> light = fit_light(points, signal, width=200, height=300)
    >>> np.round(light(np.array([100.0, 150.0])), 2).tolist()
    [0.78, 0.78, 0.78]
    """
    degree = min(most, next((d for least, d in LIGHT_DEGREES if len(points) >= least), 0))
    terms = powers(points / (width, height), degree=degree)
    logs = np.log(np.maximum(signal, DARKEST))
    weight = np.ones(len(points)) if weight is None else weight
    # from samples that are not far darker than paper ever is under uneven light
    darkest = logs.min(axis=-1)
    trust = np.where(darkest > np.percentile(darkest, 90) - 1.6, 1.0, 0.0) * weight
    for _ in range(LIGHT_ROUNDS):
        ridge = LIGHT_STIFFNESS * trust.sum() * np.eye(terms.shape[1])
        ridge[0, 0] = 0.0
        weighted = terms.T * trust
        fitted = np.linalg.solve(weighted @ terms + ridge, weighted @ logs)
        off = logs - terms @ fitted
        worst = np.abs(off - np.median(off, axis=0)).max(axis=-1)
        scatter = max(USUAL_OFF, 1.4826 * float(np.median(worst)))
        trust = np.clip(1.0 - (worst / (4.0 * scatter)) ** 2, 0.0, None) ** 2 * weight
    lit = terms @ fitted
    evenness = float(np.exp(np.ptp(lit[trust > 0].mean(axis=-1)) * -1))
    return LightField(fitted, degree, width, height, off.mean(axis=-1), evenness)
