"""Find the markers of a page in a picture, whichever way it lies, and drop what only looks so."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray, Pixels
from laydown.opencv import cv2
from laydown.sheet import markers
from laydown.sheet.page import CellBox, PageSize

LONG_SIDES = (1600, 3200)
"""Longest sides at which markers are looked for, one after the other [pixels]."""
ENOUGH = 11
"""Markers after which no further size is tried."""
STRAY = 0.03
"""How far a marker may lie off the plane of the others, for curl and lens [share of the page]."""
BENT, NO_TARGET = 0.012, 0.15
"""The same of a target's marks, from which it is bent, and from which they are those of no target:
flat ones came out at .0024 to .0034 in rendered pictures."""
FEWEST = 4
"""Markers without which a page can't be placed."""
MOST_PAGES = 4
"""Pages that are looked for in one picture."""
EDGE, LEAST_STEP, BLURRED = 17, 40.0, 5.0
"""Window in which a step from dark to light is looked for [pixels at the smaller size], what is one
[of 255], and how many pixels wide it is in a picture too soft for markers (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundPage:
    """The markers of one page in a picture."""

    corners: Mapping[int, FloatArray]
    """By place, shape (4, 2): a marker's corners in the picture [pixels: x, y], clockwise from its
    own upper left."""
    ids: Mapping[int, int]
    """Marker ids by place."""

    @property
    def number(self) -> int | None:
        """The page's number, or None where too few markers tell it."""
        return markers.number_from_ids(self.ids)

    @property
    def missing(self) -> tuple[int, ...]:
        """Places whose marker was not found."""
        return tuple(place for place in range(markers.MARKER_COUNT) if place not in self.corners)


def find_page(pixels: Pixels) -> FoundPage:
    """Find the markers of the page that shows most of them; none where there are fewer than four.

    >>> find_page(np.zeros((40, 40, 3), dtype=np.uint8)).missing == tuple(range(12))
    True
    """
    return next(iter(find_pages(pixels)), FoundPage({}, {}))


def find_pages(pixels: Pixels) -> tuple[FoundPage, ...]:
    """Find the markers of all pages in a picture, shape (h, w, 3), that with most of them first.

    Each page's lie as on one page; none has fewer than four, and a second or third is there only
    where its number can be read. Detection is OpenCV's (Garrido-Jurado et al. 2014, Pattern
    Recognition 47), without correction of bits. A marker counts only if a page's plane, give or
    take curl and lens, goes through it and at least three others.
    """
    gray = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    best: tuple[FoundPage, ...] = ()
    for side in _sides(max(gray.shape)):
        pages = _apart(_detect(gray, scale=side / max(gray.shape)))
        best = max(best, pages, key=lambda found: sum(len(page.corners) for page in found))
        if best and all(len(page.corners) >= ENOUGH for page in best):
            break
    return best


def _apart(found: list[tuple[int, FloatArray]]) -> tuple[FoundPage, ...]:
    """Return the pages that markers lie on, one after the other from what is left of them."""
    pages: list[FoundPage] = []
    while len(found) >= FEWEST and len(pages) < MOST_PAGES:
        page = _one_page(found)
        if not page.corners or (pages and page.number is None):
            break
        pages.append(page)
        used = {id(corners) for corners in page.corners.values()}
        found = [one for one in found if id(one[1]) not in used]
    return tuple(pages)


def find_target(pixels: Pixels) -> FoundPage | None:
    """Find the four marks of a target that lies flat in a sketchbook; None without all four."""
    found, stray = _placed_target(pixels)
    return found if stray < BENT else None


def _placed_target(pixels: Pixels) -> tuple[FoundPage, float]:
    """Return a target's four marks, and how far they lie off one plane, as a share of its size."""
    gray = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    boxes, best = markers.target_marks(), (FoundPage({}, {}), 1.0)
    printed = np.concatenate([box_corners(box) for box in boxes.values()])
    for side in _sides(max(gray.shape)):
        placed = {
            markers.place_of(m): (m, quad)
            for m, quad in _detect(gray, scale=side / max(gray.shape))
        }
        if not set(boxes) <= set(placed):
            continue
        picture = np.concatenate([placed[place][1] for place in boxes])
        homography = cv2.findHomography(printed, picture, 0)[0]
        if homography is None:
            continue
        off = cv2.perspectiveTransform(printed[None], homography)[0] - picture
        stray = float(np.abs(off).max() / np.ptp(picture, axis=0).max())
        page = FoundPage({p: placed[p][1] for p in boxes}, {p: placed[p][0] for p in boxes})
        best = min(best, (page, stray), key=lambda one: one[1])
        if stray < BENT:
            break
    return best


def why_no_page(pixels: Pixels) -> str:
    """Return what may be wrong with a picture in which no page is found; empty where unknown."""
    if find_page(np.ascontiguousarray(pixels[:, ::-1])).corners:
        return "it is mirrored"
    if _placed_target(pixels)[1] < NO_TARGET:
        return "its target isn't flat"
    gray = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    shrink = min(1.0, LONG_SIDES[0] / max(gray.shape))
    small = cv2.resize(gray, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    window = np.ones((EDGE, EDGE), np.uint8)
    step = cv2.subtract(cv2.dilate(small, window), cv2.erode(small, window)).astype(np.float32)
    slope = cv2.magnitude(cv2.Sobel(small, cv2.CV_32F, 1, 0), cv2.Sobel(small, cv2.CV_32F, 0, 1))
    edges = step > max(LEAST_STEP, float(np.percentile(step, 95)))
    if not edges.any():
        return ""
    steepest = cv2.dilate(slope / 8, window)[edges]
    return "it is blurred" if np.median(step[edges] / np.maximum(steepest, 1)) > BLURRED else ""


def _sides(longest: int) -> tuple[int, ...]:
    """Return the sizes to try: smaller ones first, at last twice the picture's own."""
    smaller = tuple(side for side in LONG_SIDES if side < longest)
    return (*smaller, *(size for size in (longest, 2 * longest) if size <= 2 * LONG_SIDES[-1]))


def _detect(gray: Pixels, *, scale: float) -> list[tuple[int, FloatArray]]:
    method = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    scaled = cv2.resize(gray, None, fx=scale, fy=scale, interpolation=method)
    quads, ids, _ = _detector().detectMarkers(scaled)
    if ids is None:
        return []
    found = [
        (int(marker), (np.asarray(quad, dtype=np.float64).reshape(4, 2) + 0.5) / scale - 0.5)
        for marker, quad in zip(ids.ravel(), quads, strict=True)
    ]
    return [(marker, _sharpen(gray, corners, scale)) for marker, corners in found]


def _detector() -> cv2.aruco.ArucoDetector:
    wanted = cv2.aruco.DetectorParameters()
    wanted.errorCorrectionRate = 0.0
    wanted.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    wanted.relativeCornerRefinmentWinSize = 0.2
    wanted.minMarkerPerimeterRate = 0.02
    wanted.polygonalApproxAccuracyRate = 0.05
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)
    return cv2.aruco.ArucoDetector(dictionary, wanted)


def _sharpen(gray: Pixels, corners: FloatArray, scale: float) -> FloatArray:
    """Place corners again in the full picture where they were found in a smaller one."""
    if scale >= 1:
        return corners
    reach = max(2, round(1.5 / scale))
    start = corners.astype(np.float32).reshape(-1, 1, 2)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.02)
    sharp = cv2.cornerSubPix(gray, start, (reach, reach), (-1, -1), stop).reshape(4, 2)
    moved = np.abs(sharp - corners).max() > 2 * reach
    return corners if moved else np.asarray(sharp, dtype=np.float64)


def _one_page(found: list[tuple[int, FloatArray]]) -> FoundPage:
    """Keep the markers that lie as on one page."""
    placed = [(markers.place_of(marker), marker, corners) for marker, corners in found]
    known = [(place, marker, corners) for place, marker, corners in placed if place is not None]
    if len(known) < FEWEST:
        return FoundPage({}, {})
    boxes = markers.marker_boxes(PageSize.A4)
    page = np.concatenate([box_corners(boxes[place]) for place, _, _ in known])
    picture = np.concatenate([corners for _, _, corners in known])
    reach = STRAY * float(np.ptp(picture, axis=0).max())
    homography, _ = cv2.findHomography(page, picture, cv2.RANSAC, reach)
    if homography is None:
        return FoundPage({}, {})
    expected = cv2.perspectiveTransform(page[None], homography)[0]
    off = np.linalg.norm(expected - picture, axis=-1).reshape(-1, markers.CORNERS).max(axis=-1)
    return _nearest(known, off, reach)


def _nearest(known: list[tuple[int, int, FloatArray]], off: FloatArray, reach: float) -> FoundPage:
    corners: dict[int, FloatArray] = {}
    ids: dict[int, int] = {}
    for index in np.argsort(off, kind="stable"):
        place, marker, quad = known[index]
        if off[index] <= 2 * reach and place not in corners:
            corners[place], ids[place] = quad, marker
    if len(corners) < FEWEST:
        return FoundPage({}, {})
    return FoundPage(corners, ids)


def box_corners(box: CellBox) -> FloatArray:
    """Return a box's corners, shape (4, 2), clockwise from the upper left [mm].

    >>> box_corners(CellBox(1, 2, 3, 4)).tolist()
    [[1.0, 2.0], [4.0, 2.0], [4.0, 6.0], [1.0, 6.0]]
    """
    return np.array(
        [
            [box.left, box.top],
            [box.right, box.top],
            [box.right, box.bottom],
            [box.left, box.bottom],
        ],
        dtype=np.float64,
    )
