"""Borders of regions, each drawn once, and where their numbers find room."""

from itertools import combinations

import numpy as np
import pytest
from scipy import ndimage
from scipy.spatial import cKDTree

from laydown.color.arrays import FloatArray
from laydown.documents.print.outlines import (
    Border,
    PlacedNumber,
    leader,
    outlines,
    place_numbers,
    rings,
)
from laydown.plan.picture.picture import Labels
from laydown.plan.picture.regions import pieces

WIDTH = 120.0


def invented(seed: int, *, rows: int = 150, columns: int = 200) -> Labels:
    """Return regions of soft shapes, some of them with holes and islands, one part of it empty."""
    rng = np.random.default_rng(seed)
    field = ndimage.gaussian_filter(rng.normal(size=(rows, columns)), 7)
    steps = np.digitize(field / field.std(), [-0.9, -0.2, 0.5, 1.2]).astype(np.int32)
    return pieces(steps)


def signed_area(ring: FloatArray) -> float:
    """Return a ring's area by the formula of the trapezoids; below 0 for a hole."""
    x, y = ring.T
    return float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2)


def area(found: tuple[FloatArray, ...]) -> float:
    """Return the area within rings, holes taken off."""
    return abs(sum(signed_area(ring) for ring in found))


def edge_middles(labels: Labels, pixel: float) -> FloatArray:
    """Return the middles of all edges between unlike pixels [mm]."""
    around = np.pad(labels, 1)
    level = np.argwhere(around[1:] != around[:-1]) + np.array([0.0, -0.5])
    upright = np.argwhere(around[:, 1:] != around[:, :-1]) + np.array([-0.5, 0.0])
    return np.vstack([level, upright])[:, ::-1] * pixel


def dense(border: Border) -> FloatArray:
    """Return points along a border, close to each other."""
    parts = [np.linspace(a, b, 30) for a, b in zip(border[0], border[0][1:], strict=False)]
    return np.vstack(parts)


@pytest.mark.parametrize("seed", range(4))
def test_regions_fill_the_picture_without_gap_or_overlap(seed: int) -> None:
    """What one region gains along a border its neighbor loses: areas add up to the picture's."""
    labels = invented(seed)
    found = rings(outlines(labels, width=WIDTH))
    assert set(found) == set(np.unique(labels[labels > 0]).tolist())
    total = (labels > 0).sum() * (WIDTH / labels.shape[1]) ** 2
    outer = [b for b in outlines(labels, width=WIDTH) if 0 in b[1]]
    assert sum(area(part) for part in found.values()) == pytest.approx(
        area(rings([_from_outside(b) for b in outer])[1]) if (labels == 0).any() else total
    )


def _from_outside(border: Border) -> Border:
    """Return a border with all that is not empty taken for one region."""
    left, right = (min(side, 1) for side in border[1])
    return border[0], (left, right)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("within", [0.3, 1.0])
def test_lines_stay_true_within_what_is_said(seed: int, within: float) -> None:
    """No place of a line is farther from the pixels' edges than is said, nor the other way round;
    half a pixel is the edge's own length.
    """
    labels = invented(seed)
    pixel = WIDTH / labels.shape[1]
    drawn = np.vstack([dense(border) for border in outlines(labels, width=WIDTH, within=within)])
    edges = edge_middles(labels, pixel)
    assert cKDTree(edges).query(drawn)[0].max() <= within + pixel / 2
    assert cKDTree(drawn).query(edges)[0].max() <= within + pixel / 2


def test_stairs_become_a_slope() -> None:
    """A slanting border comes out as nearly straight, not as the pixels' stairs."""
    row, column = np.indices((120, 160))
    labels = np.where(row * 2 > column + 40, 1, 2).astype(np.int32)
    (shared,) = [b for b in outlines(labels, width=160.0) if 0 not in b[1]]
    length = np.hypot(*np.diff(shared[0], axis=0).T).sum()
    straight = np.hypot(*(shared[0][-1] - shared[0][0]))
    assert length < 1.02 * straight
    assert len(shared[0]) < 25


def test_the_frame_keeps_its_corners() -> None:
    """The picture's own edge is straight and its corners are sharp."""
    labels = np.ones((30, 50), dtype=np.int32)
    (ring,) = rings(outlines(labels, width=50.0))[1]
    assert {tuple(point) for point in ring.tolist()} == {(0, 0), (50, 0), (50, 30), (0, 30)}
    assert area((ring,)) == 1500.0


def test_an_island_is_a_ring_and_a_hole() -> None:
    """A round island is one ring, and a hole in what surrounds it; its size is kept."""
    row, column = np.indices((100, 100))
    labels = np.where(np.hypot(row - 49.5, column - 49.5) < 30, 2, 1).astype(np.int32)
    borders = outlines(labels, width=100.0)
    (island,) = [border for border in borders if (border[0][0] == border[0][-1]).all()]
    assert set(island[1]) == {1, 2}
    found = rings(borders)
    assert len(found[1]) == 2
    assert area(found[2]) == pytest.approx(np.pi * 30**2, rel=0.02)
    assert area(found[1]) == pytest.approx(100**2 - area(found[2]))


def test_corners_that_touch_only_at_a_point_are_told_apart() -> None:
    """Four pixels in a checker meet in a point, and each region is closed."""
    labels = np.array([[1, 2], [2, 1]], dtype=np.int32)
    found = rings(outlines(labels, width=2.0))
    assert area(found[1]) == pytest.approx(2.0)
    assert area(found[2]) == pytest.approx(2.0)


def test_nothing_to_outline_gives_nothing() -> None:
    """An empty plan has no borders."""
    assert outlines(np.zeros((5, 5), dtype=np.int32), width=10.0) == ()


PICTURE_WIDTH = 150.0


@pytest.fixture(scope="module")
def labels() -> Labels:
    """Return many regions, large and small."""
    field = ndimage.gaussian_filter(np.random.default_rng(5).normal(size=(300, 400)), 7)
    return pieces(np.digitize(field / field.std(), [-0.8, 0.0, 0.8]).astype(np.int32) + 1)


@pytest.fixture(scope="module")
def numbers(labels: Labels) -> tuple[PlacedNumber, ...]:
    """Return their numbers."""
    texts = {n: str(1 + n % 24) for n in range(1, int(labels.max()) + 1)}
    return place_numbers(labels, texts, picture_width=PICTURE_WIDTH)


def test_every_region_has_its_number(labels: Labels, numbers: tuple[PlacedNumber, ...]) -> None:
    """None is left out, and there are both kinds here."""
    assert sorted(n.region for n in numbers) == list(range(1, int(labels.max()) + 1))
    assert any(n.point for n in numbers)
    assert any(n.point is None for n in numbers)


def test_numbers_cross_no_border(labels: Labels, numbers: tuple[PlacedNumber, ...]) -> None:
    """All of a number lies on one region: its own, unless a line leads from it into its own."""
    pixel = PICTURE_WIDTH / labels.shape[1]
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
