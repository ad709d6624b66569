"""Read colored-in sheets from photographs and scans; store what is sound, flag the rest."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from hashlib import sha256
from typing import NoReturn

import numpy as np

from laydown.app.sheets.known import check_names, known_colors, swatched_colors
from laydown.app.supplies.names import find_or_name
from laydown.app.tasks import GivenFile
from laydown.color import reconstruction
from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance, lab_from_xyz, xyz_from_reflectance
from laydown.color.value import value_from_lab
from laydown.errors import BadColorError, BadFileError, BadRecipeError
from laydown.imaging import balance, conversion, development, markers, profiles, rectify, targets
from laydown.imaging.chart import FoundChart
from laydown.imaging.files import Photograph, open_photographs
from laydown.imaging.preview import draw_proof
from laydown.imaging.reading import PageCell, PageReading, edge_blur, read_page
from laydown.media.recipe import Medium, Paper, Recipe, parse_recipe, unlike_bare_paper
from laydown.media.swatch import READINGS, Basis, Swatch
from laydown.sheet.markers import (
    MOST_SHEETS,
    PLACE_NAMES,
    marker_boxes,
    page_number,
    sheet_and_page,
    target_number,
)
from laydown.sheet.page import CellBox
from laydown.sheet.reading import Accuracy, CellReading, Flag, combine, comparable, compared
from laydown.sheet.sheet import Cell, Sheet, SheetKind
from laydown.store.library import Library, Work
from laydown.store.supplies import usual_white

NO_BARE_PAPER = "no color of bare paper"
"""Why a bare cell isn't taken over whose color no usual paper has."""
NOT_KEPT = (
    "Scan it, or photograph it again in even daylight: bare {paper} comes out too {odd} to be kept"
    " as its color (value {value:.1f}). If the paper really looks like that, give its measured"
    " color with the paper, and read this again."
)
CONTRADICTED = (
    "Check the color of {paper} among your papers: it is kept there with a value of {known:.1f},"
    " and this picture shows {value:.1f}. The picture was read by itself, not by that."
)


def judge_bare(
    paper: Paper, readings: Sequence[CellReading], *, assumed: bool
) -> tuple[bool, str, str]:
    """Judge whether bare places tell the paper's own color.

    Where the paper's lightness was assumed, they say that again and nothing of their own, so that
    they are never kept as measured. Returned is whether their color is kept as the paper's own; why
    they aren't even taken over, empty where they are; and what to do about it, empty for nothing.
    """
    if assumed or not readings:
        return False, "", ""
    seen = lab_from_xyz(np.mean([reading.xyz for reading in readings], axis=0))
    odd, value = unlike_bare_paper(seen), float(value_from_lab(seen))
    if not paper.measured:
        note = NOT_KEPT.format(paper=paper.name, odd=odd, value=value)
        return (False, NO_BARE_PAPER, note) if odd else (True, "", "")
    known = lab_from_reflectance(paper.reflectance)
    if odd or not unlike_bare_paper(known):
        return False, "", ""
    kept = float(value_from_lab(known))
    return False, "", CONTRADICTED.format(paper=paper.name, known=kept, value=value)


class NoSheetError(BadFileError):
    """A picture that shows no sheet at all, such as a scan of something else."""


AUTO = "auto"
WAYS = (AUTO, "profile", "chart", "known", "paper")
"""How a picture may be converted, by the word for it at the doors."""
NO_WHITE = 0.4
"""Of a usual white's luminance: paper below it is toned, however badly a chart is lit. In twenty
real pictures white paper came out at .46 and more."""
TONED = (
    "The paper looks toned. If it is, give its measured color with the paper, and read this again:"
    " how light everything is rests on it."
)
TINTED = (
    "The paper looks tinted: it isn't white, or the camera wasn't set for this light. Colors may"
    " be off by a good deal. Photograph it again by daylight, or give the paper its measured color."
)
LOOKS_TINTED = 4.0
"""How much farther off colors are by paper alone where its tint is worth a word [CIEDE2000]: paper
that nobody measured shows a chroma of 5 then, more than a white or a cream one in its light."""
FAR_FROM_PAPER = 6.0
"""CIEDE2000 from which bare paper is another than it is known to be: twice what a chart leaves."""
ANOTHER_PAPER = (
    "Is it another paper? It is known as L* {:.0f}, a* {:.0f}, b* {:.0f}, and looks like L* {:.0f},"
    " a* {:.0f}, b* {:.0f} here. If it is the right one, check its color among your papers."
)
MOST_BLOWN = 12
"""Patches of a chart, of 24, beyond which the rest are too few."""
BLOWN = "{count} of the chart's 24 patches are blown out, and tell nothing: take it darker."
DARKER = "Take it darker: touch the lightest patch, lower the exposure, or move into the shade."
MOST_NAMED = 8
"""Cells that are named in a sentence."""
KNOWN_BEFORE = "known before: it told what the others are"
DOUBTED = "rough: the paper looks tinted"
"""Why a cell isn't taken over."""
ROOM_FOR_CHART = 0.85
"""A page that fills more of a picture than this leaves no room for a chart."""


@dataclass(frozen=True, slots=True, eq=False)
class PageRead:
    """What one picture gave."""

    source: str
    sheet: int
    page: int
    """The sheet's number, and the page counted from 1."""
    missing: tuple[str, ...]
    """Markers that were not found, in words."""
    accuracy: Accuracy
    """How it was converted and what error follows."""
    profile: str
    """Name of the color profile; "none" without one."""
    evenness: float
    """Darkest over brightest light on the page."""
    resolution: float
    """Pixels per mm."""
    notes: tuple[str, ...]
    """Sentences about the picture as a whole."""
    assumed: bool
    """Whether the lightness of its paper is only assumed."""
    used: frozenset[int]
    """Cells of known color that told what the others are."""
    readings: tuple[CellReading, ...]
    proof: bytes
    boxes: tuple[CellBox, ...] = ()
    """Beside a target: where the cells were found, in its millimetres."""


def _read_page(
    library: Library,
    request: "ReadSheet",
    photograph: Photograph,
    found: markers.FoundPage,
    *,
    number: int | None,
) -> PageRead:
    """Read a page that a picture shows, with the sheet found by its number."""
    sheet_number, page = sheet_and_page(_number(found, photograph.source, number))
    with library.look() as work:
        sheet = work.sheets.get(sheet_number)
    if page >= len(sheet.grids):
        raise BadFileError(
            f"{photograph.source}: sheet {sheet_number} has no page {page + 1}.",
            hint="If it was printed from another library, have it read there.",
            command="--db",
        )
    cells = tuple(
        PageCell(
            cell.number,
            sheet.box(cell),
            cell.bare,
            pale=all(colorant.blender for colorant in cell.recipe.colorants),
            smooth=lies_evenly(cell.recipe),
        )
        for cell in sheet.on_page(page)
    )
    profile = profile_of(photograph)
    width, height = sheet.size.width, sheet.size.height
    boxes = dict(enumerate(marker_boxes(sheet.size)))
    reading = read_page(
        photograph.pixels,
        rectify.map_page(found.corners, boxes, width=width, height=height),
        cells,
        profile.linear,
        blur=edge_blur(photograph.pixels, found),
        framed=sheet.framed,
    )
    paper, known = _known(library, sheet, colors=request.by_known)
    made = converted(photograph, reading, cells, profile, request, paper=paper, known=known)
    missing = tuple(PLACE_NAMES[place] for place in found.missing)
    return replace(made, sheet=sheet_number, page=page + 1, missing=missing)


def converted(
    photograph: Photograph,
    reading: PageReading,
    cells: Sequence[PageCell],
    profile: profiles.Profile,
    request: "ReadSheet",
    *,
    paper: Paper,
    white: FloatArray | None = None,
    known: Mapping[int, conversion.KnownColor],
    beside: Sequence[conversion.KnownPatch] = (),
    find: Callable[[], FoundChart | None] | None = None,
) -> PageRead:
    """Turn what was read of a picture into colors, in the way that is asked for.

    `white` is XYZ of the paper, shape (3,), where that is not its own; `known` has the colors of
    cells that are known before, by number. `beside` are others of known lightness than those that a
    person names. `find` looks for a reference chart in the picture; None looks beside the cells.
    """
    height, width = photograph.pixels.shape[:2]
    named = [balance.read_gray(text, size=(width, height)) for text in request.grays]
    converter, assumed, notes, used = _choose_converter(
        reading,
        profile,
        source=photograph.source,
        find=find
        or (
            lambda: conversion.chart_beside(
                photograph.pixels, profile, reading.flat.page_map, [cell.box for cell in cells]
            )
        ),
        paper=xyz_from_reflectance(paper.reflectance) if white is None else white,
        measured=paper.measured,
        known=known,
        way=request.way,
        beside=[
            *beside,
            *(conversion.gray_beside(photograph.pixels, profile, reading, g) for g in named),
        ],
    )
    readings = conversion.convert_cells(reading, cells, converter)
    return PageRead(
        source=photograph.source,
        sheet=0,
        page=1,
        missing=(),
        accuracy=converter.accuracy,
        profile=profile.name if photograph.profile or photograph.raw else "none",
        evenness=reading.light.evenness,
        resolution=reading.resolution,
        notes=(*photograph.notes, *reading.warnings, *notes, *_clipped(readings)),
        assumed=assumed,
        used=used,
        readings=readings,
        proof=draw_proof(reading.flat, cells, {r.number: r for r in readings}),
    )


def _clipped(readings: Sequence[CellReading]) -> tuple[str, ...]:
    """Say what to do about cells that are as bright, or as dark, as a file can say."""
    cells = [str(reading.number) for reading in readings if Flag.CLIPPED in reading.flags]
    if not cells:
        return ()
    named = f"{', '.join(cells[:MOST_NAMED])}{' and more' if len(cells) > MOST_NAMED else ''}"
    return (f"Too bright or too vivid for the file in cells {named}. {DARKER}",)


def lies_evenly(recipe: Recipe) -> bool:
    """Return whether a recipe is of markers alone; pencils and washes are grainy on purpose."""
    return all(colorant.medium is Medium.MARKER for colorant in recipe.colorants)


def _no_page(photograph: Photograph) -> NoReturn:
    """Say why no page is found in a picture."""
    why = markers.why_no_page(photograph.pixels)
    raise NoSheetError(
        f"{photograph.source}: no sheet was found; {why or 'its corner and edge marks are missing'}"
        ".",
        hint=CURES.get(
            why, "Show the whole page with all marks, sharp, and fill the picture with it."
        ),
    )


CURES = {
    "it is mirrored": "Turn mirroring off in the camera, or flip the picture, and read it again.",
    "its target isn't flat": "Lay the target flat on the page, hold it by its edges, and take the"
    " picture again.",
    "it is blurred": "Tap the page to focus on it, hold still, and take it again.",
}


def _number(found: markers.FoundPage, source: str, given: int | None) -> int:
    number = found.number if given is None else given
    if number is None:
        lost = ", ".join(PLACE_NAMES[place] for place in found.missing) or "none"
        raise BadFileError(
            f"{source}: the sheet's number can't be read; marks missing: {lost}.",
            hint="Show all marks, or say which sheet it is.",
            command="--sheet",
        )
    return number


def profile_of(photograph: Photograph) -> profiles.Profile:
    """Return a picture's own profile, or the usual one."""
    if photograph.raw:
        return replace(profiles.usual_profile(), name="the raw file's own matrices", raw=True)
    if not photograph.profile:
        return profiles.usual_profile()
    return profiles.read_profile(photograph.profile, source=photograph.source)


Chosen = tuple[development.Converter, bool, tuple[str, ...], frozenset[int]]
"""What turns a picture's numbers into colors; whether the lightness of bare paper is only that of a
usual white, so that bare places say again what was assumed of them; what is to be said of it; and
the cells that it rests on, because their color is known on this paper."""


def _choose_converter(
    reading: PageReading,
    profile: profiles.Profile,
    *,
    source: str,
    find: Callable[[], FoundChart | None],
    paper: FloatArray,
    measured: bool,
    way: str,
    known: Mapping[int, conversion.KnownColor],
    beside: Sequence[conversion.KnownPatch],
) -> Chosen:
    """Choose how a picture's numbers become colors, and make the converter.

    Auto takes a profile made for this scanner, else a reference chart in the picture, else cells of
    known color and grays beside, else paper white alone. The paper is XYZ, shape (3,), and measured
    unless it is only a usual white.
    """
    nothing = frozenset[int]()
    if way == "profile" or (way == AUTO and profile.measured):
        own = conversion.profile_converter(profile, reading, paper=None)
        notes = _another_paper(paper, own.paper) if measured else ()
        if measured and _settles(paper, own):
            own = conversion.profile_converter(profile, reading, paper=paper)
        return own, False, notes, nothing
    chart = find() if way == "chart" or (way == AUTO and _has_room(reading)) else None
    blown: tuple[str, ...] = ()
    if chart is not None and chart.blown.any():
        blown = (BLOWN.format(count=chart.blown.sum()),)
    if chart is not None and chart.blown.sum() <= MOST_BLOWN:
        own = conversion.chart_converter(chart, profile, reading, paper=paper, measured=measured)
        own, assumed, toned = _on_paper(own, paper, measured=measured)
        seen = conversion.paper_by_chart(chart, profile, reading)
        other = _another_paper(paper, seen * (paper[1] / seen[1])) if measured else ()
        return own, assumed, (*blown, *toned, *other), nothing
    if way == "chart" and chart is not None:
        raise BadFileError(f"{source}: {blown[0]}", hint=DARKER)
    if way == "chart":
        raise BadFileError(
            f"{source}: no 24-patch reference chart was found in the picture.",
            hint="Lay it beside the sheet, flat, in the same light, all of it in the picture.",
        )
    sound = [n for n in known if n in reading.patches and not reading.patches[n].flags]
    if way == "known" or (way == AUTO and (beside or len(sound) >= development.FEWEST_KNOWN)):
        own = conversion.known_converter(
            reading, known, profile, paper=paper, measured=measured, beside=beside
        )
        used = frozenset(number for number in sound if known[number][2])
        return own, not measured, blown, used
    own = conversion.paper_converter(profile, reading.paper, paper=paper, measured=measured)
    plain = conversion.BY_PAPER_RAW if profile.raw else conversion.BY_PAPER
    tinted = (TINTED,) if own.accuracy.mean > np.hypot(plain.mean, LOOKS_TINTED) else ()
    return own, True, (*blown, *tinted), nothing


def _on_paper(
    own: development.Converter, paper: FloatArray, *, measured: bool
) -> tuple[development.Converter, bool, tuple[str, ...]]:
    """Settle the scale by the bare paper, measured or usual, where it looks like that."""
    settled = own.on_paper(paper)
    if measured:
        return settled if _settles(paper, own) else own, False, ()
    if own.paper[1] < NO_WHITE * paper[1] or unlike_bare_paper(lab_from_xyz(settled.paper)):
        return own, False, (TONED,)
    return settled, True, ()


def _another_paper(paper: FloatArray, seen: FloatArray) -> tuple[str, ...]:
    """Say so where bare paper comes out far from its known color; both XYZ, shape (3,)."""
    known, lab = lab_from_xyz(paper), lab_from_xyz(seen)
    if float(ciede2000(known, lab)) < FAR_FROM_PAPER:
        return ()
    return (ANOTHER_PAPER.format(*known, *lab),)


def _settles(paper: FloatArray, own: development.Converter) -> bool:
    """Return whether a paper's known color goes before what a picture says of it by itself.

    Not where it is the stranger of the two: it may have come from a worse picture.
    """
    seen = own.xyz(np.ones(3))
    return not unlike_bare_paper(lab_from_xyz(paper)) or bool(unlike_bare_paper(lab_from_xyz(seen)))


def _has_room(reading: PageReading) -> bool:
    """Return whether the page leaves room in the picture for a chart beside it."""
    page_map = reading.flat.page_map
    width, height = reading.flat.picture
    edges = page_map(np.array([[0.0, 0.0], [page_map.width, 0.0], [0.0, page_map.height]]))
    sides = np.hypot(*(edges[1] - edges[0])) * np.hypot(*(edges[2] - edges[0]))
    return bool(sides / (width * height) < ROOM_FOR_CHART)


DRY = "dry"
WET = "wet"
AFTER = "after "
"""A stage such as "after solvent by swab" reads the cell as treated."""
WORST = (Flag.OUTSIDE, Flag.IMPOSSIBLE)
"""Flags that nothing can accept."""


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """Pictures of sheets or of one card, and what to do with what they show."""

    files: tuple[GivenFile, ...]
    """Read together: several pictures of one page are weighed against each other."""
    way: str = AUTO
    """How to convert: auto, profile, chart, known or paper."""
    grays: tuple[str, ...] = ()
    """Grays of known lightness in the pictures, for `laydown.imaging.balance.read_gray`."""
    stage: str = DRY
    """Dry, wet, or "after" with a treatment. Only what is dry becomes a swatch."""
    accept: frozenset[int] = frozenset()
    """Cells to take over although they are flagged; places of a card count from 1, row by row."""
    accept_rough: bool = False
    """Whether readings may be taken over though the paper looks tinted."""
    redo: frozenset[int] = frozenset()
    """Cells to leave out, because they will be colored again."""
    names: tuple[str, ...] = ()
    """Of all patches beside a target, or places of a card, row by row, each a recipe or "-" to pass
    over, and "paper" for bare paper of a card; empty where they were named before."""
    range: str = ""
    """For names that the library doesn't know yet; empty for none."""
    medium: Medium | None = None
    """Of that range; None for its own, or for markers where it is new."""
    sheet: int | None = None
    page: int = 1
    """Which page it is, where marks are too damaged to tell; page from 1."""
    keep: bool = True
    """False only shows what would be read."""
    by_known: bool = True
    """Whether cells of known color may tell the camera: not where they are what is tried."""
    rows: int = 0
    columns: int = 0
    paper: str = ""
    """The grid of a card, and what that is made of; added where the library hasn't it."""
    corners: tuple[tuple[float, float], ...] = ()
    """The grid's outer corners in the picture, as x and y, clockwise from the first place; empty to
    have them found."""
    coats_unknown: bool = False
    """Whether one coat of what is on the card is only assumed."""


@dataclass(frozen=True, slots=True, eq=False)
class CellRead:
    """One cell of a sheet, or one place of a card."""

    sheet: int
    """Its number; 0 for a card that somebody else drew."""
    number: int
    """Which."""
    recipe: Recipe
    lab: FloatArray
    """Shape (3,), CIELAB D50."""
    reading: CellReading
    taken: bool
    """Whether it became a swatch."""
    why_not: str
    """Why it didn't; empty where it did."""


@dataclass(frozen=True, slots=True, eq=False)
class SheetRead:
    """What the pictures gave: page by page, cell by cell, and what was passed over."""

    pages: tuple[PageRead, ...]
    cells: tuple[CellRead, ...]
    taken: int
    doubtful: int
    notes: tuple[str, ...] = ()


def read_sheet(
    library: Library, request: ReadSheet, *, watch: Callable[[int, int], None] | None = None
) -> SheetRead:
    """Read sheets.

    Raises `BadFileError` for a file that is no picture, or one that shows no sheet.
    """
    read, notes = _read_all(library, request, watch)
    pages = tuple(read)
    if request.names and not (pages[0].boxes and len({page.sheet for page in pages}) == 1):
        raise BadRecipeError(
            "Names are for the patches beside one target, and these pictures show something else.",
            hint="Read each target by itself, and printed sheets without names.",
        )
    by_sheet: dict[int, list[PageRead]] = {}
    for page in pages:
        by_sheet.setdefault(page.sheet, []).append(page)
    with library.look() as work:
        judged = [_judge(work, request, own) for own in by_sheet.values()]
    if request.keep:
        with library.work(f"read sheet {', '.join(sorted(map(str, by_sheet)))}") as work:
            for own, (sheet, cells, _) in zip(by_sheet.values(), judged, strict=True):
                _store(work, request, sheet, own, cells)
    told = [*notes, *(note for *_, said in judged for note in said)]
    return as_read(pages, [cell for _, cells, _ in judged for cell in cells], told)


def as_read(
    pages: tuple[PageRead, ...], cells: Sequence[CellRead], notes: Iterable[str]
) -> SheetRead:
    """Count what was taken and what is doubtful of what was read."""
    taken = sum(cell.taken for cell in cells)
    doubtful = sum(bool(cell.reading.flags) for cell in cells)
    return SheetRead(pages, tuple(cells), taken, doubtful, tuple(notes))


def _read_all(
    library: Library, request: ReadSheet, watch: Callable[[int, int], None] | None
) -> tuple[list[PageRead], list[str]]:
    """Read each picture; of a file with several, those without a sheet are passed over.

    The library is only looked into for a moment at a time: an open look would keep others waiting.
    """
    pages: list[PageRead] = []
    passed: list[NoSheetError] = []
    for done, file in enumerate(request.files):
        for photograph in open_photographs(file.content, source=file.source):
            try:
                pages += _read_picture(library, request, photograph)
            except NoSheetError as error:
                if photograph.source == file.source:
                    raise
                passed.append(error)
        if watch is not None:
            watch(done + 1, len(request.files))
    if passed and not pages:
        raise passed[0]
    return pages, [f"{error.message} It was passed over." for error in passed]


def _read_picture(
    library: Library, request: ReadSheet, photograph: Photograph
) -> Iterator[PageRead]:
    """Read each page that a picture shows; only the largest where it is said which one that is."""
    pages = markers.find_pages(photograph.pixels)
    target = None if pages else markers.find_target(photograph.pixels)
    if target is not None:
        yield _read_target(library, request, photograph, target)
        return
    found, number = pages or _no_page(photograph), None
    if request.sheet is not None:
        sheet = min(max(request.sheet, 1), MOST_SHEETS - 1)
        found, number = found[:1], page_number(sheet, request.page - 1)
    for one in found:
        yield _read_page(library, request, photograph, one, number=number)


UNNAMED = "no name yet"
"""Why a patch beside a target isn't taken over."""
UNUSED = "-"
"""Word for a place that holds nothing of interest."""


def _read_target(
    library: Library, request: ReadSheet, photograph: Photograph, found: markers.FoundPage
) -> PageRead:
    """Read what was colored beside a target, in the rows that are found or the places known."""
    number = target_number(found.ids)
    if number is None:
        raise NoSheetError(
            f"{photograph.source}: the target's four marks don't belong together.",
            hint="Show one target, sharp and whole.",
        )
    profile, target = profile_of(photograph), targets.map_target(found)
    rows, samples = targets.find_patches(photograph.pixels, target, profile.linear)
    with library.look() as work:
        sheet = work.sheets.get(number)
        paper = work.paper(sheet.paper)
        boxes, recipes, notes = _laid_beside(work, request, sheet, rows)
        colors = known_colors(work, sheet.paper, recipes if request.by_known else ())
    smooth = [not recipe.steps or lies_evenly(recipe) for recipe in recipes]
    reading, cells = targets.read_beside(
        photograph.pixels, target, samples, boxes, smooth, decode=profile.linear
    )
    printed_on = xyz_from_reflectance(usual_white())
    printed = targets.grays_of_target(reading, target, printed_on, profile.linear)
    white = None
    if not paper.measured:
        white = (development.signal_of(profile, printed_on) / printed[0][0]) @ profile.matrix
    made = converted(
        photograph,
        reading,
        cells,
        profile,
        request,
        paper=paper,
        white=white,
        known={n: colors[r] for n, r in enumerate(recipes, start=1) if r in colors},
        beside=printed,
    )
    told = (*photograph.notes, *notes, *made.notes[len(photograph.notes) :])
    return replace(made, sheet=number, notes=told, boxes=tuple(boxes))


def _laid_beside(
    work: Work, request: ReadSheet, sheet: Sheet, in_rows: Sequence[Sequence[CellBox]]
) -> tuple[list[CellBox], list[Recipe], tuple[str, ...]]:
    """Return where patches lie beside a target, what they are, and what is to be said of that.

    Unnamed ones are without a recipe. A patch that is known is looked for where it was: what is
    found there now tells where it lies, else its place does.
    """
    patches = [box for row in in_rows for box in row]
    if not patches and not sheet.cells:
        raise BadFileError(
            f"Beside target {sheet.number} no patches were found.",
            hint="Color them 10 mm or more each way, a finger's width from each other, from the"
            " target and from the page's edge.",
        )
    rows = ", ".join(str(len(row)) for row in in_rows) or "none"
    if request.names:
        if len(request.names) != len(patches):
            raise BadRecipeError(
                f"Beside target {sheet.number} there are {len(patches)} patches (in rows of"
                f" {rows}), and {len(request.names)} are named.",
                hint=f"Name them row by row from the top, “{UNUSED}” for one to pass over; look at"
                " the proof picture for what was found.",
            )
        named = recipes_named(work, request.names, request.range, request.medium)
        return [patches[place - 1] for place in named], list(named.values()), ()
    if not sheet.cells:
        if request.keep:
            raise BadRecipeError(
                f"Name the {len(patches)} patches beside target {sheet.number} once (in rows of"
                f" {rows}), row by row from the top.",
                hint="Look first without keeping anything: the proof picture numbers them.",
                command="--only-look --proof proof.png, then --names LIST",
            )
        return patches, [Recipe()] * len(patches), ()
    boxes = targets.places_now([sheet.box(cell) for cell in sheet.cells], patches)
    new = len(set(patches) - set(boxes))
    told = f"Not taken in, since not named: {new}. Name all patches again to take them in."
    return boxes, [cell.recipe for cell in sheet.cells], (told,) if new else ()


def recipes_named(
    work: Work, names: Sequence[str], new_range: str, medium: Medium | None
) -> dict[int, Recipe]:
    """Return the recipes that are named, by their places from 1; passed over are those unused."""
    find = partial(find_or_name, work, new_range=new_range, medium=medium)
    return {
        place: parse_recipe(name, find)
        for place, name in enumerate(names, start=1)
        if name != UNUSED
    }


def _laid_out(work: Work, request: ReadSheet, pages: Sequence[PageRead]) -> Sheet:
    """Return a sheet; a target with its patches as cells, where they have just been named."""
    sheet = work.sheets.get(pages[0].sheet)
    if sheet.kind is not SheetKind.TARGET or not request.names:
        return sheet
    named = recipes_named(work, request.names, request.range, request.medium)
    cells = tuple(Cell(n, 0, n - 1, recipe) for n, recipe in enumerate(named.values(), start=1))
    return replace(sheet, cells=cells, boxes=pages[0].boxes)


def _known(
    library: Library, sheet: Sheet, *, colors: bool
) -> tuple[Paper, Mapping[int, conversion.KnownColor]]:
    """Return the paper, and if asked the colors of cells that are known before, by number.

    Anchors are laid to tell how a paper differs: what another paper shows is no measure of them.
    """
    with library.look() as work:
        paper = work.paper(sheet.paper)
        found = known_colors(
            work,
            sheet.paper,
            [cell.recipe for cell in sheet.cells] if colors else (),
            carried=sheet.kind is not SheetKind.ANCHORS,
        )
    return paper, {c.number: found[c.recipe] for c in sheet.cells if c.recipe in found}


def _judge(
    work: Work, request: ReadSheet, pages: Sequence[PageRead]
) -> tuple[Sheet, list[CellRead], list[str]]:
    """Return the sheet that pages are of, its cells, and what is to be said of its paper."""
    sheet = _laid_out(work, request, pages)
    recipes = {cell.number: cell.recipe for cell in sheet.cells}
    together: dict[int, list[CellReading]] = {}
    for reading in (reading for page in pages for reading in page.readings):
        together.setdefault(reading.number, []).append(reading)
    read = {number: combine(readings) for number, readings in together.items()}
    bare_cells = {cell.number for cell in sheet.cells if cell.bare}
    before = comparable(_before(work, pages, request.stage), read, bare=bare_cells)
    rough = any(page.accuracy.rough for page in pages)
    used = frozenset[int]().union(*(page.used for page in pages))
    judged: list[CellRead] = []
    for cell, reading in sorted(read.items()):
        checked = _possible(compared(reading, before[cell]) if cell in before else reading)
        why_not = _why_not(checked, request, rough=rough, used=used)
        why_not = why_not if cell in recipes else UNNAMED
        lab = lab_from_xyz(checked.xyz)
        recipe = _as_treated(recipes.get(cell, Recipe()), request.stage)
        judged.append(CellRead(sheet.number, cell, recipe, lab, checked, not why_not, why_not))
    if request.names:  # names just given and colors must belong together, as on a card
        new = [(c.number, c.recipe, c.lab) for c in judged if c.number not in request.accept]
        check_names(new, swatched_colors(work, [recipe for _, recipe, _ in new]))
    assumed = any(page.assumed for page in pages)
    return sheet, *unless_bare(work.paper(sheet.paper), judged, assumed=assumed)


def _bare_readings(read: Iterable[CellRead]) -> list[CellReading]:
    """Return the readings of bare cells that can be taken over."""
    return [one.reading for one in read if one.taken and not one.recipe.steps]


def unless_bare(
    paper: Paper, read: Sequence[CellRead], *, assumed: bool
) -> tuple[list[CellRead], list[str]]:
    """Return what was read without bare cells that can't be the paper's, and what to do about it.

    Its lightness may only be assumed, see `judge_bare`.
    """
    _, why_not, note = judge_bare(paper, _bare_readings(read), assumed=assumed)
    kept = [
        replace(one, taken=False, why_not=why_not)
        if why_not and one.taken and not one.recipe.steps
        else one
        for one in read
    ]
    return kept, [note] if note else []


def _before(work: Work, pages: Sequence[PageRead], stage: str) -> Mapping[int, CellReading]:
    """Return each cell's last sound reading at this stage, converted in the same way."""
    ways = {str(page.accuracy.conversion) for page in pages}
    if len(ways) > 1:
        return {}
    read = work.sheets.readings(pages[0].sheet, stage=stage, conversion=ways.pop())
    return {reading.number: reading for reading in read if reading.flags <= {Flag.STILL_WET}}


def _possible(reading: CellReading) -> CellReading:
    if Flag.OUTSIDE in reading.flags:
        return reading
    try:
        reconstruction.reflectance_from_xyz(reading.xyz, tolerance=1.0)
    except BadColorError:
        return replace(reading, flags=reading.flags | {Flag.IMPOSSIBLE})
    return reading


def _why_not(reading: CellReading, request: ReadSheet, *, rough: bool, used: frozenset[int]) -> str:
    """Return why a reading is not taken over; empty where it is."""
    if reading.number in request.redo:
        return "to be done again"
    if request.stage == WET:
        return "kept as a wet reading"
    impossible = [str(flag) for flag in WORST if flag in reading.flags]
    if impossible:
        return impossible[0]
    return doubts(reading, request.accept, request.accept_rough, rough=rough, used=used)


def doubts(
    reading: CellReading,
    accept: frozenset[int],
    accept_rough: bool,
    *,
    rough: bool,
    used: frozenset[int],
) -> str:
    """Return what speaks against a reading that nobody has accepted; empty for nothing."""
    accepted = reading.number in accept
    if reading.flags and not accepted:
        return ", ".join(sorted(str(flag) for flag in reading.flags))
    if reading.number in used and not accepted:
        return KNOWN_BEFORE
    return DOUBTED if rough and not accept_rough else ""


def _as_treated(recipe: Recipe, stage: str) -> Recipe:
    """Return the recipe with what the stage says was done to it since."""
    if not stage.startswith(AFTER) or not recipe.steps:
        return recipe
    return recipe.then(parse_recipe(stage.removeprefix(AFTER), _no_colorant))


def _no_colorant(name: str) -> NoReturn:
    raise BadRecipeError(f"“after {name}” is no treatment.", hint="Write: after solvent by swab.")


def _store(
    work: Work,
    request: ReadSheet,
    sheet: Sheet,
    pages: Sequence[PageRead],
    cells: Sequence[CellRead],
) -> None:
    if sheet.kind is SheetKind.TARGET and request.names:
        work.sheets.lay_out(sheet)
    taken = [cell for cell in cells if cell.taken]
    work.sheets.add_readings(
        sheet.number,
        [cell.reading for cell in cells],
        stage=request.stage,
        conversion=str(pages[0].accuracy.conversion),
        accepted=frozenset(cell.number for cell in taken),
    )
    worst = max((page.accuracy for page in pages), key=lambda accuracy: accuracy.mean)
    picture = picture_of(request.files, sheet.number)
    colored = [swatch_of(sheet.paper, cell, worst, picture) for cell in taken if cell.recipe.steps]
    assumed = any(page.assumed for page in pages)
    work.add_swatches([*_bare(work, sheet, taken, assumed=assumed), *colored])


def picture_of(files: Iterable[GivenFile], number: int = 0) -> str:
    """Return what the colors of one sheet in some pictures are known by as read together."""
    digest = sha256(str(number).encode())
    for file in files:
        digest.update(file.content)
    return digest.hexdigest()


def swatch_of(
    paper: str, cell: CellRead, accuracy: Accuracy, picture: str, *more_flags: str
) -> Swatch:
    """Return what was read as a swatch; its spread is the cell's own, and a camera's error with it.

    A spread counts as that of `READINGS` readings, and the camera errs alike in all of them.
    """
    spread = cell.reading.spread
    if accuracy.conversion.by_camera:
        spread = float(np.hypot(spread, np.sqrt(READINGS) * accuracy.deviation(cell.lab)))
    return Swatch(
        paper,
        cell.recipe,
        reconstruction.reflectance_from_xyz(cell.reading.xyz, tolerance=1.0),
        Basis.XYZ,
        spread,
        frozenset((*map(str, cell.reading.flags), *more_flags)),
        picture=picture,
        shared=accuracy.shared_nearby(cell.lab),
    )


def _bare(work: Work, sheet: Sheet, taken: list[CellRead], *, assumed: bool) -> list[Swatch]:
    """Return the bare paper as one swatch, where it tells the paper's own color."""
    bare = _bare_readings(taken)
    if not judge_bare(work.paper(sheet.paper), bare, assumed=assumed)[0]:
        return []
    xyz = np.mean([reading.xyz for reading in bare], axis=0)
    spread = float(np.mean([reading.spread for reading in bare]))
    reflectance = reconstruction.reflectance_from_xyz(xyz, tolerance=1.0)
    return [Swatch(sheet.paper, Recipe(), reflectance, Basis.XYZ, spread)]
