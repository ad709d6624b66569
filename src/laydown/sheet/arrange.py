"""Arrange recipes on pages: replicates at random places, bare paper spread among them."""

import math
from collections.abc import Sequence
from hashlib import sha256

from laydown.media.recipe import Recipe
from laydown.sheet.identity import MOST_PAGES
from laydown.sheet.page import Grid, PageSize, Words, grid_for, most_cells, two_lines
from laydown.sheet.sheet import Cell, Sheet, SheetKind

FEWEST_BARE = 4
"""Bare cells on a page: enough to tell a slope of light in both directions and one cell spoiled."""
BARE_SHARE = 0.08
"""Share of a large page's cells that stay bare (chosen: the white between cells helps too)."""


def arrange(
    recipes: Sequence[Recipe],
    *,
    number: int,
    title: str,
    kind: SheetKind,
    paper: str,
    size: PageSize = PageSize.A4,
    replicates: int = 1,
    framed: bool = False,
    words: Words = two_lines,
    left_out: Sequence[str] = (),
) -> Sheet:
    """Arrange recipes on as few pages as hold them, the sheet's number deciding the places.

    Parameters
    ----------
    recipes
        What to lay, each once; bare paper is added.
    number
        The sheet's number, which is the seed of the arrangement too.
    title, kind, paper, size, framed, left_out
        As in `Sheet`.
    replicates
        How many cells each recipe gets.
    words
        How high the words under the cells stand, told how wide they may be [mm].

    Raises
    ------
    ValueError
        Without recipes, or where more than eight pages would be needed.

    Examples
    --------
    >>> from laydown.media.recipe import Colorant
    >>> from laydown.media.recipe import Step
    >>> kelp = Recipe((Step(Colorant("Kelp", "Estuary")),))
    >>> sheet = arrange(
    ...     [kelp], number=7, title="A try", kind=SheetKind.LIST, paper="Gannet", replicates=2
    ... )
    >>> sum(cell.bare for cell in sheet.cells), len(sheet.cells)
    (4, 6)
    """
    wanted = [recipe for recipe in recipes for _ in range(replicates)]
    if not wanted:
        raise ValueError("a sheet needs a recipe")
    pages = math.ceil(len(wanted) / recipes_on_a_page(size, words=words))
    if pages > MOST_PAGES:
        raise ValueError(f"{len(wanted)} cells need {pages} pages; a sheet has at most 8")
    order = shuffled_places(len(wanted), seed=number)
    shares = [[wanted[i] for i in order[page::pages]] for page in range(pages)]
    grids = tuple(
        grid_for(len(share) + _bare_count(len(share)), size=size, words=words) for share in shares
    )
    cells: list[Cell] = []
    for page, (share, grid) in enumerate(zip(shares, grids, strict=True)):
        cells += _fill(share, grid, page=page, first=len(cells) + 1)
    return Sheet(number, title, kind, paper, size, grids, tuple(cells), framed, tuple(left_out))


def recipes_on_a_page(size: PageSize, *, words: Words = two_lines) -> int:
    """Return how many recipes one page takes, besides its bare cells."""
    capacity = most_cells(size, words=words)
    return capacity - _bare_count(capacity)


def _bare_count(count: int) -> int:
    return max(FEWEST_BARE, round(BARE_SHARE * count))


def _fill(share: Sequence[Recipe], grid: Grid, *, page: int, first: int) -> list[Cell]:
    places = range(min(grid.places, len(share) + _bare_count(len(share))))
    bare = spread_places(len(places) - len(share), len(places), grid)
    rest = iter(share)
    return [
        Cell(first + place, page, place, Recipe() if place in bare else next(rest))
        for place in places
    ]


def spread_places(count: int, of: int, grid: Grid) -> frozenset[int]:
    """Return places that lie as far apart as can be: each new one farthest from those before.

    Parameters
    ----------
    count
        How many.
    of
        The first so many places of the grid are free.
    grid
        The grid.

    Examples
    --------
    >>> grid = Grid(3, 3, 0, 0, 1, 1, 2, 2)
    >>> sorted(spread_places(4, 9, grid))
    [0, 2, 6, 8]
    """
    centers = [grid.box(place).center for place in range(of)]
    chosen = [0]
    while len(chosen) < count:
        nearest = [min(math.dist(center, centers[c]) for c in chosen) for center in centers]
        chosen.append(max(range(of), key=lambda place: (round(nearest[place], 6), place)))
    return frozenset(chosen[:count])


def shuffled_places(count: int, *, seed: int) -> tuple[int, ...]:
    """Return 0 … count - 1 in an order that the seed decides.

    Places are sorted by a hash of seed and place, which is the same on every machine.

    Examples
    --------
    >>> sorted(shuffled_places(4, seed=1))
    [0, 1, 2, 3]
    >>> shuffled_places(40, seed=1) == shuffled_places(40, seed=2)
    False
    """
    return tuple(
        sorted(range(count), key=lambda place: sha256(f"{seed}/{place}".encode()).digest())
    )
