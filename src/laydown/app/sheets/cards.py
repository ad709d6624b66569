"""Swatch cards that somebody else drew: their grid, a name for each place, and what was read."""

import io
from collections.abc import Mapping

import numpy as np
from PIL import Image

from laydown.app.sheets.known import check_bare, check_names, known_colors, swatched_colors
from laydown.app.sheets.reading import (
    UNUSED,
    CellRead,
    PageRead,
    ReadSheet,
    SheetRead,
    as_read,
    converted,
    doubts,
    judge_bare,
    lies_evenly,
    picture_of,
    profile_of,
    recipes_named,
    swatch_of,
    unless_bare,
)
from laydown.app.tasks import GivenFile
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.errors import BadFileError, BadRecipeError, UnknownNameError
from laydown.imaging import conversion, files, rectify
from laydown.imaging.chart import FoundChart, find_chart
from laydown.imaging.reading import PageCell, card_boxes, find_card, map_card, read_card_cells
from laydown.media.recipe import Paper, Recipe
from laydown.store.library import Library, Work
from laydown.store.supplies import usual_white

BARE = "paper"
"""Word for a place of bare paper."""
LEAST_TURN = 25.0
"""Area [pixels squared] that two neighboring edges of a grid span at least."""
COATS_UNKNOWN = "coats unknown"
"""Flag of a swatch from a card that doesn't say how often it was gone over; one is assumed."""


def read_card(library: Library, request: ReadSheet) -> SheetRead:
    """Read a card, whose places are told as the cells of one page.

    The library is held for moments only, before and after. Raises `BadRecipeError` where names and
    grid don't agree, or no place is bare paper. Raises `BadFileError` where the grid can't be
    found, or names and places can't be right.
    """
    _check(request)
    with library.look() as work:
        names = ["" if name == BARE else name for name in request.names]
        recipes = recipes_named(work, names, request.range, request.medium)
        paper = _paper(work, request.paper)
        swatched = swatched_colors(work, recipes.values())
        found = known_colors(work, request.paper, recipes.values())
    known = {place: found[recipe] for place, recipe in recipes.items() if recipe in found}
    read = _read(request, recipes, paper, known)
    check_names(
        [
            (place.number, place.recipe, place.lab)
            for place in read.cells
            if place.recipe.steps and place.number not in request.accept
        ],
        swatched,
    )
    if request.keep:
        with library.work(f"read a card from {request.files[0].source}") as work:
            _store(work, request, read)
    return read


def _check(request: ReadSheet) -> None:
    places = request.rows * request.columns
    if len(request.names) != places:
        raise BadRecipeError(
            f"A card of {request.rows} × {request.columns} has {places} places, "
            f"and {len(request.names)} are named.",
            hint=f"Write {BARE} for bare paper and {UNUSED} for a place to pass over.",
        )
    if BARE not in request.names:
        raise BadRecipeError(
            "No place of the card is bare paper, so that the light can't be taken out.",
            hint=f"Name at least one place {BARE}; four, far apart, are better.",
        )


def _paper(work: Work, name: str) -> Paper:
    """Return the paper of a name; one that isn't there yet as it would be added."""
    try:
        return work.paper(name)
    except UnknownNameError:
        return Paper(name, usual_white(), measured=False)


def _store(work: Work, request: ReadSheet, read: SheetRead) -> None:
    """Take in what was read; bare places only where they tell the paper's own color."""
    paper, picture = _paper(work, request.paper), picture_of(request.files)
    bare = [p.reading for p in read.cells if p.taken and not p.recipe.steps]
    (page,) = read.pages
    keeps, _, _ = judge_bare(paper, bare, assumed=page.assumed)
    unknown = (COATS_UNKNOWN,) if request.coats_unknown else ()
    work.add_swatches(
        [
            swatch_of(paper.name, p, page.accuracy, picture, *(unknown if p.recipe.steps else ()))
            for p in read.cells
            if p.taken and (p.recipe.steps or keeps)
        ]
    )


def _read(
    request: ReadSheet,
    recipes: Mapping[int, Recipe],
    paper: Paper,
    known: Mapping[int, conversion.KnownColor],
) -> SheetRead:
    (file,) = request.files
    photograph = next(files.open_photographs(file.content, source=file.source))
    boxes = card_boxes(rows=request.rows, columns=request.columns)
    cells = tuple(
        PageCell(place, boxes[place - 1], not recipe.steps, smooth=lies_evenly(recipe))
        for place, recipe in recipes.items()
    )
    profile = profile_of(photograph)
    chart = None
    if request.way != "profile":  # before the card is, which else may be taken for a chart
        blank = [np.array(request.corners)] if request.corners else []
        chart = find_chart(photograph.pixels, profile.curves.mean(axis=1), blank=blank)
    page_map = _map(photograph, request, chart)
    reading = read_card_cells(photograph.pixels, page_map, cells, profile.linear)
    check_bare(reading, recipes, grid=(request.rows, request.columns), passed=request.accept)
    made = converted(
        photograph, reading, cells, profile, request, paper=paper, known=known, find=lambda: chart
    )
    places, note = unless_bare(paper, _judged(request, recipes, made), assumed=made.assumed)
    return as_read((made,), places, note)


def _map(
    photograph: files.Photograph, request: ReadSheet, chart: FoundChart | None
) -> rectify.PageMap:
    rows, columns = request.rows, request.columns
    if request.corners:
        _check_corners(np.array(request.corners))
        return map_card(np.array(request.corners), rows=rows, columns=columns)
    found = find_card(photograph.pixels, rows=rows, columns=columns, chart=chart)
    if found is None:
        beside = "" if chart is None else " (not those of the reference chart)"
        raise BadFileError(
            f"{photograph.source}: no grid of {rows} rows and {columns} columns was found.",
            hint=f"Say where its outer corners are in the picture{beside}.",
            command="--corners",
        )
    return found


def _check_corners(corners: FloatArray) -> None:
    """Refuse corners that no flat card has: they go round it one way, and none lies on another."""
    ahead = np.roll(corners, -1, axis=0) - corners
    turns = ahead[:, 0] * np.roll(ahead[:, 1], -1) - ahead[:, 1] * np.roll(ahead[:, 0], -1)
    if not (np.abs(turns) > LEAST_TURN).all() or len(set(np.sign(turns))) != 1:
        raise BadRecipeError(
            "These four corners are not those of a grid.",
            hint="Give the first place's outer corner, then go round the grid clockwise.",
        )


def _judged(request: ReadSheet, recipes: Mapping[int, Recipe], made: PageRead) -> list[CellRead]:
    places = []
    for one in made.readings:
        why_not = doubts(
            one, request.accept, request.accept_rough, rough=made.accuracy.rough, used=made.used
        )
        lab = lab_from_xyz(one.xyz)
        places.append(CellRead(0, one.number, recipes[one.number], lab, one, not why_not, why_not))
    return places


QUALITY = 85


def card_picture(file: GivenFile) -> bytes:
    """Return the first picture of a file as JPEG, as large as it is, to place a grid on.

    Its colors are only to be recognized, so its profile is left out. Raises `BadFileError` for what
    is no picture.
    """
    pixels = next(files.open_photographs(file.content, source=file.source)).pixels
    if pixels.dtype != np.uint8:
        pixels = (pixels / np.iinfo(pixels.dtype).max * 255).round().astype(np.uint8)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "JPEG", quality=QUALITY)
    return content.getvalue()
