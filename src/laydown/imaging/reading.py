"""Read a whole page or a card: flat, light taken out, each cell against the paper beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray, Pixels, Plane
from laydown.imaging.chart import FoundChart, lattice_map
from laydown.imaging.markers import FoundPage
from laydown.imaging.patches import (
    INKED_SHARE,
    SHADOW,
    Decode,
    Patch,
    Strips,
    bare_signal,
    crossed,
    inked_share,
    read_patch,
    read_strips,
)
from laydown.imaging.rectify import FlatPage, LightField, PageMap, fit_light, flatten, refine_map
from laydown.opencv import cv2
from laydown.sheet.page import CellBox
from laydown.sheet.reading import Flag

FEWEST_PIXELS = 12.0
"""A cell with a shorter side than this in the picture is too small [pixels]."""
BLUR_SHARE = 0.16
"""Blur beyond this share of a cell's shorter side reaches its middle."""
BARE_WEIGHT, STRIP_WEIGHT = 4.0, 1.0
"""A bare cell has more pixels than a strip of white, and no neighbor's ink (chosen)."""
WHITEST = 3.0
"""No usual lamp makes the strongest channel of paper so many times the weakest."""
DARKEST_PAPER = 0.05
"""Plane signal of paper below which a picture is too dark to read."""


@dataclass(frozen=True, slots=True, eq=False)
class PageCell:
    """A cell as the reader needs it."""

    number: int
    box: CellBox
    """Where it stands [mm]."""
    bare: bool
    pale: bool = False
    """Whether it may look like bare paper although something was laid: a colorless blender."""
    smooth: bool = False
    """Whether what was laid lies as evenly as a marker's color."""


@dataclass(frozen=True, slots=True, eq=False)
class PageReading:
    """What one picture of a page shows."""

    flat: FlatPage
    patches: Mapping[int, Patch]
    """By cell number, relative to bare paper."""
    light: LightField
    around: LightField
    """The same, stiffer, for a chart that lies beside the page."""
    paper: FloatArray
    """Shape (3,), the linear signal of bare paper, mean over its bare cells."""
    resolution: float
    """Pixels per mm in the middle of the page in the picture."""
    warnings: tuple[str, ...]
    """Sentences on the page as a whole."""


def read_page(
    pixels: Pixels,
    page_map: PageMap,
    cells: Sequence[PageCell],
    decode: Decode,
    *,
    blur: float = 0.0,
    framed: bool = False,
) -> PageReading:
    """Read the cells of a page, which lies in a picture, shape (h, w, 3), where the map has it.

    `blur` is the width of an edge in the picture [pixels], from `edge_blur`. Where the page is
    framed, the white between the cells is a frame and not the paper: it then tells how the light
    runs, and bare cells alone tell how bright the paper is.
    """
    page_map = refine_map(pixels, page_map, [cell.box for cell in cells])
    flat = flatten(pixels, page_map)
    seen = [cell for cell in cells if flat.contains(cell.box)]
    strips = {cell.number: read_strips(flat, cell.box, decode) for cell in seen}
    light, around = _light(flat, seen, strips, decode, framed=framed)
    bled = _bled(flat, seen, light, decode)
    off = light.off[len(light.off) - 2 * len(seen) :].reshape(-1, 2)
    patches: dict[int, Patch] = {}
    for cell, beside in zip(seen, off, strict=True):
        patch = read_patch(flat, cell.box, light, decode, smooth=cell.smooth)
        inked = inked_share(strips[cell.number], light) > INKED_SHARE
        there = _place_flags(
            cell, page_map, bled=cell.number in bled, inked=inked, off=beside, blur=blur
        )
        patches[cell.number] = replace(patch, flags=patch.flags | there)
    paper = light(np.array([cell.box.center for cell in seen if cell.bare])).mean(axis=0)
    told = _warnings(paper, len(cells) - len(seen))
    return PageReading(flat, patches, light, around, paper, page_map.middle_scale, told)


def read_by_samples(
    flat: FlatPage,
    cells: Sequence[PageCell],
    points: FloatArray,
    signal: FloatArray,
    decode: Decode,
) -> PageReading:
    """Read cells of a page without printed ones, whose light samples of bare paper alone tell.

    They lie at points, shape (n, 2) [mm], and have a linear signal, shape (n, 3).
    """
    page_map = flat.page_map
    light = fit_light(points, signal, width=page_map.width, height=page_map.height, most=2)
    patches = {
        cell.number: read_patch(flat, cell.box, light, decode, smooth=cell.smooth)
        for cell in cells
        if flat.contains(cell.box)
    }
    paper = light(points).mean(axis=0)
    return PageReading(flat, patches, light, light, paper, page_map.middle_scale, ())


def _light(
    flat: FlatPage,
    cells: Sequence[PageCell],
    strips: Mapping[int, Strips],
    decode: Decode,
    *,
    framed: bool,
) -> tuple[LightField, LightField]:
    bare = [cell for cell in cells if cell.bare]
    bare_points = np.array([cell.box.center for cell in bare])
    bare_signals = np.array([bare_signal(flat, cell.box, decode) for cell in bare])
    strip_points = np.concatenate([points for points, _ in strips.values()])
    strip_signals = np.concatenate([np.median(pixels, axis=1) for _, pixels in strips.values()])
    if framed:  # the paper in the windows is so much brighter than the frame
        beside = [np.median(strips[cell.number][1], axis=1).mean(axis=0) for cell in bare]
        factors = bare_signals / np.maximum(np.array(beside), 1e-6)
        strip_signals = strip_signals * np.median(factors, axis=0)
    points = np.concatenate([bare_points, strip_points])
    signals = np.concatenate([bare_signals, strip_signals])
    weight = np.r_[np.full(len(bare), BARE_WEIGHT), np.full(len(strip_points), STRIP_WEIGHT)]
    width, height = flat.page_map.width, flat.page_map.height
    return (
        fit_light(points, signals, weight=weight, width=width, height=height),
        fit_light(points, signals, weight=weight, width=width, height=height, most=2),
    )


def _bled(
    flat: FlatPage, cells: Sequence[PageCell], light: LightField, decode: Decode
) -> frozenset[int]:
    """Return the cells between which ink runs, on either side of it.

    Ink over a border that reaches nobody does no harm: a cell's middle is read, and the light is
    told by what most of the white shows.
    """
    bled: set[int] = set()
    for cell in cells:
        row = [
            other
            for other in cells
            if other.box.left > cell.box.right
            and abs(other.box.top - cell.box.top) < cell.box.height / 2
        ]
        neighbor = min(row, key=lambda other: other.box.left, default=None)
        if neighbor is not None and crossed(flat, cell.box, neighbor.box, light, decode):
            bled |= {cell.number, neighbor.number}
    return frozenset(bled)


def _place_flags(
    cell: PageCell, page_map: PageMap, *, bled: bool, inked: bool, off: FloatArray, blur: float
) -> frozenset[Flag]:
    center = np.array([cell.box.center])
    side = float(page_map.scale(center)[0]) * min(cell.box.width, cell.box.height)
    told = (
        (Flag.TOO_SMALL, side < FEWEST_PIXELS),
        (Flag.BLURRED, blur > BLUR_SHARE * side),
        (Flag.OVER_BORDER, bled),
        (Flag.SHADOW, not inked and bool(np.abs(off).max() > SHADOW)),
    )
    return frozenset(flag for flag, true in told if true)


def _warnings(paper: FloatArray, outside: int) -> tuple[str, ...]:
    warnings = []
    if paper.max() > WHITEST * max(float(paper.min()), 1e-6):
        warnings.append(
            "Impossible white balance: bare paper looks strongly colored. Set the camera's white "
            "balance to the light, or take the picture by daylight."
        )
    if paper.max() < DARKEST_PAPER:
        warnings.append("The picture is too dark to read: give it more light or a longer exposure.")
    if outside:
        warnings.append(f"{outside} cells lie outside the picture.")
    return tuple(warnings)


def edge_blur(pixels: Pixels, found: FoundPage) -> float:
    """Return how wide a sharp printed edge has become [pixels], the median over a page's markers.

    Along a line across each marker's sides, the step from white to black divided by its steepest
    slope. An edge that is as sharp as pixels can show it gives about 1.
    """
    gray = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)).astype(np.float32)
    widths = [
        _edge_width(gray, quad[side], quad[(side + 1) % 4], quad.mean(axis=0))
        for quad in found.corners.values()
        for side in range(4)
    ]
    return float(np.median(widths)) if widths else 0.0


def _edge_width(gray: Plane, start: FloatArray, end: FloatArray, middle: FloatArray) -> float:
    """Return the width of the edge at the middle of a marker's side."""
    half = (start + end) / 2
    inward = (middle - half) / 3
    reach = np.linspace(-1.0, 1.0, 41)[:, None]
    along = np.linspace(-0.15, 0.15, 5)[:, None, None] * (end - start)
    line = (half + reach * inward)[None] + along
    drawn = cv2.remap(gray, line.astype(np.float32), None, cv2.INTER_LINEAR)
    profile = drawn.mean(axis=0)
    step = float(np.linalg.norm(inward)) * 2 / 40
    slope = np.abs(np.diff(profile)).max() / step
    return float(np.ptp(profile) / max(float(slope), 1e-6))


PITCH = 20.0
"""A card's true size is not known; one place of its grid is drawn as if it measured this [mm]."""
ENOUGH_BARE = 4
FEW_BARE = "Only bare places tell the light on a card: mark several, far apart."
MIDDLE = 0.5
"""Share of a place that is read, so that ragged edges and gaps don't matter."""


def card_boxes(*, rows: int, columns: int) -> tuple[CellBox, ...]:
    """Return the middles of a card's places, row by row.

    >>> card_boxes(rows=1, columns=2)[1].center
    (30.0, 10.0)
    """
    edge = PITCH * (1 - MIDDLE) / 2
    side = PITCH * MIDDLE
    return tuple(
        CellBox(column * PITCH + edge, row * PITCH + edge, side, side)
        for row in range(rows)
        for column in range(columns)
    )


def map_card(corners: FloatArray, *, rows: int, columns: int) -> PageMap:
    """Return the map of a card from the outer corners of its grid, shape (4, 2) [pixels: x, y].

    They are those of the first patch, of the last in the first row, of the last of all, and of the
    first in the last row.
    """
    width, height = columns * PITCH, rows * PITCH
    page = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    homography = np.asarray(cv2.findHomography(page, corners, 0)[0], dtype=np.float64)
    return PageMap(homography, width, height)


def find_card(
    pixels: Pixels, *, rows: int, columns: int, chart: FoundChart | None = None
) -> PageMap | None:
    """Find a grid of so many rows and columns, the right way up; None where it isn't plain.

    Patches must stand apart; enough must differ from the paper that the whole grid is spanned. A
    reference chart beside the card is such a grid, too, so where it lies no card is looked for.
    """
    blank = [] if chart is None else [chart.outline]
    homography = lattice_map(pixels, rows=rows, columns=columns, blank=blank)
    if homography is None:
        return None
    from_page = np.array([[1 / PITCH, 0, -0.5], [0, 1 / PITCH, -0.5], [0, 0, 1.0]])
    return PageMap(homography @ from_page, columns * PITCH, rows * PITCH)


def read_card_cells(
    pixels: Pixels, page_map: PageMap, cells: Sequence[PageCell], decode: Decode
) -> PageReading:
    """Read a card's places that have a name, one of them bare at least; those tell the light."""
    flat = flatten(pixels, page_map)
    bare = [cell.box for cell in cells if cell.bare and flat.contains(cell.box)]
    points = np.array([box.center for box in bare])
    signal = np.array([bare_signal(flat, box, decode) for box in bare])
    reading = read_by_samples(flat, cells, points, signal, decode)
    return replace(reading, warnings=(FEW_BARE,)) if len(bare) < ENOUGH_BARE else reading
