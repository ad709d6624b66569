from types import SimpleNamespace

import pytest

from laydown.errors import DuplicateNameError, UnknownNameError
from laydown.store.library import Library
from laydown.store.records import Kit


def test_a_kit_holds_colorants_of_several_ranges(full: Library, supplies: SimpleNamespace) -> None:
    """Owning twice changes nothing; the kit is sorted by range and name."""
    with full.work("own") as work:
        work.add_kit("Mine")
        assert work.own("mine", [supplies.fig, supplies.kelp, supplies.kelp]) == (
            supplies.fig,
            supplies.kelp,
        )
        assert work.own("mine", [supplies.kelp, supplies.dune]) == (supplies.dune,)
        whole = (supplies.dune, supplies.kelp, supplies.fig)
        assert work.kit("MINE") == whole
        assert work.kits() == (Kit("Mine", whole),)


def test_disowning_leaves_the_colorant_in_the_library(
    full: Library, supplies: SimpleNamespace
) -> None:
    """What is disowned is reported, and only what was owned."""
    with full.work("disown") as work:
        work.add_kit("mine")
        work.own("mine", [supplies.kelp])
        assert work.disown("mine", [supplies.kelp, supplies.fig]) == (supplies.kelp,)
        assert work.kit("mine") == ()
        assert work.find_colorant("Kelp") == supplies.kelp


def test_kit_names_are_unique_and_suggested(full: Library) -> None:
    """A kit of the same name is refused, an unknown one suggested; a removed one is free again."""
    with full.work("kits") as work:
        work.add_kit("school box")
        with pytest.raises(DuplicateNameError, match="a kit “school box” already"):
            work.add_kit("School  Box")
        with pytest.raises(UnknownNameError, match="no kit “shool box”") as trouble:
            work.kit("shool box")
        assert trouble.value.hint == "Did you mean school box?"
        work.remove_kit("school box")
        work.add_kit("school box")
