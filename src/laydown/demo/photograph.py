"""A simulated camera, and a student without an instrument who colors a sheet in before it.

It knows nothing of how pictures are read. Surfaces are spectra, lights are spectra, the camera is
three sensitivities; the page is a bent surface on a table, under uneven light, seen at an angle and
projected through a lens.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.light import light
from laydown.color.screen import signal_of_light
from laydown.color.spectra import WAVELENGTHS
from laydown.demo.files import CLASS_PAPER
from laydown.demo.oracle import Steadiness, by_hand, truth
from laydown.demo.truth import demo_bench
from laydown.media.recipe import Recipe
from laydown.opencv import cv2
from laydown.reference.tables import load_table, numbers_of
from laydown.sheet.page import CellBox
from laydown.sheet.sheet import Cell, Sheet

TABLE = 70.0
"""Width of the table shown round the page [mm]."""
GRID = 16
"""The view is computed for every so many pixels and drawn out between them."""
ENOUGH = 1e-6
"""When the next step, smaller by far, would show in no pixel [mm]."""
BAND = 2 * GRID
"""A picture is made so many rows at a time: all of it at once would not stay near the processor."""
CODES = np.round(255 * signal_of_light(np.linspace(0, 1, 4096))).astype(np.uint8)
"""What a linear signal is encoded as, by its twelve bits."""


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """What lies on the table."""

    materials: NDArray[np.uint16]
    """Shape (h, w), which surface is seen at each point of page and table."""
    spectra: FloatArray
    """Shape (surfaces, 36), their reflectance."""
    print: NDArray[np.float32]
    """Shape (h, w), what the print leaves of the light, 0 to 1."""
    grain: NDArray[np.float32]
    """Shape (h, w), how texture and streaks change the light, about 1."""
    resolution: float
    """Pixels per mm of these arrays."""
    width: float
    height: float
    """Of the page [mm]; its upper left corner is `TABLE` in from that of the arrays."""


@dataclass(frozen=True, slots=True)
class View:
    """How the page is held and seen."""

    megapixels: float = 12.0
    """Of the picture, 4 : 3."""
    tilt: float = 0.0
    toward: float = 0.0
    """Angle between the camera's axis and the page's normal, and the direction of the tilt
    [deg]."""
    turn: float = 0.0
    """In the picture's plane [deg]."""
    curl: float = 0.0
    along: float = 0.0
    """How high the page's middle stands over its edges [mm], and the curl's direction [deg]."""
    lens: float = 0.0
    """Radial distortion: r becomes r (1 + lens r²), r = 1 at the picture's long edge."""
    fill: float = 0.85
    """Share of the picture's shorter or longer side, whichever binds, that the page fills."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the picture [pixels]."""
        height = round((self.megapixels * 1e6 * 3 / 4) ** 0.5)
        return round(height * 4 / 3), height


@dataclass(frozen=True, slots=True, eq=False)
class Lamp:
    """A light and where it stands."""

    spectrum: FloatArray
    """Shape (36,)."""
    x: float
    y: float
    height: float
    """Over the page's plane, from its middle [mm]."""
    strength: float = 1.0
    """Against other lamps."""


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """What makes signals of light."""

    sensitivities: FloatArray
    """Shape (36, 3)."""
    noise: float = 0.004
    """Standard deviation at full signal, relative; it falls with the root of the signal."""
    quality: int = 90
    """Of the JPEG, 0 to 100; 0 for none."""
    exposure: float = 0.85
    """Signal of the brightest bare paper."""
    development: FloatArray = field(default_factory=lambda: np.eye(3))
    """Shape (3, 3): what the camera makes of its balanced signals before it encodes them; white
    stays white."""


def build_scene(
    printed: NDArray[np.uint8],
    patches: Sequence[tuple[CellBox, FloatArray]],
    *,
    paper: FloatArray,
    table: FloatArray,
    resolution: float,
    rng: np.random.Generator,
    texture: float = 0.01,
) -> Scene:
    """Lay a printed and colored-in page on a table.

    `printed`, shape (h, w), is the print in gray, 255 where nothing is printed, in so many pixels
    per mm. Patches are boxes on the page, or beside it on the table [mm], with their reflectance;
    that, of paper and table too, is of shape (36,). `texture` is the standard deviation of the
    grain of paper and strokes.
    """
    edge = round(TABLE * resolution)
    materials = np.zeros((printed.shape[0] + 2 * edge, printed.shape[1] + 2 * edge), np.uint16)
    inside = (slice(edge, -edge), slice(edge, -edge))
    materials[inside] = 1
    for surface, (box, _) in enumerate(patches, start=2):
        sides = np.array([box.top, box.bottom, box.left, box.right]) + TABLE
        top, bottom, left, right = np.clip(np.round(sides * resolution).astype(int), 0, None)
        materials[top:bottom, left:right] = surface
    ink = np.ones(materials.shape, np.float32)
    ink[inside] = (printed.astype(np.float32) / 255) ** 2.2
    height, width = (side / resolution for side in printed.shape)
    spectra = np.stack([table, paper, *(spectrum for _, spectrum in patches)])
    grain = _grain(materials, rng, texture)
    return Scene(materials, spectra, ink, grain, resolution, width, height)


def _grain(
    materials: NDArray[np.uint16], rng: np.random.Generator, texture: float
) -> NDArray[np.float32]:
    """Grain of two widths on the sheet, coarse on the table."""
    shape = materials.shape
    grain = np.ones(shape, np.float32)
    for coarse in (2, 8):
        small = rng.normal(0.0, texture, (shape[0] // coarse + 1, shape[1] // coarse + 1))
        grain += cv2.resize(small.astype(np.float32), shape[::-1], interpolation=cv2.INTER_LINEAR)
    rough = np.ones(int(materials.max()) + 1, np.float32)
    rough[:2] = (6.0, 0.5)
    grain -= 1.0
    grain *= rough[materials]
    grain += 1.0
    return np.clip(grain, 0.05, 3.0, out=grain)


def photograph(
    scene: Scene, view: View, lamps: Sequence[Lamp], camera: Camera, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Take a picture, shape (h, w, 3), encoded by the curve of IEC 61966-2-1, by any lamps."""
    lit, where = _lit(scene, lamps, camera), _where(scene, view)
    lit = _as_fine(lit, where, scene)
    width, height = view.size
    coded = np.empty((height, width, 3), np.uint8)
    developed = not np.array_equal(camera.development, np.eye(3))
    for band in (slice(row, row + BAND) for row in range(0, height, BAND)):
        signal = _seen(lit, where, scene, range(height)[band], width)
        if camera.noise:
            noise = rng.standard_normal(signal.shape, dtype=np.float32)
            signal += camera.noise * np.sqrt(np.maximum(signal, 0) + 1e-3) * noise
        if developed:
            signal = signal @ camera.development.astype(np.float32)
        coded[band] = _encoded(signal)
    return _packed(coded, camera.quality) if camera.quality else coded


def as_seen(picture: NDArray[Any], scene: Scene, view: View) -> NDArray[Any]:
    """Return a picture of page and table, shape (h, w, 3), as the camera sees it.

    It has the scene's resolution, and the page's corner `TABLE` in from its own.
    """
    where = _where(scene, view)
    width, height = view.size
    return _seen(_as_fine(picture, where, scene), where, scene, range(height), width)


def _as_fine(picture: NDArray[Any], where: FloatArray, scene: Scene) -> NDArray[Any]:
    """Blur what is finer than the camera's pixels."""
    # how far apart neighboring pixels in the middle of the picture see the page
    row, column = where.shape[0] // 2, where.shape[1] // 2
    step = float(np.hypot(*(where[row, column + 1] - where[row, column]))) / GRID
    finest = step * scene.resolution
    if finest <= 1.0:
        return picture
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 0.45 * finest))


def _seen(
    picture: NDArray[Any], where: FloatArray, scene: Scene, rows: range, width: int
) -> NDArray[Any]:
    """Return some rows of what the camera sees."""
    coarse = ((where + TABLE) * scene.resolution - 0.5).astype(np.float32)
    x, y = np.meshgrid(*(np.array(n, np.float32) / GRID for n in (range(width), rows)))
    fine = cv2.remap(coarse, x, y, cv2.INTER_LINEAR)
    seen = cv2.remap(picture, fine, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen)


def _lit(scene: Scene, lamps: Sequence[Lamp], camera: Camera) -> NDArray[np.float32]:
    """Return the linear signal of page and table as seen from straight above.

    Channel by channel: an array's arithmetic is slow over a last axis of three.
    """
    mixed = np.sum([lamp.strength * lamp.spectrum / lamp.spectrum.mean() for lamp in lamps], axis=0)
    balance = (scene.spectra[1] * mixed) @ camera.sensitivities
    balance = (balance.max() / balance).astype(np.float32)
    signals = [
        ((scene.spectra * a.spectrum) @ camera.sensitivities).astype(np.float32) for a in lamps
    ]

    def lights(materials: NDArray[np.uint16], y: Any, x: Any) -> Iterator[NDArray[np.float32]]:
        falls = [_falloff(scene, lamp, y, x) for lamp in lamps]
        for channel in range(3):
            light = np.zeros(materials.shape, np.float32)
            for fall, signal in zip(falls, signals, strict=True):
                light += fall * signal[:, channel][materials]
            yield light * balance[channel]

    rows, columns = scene.materials.shape
    y, x = np.unravel_index(np.flatnonzero(scene.materials == 1)[::97], (rows, columns))
    bare = np.max([*lights(scene.materials[y, x], y, x)], axis=0)
    exposed = np.float32(camera.exposure / float(np.percentile(bare, 99.5)))
    lit = np.empty((rows, columns, 3), np.float32)
    across = np.arange(columns)[None]
    for first in range(0, rows, BAND):
        band = slice(first, first + BAND)
        down = np.arange(rows)[band, None]
        left = scene.print[band] * scene.grain[band] * exposed
        for channel, seen in enumerate(lights(scene.materials[band], down, across)):
            np.multiply(seen, left, out=lit[band, :, channel])
    return lit


def _falloff(scene: Scene, lamp: Lamp, row: Any, column: Any) -> NDArray[np.float32]:
    """Return the light of a small lamp on the page's plane: cosine over squared distance."""
    x = column.astype(np.float32) / scene.resolution - TABLE - scene.width / 2 - lamp.x
    y = row.astype(np.float32) / scene.resolution - TABLE - scene.height / 2 - lamp.y
    squared = x**2 + y**2 + lamp.height**2
    strength = lamp.strength * lamp.height**2 / float(lamp.spectrum.mean())
    return np.asarray(strength * lamp.height / squared**1.5, dtype=np.float32)


def _where(scene: Scene, view: View) -> FloatArray:
    """Return which point of the page [mm] each pixel of a coarse grid sees, by Newton's method."""
    width, height = view.size
    grid = np.stack(
        np.meshgrid(np.arange(0, width + GRID, GRID), np.arange(0, height + GRID, GRID)), axis=-1
    ).astype(np.float64)
    page = np.array([scene.width, scene.height])
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * page
    start = np.asarray(cv2.findHomography(seen_at(corners, scene, view), corners, 0)[0])
    points = cv2.perspectiveTransform(grid.reshape(1, -1, 2), start)[0]
    flat = points
    for _ in range(6):
        points = np.clip(points, -page, 2 * page)
        off = seen_at(points, scene, view) - grid.reshape(-1, 2)
        step = _solve(points, off, scene, view)
        points = points - step
        if np.abs(step).max() < ENOUGH:
            break
    strayed = np.abs(points - flat).max(axis=-1, keepdims=True) > 60.0
    return np.asarray(np.where(strayed, flat, points)).reshape(grid.shape)


def _solve(points: FloatArray, off: FloatArray, scene: Scene, view: View) -> FloatArray:
    steps = [
        seen_at(points + step, scene, view) - seen_at(points - step, scene, view)
        for step in np.diag([0.5, 0.5])
    ]
    slopes = np.stack(steps, axis=-1)
    return np.asarray(np.linalg.solve(slopes, off[..., None])[..., 0])


def seen_at(points: FloatArray, scene: Scene, view: View) -> FloatArray:
    """Return the pixels (x, y) at which points of the page [mm], shape (n, 2), are seen."""
    page = np.array([scene.width, scene.height])
    frame = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0.5, 0], [1, 0.5], [0.5, 1], [0, 0.5]])
    edge = _projected(frame * page, page, view)
    size = np.array(view.size)
    low, high = edge.min(axis=0), edge.max(axis=0)
    scale = view.fill * (size / (high - low)).min()
    return np.asarray((_projected(points, page, view) - (low + high) / 2) * scale + size / 2)


def _projected(points: FloatArray, page: FloatArray, view: View) -> FloatArray:
    """Bend, turn and tilt the page, and project it through the lens."""
    flat = points - page / 2
    along = np.radians(view.along)
    across = (flat @ np.array([np.cos(along), np.sin(along)])) / (np.hypot(*page) / 2)
    rise = view.curl * (1.0 - np.clip(np.abs(across), 0.0, 1.5) ** 2.2)
    turned = flat @ _turn(view.turn)
    spun = turned @ _turn(view.toward)
    tilt = np.radians(view.tilt)
    depth = 1.3 * np.hypot(*page) + spun[:, 0] * np.sin(tilt) - rise * np.cos(tilt)
    x = spun[:, 0] * np.cos(tilt) + rise * np.sin(tilt)
    seen = np.stack([x, spun[:, 1]], axis=-1) @ _turn(-view.toward) / depth[:, None]
    radius = (seen**2).sum(axis=-1, keepdims=True) / 0.35**2
    return np.asarray(seen * (1.0 + view.lens * radius))


def _turn(degrees: float) -> FloatArray:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, s], [-s, c]])


def _encoded(signal: NDArray[np.float32]) -> NDArray[np.uint8]:
    index = np.clip(signal * 4095 + 0.5, 0, 4095).astype(np.uint16)
    return np.asarray(CODES[index])


def _packed(coded: NDArray[np.uint8], quality: int) -> NDArray[np.uint8]:
    """Return what is left of a picture after it was kept as JPEG."""
    turned = cv2.cvtColor(coded, cv2.COLOR_RGB2BGR)
    _, packed = cv2.imencode(".jpg", turned, [cv2.IMWRITE_JPEG_QUALITY, quality])
    unpacked = cv2.imdecode(packed, cv2.IMREAD_COLOR)
    return np.asarray(cv2.cvtColor(unpacked, cv2.COLOR_BGR2RGB), dtype=np.uint8)


SEED = 20260504
RESOLUTION = 6.0
"""Of the scene [pixels per mm]."""
TABLE_GRAY, HOLDER_GRAY = 0.2, 0.035
SIDE, GAP = 14.0, 1.5
"""A patch of the reference chart, and the black between two [mm]."""
PEAKS = ((600.0, 34.0), (537.0, 38.0), (460.0, 26.0))
"""Middle and width of the simulated sensitivities [nm]: invented, and not the eye's."""
DAYLIGHT = slice(4, 75, 2)
"""The places of the 36 bands among those at which a light is given."""


def colored_and_photographed(sheet: Sheet, printed: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return a photograph of a sheet's first page, printed, and colored in by a simulated student.

    Both of shape (h, w, 3). By a window, slanting and a little curled, with a 24-patch reference
    chart beside the page.
    """
    rng = np.random.default_rng(SEED)
    colored = [cell for cell in sheet.on_page(0) if not cell.bare]
    bench = demo_bench(CLASS_PAPER)
    patches = [(sheet.box(c), by_hand(bench, c.recipe, Steadiness(), rng)) for c in colored]
    size = (round(sheet.size.width * RESOLUTION), round(sheet.size.height * RESOLUTION))
    gray = cv2.cvtColor(printed, cv2.COLOR_RGB2GRAY)
    scene = build_scene(
        np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_AREA), dtype=np.uint8),
        [*patches, *_chart(sheet)],
        paper=truth(bench, Recipe()),
        table=np.full(36, TABLE_GRAY),
        resolution=RESOLUTION,
        rng=rng,
    )
    view = View(megapixels=8, tilt=14, toward=70, turn=4, curl=4, along=30, lens=-0.03, fill=0.88)
    window = [Lamp(light("D65")[DAYLIGHT], -160, -120, 420)]
    seen = [np.exp(-0.5 * ((WAVELENGTHS - peak) / width) ** 2) for peak, width in PEAKS]
    camera = Camera(np.stack(seen, axis=-1), noise=0.006, quality=90)
    return photograph(scene, view, window, camera, rng)


def true_spectra(cells: Sequence[Cell]) -> FloatArray:
    """Return what an even hand would have laid in these cells, shape (n, 36)."""
    bench = demo_bench(CLASS_PAPER)
    return np.array([truth(bench, cell.recipe) for cell in cells])


def _chart(sheet: Sheet) -> list[tuple[CellBox, FloatArray]]:
    """Return a reference chart in its black holder, to the left of the page."""
    bands = [f"r{band:.0f}" for band in WAVELENGTHS]
    spectra = numbers_of(load_table("chart_24"), *bands)
    pitch = SIDE + GAP
    left, top = -4 * pitch - 3.0, sheet.size.height / 2 - 3 * pitch
    holder = CellBox(left - 2, top - 2, 4 * pitch + 2.5, 6 * pitch + 2.5)
    boxes = [
        CellBox(left + row * pitch, top + (5 - column) * pitch, SIDE, SIDE)
        for row in range(4)
        for column in range(6)
    ]
    return [(holder, np.full(36, HOLDER_GRAY)), *zip(boxes, spectra, strict=True)]
