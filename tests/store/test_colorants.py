from types import SimpleNamespace

import pytest

from laydown.errors import (
    AmbiguousNameError,
    BadRecipeError,
    DuplicateNameError,
    UnknownNameError,
)
from laydown.media.recipe import Colorant, Medium
from laydown.store.library import Library
from laydown.store.records import Range

REED = Colorant("Reed", "Estuary", code="14 B/x")
REED_2 = Colorant("Reed", "Orchard")
LAMP = Colorant("Lamp", "Orchard", code="Kelp")


@pytest.fixture
def named(full: Library) -> Library:
    """Five swatches' colorants and three more."""
    with full.work("add colorants") as work:
        work.add_colorants([REED, REED_2, LAMP])
    return full


@pytest.mark.parametrize(
    ("typed", "label"),
    [
        ("Kelp", "Estuary/Kelp"),
        ("  kELP ", "Estuary/Kelp"),
        ("orchard/reed", "Orchard/Reed"),
        ("14 b/X", "Estuary/Reed"),
        ("k one", "Estuary/Kelp"),
    ],
)
def test_a_colorant_is_found_by_name_label_or_code(named: Library, typed: str, label: str) -> None:
    """Capitals and spaces don't matter; a name wins over another's code; codes are whole labels."""
    with named.look() as work:
        assert work.find_colorant(typed).label == label


def test_a_name_in_two_ranges_is_ambiguous(named: Library) -> None:
    """The choices are listed, and the hint shows how to say which."""
    with named.look() as work, pytest.raises(AmbiguousNameError) as trouble:
        work.find_colorant("reed")
    assert "Estuary/Reed, Orchard/Reed" in trouble.value.message
    assert "Estuary/Reed" in trouble.value.hint


def test_looking_among_a_kit_settles_it(named: Library) -> None:
    """Within a kit that holds one of them, the name is clear."""
    with named.look() as work:
        assert work.find_colorant("Reed", among=[REED_2, LAMP]) == REED_2


@pytest.mark.parametrize(
    ("typed", "hint"),
    [("Klep", "Did you mean Kelp?"), ("Estuary/Dun", "Estuary/Dune"), ("zzzz", "Known: ")],
)
def test_a_near_miss_gets_a_suggestion(named: Library, typed: str, hint: str) -> None:
    """An unknown name is answered with the nearest ones, or with what is known."""
    with named.look() as work, pytest.raises(UnknownNameError, match=typed) as trouble:
        work.find_colorant(typed)
    assert hint in trouble.value.hint


def test_an_empty_library_says_so(library: Library) -> None:
    """Nothing to suggest from is said as it is."""
    with library.look() as work, pytest.raises(UnknownNameError) as trouble:
        work.find_colorant("Kelp")
    assert trouble.value.hint == "There is none yet: bring in swatches first."
    assert trouble.value.command == "laydown swatches import FILE"


def test_ranges_are_listed_with_medium_and_size(named: Library) -> None:
    """Each range tells its medium and how many colorants of it are known."""
    with named.look() as work:
        assert work.ranges() == (
            Range("Estuary", Medium.MARKER, 3),
            Range("Orchard", Medium.MARKER, 3),
        )
        assert [c.name for c in work.colorants("orchard")] == ["Fig", "Lamp", "Reed"]
        assert len(work.colorants()) == 6
        assert work.find_range("ESTUARY").name == "Estuary"
        with pytest.raises(UnknownNameError, match="no range “Estury”"):
            work.find_range("Estury")


def test_a_new_code_takes_the_place_of_the_old(named: Library) -> None:
    """A code given anew counts; a blank one leaves the old."""
    with named.work("recode") as work:
        assert work.add_colorants([Colorant("reed", "estuary", code="mine 3")]) == ()
        work.add_colorants([Colorant("Reed", "Estuary")])
        assert work.find_colorant("MINE 3") == Colorant("Reed", "Estuary", code="mine 3")


def test_a_blender_is_not_a_color(named: Library) -> None:
    """One name can't be both a colorless blender and a color."""
    with named.work("add") as work, pytest.raises(DuplicateNameError, match="colorless blender"):
        work.add_colorants([Colorant("Kelp", "Estuary", blender=True)])


def test_a_colorant_of_no_known_range_is_told_so(named: Library, supplies: SimpleNamespace) -> None:
    """Asking for the swatches of a colorant that isn't there suggests near names."""
    with named.look() as work:
        with pytest.raises(UnknownNameError, match="colorant in Estuary called “Kelt”"):
            work.swatches(colorant=Colorant("Kelt", "Estuary"))
        assert work.swatches(colorant=supplies.dune)


@pytest.mark.parametrize("name", ["Kelp; Dune", "Kelp*2", "Kelp (wet)", "solvent by swab", ""])
def test_a_name_that_a_recipe_would_misread_is_refused(library: Library, name: str) -> None:
    """What couldn't be written in a recipe can't be a colorant's name."""
    with library.work("add") as work, pytest.raises(BadRecipeError):
        work.add_colorants([Colorant(name, "Estuary")])
