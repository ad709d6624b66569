"""The order to work in."""

from laydown.media.colorant import Colorant
from laydown.media.design import minimum_design
from laydown.media.recipe import Recipe, Step, Tool, Treatment, TreatmentStep
from laydown.sheet.arrange import arrange
from laydown.sheet.sheet import Sheet, SheetKind
from laydown.sheet.words import cell_lines, recipe_words
from laydown.sheet.working_list import working_list

COLORANTS = [Colorant(f"Color {i:02d}", "Test") for i in range(20)]
LIGHTNESS = {colorant: 90.0 - 3 * i for i, colorant in enumerate(COLORANTS)}


def kit() -> Sheet:
    """Return a sheet with the minimum design."""
    recipes = minimum_design(COLORANTS, list(range(20)))
    return arrange(recipes, number=9, title="", kind=SheetKind.KIT, paper="")


def test_each_colorant_is_picked_up_once_in_the_first_round_from_pale_to_dark() -> None:
    """No nib is taken up twice, and none goes from dark to pale."""
    first = [pickup for pickup in working_list(kit(), lightness=LIGHTNESS) if pickup.round == 1]
    assert [pickup.name for pickup in first] == [c.name for c in COLORANTS]


def test_only_a_paler_color_over_a_darker_one_waits_for_a_second_round() -> None:
    """What is left for later is what must lie on dry color."""
    later = [pickup for pickup in working_list(kit(), lightness=LIGHTNESS) if pickup.round > 1]
    sheet = {cell.number: cell.recipe for cell in kit().cells}
    for pickup in later:
        for job in pickup.jobs:
            for number in job.cells:
                under, over = sheet[number].colorants
                assert LIGHTNESS[over] > LIGHTNESS[under]
                assert over.name == pickup.name


def test_the_jobs_add_up_to_the_sheet() -> None:
    """Every step of every cell is asked for once."""
    sheet = kit()
    asked = sum(len(j.cells) for p in working_list(sheet, lightness=LIGHTNESS) for j in p.jobs)
    assert asked == sum(len(cell.recipe.steps) for cell in sheet.cells)


def test_a_treatment_has_its_turn() -> None:
    """Solvent is a step like another, after the colors it acts on."""
    kelp = COLORANTS[0]
    recipe = Recipe((Step(kelp), TreatmentStep(Treatment.SOLVENT, Tool.SWAB)))
    sheet = arrange([recipe], number=1, title="", kind=SheetKind.LIST, paper="")
    assert [p.name for p in working_list(sheet, lightness={})] == [kelp.name, "solvent by swab"]
    (cell,) = (cell for cell in sheet.cells if not cell.bare)
    assert cell_lines(cell) == ("Color 00: one coat", "then solvent by swab")
    assert recipe_words(recipe) == "Color 00 one coat, then solvent by swab"
