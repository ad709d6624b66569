"""Print a sheet of cells to color in, and keep what was printed."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from hashlib import sha256

from laydown.app.make_chart import MakeChart
from laydown.app.match_color import Asking
from laydown.app.new_colorants import find_or_add
from laydown.app.sheet_recipes import (
    SheetSupplies,
    known_lightness,
    pale_to_dark,
    recipes_for,
)
from laydown.app.supplies import paper_named
from laydown.documents.sheet_pdf import write_sheet_pdf
from laydown.errors import BadRecipeError, UnknownNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import checked_name
from laydown.media.laydown import Medium
from laydown.media.order import check_order
from laydown.media.recipe import Recipe, parse_recipe
from laydown.sheet.arrange import arrange
from laydown.sheet.identity import MOST_SHEETS
from laydown.sheet.page import PageSize
from laydown.sheet.sheet import Sheet, SheetKind
from laydown.store.library import Library
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class PrintSheet:
    """What the sheet is for.

    Parameters
    ----------
    kind
        First, kit, next, pairs, list or anchors.
    asking
        The supplies: a kit or ranges, and the paper; a paper not yet in the library is added.
    recipes
        Recipes in their text form, for a list or a first sheet.
    new_range
        A range that named colorants not in the library are added to; empty for none.
    medium
        Of that range; None for its own, or for markers where it is new.
    colors
        Wanted colors typed one by one, for a first or a next sheet.
    file, source
        The same as a list of colors.
    title
        Empty for one that says what it is.
    page
        A4 or Letter.
    replicates
        Cells for each recipe.
    framed
        Whether it is a frame to cut out.
    """

    kind: str
    asking: Asking = field(default_factory=Asking)
    recipes: tuple[str, ...] = ()
    new_range: str = ""
    medium: Medium | None = None
    colors: tuple[str, ...] = ()
    file: bytes | None = None
    source: str = ""
    title: str = ""
    page: str = "A4"
    replicates: int = 1
    framed: bool = False


@dataclass(frozen=True, slots=True)
class SheetPrinted:
    """A sheet, and how much there is to do on it."""

    sheet: Sheet
    pages: int
    colored: int
    bare: int


def print_sheet(library: Library, request: PrintSheet) -> SheetPrinted:
    """Choose recipes, arrange them on pages, and keep the sheet.

    Raises
    ------
    UnknownNameError
        For a colorant, kit, range or kind that isn't there.
    BadRecipeError
        For a sheet of more than eight pages, or of nothing, or for a recipe in an order that ruins
        tools or work.
    """
    kind = _kind(request.kind)
    with library.work(f"print a {kind} sheet") as work:
        paper = _paper(work, request.asking.supplies.paper)
        named = tuple(_recipe(work, text, request) for text in request.recipes)
        lightness = known_lightness(work)
        colorants = pale_to_dark(_colorants(work, request), lightness)
    supplies = SheetSupplies(library, colorants, request.asking, named, _colors(request))
    sheet = _arranged(library, request, kind, paper, recipes_for(kind, supplies))
    with library.work(f"keep sheet {sheet.number}") as work:
        work.sheets.add(sheet)
    bare = sum(cell.bare for cell in sheet.cells)
    return SheetPrinted(sheet, len(sheet.grids), len(sheet.cells) - bare, bare)


def draw_sheet(library: Library, sheet: Sheet) -> bytes:
    """Return a sheet as PDF; the same sheet gives the same bytes while no swatch is added."""
    with library.look() as work:
        lightness = known_lightness(work)
    return write_sheet_pdf(sheet, lightness=lightness)


def find_sheet(library: Library, number: int) -> Sheet:
    """Return a sheet printed earlier."""
    with library.look() as work:
        return work.sheets.get(number)


def _kind(text: str) -> SheetKind:
    try:
        return SheetKind(text.lower())
    except ValueError:
        raise UnknownNameError(
            f"There is no kind of sheet called “{text}”.",
            hint=f"Kinds are {', '.join(SheetKind)}.",
        ) from None


def _paper(work: Work, name: str) -> str:
    if not name:
        return paper_named(work, name)
    try:
        return work.paper_name(name)
    except UnknownNameError:
        return work.add_paper(checked_name(name, "paper")).name


def _recipe(work: Work, text: str, request: PrintSheet) -> Recipe:
    new = partial(find_or_add, work, new_range=request.new_range, medium=request.medium)
    recipe = parse_recipe(text, new)
    check_order(recipe)
    return recipe


def _colorants(work: Work, request: PrintSheet) -> tuple[Colorant, ...]:
    supplies = request.asking.supplies
    if supplies.kit:
        return work.kit(supplies.kit)
    names = supplies.ranges or tuple(r.name for r in work.ranges() if len(work.ranges()) == 1)
    return tuple(c for name in names for c in work.colorants(name))


def _colors(request: PrintSheet) -> MakeChart | None:
    if not request.colors and request.file is None:
        return None
    return MakeChart(
        colors=request.colors, file=request.file, source=request.source, asking=request.asking
    )


def _arranged(
    library: Library, request: PrintSheet, kind: SheetKind, paper: str, recipes: Sequence[Recipe]
) -> Sheet:
    title = request.title or f"{kind.capitalize()} sheet on {paper}"
    seed = sha256("\n".join([title, paper, *map(str, recipes)]).encode()).digest()
    wanted = int.from_bytes(seed[:8], "big") % (MOST_SHEETS - 1) + 1
    with library.look() as work:
        number = work.sheets.free_number(wanted=wanted)
    try:
        return arrange(
            recipes,
            number=number,
            title=title,
            kind=kind,
            paper=paper,
            size=PageSize(request.page),
            replicates=request.replicates,
            framed=request.framed,
        )
    except ValueError as error:
        raise BadRecipeError(
            f"That doesn't fit on one sheet: {error}.", hint="Ask for fewer, or print two sheets."
        ) from None
