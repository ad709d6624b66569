"""A sheet and its cells: what is to be laid where, arranged on as few pages as hold it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256

from laydown.media.recipe import Recipe
from laydown.sheet.markers import MOST_PAGES
from laydown.sheet.page import CellBox, Grid, PageSize, Words, grid_for, most_cells, two_lines


class SheetKind(StrEnum):
    """What a sheet is printed for."""

    FIRST = "first"
    KIT = "kit"
    NEXT = "next"
    PAIRS = "pairs"
    LIST = "list"
    ANCHORS = "anchors"
    TARGET = "target"
    """One to lay into a sketchbook, with cells wherever they were colored beside it."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell to color in, or to leave bare."""

    number: int
    """As printed, from 1, in reading order over all pages."""
    page: int
    """Counted from 0."""
    place: int
    """In the page's grid, row by row from 0."""
    recipe: Recipe
    """What is laid, bottom first; an empty one leaves the paper bare."""

    @property
    def bare(self) -> bool:
        """Whether the cell stays bare paper."""
        return not self.recipe.steps


@dataclass(frozen=True, slots=True)
class Sheet:
    """A printed sheet of cells, on one or several pages."""

    number: int
    """What the markers carry: unique in a library."""
    title: str
    kind: SheetKind
    paper: str
    """Name of the paper it is colored on."""
    size: PageSize
    grids: tuple[Grid, ...]
    """One a page."""
    cells: tuple[Cell, ...]
    """In the order of their numbers."""
    framed: bool = False
    """Whether the cells are windows of a frame that is cut out and laid over another paper."""
    left_out: tuple[str, ...] = ()
    """Names of what was asked for and found no room."""
    boxes: tuple[CellBox, ...] = ()
    """Of a target: where its cells were found, in its own millimetres."""

    def on_page(self, page: int) -> tuple[Cell, ...]:
        """Return the cells of one page, counted from 0."""
        return tuple(cell for cell in self.cells if cell.page == page)

    def box(self, cell: Cell) -> CellBox:
        """Return where a cell stands on its page."""
        if self.boxes:
            return self.boxes[cell.number - 1]
        return self.grids[cell.page].box(cell.place)


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

    Bare paper is added to the recipes, each of which gets `replicates` cells; `words` tells how
    high the words under the cells stand; the rest is as in `Sheet`. Raises ValueError without
    recipes, or where more than eight pages would be needed.

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
    """Return so many of a grid's first `of` places, each as far as can be from those before.

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

    >>> sorted(shuffled_places(4, seed=1))
    [0, 1, 2, 3]
    >>> shuffled_places(40, seed=1) == shuffled_places(40, seed=2)
    False
    """
    return tuple(
        sorted(range(count), key=lambda place: sha256(f"{seed}/{place}".encode()).digest())
    )
