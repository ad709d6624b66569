"""Whole photographs of sheets, read and compared with what was colored in.

A fixed few of the many that `benchmarks/sheets.py` reads; its results are beside it.
"""

from collections.abc import Callable
from functools import cache
from itertools import pairwise
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from laydown.demo.photograph import Camera, Lamp, View
from laydown.imaging.patches import read_patch
from laydown.imaging.rectify import FlatPage, LightField, PageMap, fit_light
from laydown.sheet.page import CellBox, PageSize
from laydown.sheet.reading import Flag
from laydown.sheet.sheet import Sheet

GEOMETRY = 12
"""Photographs whose cells are looked for, not their colors: none is off by a fourth of what may."""


@pytest.fixture(scope="module")
def plain(photos: ModuleType) -> tuple[Sheet, Any]:
    """Return a sheet of sixty cells and its plain photograph."""
    sheet = photos.sheet_of(60)
    return sheet, photos.take_plain(sheet, view=View(megapixels=4), seed=1)


@pytest.fixture(scope="module")
def developed(photos: ModuleType) -> Callable[[int], tuple[Sheet, Any]]:
    """Return how a sheet of sixty cells is photographed by a measured camera, developed: once."""
    sheet = photos.sheet_of(60)

    @cache
    def taken(place: int) -> tuple[Sheet, Any]:
        sensitivities = photos.measured_cameras()[place]
        return sheet, photos.take(
            sheet,
            view=View(megapixels=4),
            lamps=[Lamp(photos.spectrum("D65"), 0, 0, 900)],
            camera=Camera(sensitivities, development=photos.development(sensitivities, "D65")),
            seed=3,
            resolution=5.0,
        )

    return taken


def test_cells_of_a_colorimetric_camera_come_back(photos: ModuleType) -> None:
    """Through slant, curl, lens, falloff and noise the mean error is 0.8 or less, p95 2 or less."""
    off = []
    for seed in (1, 4, 9):
        rng = np.random.default_rng(seed)
        sheet = photos.sheet_of(int(rng.integers(12, 121)), number=seed + 1)
        view = photos.random_view(rng, most=6.0)
        lamps = photos.random_lamps(rng, (210, 297), main="D50", second="A")
        camera = photos.random_camera(rng, photos.colorimetric())
        taken = photos.take(sheet, view=view, lamps=lamps, camera=camera, seed=seed, resolution=5.0)
        outcome = photos.read(taken, sheet)
        assert outcome is not None
        assert outcome.number == 8 * (seed + 1)
        off += list(outcome.off.values())
    assert np.mean(off) <= 0.8
    assert np.percentile(off, 95) <= 2.0


@pytest.mark.parametrize(("place", "lamp"), [(0, "D65"), (1, "D50")])
def test_a_measured_camera_with_a_chart_comes_near_its_floor(
    photos: ModuleType, place: int, lamp: str
) -> None:
    """By daylight with a reference chart the mean is 3.5 or less and 0.5 above what is possible."""
    sensitivities = photos.measured_cameras()[place]
    rng = np.random.default_rng(place)
    sheet = photos.sheet_of(60)
    lamps = photos.random_lamps(rng, (210, 297), main=lamp, second=lamp)
    camera = photos.random_camera(rng, sensitivities, lamp=lamp)
    view = View(megapixels=6, tilt=20, toward=30, turn=15, curl=5, lens=-0.03, fill=0.8)
    taken = photos.take(
        sheet, view=view, lamps=lamps, camera=camera, seed=3, chart=True, resolution=5.0
    )
    outcome = photos.read(taken, sheet, profile=photos.wide_profile(measured=False), by="chart")
    assert outcome is not None
    colors = photos.colors_of(sheet, photos.invented_spectra())
    possible = photos.floor(sensitivities, lamp, np.array(list(colors.values()))).mean()
    mean = np.mean([outcome.off[number] for number in colors])
    assert mean <= min(3.5, possible + 0.5)


def test_cells_of_known_color_predict_the_others(photos: ModuleType, developed: Callable) -> None:
    """Half of the cells, measured before, give the rest within the error that is told."""
    sheet, taken = developed(0)
    outcome = photos.read(taken, sheet, by="known")
    assert outcome is not None
    told = outcome.converter.accuracy
    unseen = [off for number, off in outcome.off.items() if number % 2 == 0]
    assert 0.1 < told.mean < 3.0
    assert np.mean(unseen) < told.mean


def test_paper_white_alone_holds_what_it_states(photos: ModuleType, developed: Callable) -> None:
    """A developed picture read by paper white alone stays within the error that is told; where its
    white balance is wrong it is called rough, and that more is off is told with it.
    """
    off, told = [], []
    for place in range(len(photos.measured_cameras())):
        sheet, taken = developed(place)
        outcome = photos.read(taken, sheet, by="paper")
        assert outcome is not None
        told.append(outcome.converter.accuracy)
        off += list(outcome.off.values())
    assert not told[0].rough
    assert np.mean(off) <= told[0].mean
    assert np.percentile(off, 80) <= told[0].likely
    assert np.percentile(off, 95) <= told[0].most
    warm = (taken.pixels * np.array([1.0, 0.9, 0.7])).astype(np.uint8)
    outcome = photos.read(photos.with_pixels(taken, warm), sheet, by="paper")
    assert outcome is not None
    assert outcome.converter.accuracy.rough
    assert outcome.converter.accuracy.mean > told[0].mean


def test_no_cell_is_taken_for_another(photos: ModuleType) -> None:
    """Every cell is found where it is, to a small part of its size."""
    for seed in range(GEOMETRY):
        rng = np.random.default_rng(100 + seed)
        size = PageSize.A4 if seed % 2 else PageSize.LETTER
        sheet = photos.sheet_of(int(rng.integers(6, 150)), number=seed + 1, size=size)
        taken = photos.take_geometry(sheet, view=photos.random_view(rng, most=4.0), seed=seed)
        number, shift = photos.found_cells(taken, sheet)
        assert number == 8 * (seed + 1)
        assert shift.max() < 1.5


def test_half_the_marks_may_be_hidden(photos: ModuleType) -> None:
    """A page with five of its edge marks and two corners is still read."""
    sheet = photos.sheet_of(40)
    hidden = [
        CellBox(-5, -5, 40, 30),
        CellBox(180, 270, 40, 40),
        CellBox(60, 0, 30, 22),
        CellBox(0, 180, 21, 40),
    ]
    extra = [(box, np.full(36, 0.3)) for box in hidden]
    taken = photos.take_plain(sheet, view=View(megapixels=4), seed=1, extra=extra)
    outcome = photos.read(taken, sheet)
    assert outcome is not None
    assert outcome.number == 8 * sheet.number
    assert max(outcome.shift.values()) < 1.5


def test_a_framed_sheet_takes_its_white_from_the_windows(photos: ModuleType) -> None:
    """The frame's card may be another white than the paper behind it."""
    sheet = photos.sheet_of(40, framed=True)
    cream = photos.paper_spectrum() * np.linspace(0.7, 0.97, 36)
    colors = photos.colors_of(sheet, photos.invented_spectra() * np.linspace(0.7, 0.97, 36))
    colors |= {cell.number: cream for cell in sheet.cells if cell.bare}
    taken = photos.take_plain(sheet, view=View(megapixels=4), seed=1, colors=colors)
    outcome = photos.read(taken, sheet, anchored=False)
    assert outcome is not None
    relative = {n: r.xyz / outcome.readings[1].xyz for n, r in outcome.readings.items()}
    true = {n: xyz / taken.xyz[1] for n, xyz in taken.xyz.items()}
    worst = max(np.abs(relative[n] - true[n]).max() for n in relative)
    assert worst < 0.04


@pytest.mark.parametrize(
    ("flag", "box", "level"),
    [
        (Flag.NOT_FILLED, (0.0, 0.0, 0.5, 1.0), None),
        (Flag.GLARE, (0.3, 0.3, 0.3, 0.3), 1.3),
    ],
)
def test_a_spoiled_cell_is_flagged_and_its_neighbors_are_not(
    photos: ModuleType, flag: Flag, box: tuple[float, ...], level: float | None
) -> None:
    """What is wrong with one cell is said of that cell."""
    sheet = photos.sheet_of(30)
    spoiled = [cell for cell in sheet.cells if not cell.bare][9]
    dark = dict.fromkeys(
        (cell.number for cell in sheet.cells if not cell.bare), np.linspace(0.1, 0.4, 36)
    )
    own = sheet.box(spoiled)
    left, top, width, height = box
    part = CellBox(
        own.left + left * own.width,
        own.top + top * own.height,
        width * own.width,
        height * own.height,
    )
    extra = [(part, photos.paper_spectrum() if level is None else np.full(36, level))]
    taken = photos.take_plain(sheet, view=View(megapixels=4), seed=1, colors=dark, extra=extra)
    outcome = photos.read(taken, sheet)
    assert outcome is not None
    assert flag in outcome.readings[spoiled.number].flags
    others = [r for n, r in outcome.readings.items() if n != spoiled.number]
    assert [r.number for r in others if flag in r.flags] == []


@pytest.mark.parametrize("reach", [0.6, 1.1])
def test_ink_over_a_border_counts_where_it_reaches_a_neighbor(
    photos: ModuleType, reach: float
) -> None:
    """Half across the white between two cells it does no harm and is no matter; all across, both
    cells are flagged and no other.
    """
    sheet = photos.sheet_of(30)
    cells = [cell for cell in sheet.cells if not cell.bare]
    pairs = [
        (a, b)
        for a, b in pairwise(cells)
        if sheet.box(a).top == sheet.box(b).top and b.place == a.place + 1
    ]
    left, right = pairs[len(pairs) // 2]
    own, gap = sheet.box(left), sheet.box(right).left - sheet.box(left).right
    dark = dict.fromkeys((cell.number for cell in cells), np.linspace(0.1, 0.4, 36))
    spilled = CellBox(own.right - 2, own.top + 3, 2 + reach * gap, own.height - 6)
    taken = photos.take_plain(
        sheet,
        view=View(megapixels=4),
        seed=1,
        colors=dark,
        extra=[(spilled, np.linspace(0.1, 0.4, 36))],
    )
    outcome = photos.read(taken, sheet)
    assert outcome is not None
    flagged = {n for n, r in outcome.readings.items() if r.flags}
    assert flagged == ({left.number, right.number} if reach > 1 else set())


def test_flecks_on_a_smooth_color_tell_nothing(photos: ModuleType) -> None:
    """Where a sixth of a marker's cell is spattered with another color, its median is what the rest
    is; what is grainy by nature is averaged.
    """
    encoded = np.full((60, 60, 3), 120, np.uint8)
    encoded[np.random.default_rng(5).random((60, 60)) < 1 / 6] = (30, 30, 200)
    page_map = PageMap(np.eye(3), 60, 60)
    page = FlatPage(encoded, 1.0, page_map, (60, 60))
    light = fit_light(
        np.full((4, 2), 30.0), np.ones((4, 3)), weight=np.ones(4), width=60, height=60
    )
    box = CellBox(0, 0, 60, 60)
    read = {
        smooth: read_patch(page, box, light, lambda pixels: pixels / 255, smooth=smooth).mean
        for smooth in (True, False)
    }
    assert np.allclose(read[True], 120 / 255)
    assert np.abs(read[False] - 120 / 255).max() > 0.03


def test_a_blank_sheet_is_not_filled_and_a_colored_bare_cell_is_not_bare(
    photos: ModuleType,
) -> None:
    """Cells that should hold color and don't, or do and shouldn't, are flagged."""
    sheet = photos.sheet_of(20)
    bare = [cell.number for cell in sheet.cells if cell.bare]
    colors = {bare[0]: np.linspace(0.2, 0.6, 36)}
    taken = photos.take_plain(sheet, view=View(megapixels=4), seed=1, colors=colors)
    outcome = photos.read(taken, sheet)
    assert outcome is not None
    for number, reading in outcome.readings.items():
        wanted = Flag.NOT_BARE if number == bare[0] else Flag.NOT_FILLED
        assert (wanted in reading.flags) == (number == bare[0] or number not in bare)


def test_a_fluorescent_cell_is_flagged(photos: ModuleType) -> None:
    """A color that sends back more than its paper is brightened."""
    sheet = photos.sheet_of(12)
    cell = next(cell for cell in sheet.cells if not cell.bare)
    colors = photos.colors_of(sheet, photos.invented_spectra())
    colors[cell.number] = photos.paper_spectrum() * np.where(np.arange(36) > 15, 1.3, 0.3)
    taken = photos.take_plain(sheet, view=View(megapixels=4), seed=1, colors=colors, exposure=0.6)
    outcome = photos.read(taken, sheet)
    assert outcome is not None
    assert Flag.BRIGHTENED in outcome.readings[cell.number].flags


def test_a_shadow_with_an_edge_is_flagged(photos: ModuleType, plain: tuple[Sheet, Any]) -> None:
    """Cells beside the edge of a hard shadow don't pass as evenly lit."""
    sheet, taken = plain
    shaded = taken.pixels.astype(np.float32)
    columns = taken.pixels.shape[1]
    shaded[:, : columns // 3] *= 0.75
    outcome = photos.read(photos.with_pixels(taken, shaded.astype(np.uint8)), sheet)
    assert outcome is not None
    flagged = [n for n, r in outcome.readings.items() if Flag.SHADOW in r.flags]
    assert flagged


def test_too_few_pixels_and_blur_are_flagged(photos: ModuleType) -> None:
    """A picture in which cells are tiny or soft says so cell by cell."""
    import cv2  # noqa: PLC0415 - only here

    sheet = photos.sheet_of(120)
    taken = photos.take_plain(sheet, view=View(megapixels=6, fill=0.95), seed=1)
    small = cv2.resize(taken.pixels, None, fx=0.15, fy=0.15, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(taken.pixels, (0, 0), 5.2)
    for pixels, flag in ((small, Flag.TOO_SMALL), (soft, Flag.BLURRED)):
        outcome = photos.read(photos.with_pixels(taken, pixels), sheet)
        assert outcome is not None
        assert sum(flag in r.flags for r in outcome.readings.values()) > 95


def test_an_impossible_white_balance_is_told(photos: ModuleType, plain: tuple[Sheet, Any]) -> None:
    """Paper that looks deep orange can't be lit by a usual lamp."""
    sheet, taken = plain
    tinted = (taken.pixels * np.array([1.0, 0.7, 0.3])).astype(np.uint8)
    outcome = photos.read(photos.with_pixels(taken, tinted), sheet)
    assert outcome is not None
    assert any("white balance" in warning for warning in outcome.reading.warnings)


def test_texture_is_spread_and_noise_is_not(photos: ModuleType) -> None:
    """A streaky cell has a wide spread; a noisy picture of a smooth one has not."""
    sheet = photos.sheet_of(12)
    spreads = {}
    for name, texture, noise in (("smooth", 0.0, 0.02), ("streaky", 0.12, 0.002)):
        taken = photos.take_plain(
            sheet, view=View(megapixels=4), seed=1, texture=texture, noise=noise
        )
        outcome = photos.read(taken, sheet)
        assert outcome is not None
        spreads[name] = np.median([r.spread for r in outcome.readings.values()])
    assert spreads["smooth"] < 0.2
    assert spreads["streaky"] > 0.6


def test_a_bare_cell_counts_as_four_samples_of_white_beside_others(
    photos: ModuleType, plain: tuple[Sheet, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It has more pixels than a strip's sample has, and no neighbor's ink near.

    Were each as good as the other, as many strips as there are would drown the few bare cells.
    """
    (sheet, taken), weights = plain, list[np.ndarray]()

    def seen(*samples: np.ndarray, weight: np.ndarray, **more: float) -> LightField:
        weights.append(weight)
        return fit_light(*samples, weight=weight, **more)

    monkeypatch.setattr("laydown.imaging.reading.fit_light", seen)
    photos.read(taken, sheet)
    bare = sum(cell.bare for cell in sheet.cells)
    for weight in weights:
        assert set(weight[:bare]) == {4.0 * weight[-1]}
        assert set(weight[bare:]) == {weight[-1]}
