"""Numbers on a plan stand inside their regions, or a line leads there; none covers another."""

from itertools import combinations

import numpy as np
import pytest
from scipy import ndimage

from laydown.documents.print.outlines import PlacedNumber, leader, place_numbers
from laydown.plan.picture.picture import Labels
from laydown.plan.picture.regions import pieces

WIDTH = 150.0


@pytest.fixture(scope="module")
def labels() -> Labels:
    """Return many regions, large and small."""
    field = ndimage.gaussian_filter(np.random.default_rng(5).normal(size=(300, 400)), 7)
    return pieces(np.digitize(field / field.std(), [-0.8, 0.0, 0.8]).astype(np.int32) + 1)


@pytest.fixture(scope="module")
def numbers(labels: Labels) -> tuple[PlacedNumber, ...]:
    """Return their numbers."""
    texts = {n: str(1 + n % 24) for n in range(1, int(labels.max()) + 1)}
    return place_numbers(labels, texts, picture_width=WIDTH)


def test_every_region_has_its_number(labels: Labels, numbers: tuple[PlacedNumber, ...]) -> None:
    """None is left out, and there are both kinds here."""
    assert sorted(n.region for n in numbers) == list(range(1, int(labels.max()) + 1))
    assert any(n.point for n in numbers)
    assert any(n.point is None for n in numbers)


def test_numbers_cross_no_border(labels: Labels, numbers: tuple[PlacedNumber, ...]) -> None:
    """All of a number lies on one region: its own, unless a line leads from it into its own."""
    pixel = WIDTH / labels.shape[1]
    for number in numbers:
        wide, high = number.half
        rows = slice(int((number.y - high) / pixel), int((number.y + high) / pixel) + 1)
        columns = slice(int((number.x - wide) / pixel), int((number.x + wide) / pixel) + 1)
        under = np.unique(labels[rows, columns])
        assert len(under) == 1
        if number.point is None:
            assert under[0] == number.region
        else:
            x, y = number.point
            assert labels[int(y / pixel), int(x / pixel)] == number.region


def test_no_number_covers_another(numbers: tuple[PlacedNumber, ...]) -> None:
    """Boxes of numbers are apart."""
    for one, other in combinations(numbers, 2):
        wide, high = (a + b for a, b in zip(one.half, other.half, strict=True))
        assert abs(one.x - other.x) > wide or abs(one.y - other.y) > high


def test_a_leader_runs_from_the_numbers_edge_to_its_region() -> None:
    """A sliver too thin for a number gets one beside it, with a line that does not cross it."""
    labels = np.ones((100, 100), dtype=np.int32)
    labels[48:50, 20:80] = 2
    found = {n.region: n for n in place_numbers(labels, {1: "1", 2: "12"}, picture_width=60.0)}
    sliver = found[2]
    assert sliver.point is not None
    line = leader(sliver)
    assert line is not None
    assert line[2:] == sliver.point
    assert abs(line[1] - sliver.y) >= sliver.half[1] or abs(line[0] - sliver.x) >= sliver.half[0]
    assert leader(found[1]) is None


def test_leaders_are_short_and_meet_no_other_number(numbers: tuple[PlacedNumber, ...]) -> None:
    """The eye follows each line to its region: no more than 15 mm, and over no other number."""
    led = [(number, leader(number)) for number in numbers if number.point]
    for number, line in led:
        assert line is not None
        ends = np.array(line).reshape(2, 2)
        assert np.hypot(*(ends[1] - (number.x, number.y))) <= 15.0
        for other in numbers:
            if other is not number:
                along = ends[0] + np.linspace(0, 1, 200)[:, None] * (ends[1] - ends[0])
                off = np.abs(along - (other.x, other.y))
                assert not (off < np.array(other.half) - 0.05).all(axis=1).any()


def test_a_crowd_too_dense_has_numbers_that_can_be_read() -> None:
    """Where no number fits anywhere some stand across their borders, and none on another."""
    labels = (np.arange(64).reshape(8, 8) + 1).astype(np.int32)
    found = place_numbers(labels, {n: str(n) for n in range(1, 65)}, picture_width=8.0)
    assert 4 <= len(found) < 64
    assert all(number.point is None for number in found)
    test_no_number_covers_another(found)
