"""Papers, ranges, colorants and kits."""

from types import SimpleNamespace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.errors import (
    AmbiguousNameError,
    BadRecipeError,
    DuplicateNameError,
    LibraryError,
    UnknownNameError,
)
from laydown.media.recipe import Colorant, Medium, Recipe
from laydown.media.swatch import Basis, Swatch
from laydown.store.library import Library
from laydown.store.records import Kit, Range
from laydown.store.supplies import usual_white

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


def test_an_unmeasured_paper_is_assumed_white_and_says_so(library: Library) -> None:
    """Without a bare swatch the usual white stands in: neutral, L* 95."""
    with library.work("add") as work:
        paper = work.add_paper(" Gannet  smooth", coats_limit=4)
    assert (paper.name, paper.coats_limit, paper.measured) == ("Gannet smooth", 4, False)
    np.testing.assert_allclose(lab_from_reflectance(usual_white()), [95, 0, 0], atol=0.05)


def test_a_measured_paper_is_the_mean_of_its_bare_swatches(
    library: Library, supplies: SimpleNamespace
) -> None:
    """Two bare swatches of .8 and .9 make a paper of .85; a colored one doesn't count."""
    with library.work("take in") as work:
        work.add_swatches(
            [
                supplies.swatch(level=0.8),
                supplies.swatch(level=0.9),
                supplies.swatch(supplies.one(supplies.kelp), level=0.1),
            ]
        )
        paper = work.paper("gannet smooth")
    assert paper.measured
    np.testing.assert_allclose(paper.reflectance, supplies.swatch(level=0.85).reflectance)


def test_a_spectrum_counts_before_xyz(library: Library, supplies: SimpleNamespace) -> None:
    """Where a paper has a spectrum, a bare swatch known by XYZ alone is left out of its mean."""
    from_xyz = Swatch("Gannet smooth", Recipe(), np.full(36, 0.5), Basis.XYZ)
    with library.work("take in") as work:
        work.add_swatches([from_xyz])
        assert work.paper("Gannet smooth").reflectance[0] == 0.5
        work.add_swatches([supplies.swatch(level=0.8)])
        np.testing.assert_allclose(work.paper("Gannet smooth").reflectance.mean(), 0.8)


def test_paper_names_are_unique_whatever_their_capitals(library: Library) -> None:
    """A second paper of the same name is refused; an unknown one is suggested near ones."""
    with library.work("add") as work:
        work.add_paper("Gannet smooth")
        with pytest.raises(DuplicateNameError, match="a paper “Gannet smooth” already"):
            work.add_paper("GANNET SMOOTH")
        with pytest.raises(UnknownNameError, match="no paper “Ganet smooth”") as trouble:
            work.paper("Ganet smooth")
    assert trouble.value.hint == "Did you mean Gannet smooth?"


def test_the_coats_limit_can_be_mended(library: Library) -> None:
    """A limit from 1 to 99 is kept, any other refused."""
    with library.work("add") as work:
        work.add_paper("Gannet smooth")
        assert work.set_coats_limit("gannet smooth", 9).coats_limit == 9
        with pytest.raises(BadRecipeError, match="limit of 0 coats"):
            work.set_coats_limit("Gannet smooth", 0)
        assert work.paper("Gannet smooth").coats_limit == 9


def test_a_name_is_of_what_has_it_now(library: Library) -> None:
    """Within one transaction a paper that went is gone, and another may have its name."""
    with library.work("papers") as work:
        work.add_paper("Gannet", coats_limit=3)
        assert work.paper("Gannet").coats_limit == 3
        work.remove_paper("Gannet")
        with pytest.raises(UnknownNameError):
            work.paper("Gannet")
        work.add_paper("Gannet", coats_limit=5)
        assert work.paper("gannet").coats_limit == 5


def test_a_paper_with_swatches_goes_only_when_told_so(full: Library) -> None:
    """Removing a paper that carries swatches needs saying that they go too."""
    with full.work("remove") as work:
        with pytest.raises(LibraryError, match="Gannet smooth carries 5 swatches"):
            work.remove_paper("Gannet smooth")
        assert work.remove_paper("Gannet smooth", with_swatches=True) == 5
        assert (work.papers(), work.swatches()) == ((), ())
        work.add_paper("Gannet smooth")
        assert work.remove_paper("Gannet smooth") == 0


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
