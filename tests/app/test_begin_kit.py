from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from laydown.app.demo import add_demo, remove_demo
from laydown.app.fits import Supplies
from laydown.app.library import Library, open_named, show_library
from laydown.app.matches.colors import Asking
from laydown.app.sheets.printing import (
    PrintSheet,
    begin_kit,
    list_sheets,
    nearest_first,
    print_sheet,
    show_sheet,
)
from laydown.app.supplies.kits import (
    check_names,
    own_colorants,
    show_kit,
)
from laydown.app.supplies.names import INVENTED
from laydown.app.supplies.papers import add_paper
from laydown.app.supplies.ranges import remove_range
from laydown.errors import (
    AmbiguousNameError,
    BadColorError,
    BadRecipeError,
    DuplicateNameError,
    LibraryError,
    UnknownNameError,
)
from laydown.media.recipe import Colorant, Medium, format_recipe

NAMES = ("Kelp", "Dune", "Net", "Skiff", "Reed", "Moss", "Clay", "Slate", "Fern", "Rust")


@pytest.fixture
def library(tmp_path: Path, lay_library: Callable[[Path], Path]) -> Library:
    """Return an empty library."""
    return open_named(str(lay_library(tmp_path / "library.db")))


def test_names_alone_are_enough_to_begin(library: Library) -> None:
    """Ten names and a paper give a kit and a sheet: each once, eight twice, four cells bare."""
    begun = begin_kit(library, NAMES, "Tern rough", wanted=("lab:70,0,40",))
    assert len(show_kit(library, "mine")) == 10
    assert [cell.bare for cell in begun.cells].count(True) == 4
    assert len(begun.cells) == 18 + 4
    assert {one.colorant.range for one in show_kit(library, "mine")} == {"mine"}
    shown = show_sheet(library, begun.number)
    assert (shown.paper, len(shown.cells)) == ("Tern rough", 22)
    assert not any(cell.taken or cell.color for cell in shown.cells)
    (listed,) = list_sheets(library)
    assert (listed.number, listed.cells, listed.taken) == (shown.number, 18, 0)


def test_a_first_sheet_asks_for_the_whole_box_and_some_in_two_depths(library: Library) -> None:
    """All ten in one coat, eight spread over the list in two, and it says why."""
    begun = begin_kit(library, NAMES, "Tern rough")
    shown = show_sheet(library, begun.number)
    asked = {format_recipe(cell.recipe) for cell in shown.cells} - {""}
    deep = {name for name in NAMES if f"{name}*2" in asked}
    assert asked == {*NAMES, *(f"{name}*2" for name in deep)}
    assert len(deep) == 8
    assert "second coat" in shown.why
    listed = PrintSheet("list", Asking(Supplies(paper="Tern rough")), recipes=("Kelp*2",))
    assert show_sheet(library, print_sheet(library, listed).number).why == ""


def test_two_dozen_markers_are_one_patch_each_and_six_minutes(library: Library) -> None:
    """Second coats wait for the next sheet; each patch is small, a quarter of a minute's work."""
    begun = begin_kit(library, tuple(f"Marker {i}" for i in range(24)), "Tern rough")
    sheet, shown = begun, show_sheet(library, begun.number)
    assert [cell.recipe.coats for cell in sheet.cells if not cell.bare] == [1] * 24
    assert {(grid.cell_width, grid.cell_height) for grid in sheet.grids} == {(12.0, 10.0)}
    assert shown.why == "It takes about 6 minutes to color in."


def test_a_first_sheet_says_what_its_page_has_no_room_for(library: Library) -> None:
    """Of 150 colors one page takes what is large enough to read; the rest is named."""
    names = tuple(f"Color number {i}" for i in range(150))
    sheet = begin_kit(library, names, "Tern rough")
    asked = {c.name for cell in sheet.cells for c in cell.recipe.colorants}
    assert len(sheet.grids) == 1
    assert len(asked) > 60
    assert set(names) - asked == set(sheet.left_out)
    assert "The page is full" in show_sheet(library, sheet.number).why


def test_neighbors_of_a_wanted_color_are_the_last_to_be_left_out() -> None:
    """What is known to come near it on some paper stands first, what nobody knows last."""
    pale, dark, unknown = (Colorant(name, "Shoal") for name in ("Foam", "Kelp", "Net"))
    labs = {pale: np.array([90.0, 0.0, 10.0]), dark: np.array([30.0, 0.0, -20.0])}
    wanted = [np.array([35.0, 0.0, -15.0])]
    assert nearest_first((pale, unknown, dark), labs, wanted) == (dark, pale, unknown)


def test_a_small_kit_is_asked_for_as_a_whole(library: Library) -> None:
    """Three colors are each laid in one coat and in two."""
    begun = begin_kit(library, NAMES[:3], "Tern rough")
    assert [cell.bare for cell in begun.cells].count(True) == 4
    assert len(begun.cells) == 6 + 4


def test_beginning_again_adds_to_the_kit(library: Library) -> None:
    """The kit and its range may be there already; a range keeps its medium."""
    begin_kit(library, NAMES[:3], "Tern rough", range="Shoal", medium=Medium.PENCIL)
    begin_kit(library, ("Rust", "kelp"), "Tern rough", range="shoal")
    media = [one.colorant.medium for one in show_kit(library, "mine")]
    assert media == 4 * [Medium.PENCIL]


@pytest.mark.parametrize("own", [Medium.PENCIL, Medium.WASH])
def test_a_name_that_is_taken_by_another_medium_asks(library: Library, own: Medium) -> None:
    """Pencils under the name of a set of markers are not stored as markers: nothing is kept."""
    begin_kit(library, NAMES[:3], "Tern rough", medium=Medium.MARKER)
    with pytest.raises(DuplicateNameError, match="“mine” is a set of markers already") as asked:
        begin_kit(library, ("Rust", "Plum"), "Tern rough", kit="Mine", medium=own)
    assert asked.value.hint == (
        f"Give the {own.plural} a name of their own. If they are the same set, say that they are "
        "markers."
    )
    assert {one.colorant.name for one in show_kit(library, "mine")} == {*NAMES[:3]}
    with pytest.raises(DuplicateNameError, match="set of markers already"):
        own_colorants(library, "mine", ("Rust",), new_range="mine", medium=own)


def test_a_known_name_of_another_medium_asks(library: Library) -> None:
    """A pencil called as a marker that is known is not taken for it; written in full it may be."""
    begin_kit(library, NAMES[:3], "Tern rough", range="Shoal", medium=Medium.MARKER)
    tin = {"paper": "Tern rough", "kit": "tin", "medium": Medium.PENCIL}
    with pytest.raises(AmbiguousNameError, match="“Kelp” is a marker of Shoal here") as asked:
        begin_kit(library, ("Kelp", "Plum"), **tin)
    assert "“Shoal/Kelp”" in asked.value.hint
    assert "“tin/Kelp”" in asked.value.hint
    begin_kit(library, ("Shoal/Kelp", "tin/Kelp"), **tin)
    assert len(show_kit(library, "tin")) == 2
    labels = {one.colorant.label: one.colorant.medium for one in show_kit(library, "tin")}
    assert labels == {"Shoal/Kelp": Medium.MARKER, "tin/Kelp": Medium.PENCIL}


def test_nothing_owned_is_nothing_to_begin_with(library: Library) -> None:
    """Without a name nothing is kept."""
    with pytest.raises(BadRecipeError, match="Nothing is named"):
        begin_kit(library, (), "Tern rough")
    assert show_library(library)["kits"] == 0


@pytest.mark.parametrize("wanted", ["purple", "lab:200,0,0", "#12"])
def test_a_wanted_color_that_is_none_is_told_at_once(library: Library, wanted: str) -> None:
    """Nothing is kept, for the sheet would be colored in before it shows; one's own will do."""
    with pytest.raises((UnknownNameError, BadColorError)):
        begin_kit(library, NAMES, "Tern rough", wanted=("Kelp", wanted))
    assert (show_library(library)["kits"], list_sheets(library)) == (0, ())
    begin_kit(library, NAMES, "Tern rough", wanted=("Kelp; Dune",))
    assert len(show_kit(library, "mine")) == 10


def test_unknown_names_are_added_only_where_told(library: Library) -> None:
    """Without a range for new ones an unknown name is an error, and nothing is changed."""
    begin_kit(library, NAMES[:3], "Tern rough")
    with pytest.raises(UnknownNameError):
        own_colorants(library, "mine", ("Clay",))
    assert own_colorants(library, "mine", ("Clay",), new_range="Bank")[-1] == 4


def test_every_name_of_a_list_is_checked(library: Library) -> None:
    """Near names are offered, doubles are listed, and what is nothing like any is said so."""
    begin_kit(library, ("Kelp", "Dune"), "Tern rough", range="Shoal")
    begin_kit(library, ("Bank/Dune",), "Tern rough", kit="yours", range="Bank")
    own_colorants(library, "yours", ("Dune deep",), new_range="Bank")
    clear, unclear = check_names(library, ("kelp", "Klep", "Dunne deep", "Zzz", "Kelp"))
    assert [c.label for c in clear] == ["Shoal/Kelp"]
    assert unclear["Klep"] == ("Shoal/Kelp",)
    assert unclear["Dunne deep"][0] == "Bank/Dune deep"
    assert unclear["Zzz"] == ()


def test_the_demo_goes_as_it_came(library: Library) -> None:
    """It is one change to take back, and can be taken out later without what is one's own."""
    empty = show_library(library)
    add_demo(library)
    with pytest.raises(DuplicateNameError, match="Estuary"):
        add_demo(library)
    library.undo()
    assert show_library(library) == empty
    came = add_demo(library)
    assert {name for names in came[:3] for name in names} == INVENTED
    add_paper(library, "Tern rough")
    own_colorants(library, "demo student", ("Kelp own",), new_range="Mine")
    gone = remove_demo(library)
    assert gone[-1] == came[-1]
    _, *left = show_library(library).values()
    assert left == [1, 1, 1, 0, 0]


def test_a_range_goes_with_its_swatches_only_when_told(library: Library) -> None:
    """It leaves kits, classes and tests too, and comes back whole by undo."""
    add_demo(library)
    before = show_library(library)
    with pytest.raises(LibraryError, match="swatches use Orchard"):
        remove_range(library, "orchard")
    gone = remove_range(library, "orchard", with_swatches=True)
    assert show_library(library)["swatches"] == before["swatches"] - gone
    assert show_kit(library, "demo student") == ()
    library.undo()
    assert show_library(library) == before
    assert len(show_kit(library, "demo student")) == 36
