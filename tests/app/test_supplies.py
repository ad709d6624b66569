import subprocess
import sys

import pytest

from laydown.app.fits import Supplies, set_up
from laydown.app.library import Library
from laydown.errors import BadRecipeError, NotMeasuredError, UnknownNameError
from laydown.media.recipe import Colorant, Medium


def test_a_kit_leaves_out_what_is_not_owned(library: Library) -> None:
    """A kit of one colorant excludes the others of its range."""
    with library.work("own") as work:
        work.add_kit("mine")
        work.own("mine", [work.find_colorant("Kelp")])
    bench = set_up(library, Supplies(kit="mine"))
    assert bench.without == {"Shoal/Dune"}
    assert bench.label == "mine"


def test_what_lies_there_may_be_anothers(library: Library) -> None:
    """A colorant below that one doesn't own is fitted, but not laid again."""
    with library.work("own") as work:
        work.add_kit("mine")
        work.own("mine", [work.find_colorant("Kelp")])
    bench = set_up(library, Supplies(kit="mine", over="Gull"))
    assert [c.label for c in bench.over.colorants] == ["Cliff/Gull"]
    assert bench.without == {"Shoal/Dune", "Cliff/Gull"}


def test_what_cannot_be_considered_is_noted(library: Library) -> None:
    """Colorants that weren't swatched on the paper, and pencils, are named in notes."""
    with library.work("own") as work:
        work.add_colorants(
            [Colorant("Tern", "Shoal"), Colorant("Slate", "Lead", medium=Medium.PENCIL)]
        )
        work.add_kit("mine")
        work.own("mine", work.colorants())
    notes = set_up(library, Supplies(kit="mine")).notes
    assert notes == ("Not considered, since not swatched on Gannet smooth: Slate, Tern.",)


def test_several_ranges_must_be_told_apart(library: Library) -> None:
    """With two ranges and none named, the hint lists them."""
    with pytest.raises(UnknownNameError) as caught:
        set_up(library, Supplies())
    assert "Cliff, Shoal" in caught.value.hint


def test_an_empty_kit_is_said_so(library: Library) -> None:
    """A kit with nothing in it gives no answer, and its hint says how to fill it."""
    with library.work("create") as work:
        work.add_kit("mine")
    with pytest.raises(NotMeasuredError, match="is empty"):
        set_up(library, Supplies(kit="mine"))


def test_pencil_that_lies_there_must_be_swatched(library: Library) -> None:
    """A pencil below that nobody swatched on this paper is named."""
    with library.work("add") as work:
        work.add_colorants([Colorant("Slate", "Lead", medium=Medium.PENCIL)])
    with pytest.raises(NotMeasuredError, match="No swatch of Lead"):
        set_up(library, Supplies(ranges=("Shoal",), over="Slate"))


def test_an_order_that_ruins_work_is_refused(library: Library) -> None:
    """What lies there can't be marker over pencil, and the reason is given."""
    with library.work("add") as work:
        work.add_colorants([Colorant("Slate", "Lead", medium=Medium.PENCIL)])
    with pytest.raises(BadRecipeError, match="nib"):
        set_up(library, Supplies(ranges=("Shoal",), over="Slate; Gull"))


def test_showing_a_range_loads_no_search() -> None:
    """The search, its compiler and the hulls of a comparison are left for who asks for them."""
    heavy = "'numba', 'scipy', 'laydown.match.search.search'"
    script = f"import sys, laydown.app.supplies.ranges; print({{{heavy}}} & set(sys.modules))"
    told = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True).stdout
    assert told.decode() == "set()\n"
