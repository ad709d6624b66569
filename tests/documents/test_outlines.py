"""Borders of regions: smooth, true, without gaps, and each drawn once."""

import numpy as np
import pytest
from scipy import ndimage
from scipy.spatial import cKDTree

from laydown.color.arrays import FloatArray
from laydown.documents.print.outlines import Border, outlines, rings
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
