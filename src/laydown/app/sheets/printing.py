"""Sheets of cells to color in: begun with, printed, kept, listed and shown."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from hashlib import sha256
from math import inf

import numpy as np

from laydown import errors
from laydown.app.fits import Supplies, kit_fit_for, paper_named, set_up
from laydown.app.matches.colors import Asking, MakeChart, make_chart
from laydown.app.sheets.known import choose_known, swatched_colors
from laydown.app.supplies.names import find_or_add, find_or_add_all
from laydown.app.supplies.papers import USUAL_COUNT, anchors_of
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.color.typed import typed_color
from laydown.documents.print.sheets import words_under, write_sheet_pdf, write_target_pdf
from laydown.media.kit.fit import minimum_design, missing, next_swatch, swatched
from laydown.media.legible import checked_name, name_key
from laydown.media.marker.design import coats_of, one_coat
from laydown.media.recipe import Colorant, Medium, Recipe, check_order, parse_recipe
from laydown.media.recipe_words import recipe_words
from laydown.sheet import markers
from laydown.sheet.page import PageSize
from laydown.sheet.sheet import Sheet, SheetKind, arrange, recipes_on_a_page
from laydown.sheet.words import why
from laydown.store.library import Library, Work

MOST_DEEP = 8
"""Second coats on a first sheet: enough to tell how a line of colors builds up (chosen)."""
AT_FIRST = 24
"""Patches of a first sheet beyond which second coats wait for the next one, which asks for those
that help most: some six minutes (`laydown.sheet.words.PATCH_SECONDS`)."""
MOST_NEXT = 12


@dataclass(frozen=True, slots=True)
class PrintSheet:
    """What the sheet is for."""

    kind: str
    """First, kit, next, pairs, list or anchors; or target, one to lay into a sketchbook."""
    asking: Asking = field(default_factory=Asking)
    """The supplies: a kit or ranges, and the paper; a paper not yet in the library is added."""
    recipes: tuple[str, ...] = ()
    """Recipes in their text form, for a list or a first sheet."""
    new_range: str = ""
    """A range that named colorants not in the library are added to; empty for none."""
    medium: Medium | None = None
    """Of that range; None for its own, or for markers where it is new."""
    colors: tuple[str, ...] = ()
    """Wanted colors typed one by one, for a first or a next sheet."""
    file: bytes | None = None
    source: str = ""
    """The same as a list of colors."""
    title: str = ""
    """Empty for one that says what it is."""
    page: str = "A4"
    """A4 or Letter."""
    replicates: int = 1
    """Cells for each recipe."""
    framed: bool = False
    """Whether it is a frame to cut out."""
    known: str = ""
    """A range of known colors, of which eight are put in to tell the camera by; empty for none."""


def known_labs(work: Work) -> dict[Colorant, FloatArray]:
    """Return CIELAB of one coat of each colorant that was swatched, on whatever paper."""
    known = swatched_colors(work, map(one_coat, work.colorants()))
    return {recipe.colorants[0]: lab for recipe, lab in known.items()}


def nearest_first(
    colorants: Sequence[Colorant], labs: Mapping[Colorant, FloatArray], wanted: Sequence[FloatArray]
) -> tuple[Colorant, ...]:
    """Return colorants by how near one coat comes to any wanted color; unknown ones behind."""
    near = {
        c: min((float(ciede2000(labs[c], lab)) for lab in wanted), default=0.0)
        for c in colorants
        if c in labs
    }
    return tuple(sorted(colorants, key=lambda c: near.get(c, inf)))


def _chosen(
    library: Library,
    request: PrintSheet,
    kind: SheetKind,
    *,
    named: tuple[Recipe, ...],
    colorants: Sequence[Colorant],
    labs: Mapping[Colorant, FloatArray],
) -> tuple[Recipe, ...]:
    """Return the recipes of a sheet of this kind, each once.

    The colorants stand from pale to dark as far as their CIELAB is known, of one coat each. Raises
    `BadRecipeError` where nothing is left to ask for.
    """
    wanted: Iterable[Recipe]
    match kind:
        case SheetKind.FIRST:
            wanted = named or _first(library, request, colorants, labs)
        case SheetKind.NEXT:
            wanted = _next(library, request)
        case SheetKind.ANCHORS:
            wanted = _anchors(library, request.asking.supplies, colorants)
        case SheetKind.LIST:
            wanted = named or map(one_coat, colorants)
        case _:
            wanted = minimum_design(tuple(colorants), list(range(len(colorants))))
            if kind is SheetKind.PAIRS:
                wanted = [recipe for recipe in wanted if len(recipe.colorants) == 2]
    found = tuple(dict.fromkeys(wanted))
    if not found:
        raise errors.BadRecipeError(
            f"There is nothing to put on a sheet of kind “{kind}”.",
            hint="Name recipes, a kit or a range; what has been swatched needs no new cell.",
        )
    return found


def _first(
    library: Library,
    request: PrintSheet,
    colorants: Sequence[Colorant],
    labs: Mapping[Colorant, FloatArray],
) -> list[Recipe]:
    """Likely candidates for the wanted colors, the whole box, and second coats.

    Told one coat alone, nobody knows what a second does: of a small box some colors are laid in
    both depths, which leaves less open of layers (tests/media/test_first_sheet.py).
    """
    candidates: list[Recipe] = []
    colored = [c for c in colorants if not c.blender]
    near: Sequence[Colorant] = colored
    if colors := _colors(request):
        with suppress(errors.NotMeasuredError):
            candidates = _candidates(library, colors)
        typed = filter(None, map(typed_color, colors.colors))
        near = nearest_first(colored, labs, [lab for lab, _ in typed])
    deep = _spread(colored, min(MOST_DEEP, AT_FIRST - len(colored)))
    return [*candidates, *map(one_coat, near), *(coats_of(c, 2) for c in deep)]


def _on_one_page(
    recipes: Sequence[Recipe], size: PageSize
) -> tuple[Sequence[Recipe], tuple[str, ...]]:
    """Return the recipes that a page takes, and the names of colorants left for another."""
    for most in range(len(recipes), 0, -1):
        if recipes_on_a_page(size, words=words_under(recipes[:most])) >= most:
            break
    kept = recipes[:most]
    used = {c for recipe in kept for c in recipe.colorants}
    asked = dict.fromkeys(c for recipe in recipes for c in recipe.colorants)
    return kept, tuple(c.name for c in asked if c not in used)


def _candidates(library: Library, colors: MakeChart) -> list[Recipe]:
    """Return the best recipe for each wanted color, then one coat of what they are made of."""
    chart = make_chart(library, colors)
    best = [match.best.prediction.recipe for match in chart.matches]
    single = [match.single.prediction.recipe for match in chart.matches]
    parts = [one_coat(c) for recipe in best for c in recipe.colorants]
    return [recipe for recipe in dict.fromkeys([*best, *single, *parts]) if recipe.steps]


def _next(library: Library, request: PrintSheet) -> list[Recipe]:
    """Take the swatch that helps most, then recipes never laid, then what is missing."""
    colors = _colors(request)
    wanted = None if colors is None else _candidates(library, colors)
    fit = set_up(library, request.asking.supplies).whole
    asked = list(missing(fit)) if wanted is None else wanted
    if not asked:
        return []
    helpful, _ = next_swatch(fit, asked)
    done = swatched(fit)
    rest = [recipe for recipe in (*asked, *missing(fit)) if recipe not in done]
    return list(dict.fromkeys([helpful, *rest]))[:MOST_NEXT]


def _anchors(library: Library, supplies: Supplies, colorants: Sequence[Colorant]) -> list[Recipe]:
    """One coat of those that tell most of the others; never swatched, a few from pale to dark."""
    colored = [c for c in colorants if not c.blender]
    source, ranges = _known_on(library, supplies, colored)
    if not ranges:
        return [one_coat(c) for c in _spread(colored, USUAL_COUNT)]
    fit = kit_fit_for(library, tuple(ranges), source)
    return [one_coat(c) for c in anchors_of(fit, among=colored)]


def _known_on(
    library: Library, asked: Supplies, colorants: Sequence[Colorant]
) -> tuple[str, list[str]]:
    """Return the paper to carry over from, and which ranges were swatched on it.

    It is the one that was named, else the one with most swatches of these colorants, a paper other
    than the sheet's first.
    """
    owned = set(colorants)
    if asked.swatched_on:
        return asked.swatched_on, sorted({c.range for c in owned})
    found: dict[str, list[str]] = {}
    with library.look() as work:
        for stored in work.swatches():
            used = owned & set(stored.swatch.recipe.colorants)
            found.setdefault(stored.swatch.paper, []).extend(c.range for c in used)
    here = name_key(asked.paper)
    known = [paper for paper, ranges in found.items() if ranges]
    source = min(known, key=lambda p: (name_key(p) == here, -len(found[p]), p), default="")
    return source, sorted(set(found.get(source, ())))


def _spread(colorants: Sequence[Colorant], count: int) -> list[Colorant]:
    if not colorants or count < 1:
        return []
    places = np.round(np.linspace(0, len(colorants) - 1, min(count, len(colorants))))
    return [colorants[int(place)] for place in places]


def print_sheet(library: Library, request: PrintSheet) -> Sheet:
    """Choose recipes, arrange them on pages, and keep the sheet.

    Raises `BadRecipeError` for a sheet of more than eight pages, or of nothing, or for a recipe in
    an order that ruins tools or work. Raises `NotMeasuredError` where too few colors of the range
    that is named as known are.
    """
    kind = _kind(request.kind)
    with library.work(f"print a {kind} sheet") as work:
        paper = _paper(work, request.asking.supplies.paper)
        if kind is SheetKind.TARGET:
            return _target(work, request, paper)
        named = tuple(_recipe(work, text, request) for text in request.recipes)
        labs = known_labs(work)
        # from pale to dark; those of unknown color keep their order, behind
        colorants = sorted(
            _colorants(work, request), key=lambda c: -labs[c][0] if c in labs else 0.0
        )
    recipes = _chosen(library, request, kind, named=named, colorants=colorants, labs=labs)
    if request.known:
        with library.look() as work:
            recipes += choose_known(work, request.known, paper, besides=recipes)
    sheet = _arranged(library, request, kind, paper, recipes)
    with library.work(f"keep sheet {sheet.number}") as work:
        work.sheets.add(sheet)
    return sheet


def _target(work: Work, request: PrintSheet, paper: str) -> Sheet:
    """Keep a target; what lies beside it is known when a picture of it has been named."""
    title = request.title or f"Target for a sketchbook of {paper}"
    number = work.sheets.free_number(wanted=_number(title, paper) % (markers.MOST_TARGETS - 1) + 1)
    size = PageSize(request.page)
    sheet = Sheet(number, title, SheetKind.TARGET, paper, size, grids=(), cells=())
    work.sheets.add(sheet)
    return sheet


def draw_sheet(library: Library, sheet: Sheet) -> bytes:
    """Return a sheet as PDF; the same sheet gives the same bytes while no swatch is added."""
    if sheet.kind is SheetKind.TARGET:
        return write_target_pdf(sheet)
    with library.look() as work:
        lightness = {colorant: float(lab[0]) for colorant, lab in known_labs(work).items()}
    return write_sheet_pdf(sheet, lightness=lightness)


def find_sheet(library: Library, number: int) -> Sheet:
    """Return a sheet printed earlier."""
    with library.look() as work:
        return work.sheets.get(number)


def _kind(text: str) -> SheetKind:
    try:
        return SheetKind(text.lower())
    except ValueError:
        raise errors.UnknownNameError(
            f"There is no kind of sheet called “{text}”.", hint=f"Kinds are {', '.join(SheetKind)}."
        ) from None


def _paper(work: Work, name: str) -> str:
    if not name:
        return paper_named(work, name)
    try:
        return work.paper_name(name)
    except errors.UnknownNameError:
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
    left_out: tuple[str, ...] = ()
    if kind is SheetKind.FIRST:
        recipes, left_out = _on_one_page(recipes, PageSize(request.page))
    title = request.title or f"{kind.capitalize()} sheet on {paper}"
    wanted = _number(title, paper, *map(str, recipes)) % (markers.MOST_SHEETS - 1) + 1
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
            words=words_under(recipes),
            left_out=left_out,
        )
    except ValueError as error:
        raise errors.BadRecipeError(
            f"That doesn't fit on one sheet: {error}.", hint="Ask for fewer, or print two sheets."
        ) from None


def _number(*words: str) -> int:
    """Return the number that a sheet of these words would have, before it is kept in bounds."""
    return int.from_bytes(sha256("\n".join(words).encode()).digest()[:8], "big")


@dataclass(frozen=True, slots=True)
class SheetListed:
    """A sheet."""

    number: int
    title: str
    kind: SheetKind
    paper: str
    pages: int
    cells: int
    """How many pages, and cells to color."""
    taken: int
    """How many of those have been read and taken over."""
    printed: datetime
    """When, in UTC."""


def list_sheets(library: Library) -> tuple[SheetListed, ...]:
    """List all sheets, the last printed first."""
    with library.look() as work:
        kept, taken = work.sheets.all(), work.sheets.taken()
    return tuple(
        SheetListed(
            sheet.number,
            sheet.title,
            sheet.kind,
            sheet.paper,
            len(sheet.grids),
            sum(not cell.bare for cell in sheet.cells),
            sum(not c.bare and c.number in taken.get(sheet.number, ()) for c in sheet.cells),
            printed,
        )
        for sheet, printed in kept
    )


@dataclass(frozen=True, slots=True, eq=False)
class CellShown:
    """A cell."""

    number: int
    page: int
    """As printed; pages from 1."""
    recipe: Recipe
    words: str
    """What belongs in it, also as a sentence."""
    color: ColorInWords | None
    """As read last; None where it never was."""
    taken: bool
    """Whether a reading of it became a swatch."""
    flags: tuple[str, ...]
    """What was doubtful about the last reading."""


@dataclass(frozen=True, slots=True, eq=False)
class SheetShown:
    """A sheet and its cells, and why it asks for just these, where that is worth saying."""

    number: int
    title: str
    kind: SheetKind
    paper: str
    pages: int
    framed: bool
    why: str
    cells: tuple[CellShown, ...]


def show_sheet(library: Library, number: int) -> SheetShown:
    """Show the sheet of this number."""
    with library.look() as work:
        sheet = work.sheets.get(number)
        last = {reading.number: reading for reading in work.sheets.readings(number)}
        taken = work.sheets.taken().get(number, set())
    return SheetShown(
        sheet.number,
        sheet.title,
        sheet.kind,
        sheet.paper,
        len(sheet.grids),
        sheet.framed,
        why(sheet),
        tuple(
            CellShown(
                cell.number,
                cell.page + 1,
                cell.recipe,
                recipe_words(cell.recipe),
                in_words(lab_from_xyz(read.xyz)) if read else None,
                cell.number in taken,
                tuple(sorted(map(str, read.flags))) if read else (),
            )
            for cell in sheet.cells
            for read in [last.get(cell.number)]
        ),
    )


def remove_sheet(library: Library, number: int) -> int:
    """Remove a sheet that was printed by mistake, and return its number.

    Raises `LibraryError` where swatches were taken from it: these know their sheet by its number.
    """
    with library.work(f"remove the sheet {number}") as work:
        if work.sheets.taken().get(number):
            raise errors.LibraryError(
                f"Sheet {number} stays: swatches were taken from it.",
                hint="Remove the swatches, if they are wrong.",
            )
        work.sheets.remove(number)
    return number


def begin_kit(
    library: Library,
    names: Sequence[str],
    paper: str,
    *,
    kit: str = "mine",
    range: str = "",
    medium: Medium | None = None,
    wanted: tuple[str, ...] = (),
    page: str = "A4",
) -> Sheet:
    """Put names into a kit, which may be there already, and return its first sheet.

    `kit`: what to call the whole. `range`: what to call the line that unknown colorants belong to;
    empty for the kit's name. `medium`: marker, pencil or wash; None for what the line is made of,
    or markers where it is new. `wanted`: colors wanted first; the sheet then tries what comes near
    them.

    Raises `BadRecipeError` where nothing is named. Raises `DuplicateNameError`,
    `AmbiguousNameError` where the name of the line, or of a colorant, is one of another medium.
    Raises `BadColorError`, `UnknownNameError` for a wanted color that is none: better now than when
    the sheet has been read.
    """
    if not names:
        raise errors.BadRecipeError(
            "Nothing is named that you own.", hint="Write the names on your colorants, one a line."
        )
    with library.work(f"begin the kit {kit}") as work:
        if name_key(kit) not in map(name_key, work.kit_names()):
            work.add_kit(kit)
        work.own(kit, _owned(work, names, range or kit, medium))
        for text in wanted:
            if typed_color(text) is None:
                parse_recipe(text, work.find_colorant)  # refuses what is none
    asking = Asking(Supplies(kit=kit, paper=paper))
    return print_sheet(library, PrintSheet("first", asking, colors=wanted, page=page))


def _owned(
    work: Work, names: Sequence[str], line: str, medium: Medium | None
) -> tuple[Colorant, ...]:
    named = find_or_add_all(work, names, line, medium=medium)
    for name, found in zip(names, named, strict=True):
        if "/" not in name and medium not in {None, found.medium}:
            raise errors.AmbiguousNameError(
                f"“{name}” is a {found.medium} of {found.range} here.",
                hint=f"Write “{found.label}” if you mean that one, or “{line}/{name}” for a "
                f"{medium} of your own.",
            )
    return tuple(dict.fromkeys(named))
