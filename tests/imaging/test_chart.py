"""The reference chart is found however it is seen, and not searched for long where it isn't."""

import cv2
import numpy as np
import pytest

from laydown.imaging import chart
from laydown.imaging.chart import chart_xyz, find_chart
from laydown.imaging.profiles import usual_profile

LINEAR = usual_profile().curves.mean(axis=1)
WIDE_ANGLE = np.array([[1500, 1050], [1900, 1000], [1900, 1330], [1500, 1190]], dtype=np.float64)
"""Corners of a chart low on the right, as a wide-angle lens near it sees it."""


def drawn(corners: np.ndarray, *, size: tuple[int, int] = (2000, 1500)) -> np.ndarray:
    """Return a picture of a chart with those corners, clockwise from its first patch."""
    profile = usual_profile()
    light = np.clip(chart_xyz() @ np.linalg.inv(profile.matrix), 0, 1)
    coded = np.searchsorted(profile.curves[:, 0], light).clip(0, 255).astype(np.uint8)
    flat = np.full((400, 600, 3), 20, np.uint8)
    for patch, color in enumerate(coded):
        top, left = 100 * (patch // 6) + 10, 100 * (patch % 6) + 10
        flat[top : top + 80, left : left + 80] = color
    own = np.array([[0, 0], [600, 0], [600, 400], [0, 400]], dtype=np.float64)
    there = cv2.findHomography(own, corners, 0)[0]
    return np.asarray(
        cv2.warpPerspective(flat, there, size, flags=cv2.INTER_AREA, borderValue=(200, 195, 185)),
        dtype=np.uint8,
    )


def test_a_chart_seen_by_a_wide_angle_lens_is_found() -> None:
    """Where the horizon of its plane lies between it and the picture's corner, too."""
    patches = np.array([[0, 0], [5, 0], [5, 3], [0, 3]], dtype=np.float64)
    seen = cv2.findHomography(patches, WIDE_ANGLE, 0)[0]
    assert np.linalg.det(seen[:2, :2]) < 0 < np.linalg.det(seen)
    found = find_chart(drawn(WIDE_ANGLE), LINEAR)
    assert found is not None
    assert found.centers[0] == pytest.approx([1528, 1062], abs=15)


def test_a_mirrored_chart_is_none() -> None:
    """Its colors stand in an order that no turn of a chart has."""
    assert find_chart(np.ascontiguousarray(drawn(WIDE_ANGLE)[:, ::-1]), LINEAR) is None


def test_a_checkered_cloth_is_passed_over_unsearched(monkeypatch: pytest.MonkeyPatch) -> None:
    """A lattice of far more squares than a chart has isn't tried place by place."""
    cloth = np.full((750, 1000, 3), 230, np.uint8)
    for top in range(0, 750, 40):
        for left in range(0, 1000, 40):
            cloth[top + 5 : top + 35, left + 5 : left + 35] = (60 + left % 150, 90, top % 200)
    tried = []
    monkeypatch.setattr(chart, "_misfit", lambda signal: tried.append(signal) or 99.0)
    assert find_chart(cloth, LINEAR) is None
    assert len(tried) < 100


def test_blown_out_patches_are_told_from_sound_ones() -> None:
    """A patch as bright as the file can say in some channel says no more than that."""
    upright = np.array([[300, 300], [1500, 300], [1500, 1100], [300, 1100]], dtype=np.float64)
    sound = find_chart(drawn(upright), LINEAR)
    burnt = find_chart((drawn(upright) * 1.12).clip(0, 255).astype(np.uint8), LINEAR)
    assert sound is not None
    assert burnt is not None
    assert not sound.blown.any()
    assert burnt.blown[18]
    assert 1 <= burnt.blown.sum() <= 8
