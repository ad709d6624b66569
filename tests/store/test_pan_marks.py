"""Marks of pans in the library."""

from types import SimpleNamespace

import pytest

from laydown.errors import PanMarkError
from laydown.media.pan_marks import MarkedPan, PanMark
from laydown.media.recipe import Colorant, Medium
from laydown.store.library import Library

SILT = Colorant("Silt", "Pond", Medium.WASH)


def test_the_last_marks_hold_and_can_be_taken_back(any_library: Library) -> None:
    """Marks take the place of those before; none take them away, also where there are none."""
    with any_library.work("mark") as work:
        work.add_colorants([SILT])
        work.pan_marks.mark(SILT, (PanMark.OPAQUE,))
        work.pan_marks.mark(SILT, (PanMark.TRANSPARENT, PanMark.STAINING))
        assert work.pan_marks.all() == (MarkedPan(SILT, (PanMark.TRANSPARENT, PanMark.STAINING)),)
        work.pan_marks.mark(SILT, ())
        work.pan_marks.mark(SILT, ())
        assert work.pan_marks.all() == ()


def test_marks_go_with_their_range(any_library: Library) -> None:
    """A range that is removed takes them along, and undo brings both back."""
    with any_library.work("mark") as work:
        work.add_colorants([SILT])
        work.pan_marks.mark(SILT, (PanMark.OPAQUE,))
    with any_library.work("remove") as work:
        work.remove_range("Pond")
        assert work.pan_marks.all() == ()
    any_library.undo()
    with any_library.look() as work:
        assert work.pan_marks.all() == (MarkedPan(SILT, (PanMark.OPAQUE,)),)


def test_only_pans_are_marked(any_library: Library, supplies: SimpleNamespace) -> None:
    """A marker is refused, and nothing is kept of it."""
    with any_library.work("add") as work:
        work.add_colorants([supplies.kelp])
    with pytest.raises(PanMarkError, match="no pan"), any_library.work("mark") as work:
        work.pan_marks.mark(supplies.kelp, (PanMark.OPAQUE,))
