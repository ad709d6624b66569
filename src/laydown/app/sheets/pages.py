"""From one picture to the readings of one page's cells: find, flatten, convert."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.errors import BadFileError
from laydown.imaging.camera import Converter
from laydown.imaging.conversion import (
    chart_converter,
    convert_cells,
    known_converter,
    paper_converter,
    profile_converter,
)
from laydown.imaging.files import Photograph
from laydown.imaging.markers import FEWEST, FoundPage, find_page
from laydown.imaging.profiles import Profile, read_profile, usual_profile
from laydown.imaging.proof import draw_proof
from laydown.imaging.reading import PageCell, PageReading, edge_blur, read_page
from laydown.imaging.rectify import map_page
from laydown.media.colorant import unlike_bare_paper
from laydown.sheet.identity import sheet_and_page
from laydown.sheet.markers import PLACE_NAMES, marker_boxes
from laydown.sheet.reading import Accuracy, CellReading, ColorConversion
from laydown.sheet.sheet import Sheet


class NoSheetError(BadFileError):
    """A picture that shows no sheet at all, such as a scan of the list to work from."""


AUTO = "auto"
WAYS = (AUTO, "profile", "chart", "known", "paper")
"""How a picture may be converted, by the word for it at the doors."""
ENOUGH_KNOWN = 16
"""Cells of known color that are used without being asked for: twice what a matrix needs."""
ROOM_FOR_CHART = 0.85
"""A page that fills more of a picture than this leaves no room for a chart."""


@dataclass(frozen=True, slots=True, eq=False)
class KnownColors:
    """What the library knows of a sheet's paper and cells before it is read.

    Parameters
    ----------
    paper
        Shape (3,), XYZ of the bare paper, measured or a usual white.
    measured
        Whether the paper was measured.
    cells
        XYZ of cells whose recipe was measured by an instrument, by number.
    """

    paper: FloatArray
    measured: bool
    cells: Mapping[int, FloatArray]


@dataclass(frozen=True, slots=True, eq=False)
class PageRead:
    """What one picture gave.

    Parameters
    ----------
    source
        Name of the picture.
    sheet, page
        The sheet's number, and the page counted from 1.
    missing
        Markers that were not found, in words.
    accuracy
        How it was converted and what error follows.
    profile
        Name of the color profile; "none" without one.
    evenness
        Darkest over brightest light on the page.
    resolution
        Pixels per mm.
    notes
        Sentences about the picture as a whole.
    readings
        The cells.
    proof
        The proof picture, PNG.
    """

    source: str
    sheet: int
    page: int
    missing: tuple[str, ...]
    accuracy: Accuracy
    profile: str
    evenness: float
    resolution: float
    notes: tuple[str, ...]
    readings: tuple[CellReading, ...]
    proof: bytes


def read_picture(
    photograph: Photograph,
    *,
    find: Callable[[int], Sheet],
    known: Callable[[Sheet], KnownColors],
    way: str,
    number: int | None = None,
) -> PageRead:
    """Read the page that a picture shows.

    Parameters
    ----------
    photograph
        The picture.
    find
        Returns a sheet by its number, or raises "wrong sheet".
    known
        Returns what is known of its colors.
    way
        One of `WAYS`.
    number
        The page's number where its markers can't tell it.

    Raises
    ------
    BadFileError
        Where no page can be made out, or it can't be converted in the way asked for.
    """
    found = find_page(photograph.pixels)
    sheet_number, page = sheet_and_page(_number(found, photograph.source, number))
    sheet = find(sheet_number)
    if page >= len(sheet.grids):
        raise BadFileError(
            f"{photograph.source}: sheet {sheet_number} has no page {page + 1}.",
            hint="If it was printed from another library, have it read there.",
            command="--db",
        )
    cells = page_cells(sheet, page)
    profile = profile_of(photograph)
    reading = _read(photograph, found, sheet, cells, profile)
    colors = known(sheet)
    converter = choose_converter(
        photograph,
        reading,
        cells,
        profile,
        paper=colors.paper,
        measured=colors.measured,
        known=colors.cells,
        way=way,
    )
    readings = convert_cells(reading, cells, converter)
    by_number = {r.number: r for r in readings}
    return PageRead(
        source=photograph.source,
        sheet=sheet_number,
        page=page + 1,
        missing=tuple(PLACE_NAMES[place] for place in found.missing),
        accuracy=converter.accuracy,
        profile=profile.name if photograph.profile else "none",
        evenness=reading.light.evenness,
        resolution=reading.resolution,
        notes=(*photograph.notes, *reading.warnings),
        readings=readings,
        proof=draw_proof(reading.flat, cells, by_number),
    )


def page_cells(sheet: Sheet, page: int) -> tuple[PageCell, ...]:
    """Return a page's cells as the reader needs them."""
    return tuple(
        PageCell(
            cell.number,
            sheet.box(cell),
            cell.bare,
            pale=all(colorant.blender for colorant in cell.recipe.colorants),
        )
        for cell in sheet.on_page(page)
    )


def _number(found: FoundPage, source: str, given: int | None) -> int:
    count = len(found.corners)
    if count < FEWEST:
        raise NoSheetError(
            f"{source}: no sheet was found; {count} of its 12 corner and edge marks can be seen.",
            hint="Show the whole page with all marks, sharp, and fill the picture with it.",
        )
    number = found.number if given is None else given
    if number is None:
        lost = ", ".join(PLACE_NAMES[place] for place in found.missing) or "none"
        raise BadFileError(
            f"{source}: the sheet's number can't be read; marks missing: {lost}.",
            hint="Show all marks, or say which sheet it is.",
            command="--sheet",
        )
    return number


def profile_of(photograph: Photograph) -> Profile:
    """Return a picture's own profile, or the usual one."""
    if not photograph.profile:
        return usual_profile()
    return read_profile(photograph.profile, source=photograph.source)


def _read(
    photograph: Photograph,
    found: FoundPage,
    sheet: Sheet,
    cells: tuple[PageCell, ...],
    profile: Profile,
) -> PageReading:
    boxes = dict(enumerate(marker_boxes(sheet.size)))
    page_map = map_page(found.corners, boxes, width=sheet.size.width, height=sheet.size.height)
    return read_page(
        photograph.pixels,
        page_map,
        cells,
        profile.linear,
        blur=edge_blur(photograph.pixels, found),
        framed=sheet.framed,
    )


def choose_converter(
    photograph: Photograph,
    reading: PageReading,
    cells: tuple[PageCell, ...],
    profile: Profile,
    *,
    paper: FloatArray,
    measured: bool,
    way: str,
    known: Mapping[int, FloatArray] = MappingProxyType({}),
) -> Converter:
    """Choose how a picture's numbers become colors, and make the converter.

    Parameters
    ----------
    photograph, reading, cells, profile
        What was opened and read.
    paper
        Shape (3,), XYZ of the bare paper.
    measured
        Whether that was measured and is not only a usual white.
    way
        One of `WAYS`. Auto takes a profile made for this scanner, else a reference chart in the
        picture, else cells of known color, else paper white alone.
    known
        XYZ of cells measured before, by number.
    """
    if way == "profile" or (way == AUTO and profile.measured):
        own = profile_converter(profile, reading, paper=None)
        if measured and _settles(paper, own):
            return profile_converter(profile, reading, paper=paper)
        return own
    if way == "chart" or (way == AUTO and _has_room(reading)):
        boxes = [cell.box for cell in cells]
        beside = chart_converter(photograph.pixels, profile, reading, boxes)
        if beside is not None:
            own = beside.converter
            return own.on_paper(paper) if measured and _settles(paper, own) else own
        if way == "chart":
            raise BadFileError(
                f"{photograph.source}: no 24-patch reference chart was found in the picture.",
                hint="Lay it beside the sheet, flat, in the same light, all of it in the picture.",
            )
    sound = [n for n in known if n in reading.patches and not reading.patches[n].flags]
    if way == "known" or (way == AUTO and len(sound) >= ENOUGH_KNOWN):
        return known_converter(reading, known)
    return paper_converter(profile, paper=paper)


def _settles(paper: FloatArray, own: Converter) -> bool:
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


def is_rough(accuracy: Accuracy) -> bool:
    """Return whether readings of this accuracy feed a fit only when accepted."""
    return ColorConversion(accuracy.conversion).rough
