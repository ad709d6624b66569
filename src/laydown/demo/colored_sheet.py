"""A student without an instrument: a printed sheet colored in on the bench and photographed."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.light import light
from laydown.color.spectra import WAVELENGTHS
from laydown.demo.files import CLASS_PAPER
from laydown.demo.oracle import Steadiness, by_hand, truth
from laydown.demo.photograph import Camera, Lamp, View, build_scene, photograph
from laydown.demo.truth import demo_bench
from laydown.media.recipe import Recipe
from laydown.opencv import cv2
from laydown.reference.tables import load_table
from laydown.sheet.page import CellBox
from laydown.sheet.sheet import Cell, Sheet

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
    """Return a photograph of a sheet's first page, colored in by the simulated student.

    Parameters
    ----------
    sheet
        The sheet.
    printed
        Its page as printed, shape (h, w, 3).

    Notes
    -----
    By a window, slanting and a little curled, with a 24-patch reference chart beside the page.
    """
    rng = np.random.default_rng(SEED)
    colored = [cell for cell in sheet.on_page(0) if not cell.bare]
    bench = demo_bench(CLASS_PAPER)
    patches = [(sheet.box(c), by_hand(bench, c.recipe, Steadiness(), rng)) for c in colored]
    scene = build_scene(
        _gray(printed, sheet),
        [*patches, *_chart(sheet)],
        paper=truth(bench, Recipe()),
        table=np.full(36, TABLE_GRAY),
        resolution=RESOLUTION,
        rng=rng,
    )
    view = View(megapixels=8, tilt=14, toward=70, turn=4, curl=4, along=30, lens=-0.03, fill=0.88)
    window = [Lamp(light("D65")[DAYLIGHT], -160, -120, 420)]
    camera = Camera(invented_sensitivities(), noise=0.006, quality=90)
    return photograph(scene, view, window, camera, rng)


def true_spectra(cells: Sequence[Cell]) -> FloatArray:
    """Return what an even hand would have laid in these cells, shape (n, 36)."""
    bench = demo_bench(CLASS_PAPER)
    return np.array([truth(bench, cell.recipe) for cell in cells])


def invented_sensitivities() -> FloatArray:
    """Return the simulated camera's sensitivities, shape (36, 3)."""
    return np.stack(
        [np.exp(-0.5 * ((WAVELENGTHS - peak) / width) ** 2) for peak, width in PEAKS], axis=-1
    )


def _gray(printed: NDArray[np.uint8], sheet: Sheet) -> NDArray[np.uint8]:
    size = (round(sheet.size.width * RESOLUTION), round(sheet.size.height * RESOLUTION))
    gray = cv2.cvtColor(printed, cv2.COLOR_RGB2GRAY)
    return np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _chart(sheet: Sheet) -> list[tuple[CellBox, FloatArray]]:
    """Return a reference chart in its black holder, to the left of the page."""
    bands = [f"r{band:.0f}" for band in WAVELENGTHS]
    spectra = load_table("chart_24").numbers(*bands)
    pitch = SIDE + GAP
    left, top = -4 * pitch - 3.0, sheet.size.height / 2 - 3 * pitch
    holder = CellBox(left - 2, top - 2, 4 * pitch + 2.5, 6 * pitch + 2.5)
    boxes = [
        CellBox(left + row * pitch, top + (5 - column) * pitch, SIDE, SIDE)
        for row in range(4)
        for column in range(6)
    ]
    return [(holder, np.full(36, HOLDER_GRAY)), *zip(boxes, spectra, strict=True)]
