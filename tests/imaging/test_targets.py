"""A target in a sketchbook: found, its number read, and the patches beside it."""

from types import ModuleType

import numpy as np
import pytest

from laydown.demo.photograph import Camera, View
from laydown.imaging.markers import find_pages, find_target
from laydown.imaging.profiles import usual_profile
from laydown.imaging.targets import find_patches, map_target
from laydown.sheet.target import MOST_TARGETS, PLACES, in_rows, target_ids, target_number

HELD = View(megapixels=5, tilt=12, toward=40, turn=8, curl=2, fill=0.85)


@pytest.mark.parametrize("fold", [0.0, 3.0])
def test_marks_alone_place_patches_to_two_millimetres(photos: ModuleType, fold: float) -> None:
    """All three rows are found on a curled page, with a crease too, each where it was colored."""
    sensitivities = photos.measured_cameras()[0]
    camera = Camera(sensitivities, development=photos.development(sensitivities, "D65"))
    taken = photos.take_target(4711, view=HELD, camera=camera, fold=fold)
    found = find_target(taken.pixels)
    assert found is not None
    assert target_number(found.ids) == 4711
    rows = find_patches(taken.pixels, map_target(found), usual_profile().linear).rows
    truth = in_rows(taken.boxes)
    assert [len(row) for row in rows] == [len(row) for row in truth] == [4, 5, 4]
    off = [
        np.hypot(*np.subtract(seen.center, colored.center))
        for row, true in zip(rows, truth, strict=True)
        for seen, colored in zip(row, true, strict=True)
    ]
    assert max(off) < 2.0


def test_a_target_is_no_sheet_and_a_sheet_no_target(photos: ModuleType) -> None:
    """Neither is taken for the other, though they share marks."""
    sheet = photos.take_geometry(photos.sheet_of(24), view=View(megapixels=3, fill=0.9), seed=1)
    assert find_pages(sheet.pixels)
    assert find_target(sheet.pixels) is None
    camera = Camera(photos.colorimetric())
    assert find_pages(photos.take_target(9, view=HELD, camera=camera).pixels) == ()


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
