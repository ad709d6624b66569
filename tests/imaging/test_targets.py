"""A target in a sketchbook: found, its number read, and the patches beside it."""

from collections.abc import Callable
from functools import cache
from types import ModuleType
from typing import Any

import cv2
import numpy as np
import pytest

from laydown.demo.photograph import Camera, View
from laydown.imaging.markers import find_pages, find_target, why_no_page
from laydown.imaging.profiles import usual_profile
from laydown.imaging.targets import find_patches, map_target, places_now
from laydown.sheet.markers import MOST_TARGETS, PLACES, target_ids, target_number
from laydown.sheet.page import CellBox, in_rows

HELD = View(megapixels=5, tilt=12, toward=40, turn=8, curl=2, fill=0.85)


@pytest.fixture(scope="module")
def laid(photos: ModuleType) -> Callable[[float], Any]:
    """Return how a page with a target is photographed that rises so far: each once."""
    sensitivities = photos.measured_cameras()[0]
    camera = Camera(sensitivities, development=photos.development(sensitivities, "D65"))
    return cache(lambda fold: photos.take_target(4711, view=HELD, camera=camera, fold=fold))


@pytest.fixture(scope="module")
def other(photos: ModuleType) -> np.ndarray:
    """Return a photograph of another target by the colorimetric camera."""
    return photos.take_target(9, view=HELD, camera=Camera(photos.colorimetric())).pixels


@pytest.mark.parametrize("fold", [0.0, 3.0])
def test_marks_alone_place_patches_to_two_millimetres(laid: Callable, fold: float) -> None:
    """All three rows are found on a curled page, with a crease too, each where it was colored."""
    taken = laid(fold)
    found = find_target(taken.pixels)
    assert found is not None
    assert target_number(found.ids) == 4711
    rows, _ = find_patches(taken.pixels, map_target(found), usual_profile().linear)
    truth = in_rows(taken.boxes)
    assert [len(row) for row in rows] == [len(row) for row in truth] == [4, 5, 4]
    off = [
        np.hypot(*np.subtract(seen.center, colored.center))
        for row, true in zip(rows, truth, strict=True)
        for seen, colored in zip(row, true, strict=True)
    ]
    assert max(off) < 2.0


def test_patches_are_followed_over_a_crease(laid: Callable) -> None:
    """Where a page rises by 25° beside the target, its marks alone are 7 mm off; patches are found
    where they lie all the same, and one that isn't found is placed by its neighbors to 2 mm.
    """

    def seen(fold: float) -> list[CellBox]:
        pixels = laid(fold).pixels
        rows, _ = find_patches(pixels, map_target(find_target(pixels)), usual_profile().linear)
        return [box for row in rows for box in row]

    flat, creased = seen(0.0), seen(25.0)
    assert apart(flat, creased).max() > 7.0
    assert places_now(flat, creased) == creased
    for place in range(len(flat)):
        found = [box for box in creased if box != creased[place]]
        assert apart(places_now(flat, found), creased).max() < 2.0


def apart(boxes: list[CellBox], others: list[CellBox]) -> np.ndarray:
    """Return how far boxes lie from others [mm]."""
    first, second = (np.array([box.center for box in listed]) for listed in (boxes, others))
    return np.hypot(*(first - second).T)


def test_a_bent_target_is_told_as_that(other: np.ndarray) -> None:
    """Marks that lie on no one plane are no missing marks, and their plane isn't trusted."""
    quads = np.concatenate(list(find_target(other).corners.values()))
    middle, wide = quads[:, 0].mean(), np.ptp(quads[:, 0])
    x, y = np.meshgrid(*(np.arange(side, dtype=np.float32) for side in other.shape[1::-1]))
    curled = y + np.float32(0.1 * wide) * (2 * (x - middle) / wide) ** 2
    bent = cv2.remap(other, x, curled.astype(np.float32), cv2.INTER_LINEAR)
    assert find_target(bent) is None
    assert why_no_page(bent) == "its target isn't flat"


def test_a_target_is_no_sheet_and_a_sheet_no_target(photos: ModuleType, other: np.ndarray) -> None:
    """Neither is taken for the other, though they share marks."""
    sheet = photos.take_geometry(photos.sheet_of(24), view=View(megapixels=3, fill=0.9), seed=1)
    assert find_pages(sheet.pixels)
    assert find_target(sheet.pixels) is None
    assert find_pages(other) == ()


def test_a_wrong_mark_seldom_gives_a_number() -> None:
    """Of all targets with one mark mistaken for another, fewer than 1 in 20 pass for some other."""
    rng = np.random.default_rng(1)
    passed = 0
    for number in rng.integers(1, MOST_TARGETS, 400).tolist():
        ids = dict(zip(PLACES, target_ids(number), strict=True))
        place = PLACES[int(rng.integers(4))]
        first = ids[place] - (ids[place] - 4) % 29
        ids[place] = first + (ids[place] - first + int(rng.integers(1, 29))) % 29
        passed += target_number(ids) is not None
    assert passed < 20
