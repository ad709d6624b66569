"""Several readings of one cell."""

import numpy as np
import pytest

from laydown.sheet.reading import CellReading, Flag, combine, comparable, compared


def reading(Y: float, *flags: Flag, spread: float = 0.3) -> CellReading:
    """Return a gray reading of that luminance."""
    return CellReading(4, np.array([0.96, 1.0, 0.82]) * Y, spread, frozenset(flags))


def test_sound_photographs_are_averaged() -> None:
    """Two that agree give their mean, with the spread of both."""
    both = combine([reading(40.0), reading(41.0, spread=0.5)])
    assert both.xyz[1] == pytest.approx(40.5)
    assert both.spread == pytest.approx(np.sqrt((0.3**2 + 0.5**2) / 2))
    assert both.flags == frozenset()


def test_photographs_that_disagree_are_flagged() -> None:
    """A difference beyond noise and light is told, not averaged away."""
    assert combine([reading(40.0), reading(50.0)]).flags == {Flag.DISAGREE}


def test_the_least_doubtful_counts_where_all_are() -> None:
    """Of flagged ones the one with the fewest flags is kept, with its flags."""
    bad, worse = reading(40.0, Flag.SHADOW), reading(60.0, Flag.GLARE, Flag.CLIPPED)
    assert combine([worse, bad]) is bad


@pytest.mark.parametrize(("Y", "wet"), [(40.5, False), (46.0, True)])
def test_a_cell_that_changed_was_still_wet(Y: float, *, wet: bool) -> None:
    """Between two readings of the same stage only a drying cell changes."""
    assert (Flag.STILL_WET in compared(reading(Y), reading(40.0)).flags) == wet


@pytest.mark.parametrize(("bare_now", "compares"), [(89.0, {5}), (69.0, set())])
def test_pictures_in_which_bare_paper_differs_tell_nothing_of_drying(
    bare_now: float, compares: set[int]
) -> None:
    """Bare paper doesn't dry, so that it is the pictures that differ; nor is it ever wet."""
    before, later = ({4: reading(bare), 5: reading(40.0)} for bare in (90.0, bare_now))
    assert comparable(before, later, bare={4}).keys() == compares
    assert comparable({5: reading(40.0)}, later, bare={4}).keys() == {5}
