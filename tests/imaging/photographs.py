"""Photographs of sheets made for tests: any view, light and camera, with the truth beside them."""

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, WHITE_D50, ciede2000, lab_from_xyz
from laydown.color.light import light
from laydown.demo.files import read_rows
from laydown.demo.photograph import (
    TABLE as PAPER_EDGE,
)
from laydown.demo.photograph import (
    Camera,
    Lamp,
    Scene,
    View,
    as_seen,
    build_scene,
    photograph,
    seen_at,
)
from laydown.imaging.chart import chart_xyz, least_squares
from laydown.imaging.conversion import (
    chart_beside,
    chart_converter,
    convert_cells,
    known_converter,
    paper_converter,
    profile_converter,
)
from laydown.imaging.development import Converter
from laydown.imaging.markers import find_page
from laydown.imaging.profiles import Profile, usual_profile
from laydown.imaging.reading import PageCell, PageReading, edge_blur, read_page
from laydown.imaging.rectify import map_page, refine_map
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.reference.tables import load_table, numbers_of
from laydown.sheet.markers import (
    GRAYS,
    OUTLINE,
    marker_bits,
    marker_boxes,
    page_markers,
    page_number,
    target_grays,
    target_ids,
    target_marks,
)
from laydown.sheet.page import CellBox, PageSize
from laydown.sheet.reading import CellReading
from laydown.sheet.sheet import Sheet, SheetKind, arrange

BANDS = [f"r{band}" for band in range(380, 740, 10)]
TABLE = np.linspace(0.12, 0.3, 36)
WIDE = np.array([[0.6097, 0.3111, 0.0195], [0.2053, 0.6257, 0.0609], [0.1492, 0.0632, 0.7446]])
"""An RGB wide enough for dyes: rows are the XYZ of its primaries, white near D50 (chosen)."""


@cache
def invented_spectra() -> FloatArray:
    """Return the reflectances of the demo's swatches, shape (n, 36): invented, but like dyes."""
    rows = read_rows("estuary_on_gannet_smooth.csv")
    return np.array([[float(row[band]) for band in BANDS] for row in rows[1:]])


@cache
def paper_spectrum() -> FloatArray:
    """Return the reflectance of the demo's paper."""
    row = read_rows("estuary_on_gannet_smooth.csv")[0]
    return np.array([float(row[band]) for band in BANDS])


@cache
def chart_spectra() -> FloatArray:
    """Return the reference chart's reflectances, shape (24, 36)."""
    return numbers_of(load_table("chart_24"), *BANDS)


def draw_print(
    boxes: Mapping[str, Sequence[CellBox]],
    markers: Sequence[tuple[CellBox, NDArray[np.bool_]]],
    *,
    size: tuple[float, float],
    resolution: float,
) -> NDArray[np.uint8]:
    """Draw a sheet's print without its words: markers, and borders of cells, in gray.

    Parameters
    ----------
    boxes
        Under any name, boxes whose border is printed [mm].
    markers
        Boxes of markers and their modules, True where black.
    size
        Width and height of the page [mm].
    resolution
        Pixels per mm.
    """
    width, height = (round(side * resolution) for side in size)
    page = np.full((height, width), 255, np.uint8)
    for listed in boxes.values():
        for box in listed:
            outer, inside = box.inset(-0.25), box
            cv2.rectangle(
                page, _pixel(outer, resolution), _pixel(outer, resolution, far=True), 150, -1
            )
            cv2.rectangle(
                page, _pixel(inside, resolution), _pixel(inside, resolution, far=True), 255, -1
            )
    for box, modules in markers:
        top, left, side = (round(v * resolution) for v in (box.top, box.left, box.width))
        drawn = cv2.resize(
            (~modules).astype(np.uint8) * 235 + 20, (side, side), interpolation=cv2.INTER_NEAREST
        )
        page[top : top + side, left : left + side] = drawn
    return page


def _pixel(box: CellBox, resolution: float, *, far: bool = False) -> tuple[int, int]:
    x, y = (box.right, box.bottom) if far else (box.left, box.top)
    return round(x * resolution) - far, round(y * resolution) - far


def sheet_of(
    count: int, *, number: int = 12, size: PageSize = PageSize.A4, framed: bool = False
) -> Sheet:
    """Return a sheet with so many cells in all, bare ones included, of one-coat recipes."""
    for colored in range(count, 0, -1):
        recipes = [Recipe((Step(Colorant(f"Color {i}", "Test")),)) for i in range(colored)]
        sheet = arrange(
            recipes,
            number=number,
            title="Test",
            kind=SheetKind.LIST,
            paper="Test",
            size=size,
            framed=framed,
        )
        if len(sheet.cells) <= count and len(sheet.grids) == 1:
            return sheet
    raise ValueError(count)


def colors_of(sheet: Sheet, spectra: FloatArray) -> dict[int, FloatArray]:
    """Return a reflectance for each cell that is to be colored in, taken in turn from a list."""
    colored = [cell.number for cell in sheet.cells if not cell.bare]
    return {number: spectra[i % len(spectra)] for i, number in enumerate(colored)}


@dataclass(frozen=True, eq=False)
class Taken:
    """A photograph and what it shows."""

    pixels: NDArray[np.uint8]
    scene: Scene
    view: View
    xyz: dict[int, FloatArray]


def chart_boxes(size: PageSize, *, side: float = 14.0, gap: float = 4.0) -> list[CellBox]:
    """Return where a 24-patch chart lies beside the page, on its left, turned on its side."""
    pitch = side + 1.5
    return [
        CellBox(
            -gap - 4 * pitch + (row * pitch),
            size.height / 2 - 3 * pitch + (5 - column) * pitch,
            side,
            side,
        )
        for row in range(4)
        for column in range(6)
    ]


def take(
    sheet: Sheet,
    *,
    view: View,
    lamps: Sequence[Lamp],
    camera: Camera,
    seed: int,
    page: int = 0,
    colors: dict[int, FloatArray] | None = None,
    chart: bool = False,
    resolution: float = 7.0,
    texture: float = 0.01,
    extra: Sequence[tuple[CellBox, FloatArray]] = (),
    paper: FloatArray | None = None,
) -> Taken:
    """Color a sheet in and photograph one of its pages."""
    rng = np.random.default_rng(seed)
    colors = colors if colors is not None else colors_of(sheet, invented_spectra())
    paper = paper_spectrum() if paper is None else paper
    cells = sheet.on_page(page)
    markers = page_markers(sheet.size, number=page_number(sheet.number, page))
    printed = draw_print(
        {"cells": [sheet.box(cell) for cell in cells]},
        [(box, marker_bits(marker)) for marker, box in markers],
        size=(sheet.size.width, sheet.size.height),
        resolution=resolution,
    )
    patches = [(sheet.box(c), colors[c.number]) for c in cells if c.number in colors]
    if chart:
        boxes = chart_boxes(sheet.size)
        holder = CellBox(
            min(b.left for b in boxes) - 3,
            min(b.top for b in boxes) - 3,
            max(b.right for b in boxes) - min(b.left for b in boxes) + 6,
            max(b.bottom for b in boxes) - min(b.top for b in boxes) + 6,
        )
        patches += [(holder, np.full(36, 0.035)), *zip(boxes, chart_spectra(), strict=True)]
    scene = build_scene(
        printed,
        [*patches, *extra],
        paper=paper,
        table=TABLE,
        resolution=resolution,
        rng=rng,
        texture=texture,
    )
    pixels = photograph(scene, view, lamps, camera, rng)
    xyz = {c.number: colors.get(c.number, paper) @ WEIGHTS_D50 for c in cells}
    return Taken(pixels, scene, view, xyz)


def take_plain(
    sheet: Sheet,
    *,
    view: View,
    seed: int,
    colors: dict[int, FloatArray] | None = None,
    extra: Sequence[tuple[CellBox, FloatArray]] = (),
    texture: float = 0.01,
    noise: float = 0.004,
    exposure: float = 0.8,
) -> Taken:
    """Photograph a sheet by one even light with the colorimetric camera, quickly."""
    return take(
        sheet,
        view=view,
        lamps=[Lamp(spectrum("D50"), 0, 0, 1500)],
        camera=Camera(colorimetric(), noise=noise, quality=92, exposure=exposure),
        seed=seed,
        colors=colors,
        extra=extra,
        texture=texture,
        resolution=5.0,
    )


def take_geometry(sheet: Sheet, *, view: View, seed: int, resolution: float = 4.0) -> Taken:
    """Photograph a sheet's first page in random flat colors: no light, no noise, only geometry."""
    rng = np.random.default_rng(seed)
    cells = sheet.on_page(0)
    markers = page_markers(sheet.size, number=page_number(sheet.number, 0))
    printed = draw_print(
        {"cells": [sheet.box(cell) for cell in cells]},
        [(box, marker_bits(marker)) for marker, box in markers],
        size=(sheet.size.width, sheet.size.height),
        resolution=resolution,
    )
    edge = round(PAPER_EDGE * resolution)
    flat = np.full((printed.shape[0] + 2 * edge, printed.shape[1] + 2 * edge, 3), 120, np.uint8)
    flat[edge:-edge, edge:-edge] = np.minimum(printed, 240)[..., None]
    for cell in cells:
        if not cell.bare:
            box = sheet.box(cell)
            sides = np.array([box.top, box.bottom, box.left, box.right]) + PAPER_EDGE
            top, bottom, left, right = np.round(sides * resolution).astype(int)
            flat[top:bottom, left:right] = rng.integers(20, 240, 3)
    none = np.zeros((1, 1), np.float32)
    scene = Scene(
        none.astype(np.uint16),
        np.zeros((1, 36)),
        none,
        none,
        resolution,
        sheet.size.width,
        sheet.size.height,
    )
    return Taken(as_seen(flat, scene, view), scene, view, {})


def found_cells(taken: Taken, sheet: Sheet) -> tuple[int | None, FloatArray]:
    """Return the page's number as found, and how far each cell is misplaced [mm]."""
    found = find_page(taken.pixels)
    if found.number is None:
        return None, np.zeros(0)
    boxes = dict(enumerate(marker_boxes(sheet.size)))
    page_map = map_page(found.corners, boxes, width=sheet.size.width, height=sheet.size.height)
    own = [sheet.box(cell) for cell in sheet.on_page(0)]
    refined = refine_map(taken.pixels, page_map, own)
    middles = np.array([box.center for box in own])
    moved = refined(middles) - seen_at(middles, taken.scene, taken.view)
    return found.number, np.hypot(*moved.T) / refined.scale(middles)


def with_pixels(taken: Taken, pixels: NDArray[np.uint8]) -> Taken:
    """Return the same with another picture."""
    return replace(taken, pixels=pixels)


def wide_matrix() -> FloatArray:
    """Return the wide RGB's matrix, white at D50 exactly: signal @ matrix is XYZ / 100."""
    return np.linalg.solve(WIDE.T, WHITE_D50 / 100)[:, None] * WIDE


def colorimetric() -> FloatArray:
    """Return sensitivities, shape (36, 3), whose signal under D50 is XYZ in the wide RGB."""
    observer = WEIGHTS_D50 / spectrum("D50")[:, None]
    return observer @ np.linalg.inv(wide_matrix())


def development(sensitivities: FloatArray, lamp: str) -> FloatArray:
    """Return what a camera's maker might do: balanced signals to the wide RGB, white kept white."""
    surfaces = np.concatenate([chart_spectra(), invented_spectra()])
    raw = (surfaces * spectrum(lamp)) @ sensitivities
    raw /= (paper_spectrum() * spectrum(lamp)) @ sensitivities
    wanted = surfaces @ WEIGHTS_D50 / 100 @ np.linalg.inv(wide_matrix())
    wanted /= paper_spectrum() @ WEIGHTS_D50 / 100 @ np.linalg.inv(wide_matrix())
    weight = np.where(np.arange(len(raw) + 1) < len(raw), 1.0, 1e3)[:, None]
    raw, wanted = np.vstack([raw, np.ones(3)]), np.vstack([wanted, np.ones(3)])
    return np.linalg.lstsq(raw * weight, wanted * weight, rcond=None)[0]


@cache
def measured_cameras() -> list[FloatArray]:
    """Return the sensitivities of two measured cameras, shape (36, 3) each."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour  # noqa: PLC0415 - slow to import, and warns of what it lacks

    cameras = colour.MSDS_CAMERA_SENSITIVITIES.values()
    return [np.array([camera[band] for band in range(380, 740, 10)]) for camera in cameras]


def spectrum(name: str) -> FloatArray:
    """Return a standard light at our bands."""
    return light(name)[4:75:2]


DAYLIGHTS = ("D50", "D65")
LAMPS = ("A", "LED-B3", "LED-B5", "FL11")


def random_view(rng: np.random.Generator, *, most: float = 48.0) -> View:
    """Draw a view within the ranges that are held to: any turn, tilt to 35°, curl, lens."""
    return View(
        megapixels=float(np.exp(rng.uniform(np.log(3), np.log(most)))),
        tilt=float(rng.uniform(0, 35)),
        toward=float(rng.uniform(0, 360)),
        turn=float(rng.uniform(0, 360)),
        curl=float(rng.uniform(-10, 10)),
        along=float(rng.uniform(0, 180)),
        lens=float(rng.uniform(-0.08, 0.08)),
        fill=float(rng.uniform(0.6, 0.97)),
    )


def random_lamps(
    rng: np.random.Generator, scene_size: tuple[float, float], *, main: str, second: str
) -> list[Lamp]:
    """Draw a main light that falls off to no less than 40 %, and a second one of another color."""
    wanted = rng.uniform(0.42, 0.95)
    angle, share = rng.uniform(0, 2 * np.pi), rng.uniform(0.0, 0.3)
    side = np.array([np.cos(angle), np.sin(angle)])
    second_lamp = Lamp(spectrum(second), *(-300 * side), height=500.0, strength=share)
    for height in np.geomspace(150, 5000, 40):
        first = Lamp(spectrum(main), *(0.5 * min(height, 400) * side), height=float(height))
        if evenness([first, second_lamp], scene_size) > wanted:
            break
    return [first, second_lamp]


def evenness(lamps: Sequence[Lamp], size: tuple[float, float]) -> float:
    """Return the darkest over the brightest light on a page."""
    x, y = (np.linspace(-side / 2, side / 2, 25) for side in size)
    total = sum(
        lamp.strength
        * lamp.height**3
        / ((x - lamp.x)[None] ** 2 + (y - lamp.y)[:, None] ** 2 + lamp.height**2) ** 1.5
        for lamp in lamps
    )
    return float(np.min(total) / np.max(total))


def random_camera(
    rng: np.random.Generator, sensitivities: FloatArray, *, lamp: str | None = None
) -> Camera:
    """Draw noise, JPEG quality 70 to 95 and exposure; with a lamp, develop as a maker might."""
    return Camera(
        sensitivities,
        noise=float(rng.uniform(0.002, 0.012)),
        quality=int(rng.integers(70, 96)),
        exposure=float(rng.uniform(0.55, 0.9)),
        development=np.eye(3) if lamp is None else development(sensitivities, lamp),
    )


@dataclass(frozen=True, eq=False)
class Outcome:
    """What the reader made of a photograph, beside the truth.

    Parameters
    ----------
    number
        The page's number as found.
    off
        CIEDE2000 by cell number.
    shift
        How far each cell's middle was misplaced [mm], by cell number.
    readings
        The cells.
    converter
        How colors were made.
    reading
        The page.
    """

    number: int | None
    off: dict[int, float]
    shift: dict[int, float]
    readings: dict[int, CellReading]
    converter: Converter
    reading: PageReading


def wide_profile(*, measured: bool = True) -> Profile:
    """Return the profile of the wide RGB with the curve that the simulated camera encodes by."""
    return Profile("wide", usual_profile().curves, 100 * wide_matrix(), measured)


def page_cells(sheet: Sheet, page: int = 0) -> list[PageCell]:
    """Return the cells as the reader needs them."""
    return [PageCell(cell.number, sheet.box(cell), cell.bare) for cell in sheet.on_page(page)]


def read(
    taken: Taken,
    sheet: Sheet,
    *,
    profile: Profile | None = None,
    by: str = "profile",
    anchored: bool = True,
    page: int = 0,
) -> Outcome | None:
    """Read a photograph as the app does; None where no page is found in it."""
    profile = profile or wide_profile()
    found = find_page(taken.pixels)
    if found.number is None:
        return None
    boxes = dict(enumerate(marker_boxes(sheet.size)))
    page_map = map_page(found.corners, boxes, width=sheet.size.width, height=sheet.size.height)
    cells = page_cells(sheet, page)
    blur = edge_blur(taken.pixels, found)
    reading = read_page(
        taken.pixels, page_map, cells, profile.linear, blur=blur, framed=sheet.framed
    )
    paper = paper_spectrum() @ WEIGHTS_D50
    converter = convert(taken, reading, cells, profile, by=by, paper=paper if anchored else None)
    readings = convert_cells(reading, cells, converter)
    true = np.array([taken.xyz[r.number] for r in readings])
    off = ciede2000(lab_from_xyz(np.array([r.xyz for r in readings])), lab_from_xyz(true))
    middles = np.array([cell.box.center for cell in cells])
    moved = reading.flat.page_map(middles) - seen_at(middles, taken.scene, taken.view)
    shift = np.hypot(*moved.T) / reading.resolution
    numbers = [r.number for r in readings]
    return Outcome(
        found.number,
        dict(zip(numbers, off.tolist(), strict=True)),
        dict(zip(numbers, shift.tolist(), strict=True)),
        {r.number: r for r in readings},
        converter,
        reading,
    )


def read_cells(
    pixels: NDArray[np.uint8], sheet: Sheet, profile: Profile
) -> tuple[CellReading, ...]:
    """Read a sheet's first page by a profile, all that is needed and nothing else."""
    found = find_page(pixels)
    boxes = dict(enumerate(marker_boxes(sheet.size)))
    page_map = map_page(found.corners, boxes, width=sheet.size.width, height=sheet.size.height)
    cells = page_cells(sheet)
    blur = edge_blur(pixels, found)
    reading = read_page(pixels, page_map, cells, profile.linear, blur=blur)
    return convert_cells(reading, cells, profile_converter(profile, reading, paper=None))


def convert(
    taken: Taken,
    reading: PageReading,
    cells: list[PageCell],
    profile: Profile,
    *,
    by: str,
    paper: FloatArray | None,
) -> Converter:
    """Return the converter that is asked for."""
    known_paper = paper_spectrum() @ WEIGHTS_D50
    if by == "profile":
        return profile_converter(profile, reading, paper=paper)
    if by == "paper":
        return paper_converter(profile, reading.paper, paper=known_paper, measured=True)
    if by == "known":
        known = {n: (xyz, 0.5, True) for n, xyz in taken.xyz.items() if n % 2}
        return known_converter(reading, known, profile, paper=known_paper, measured=True)
    boxes = [cell.box for cell in cells]
    chart = chart_beside(taken.pixels, profile, reading.flat.page_map, boxes)
    if chart is None:
        raise LookupError("no chart was found")
    converter = chart_converter(
        chart, profile, reading, paper=known_paper, measured=paper is not None
    )
    return converter if paper is None else converter.on_paper(paper)


def floor(sensitivities: FloatArray, lamp: str, surfaces: FloatArray) -> FloatArray:
    """Return the CIEDE2000 that a matrix fitted on the chart leaves without any noise."""
    white = (paper_spectrum() * spectrum(lamp)) @ sensitivities

    def signal(spectra: FloatArray) -> FloatArray:
        return (spectra * spectrum(lamp)) @ sensitivities / white

    seen, wanted = signal(chart_spectra()), lab_from_xyz(chart_xyz())
    start = least_squares(seen, chart_xyz()).ravel()

    def errors(matrices: FloatArray) -> FloatArray:
        made = np.maximum(seen @ matrices.reshape(*matrices.shape[:-1], 3, 3), 0)
        return ciede2000(lab_from_xyz(made), wanted)

    def jacobian(matrix: FloatArray) -> FloatArray:
        wide = np.sqrt(np.finfo(float).eps) * np.maximum(np.abs(matrix), 1.0)
        moved = matrix + np.copysign(wide, matrix)
        return (errors(np.where(np.eye(9), moved, matrix)) - errors(matrix)).T / (moved - matrix)

    matrix = optimize.least_squares(errors, start, jac=jacobian).x.reshape(3, 3)
    made = lab_from_xyz(np.maximum(signal(surfaces) @ matrix, 0))
    return ciede2000(made, lab_from_xyz(surfaces @ WEIGHTS_D50))


@dataclass(frozen=True, eq=False)
class TakenBeside:
    """A photograph of a sketchbook page with a target on it, and what was colored beside that."""

    pixels: NDArray[np.uint8]
    boxes: tuple[CellBox, ...]
    xyz: tuple[FloatArray, ...]


AT = (14.0, 16.0)
"""Where the target lies on the page [mm]."""
BESIDE = (
    *(CellBox(95.0 + 24 * column, 20.0 + column, 16.0, 13.0) for column in range(4)),
    *(CellBox(20.0 + 31 * column, 92.0 - column, 19.0, 15.0) for column in range(5)),
    *(CellBox(24.0 + 40 * column, 150.0 + 2 * column, 17.0, 14.0) for column in range(4)),
)
"""Three rows of patches, none quite straight [mm of the page]."""


def take_target(
    number: int,
    *,
    view: View,
    camera: Camera,
    lamp: str = "D65",
    fold: float = 0.0,
    boxes: Sequence[CellBox] = BESIDE,
    seed: int = 1,
) -> TakenBeside:
    """Lay a target into a sketchbook, color patches beside it, and photograph the page.

    `fold` is the angle [deg] by which the page rises beyond a crease beside the target, as seen by
    a camera half a meter above its middle.
    """
    page, resolution, rng = (210.0, 200.0), 5.0, np.random.default_rng(seed)
    marks = [
        (replace(box, left=box.left + AT[0], top=box.top + AT[1]), marker_bits(marker))
        for marker, box in zip(target_ids(number), target_marks().values(), strict=True)
    ]
    printed = draw_print({}, marks, size=page, resolution=resolution)
    levels = ((np.array(GRAYS) / 255 + 0.055) / 1.055) ** 2.4
    card = [(OUTLINE, np.full(36, 0.86)), *zip(target_grays(), [
        np.full(36, 0.86 * (0.04 + 0.96 * level)) for level in levels], strict=True)]  # fmt: skip
    on_page = [(replace(b, left=b.left + AT[0], top=b.top + AT[1]), r) for b, r in card]
    colors = 0.95 * invented_spectra()[5:][: len(boxes)]
    scene = build_scene(
        printed,
        [*on_page, *zip(boxes, colors, strict=True)],
        paper=0.92 * paper_spectrum() * np.linspace(0.96, 1.0, 36),
        table=TABLE,
        resolution=resolution,
        rng=rng,
    )
    if fold:
        scene = replace(scene, materials=_folded(scene.materials, fold, resolution))
    pixels = photograph(scene, view, [Lamp(spectrum(lamp), -100, -100, 700)], camera, rng)
    moved = tuple(replace(b, left=b.left - AT[0], top=b.top - AT[1]) for b in boxes)
    return TakenBeside(pixels, moved, tuple(color @ WEIGHTS_D50 for color in colors))


CREASE, EYE = 82.0, 500.0
"""Where a page is creased, along its height, and how high the camera stands over it [mm]."""


def _folded(materials: NDArray[np.uint16], fold: float, resolution: float) -> NDArray[np.uint16]:
    """Show what lies beyond a crease as it is seen from above: risen, so nearer to the camera."""
    rows, columns = materials.shape
    x, y = np.meshgrid(*(np.arange(side) / resolution for side in (columns, rows)))
    middle = (columns / resolution / 2, rows / resolution / 2)
    start, rise, run = CREASE + PAPER_EDGE, np.sin(np.radians(fold)), np.cos(np.radians(fold))
    beyond = np.maximum(x - start, 0) / (run + (x - middle[0]) * rise / EYE)
    across = np.where(x > start, start + beyond, x)
    along = middle[1] + (y - middle[1]) * (1 - beyond * rise / EYE)
    where = np.stack([across, along], axis=-1).astype(np.float32) * resolution
    return np.asarray(cv2.remap(materials, where, None, cv2.INTER_NEAREST))
