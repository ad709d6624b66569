"""The order to work in."""

from laydown.media.laydown import Laydown, Pressure
from laydown.media.marker.design import minimum_design
from laydown.media.recipe import (
    Colorant,
    Medium,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    mixture,
)
from laydown.media.recipe_words import recipe_words
from laydown.sheet.sheet import Sheet, SheetKind, arrange
from laydown.sheet.words import cell_steps, meant, order_of_steps, working_list

COLORANTS = [Colorant(f"Color {i:02d}", "Test") for i in range(20)]
LIGHTNESS = {colorant: 90.0 - 3 * i for i, colorant in enumerate(COLORANTS)}


def kit() -> Sheet:
    """Return a sheet with the minimum design."""
    recipes = minimum_design(COLORANTS, list(range(20)))
    return arrange(recipes, number=9, title="", kind=SheetKind.KIT, paper="")


def test_each_colorant_is_picked_up_once_in_the_first_round_from_pale_to_dark() -> None:
    """No nib is taken up twice, and none goes from dark to pale."""
    first = [pickup for pickup in working_list(kit().cells, lightness=LIGHTNESS) if pickup[0] == 1]
    assert [name for _, name, _ in first] == [c.name for c in COLORANTS]


def test_only_a_paler_color_over_a_darker_one_waits_for_a_second_round() -> None:
    """What is left for later is what must lie on dry color."""
    later = [pickup for pickup in working_list(kit().cells, lightness=LIGHTNESS) if pickup[0] > 1]
    sheet = {cell.number: cell.recipe for cell in kit().cells}
    for _, name, numbers in later:
        for number in numbers:
            under, over = sheet[number].colorants
            assert LIGHTNESS[over] > LIGHTNESS[under]
            assert over.name == name


def test_the_jobs_add_up_to_the_sheet() -> None:
    """Every step of every cell is asked for once."""
    sheet = kit()
    order = order_of_steps(working_list(sheet.cells, lightness=LIGHTNESS))
    assert {n: len(steps) for n, steps in order.items()} == {
        cell.number: len(cell.recipe.steps) for cell in sheet.cells if not cell.bare
    }
    assert all(list(steps) == sorted(set(steps)) for steps in order.values())


def test_a_treatment_has_its_turn() -> None:
    """Solvent is a step like another, after the colors it acts on."""
    kelp = COLORANTS[0]
    recipe = Recipe((Step(kelp), TreatmentStep(Treatment.SOLVENT, Tool.SWAB)))
    sheet = arrange([recipe], number=1, title="", kind=SheetKind.LIST, paper="")
    assert [name for _, name, _ in working_list(sheet.cells, lightness={})] == [
        kelp.name,
        "solvent by swab",
    ]
    (cell,) = (cell for cell in sheet.cells if not cell.bare)
    assert cell_steps(cell.recipe) == (
        (1, "Color 00", ""),
        (1, "then solvent by swab", ""),
    )
    assert recipe_words(recipe) == "1 coat Color 00, then solvent by swab"


def test_what_lies_over_a_wash_or_solvent_waits_until_that_is_dry() -> None:
    """A wash on a wet wash would run into it; a pencil over a pencil need not wait."""
    pale, dark = (Colorant(name, "Pond", Medium.WASH) for name in ("Reed", "Silt"))
    fern, root = (Colorant(name, "Meadow", Medium.PENCIL) for name in ("Fern", "Root"))
    solvent = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)
    layered = [(pale, dark), (fern, root)]
    recipes = [Recipe((Step(below), Step(above))) for below, above in layered]
    recipes.append(Recipe((Step(fern), solvent, Step(root))))
    sheet = arrange(recipes, number=1, title="", kind=SheetKind.LIST, paper="")
    lightness = {pale: 80.0, dark: 30.0, fern: 70.0, root: 20.0}
    rounds = [(name, turn) for turn, name, _ in working_list(sheet.cells, lightness=lightness)]
    assert rounds == [
        ("Reed", 1), ("Fern", 1), ("Root", 1), ("solvent by swab", 1), ("Silt", 2), ("Root", 2)
    ]  # fmt: skip


def test_each_medium_has_its_own_words() -> None:
    """Pencils have pressure and never dry; washes have water; cells leave out the usual."""
    fern, reed = Colorant("Fern", "Meadow", Medium.PENCIL), Colorant("Reed", "Pond", Medium.WASH)
    heavy = Step(fern, Laydown(coats=3, pressure=Pressure.HEAVY))
    twice, thin = Step(reed, Laydown(2)), Step(reed, Laydown(dilution=0.75))
    said = cell_steps(Recipe((Step(fern), heavy, Step(reed), twice, thin)))
    assert [(coats, what, how.replace("\u00a0", " ")) for coats, what, how in said] == [
        (1, "Fern", ""),
        (3, "then Fern", "3 heavy layers"),
        (1, "then Reed", ""),
        (2, "then Reed", "2 washes"),
        (1, "then Reed", "1 wash, 75 % water"),
    ]
    assert [told.partition(":")[0] for told in meant({Medium.WASH, Medium.PENCIL})] == [
        "Pencils",
        "Washes",
    ]


def test_a_mixture_is_named_with_its_parts() -> None:
    """The list says what is mixed, not its first part alone."""
    reed, silt = (Colorant(name, "Pond", Medium.WASH) for name in ("Reed", "Silt"))
    recipe = Recipe((mixture((2, reed), (1, silt)),))
    sheet = arrange([recipe], number=1, title="", kind=SheetKind.LIST, paper="")
    assert [name for _, name, _ in working_list(sheet.cells, lightness={})] == [
        "mix 2 Reed + 1 Silt"
    ]
