"""Regions worth coloring."""

import numpy as np
import pytest

from laydown.plan.picture.picture import PlanRules
from laydown.plan.picture.regions import (
    borders,
    hatched,
    inner_places,
    majority,
    pieces,
    worth_of,
    worthwhile,
)

ROOMY = {"tip": 5.0, "least": 60.0}


def far(classes: int) -> np.ndarray:
    """Return classes that are as far from each other as their numbers."""
    at = np.arange(classes + 1.0)
    return np.abs(at[:, None] - at)


def halves() -> np.ndarray:
    """Return a plane whose left half is of class 1 and right half of class 3."""
    classes = np.full((40, 60), 1, dtype=np.int32)
    classes[:, 30:] = 3
    return classes


def everywhere(classes: np.ndarray) -> np.ndarray:
    """Return one part for all that has a class."""
    return (classes > 0).astype(np.int32)


def test_two_halves_are_two_regions() -> None:
    """Nothing is lost or added where all is wide enough."""
    classes = halves()
    found = worthwhile(classes, everywhere(classes), far(3), **ROOMY)
    assert sorted(np.unique(found).tolist()) == [1, 2]
    assert np.array_equal(majority(found, classes)[found], classes)


def test_dust_and_soft_edges_go_to_what_lies_nearest() -> None:
    """Specks vanish, and a band too narrow for the tip is shared by both sides."""
    classes = halves()
    classes[:, 29:31] = 2
    classes[5, 5] = classes[20:22, 44:46] = 2
    found = worthwhile(classes, everywhere(classes), far(3), **ROOMY)
    assert len(np.unique(found)) == 2
    assert np.array_equal(majority(found, halves())[found], halves())


def test_a_line_parts_what_it_runs_through() -> None:
    """One class on both sides of an unbroken line makes two regions, which share the line."""
    classes = np.full((40, 60), 1, dtype=np.int32)
    classes[:, 30] = 2
    found = worthwhile(classes, everywhere(classes), far(2), **ROOMY)
    assert np.bincount(found.ravel())[1:].tolist() == pytest.approx([1200, 1200], abs=40)


def test_a_broken_line_parts_nothing() -> None:
    """A line with gaps of more than a fifth is dust."""
    classes = np.full((40, 60), 1, dtype=np.int32)
    classes[::2, 30] = 2
    found = worthwhile(classes, everywhere(classes), far(2), **ROOMY)
    assert found.max() == 1


def test_a_small_region_joins_the_neighbor_nearest_in_class() -> None:
    """Of a neighbor of class 1 and one of class 6, a patch of class 2 takes the first."""
    classes = np.full((40, 60), 1, dtype=np.int32)
    classes[:, 30:] = 6
    classes[16:23, 27:34] = 2
    found = worthwhile(classes, everywhere(classes), far(6), tip=5.0, least=100.0)
    assert len(np.unique(found)) == 2
    assert found[19, 32] == found[0, 0]


def test_a_small_region_stays_in_its_own_part() -> None:
    """A neighbor in another part is taken only where the own part has none."""
    classes = np.full((40, 60), 1, dtype=np.int32)
    classes[:, 30:] = 6
    classes[16:23, 30:37] = 2
    parts = np.where(np.arange(60) < 30, 1, 2).astype(np.int32) * np.ones((40, 1), dtype=np.int32)
    found = worthwhile(classes, parts, far(6), tip=5.0, least=100.0)
    assert found[19, 32] == found[0, 59]


def test_every_region_is_large_enough_and_of_one_piece() -> None:
    """On a plane of noise no region is smaller than allowed, and each is connected."""
    classes = np.random.default_rng(3).integers(1, 4, (60, 80)).astype(np.int32)
    classes = np.kron(classes[::4, ::4], np.ones((4, 4), dtype=np.int32))
    found = worthwhile(classes, everywhere(classes), far(3), tip=3.0, least=50.0)
    assert np.bincount(found.ravel())[1:].min() >= 50
    assert pieces(found).max() == found.max()


def test_what_is_outside_stays_outside() -> None:
    """Pixels of no class belong to no region."""
    classes = halves()
    classes[:10] = 0
    found = worthwhile(classes, everywhere(classes), far(3), **ROOMY)
    assert np.array_equal(found == 0, classes == 0)


def test_a_part_narrower_than_the_tip_is_still_a_region() -> None:
    """Where no disc fits anywhere, what is there is kept and not lost."""
    classes = np.full((3, 60), 1, dtype=np.int32)
    classes[:, 30:] = 2
    found = worthwhile(classes, everywhere(classes), far(2), tip=9.0, least=10.0)
    assert (found > 0).all()


def test_hatching_is_told_from_lines_and_areas() -> None:
    """A patch of fine lines is hatched; a line by itself, a soft edge and plain areas are not."""
    classes = np.full((60, 120), 1, dtype=np.int32)
    classes[:, 20:22] = 2
    classes[:, 60:80:2] = 2
    classes[:, 80:] = 3
    found = hatched(classes, tip=ROOMY["tip"])
    assert found[10:50, 64:76].all()
    assert not found[:, :50].any()
    assert not found[:, 90:].any()


def test_borders_count_the_edges_that_regions_share() -> None:
    """Two halves of 40 rows share 40 edges."""
    assert borders(halves()) == {1: {3: 40}, 3: {1: 40}}


def test_a_number_stands_deep_inside_its_region() -> None:
    """The place for it is the one farthest from the edges."""
    places = inner_places(halves())
    assert abs(places[1][1] - 14) <= 1
    assert abs(places[3][1] - 45) <= 1


def test_rules_on_paper_become_pixels() -> None:
    """Millimetres scale by length, square millimetres by area."""
    assert worth_of(PlanRules(width=200.0, least=9.0, tip=3.0), 400) == (6.0, 36.0)
