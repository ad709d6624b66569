"""What is said of single colorants."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from laydown.errors import LightfastnessError, PanMarkError, UnknownNameError
from laydown.media.light.exposure import Span
from laydown.media.light.fading import parse_class
from laydown.media.light.window_test import WindowReading
from laydown.media.pan_marks import MarkedPan, PanMark
from laydown.media.recipe import Colorant, Medium
from laydown.store.library import Library
from laydown.store.lightfastness import WindowTest


@pytest.fixture
def stocked(any_library: Library, supplies: SimpleNamespace) -> Library:
    """A library with three colorants."""
    with any_library.work("add") as work:
        work.add_colorants([supplies.kelp, supplies.dune, supplies.fig])
    return any_library


@pytest.fixture
def hung(supplies: SimpleNamespace) -> WindowTest:
    """Kelp after some light."""
    before, after = np.array([50.0, -20.0, 10.0]), np.array([53.0, -15.0, 8.0])
    reading = WindowReading(Span(0.5, 1.5), before, after, 0.4, filtered=False)
    return WindowTest(supplies.kelp, "Gannet smooth", reading, "north sill")


def test_classes_come_back_sorted_with_their_source(
    stocked: Library, supplies: SimpleNamespace
) -> None:
    """What was stated is found again, by range and name."""
    with stocked.work("rate") as work:
        assert work.lightfastness.rate(supplies.fig, parse_class("II"), "the tube")
        assert work.lightfastness.rate(supplies.kelp, parse_class("3-4"))
    with stocked.look() as work:
        found = work.lightfastness.all()
    assert [(c.name, fastness, source) for c, fastness, source in found] == [
        ("Kelp", "3-4", ""),
        ("Fig", "II", "the tube"),
    ]


def test_a_class_can_be_stated_anew_and_taken_back(
    stocked: Library, supplies: SimpleNamespace
) -> None:
    """The last word holds; saying the same again changes nothing; None forgets it."""
    with stocked.work("rate") as work:
        work.lightfastness.rate(supplies.fig, parse_class("II"))
        assert work.lightfastness.rate(supplies.fig, parse_class("III"))
        assert not work.lightfastness.rate(supplies.fig, parse_class("III"))
        work.lightfastness.rate(supplies.dune, None)
        assert [fastness for _, fastness, _ in work.lightfastness.all()] == ["III"]
        work.lightfastness.rate(supplies.fig, None)
        assert work.lightfastness.all() == ()


def test_readings_come_back_as_they_were_kept(stocked: Library, hung: WindowTest) -> None:
    """Dose, colors, noise, ultraviolet and remark are found again, with a number."""
    with stocked.work("hang") as work:
        assert work.lightfastness.add(hung) is not None
    with stocked.look() as work:
        (kept,) = work.lightfastness.tests()
    assert (kept.colorant, kept.paper, kept.remark) == (hung.colorant, hung.paper, hung.remark)
    assert kept.number > 0
    assert kept.noted is not None
    assert kept.reading.dose == hung.reading.dose
    assert kept.reading.after.tolist() == hung.reading.after.tolist()
    assert (kept.reading.noise, kept.reading.filtered) == (0.4, False)


def test_the_same_reading_is_kept_once(stocked: Library, hung: WindowTest) -> None:
    """A repeat is passed over; a longer dose is a further reading."""
    longer = replace(hung, reading=replace(hung.reading, dose=Span(1.0, 3.0)))
    with stocked.work("hang") as work:
        assert work.lightfastness.add(hung) is not None
        assert work.lightfastness.add(hung) is None
        assert work.lightfastness.add(longer) is not None
        assert len(work.lightfastness.tests()) == 2


def test_a_reading_is_forgotten_by_its_number(stocked: Library, hung: WindowTest) -> None:
    """It goes, and a number that none has is told as such."""
    with stocked.work("hang") as work:
        kept = work.lightfastness.add(hung)
        assert kept is not None
        assert work.lightfastness.forget(kept.number).remark == "north sill"
        assert work.lightfastness.tests() == ()
        with pytest.raises(UnknownNameError, match="window reading number"):
            work.lightfastness.forget(kept.number)


def test_an_unknown_colorant_is_not_rated(stocked: Library, hung: WindowTest) -> None:
    """Neither a class nor a reading makes a colorant that isn't there."""
    stranger = Colorant("Gorse", "Estuary")
    with pytest.raises(UnknownNameError, match="Gorse"), stocked.work("rate") as work:
        work.lightfastness.rate(stranger, parse_class("3"))
    with pytest.raises(UnknownNameError, match="Gorse"), stocked.work("hang") as work:
        work.lightfastness.add(replace(hung, colorant=stranger))


def test_a_remark_that_is_too_long_is_refused(stocked: Library, hung: WindowTest) -> None:
    """It is said how long it may be, and nothing is kept."""
    with pytest.raises(LightfastnessError, match="at most 300"), stocked.work("hang") as work:
        work.lightfastness.add(replace(hung, remark="x" * 301))
    with stocked.look() as work:
        assert work.lightfastness.tests() == ()


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
