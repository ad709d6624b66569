"""Recipes on pages."""

import pytest

from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.sheet.page import APART, CELL, PageSize, content_box, grid_for, most_cells
from laydown.sheet.sheet import FEWEST_BARE, Sheet, SheetKind, arrange


def recipes(count: int) -> list[Recipe]:
    """Return one-coat recipes of so many invented colorants."""
    return [Recipe((Step(Colorant(f"Color {i}", "Test")),)) for i in range(count)]


def made(
    count: int, *, number: int = 5, replicates: int = 1, size: PageSize = PageSize.A4
) -> Sheet:
    """Return a sheet of so many recipes."""
    return arrange(
        recipes(count),
        number=number,
        title="T",
        kind=SheetKind.LIST,
        paper="P",
        size=size,
        replicates=replicates,
    )


@pytest.mark.parametrize("size", list(PageSize))
@pytest.mark.parametrize("count", [1, 8, 40, 120, 300])
def test_cells_lie_inside_the_page_and_never_on_each_other(count: int, size: PageSize) -> None:
    """Cells with the words under them fit between the bands of marks."""
    sheet = made(count, size=size)
    area = content_box(size)
    for cell in sheet.cells:
        box = sheet.box(cell)
        assert box.left >= area.left - 1e-9
        assert box.right <= area.right + 1e-9
        assert box.bottom + 5 <= area.bottom
    assert all(grid.pitch_x - grid.cell_width >= 3.5 for grid in sheet.grids)


@pytest.mark.parametrize("count", [1, 40, 300])
def test_each_recipe_has_its_replicates_and_each_page_its_bare_cells(count: int) -> None:
    """Nothing is lost, and every page can have its light taken out."""
    sheet = made(count, replicates=2)
    laid = [cell.recipe for cell in sheet.cells if not cell.bare]
    assert sorted(r.key for r in laid) == sorted(r.key for r in recipes(count) * 2)
    for page in range(len(sheet.grids)):
        bare = [cell for cell in sheet.on_page(page) if cell.bare]
        assert len(bare) >= FEWEST_BARE
        xs = {round(sheet.box(cell).left) for cell in bare}
        ys = {round(sheet.box(cell).top) for cell in bare}
        assert len(xs) > 1
        assert len(ys) > 1 or count == 1
    assert [cell.number for cell in sheet.cells] == list(range(1, len(sheet.cells) + 1))


def test_the_number_decides_the_places() -> None:
    """The same sheet is arranged the same way again, another one otherwise."""
    assert made(40).cells == made(40).cells
    assert made(40).cells != made(40, number=6).cells


def test_a_page_takes_120_cells_on_a4() -> None:
    """The densest page has cells that a nib can fill."""
    grid = grid_for(most_cells(PageSize.A4), size=PageSize.A4)
    assert most_cells(PageSize.A4) == 120
    assert (grid.cell_width, grid.cell_height) >= CELL
    assert grid.cell_height >= CELL[1]
    with pytest.raises(ValueError, match="at most 120"):
        grid_for(400, size=PageSize.A4)


def test_more_than_eight_pages_are_refused() -> None:
    """A sheet's number has room for eight pages."""
    with pytest.raises(ValueError, match="at most 8"):
        made(1000)


def test_a_sheet_without_recipes_is_a_mistake() -> None:
    """There is nothing to print."""
    with pytest.raises(ValueError, match="needs a recipe"):
        made(0)


def test_coats_are_told_apart() -> None:
    """One and two coats of a colorant are two cells."""
    kelp = Colorant("Kelp", "Test")
    both = [Recipe((Step(kelp),)), Recipe((Step(kelp, Laydown(coats=2)),))]
    sheet = arrange(both, number=1, title="", kind=SheetKind.LIST, paper="")
    assert sum(not cell.bare for cell in sheet.cells) == 2


def test_cells_give_way_to_the_words_under_them() -> None:
    """Higher words leave fewer cells to a page, and none is smaller than the least."""
    tall = {"size": PageSize.A4, "words": lambda measure: 400.0 / measure}
    most = most_cells(**tall)
    assert most < most_cells(PageSize.A4)
    grid = grid_for(most, **tall)
    assert grid.pitch_y >= grid.cell_height + 400.0 / (grid.pitch_x - APART) - 1e-9
    assert grid.cell_height >= CELL[1]
