"""Whether bare places of a picture tell a paper's own color, and what is said where they don't."""

import numpy as np
import pytest

from laydown.app.sheets.reading import NO_BARE_PAPER, judge_bare
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.media.recipe import Paper
from laydown.sheet.reading import CellReading


def paper(*lab: float, measured: bool = True) -> Paper:
    """Return a paper of that color."""
    return Paper("Tern rough", reflectance_from_xyz(xyz_from_lab(np.array(lab))), measured=measured)


def readings(*lab: float) -> list[CellReading]:
    """Return three readings of bare cells about that color."""
    return [
        CellReading(number, xyz_from_lab(np.array([lab[0] + off, *lab[1:]])), 0.3)
        for number, off in enumerate((-0.4, 0.0, 0.4))
    ]


UNKNOWN = paper(95, 0, 0, measured=False)


@pytest.mark.parametrize(
    ("lab", "said"),
    [
        ((95, 0, -2), ""),
        ((90.5, 1, 8), ""),
        ((99, 0, 1), ""),
        ((86, 0, 1), "too dark"),
        ((101, 0, 0), "too light"),
        ((94, -8, 8), "too colored"),
    ],
)
def test_only_what_a_usual_paper_can_be_is_kept(lab: tuple[float, ...], said: str) -> None:
    """Of an unknown paper a usual white is kept; anything else is told with what to do."""
    keeps, why_not, note = judge_bare(UNKNOWN, readings(*lab), assumed=False)
    assert keeps == (not said)
    assert why_not == (NO_BARE_PAPER if said else "")
    assert said in note
    assert ("give its measured color" in note) == bool(said)


def test_a_paper_that_is_known_stays_as_it_is(subtests: pytest.Subtests) -> None:
    """A toned paper that somebody measured is no fault, whatever a picture makes of it."""
    for known, seen in (
        ((70, 2, 9), (72, 2, 9)),
        ((95, 0, 0), (86, 0, 1)),
        ((95, 0, 0), (93, 0, 0)),
    ):
        with subtests.test(known=known, seen=seen):
            judged = judge_bare(paper(*known), readings(*seen), assumed=False)
            assert judged == (False, "", "")


def test_a_paper_that_a_bad_picture_left_is_pointed_at() -> None:
    """Where the picture's own paper is a usual white and the kept one isn't, both are told."""
    *judged, note = judge_bare(paper(86, 0, 1), readings(95, 0, 0), assumed=False)
    assert judged == [False, ""]
    assert "value of 8.6, and this picture shows 9.5" in note


def test_nothing_is_said_without_bare_places_or_where_their_lightness_was_assumed() -> None:
    """They then say again what was assumed, and are never kept."""
    for seen, assumed in (([], False), (readings(95, 0, 0), True), (readings(86, 0, 1), True)):
        judged = judge_bare(UNKNOWN, seen, assumed=assumed)
        assert judged == (False, "", "")
