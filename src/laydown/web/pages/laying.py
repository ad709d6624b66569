"""What comes of laying, what mends, what is nearly the same: pages around the color in hand."""

from dataclasses import replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query

from laydown.app.lessons.lessons import fetch_lesson, read_lesson
from laydown.app.matches.colors import (
    ColorMatched,
    Fixed,
    OfOneBox,
    fix_color,
    lesson_in_each_box,
    match_in_each_box,
)
from laydown.app.matches.laying import (
    GridShown,
    Laid,
    Overlay,
    OverlaysShown,
    TwinsFound,
    find_twins,
    in_box,
    lay,
    measured_shades,
    show_grid,
    show_overlays,
)
from laydown.app.supplies.papers import usual_papers
from laydown.match.outcome import Match
from laydown.media.laydown import MOST_COATS
from laydown.media.recipe import Recipe, Step, format_recipe
from laydown.web.asking import LONGEST_RECIPE, AskingOf, Name, SuppliesOf
from laydown.web.desk import AtDesk, AtLibrary
from laydown.web.faces import Beside, shows
from laydown.web.long_work import LARGEST
from laydown.web.look import color_of_paper
from laydown.web.pages.runs import NOBODY_ASKED, beside_answer

router = APIRouter()
Pile = Annotated[str, Query(max_length=LONGEST_RECIPE)]
NOTHING_LAID = {"recipe": ""}
"""The answer before anything was laid."""


def overlays_of(
    library: AtLibrary, supplies: SuppliesOf, color: Name = ""
) -> OverlaysShown | dict[str, str]:
    """Lay each other color over one, and under it."""
    return show_overlays(library, color, supplies) if color.strip() else NOBODY_ASKED


def overlays_asked(
    library: AtLibrary,
    answer: Annotated[OverlaysShown | dict[str, str], Depends(overlays_of)],
    supplies: SuppliesOf,
    color: Name = "",
) -> Beside:
    """Return what was asked, and what the page needs besides."""
    return beside_answer(library, answer, supplies) | {"colorant": color}


shows(router, "/over", "over.html.j2", beside=overlays_asked)(overlays_of)


def pile_of(library: AtLibrary, supplies: SuppliesOf, recipe: Pile = "") -> Laid | dict[str, str]:
    """Lay a pile, and see what comes of it."""
    return lay(library, recipe, supplies) if recipe.strip() else NOTHING_LAID


def pile_asked(
    library: AtLibrary,
    answer: Annotated[Laid | dict[str, str], Depends(pile_of)],
    supplies: SuppliesOf,
    recipe: Pile = "",
) -> Beside:
    """Return what was asked, the box to lay more out of, and what one tap makes of the pile."""
    shades = measured_shades(library, supplies.paper) if supplies.paper else ()
    return beside_answer(library, answer, supplies) | {
        "recipe": recipe,
        "box": in_box(library, shades, supplies) if shades else (),
        "taps": _taps(answer.recipe) if isinstance(answer, Laid) else (),
        "laid_at": lay_address,
    }


def lay_address(recipe: str) -> str:
    """Return the page that lays a pile."""
    return f"/lay?{urlencode({'recipe': recipe})}"


def _taps(pile: Recipe) -> tuple[tuple[str, str, str], ...]:
    """Return for each step where a coat more, one less and none of it lead; empty for nowhere."""
    return tuple(
        (
            _tapped(pile, place, coats + 1),
            _tapped(pile, place, coats - 1) if coats > 1 else "",
            _tapped(pile, place, 0) if len(pile.steps) > 1 else "",
        )
        for place, coats in enumerate(
            step.laydown.coats if isinstance(step, Step) else 0 for step in pile.steps
        )
    )


def _tapped(pile: Recipe, place: int, coats: int) -> str:
    step = pile.steps[place]
    if not isinstance(step, Step) or coats > MOST_COATS:
        return ""
    laid = (replace(step, laydown=replace(step.laydown, coats=coats)),) if coats else ()
    steps = (*pile.steps[:place], *laid, *pile.steps[place + 1 :])
    return lay_address(format_recipe(Recipe(steps), with_range=True))


shows(router, "/lay", "lay.html.j2", beside=pile_asked)(pile_of)
Skip = Annotated[int, Query(ge=0, le=1000)]


def grid_of(library: AtLibrary, supplies: SuppliesOf, skip: Skip = 0) -> GridShown | dict[str, str]:
    """Lay each color of a box over each."""
    return show_grid(library, supplies, skip=skip) if supplies.paper else NOTHING_LAID


def grid_asked(
    library: AtLibrary,
    answer: Annotated[GridShown | dict[str, str], Depends(grid_of)],
    supplies: SuppliesOf,
    skip: Skip = 0,
) -> Beside:
    """Return what was asked, and what the page needs besides."""
    return beside_answer(library, answer, supplies) | {"skip": skip, "to_lay": _laid_one}


def _laid_one(one: Overlay) -> str:
    return lay_address(format_recipe(one.made.recipe, with_range=True)) if one.made.recipe else ""


shows(router, "/grid", "grid.html.j2", beside=grid_asked)(grid_of)
Wanted = Annotated[str, Query(max_length=LONGEST_RECIPE)]


def mended(desk: AtDesk, asking: AskingOf, wanted: Wanted = "") -> Fixed | dict[str, str]:
    """Fix what lies on the paper, or say that a fresh start comes nearer."""
    if not wanted.strip() or not asking.supplies.over.strip():
        return NOTHING_LAID
    return fix_color(desk.library, wanted, asking, finder=desk.tables.find)


def fix_asked(
    library: AtLibrary,
    answer: Annotated[Fixed | dict[str, str], Depends(mended)],
    asking: AskingOf,
    wanted: Wanted = "",
) -> Beside:
    """Return what was asked, and the box to touch what lies there and what is wanted."""
    supplies = asking.supplies
    shades = measured_shades(library, supplies.paper) if supplies.paper else ()
    return beside_answer(library, answer, supplies) | {
        "wanted": wanted,
        "asking": asking,
        "paper": color_of_paper(library, supplies.paper),
        "box": in_box(library, shades, supplies) if shades else (),
    }


shows(router, "/fix", "fix.html.j2", beside=fix_asked)(mended)
AT_ONCE = 8
"""Boxes that are answered on a page."""


def each_box(
    desk: AtDesk, asking: AskingOf, wanted: Wanted = "", skip: Skip = 0
) -> tuple[OfOneBox[ColorMatched], ...]:
    """Answer one color out of each box, side by side."""
    if not wanted.strip():
        return ()
    kits = _swatched(desk.library)[skip : skip + AT_ONCE]
    return match_in_each_box(desk.library, wanted, asking, kits, finder=desk.tables.find)


def _swatched(library: AtLibrary) -> tuple[str, ...]:
    return tuple(sorted(usual_papers(library).kits))


def each_asked(library: AtLibrary, wanted: Wanted = "", skip: Skip = 0) -> Beside:
    """Return what was asked, and how many boxes there are."""
    return {
        "wanted": wanted,
        "skip": skip,
        "at_once": AT_ONCE,
        "many": len(_swatched(library)),
        "paper_of": lambda name: color_of_paper(library, name),
    }


shows(router, "/boxes", "boxes.html.j2", beside=each_asked, under="boxes")(each_box)


COLORS_AT_ONCE = 12
"""Colors of a lesson that a page answers for each box."""
First = Annotated[int, Query(ge=0, le=10_000)]
Number = Annotated[int, Query(ge=1, le=LARGEST)]


def lesson_in_boxes(
    desk: AtDesk, asking: AskingOf, number: Number, first: First = 0, skip: Skip = 0
) -> tuple[OfOneBox[tuple[Match, ...]], ...]:
    """Answer the colors of a lesson out of each box, side by side."""
    kept = fetch_lesson(desk.library, number)
    lesson = read_lesson(kept.text.encode(), source=kept.lesson.title)
    part = replace(lesson, colors=lesson.colors[first : first + COLORS_AT_ONCE])
    kits = _swatched(desk.library)[skip : skip + AT_ONCE]
    return lesson_in_each_box(desk.library, part, asking, kits, finder=desk.tables.find)


def in_boxes_asked(library: AtLibrary, number: Number, first: First = 0, skip: Skip = 0) -> Beside:
    """Return which lesson it is, and what of it the page shows."""
    return {
        "lesson": fetch_lesson(library, number).lesson,
        "first": first,
        "at_once": COLORS_AT_ONCE,
        "skip": skip,
        "boxes_at_once": AT_ONCE,
        "many": len(_swatched(library)),
    }


shows(router, "/boxes/lesson", "boxes_lesson.html.j2", beside=in_boxes_asked, under="boxes")(
    lesson_in_boxes
)


def twins_of(library: AtLibrary, supplies: SuppliesOf) -> TwinsFound:
    """Look for what is nearly the same in a box, and in sets beside it."""
    return find_twins(library, supplies)


def twins_asked(
    library: AtLibrary, answer: Annotated[TwinsFound, Depends(twins_of)], supplies: SuppliesOf
) -> Beside:
    """Return what was asked, and what the page needs besides."""
    return beside_answer(library, answer, supplies)


shows(router, "/twins", "twins.html.j2", beside=twins_asked)(twins_of)
