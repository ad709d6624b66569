"""Render templates: one environment, with what every page needs."""

from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urlencode

import numpy as np
from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined
from scipy.special import ndtri
from starlette.datastructures import QueryParams

import laydown
from laydown.app.lessons.lessons import list_lessons
from laydown.app.light.checking import HOW_TO_READ, look_words, off_words
from laydown.app.light.life import classes_said, light_words, part_name
from laydown.app.matches.colors import Asking, surety_words
from laydown.app.notebook.asking import promises_of
from laydown.app.pictures.plans import gray_of_step
from laydown.app.reports import kit_lines, money
from laydown.app.supplies.kits import list_kits
from laydown.app.supplies.names import INVENTED
from laydown.app.supplies.papers import list_papers
from laydown.app.supplies.ranges import list_ranges
from laydown.app.words import in_words, reflectance_in_words
from laydown.color.arrays import FloatArray
from laydown.match.acceptance import acceptance_words, chance_words, closeness
from laydown.media.legible import legible
from laydown.media.light.exposure import span_text
from laydown.media.light.fading import lasting_words
from laydown.media.recipe import format_recipe
from laydown.media.recipe_words import name_words, recipe_words
from laydown.plan.light import lights
from laydown.plan.light.life import LONGEST, TICKS, along, dose_words
from laydown.plan.run.triads import run_words, shade_words, tone_words, triad_words
from laydown.reference.thresholds import close_enough, step_words
from laydown.web.asking import asks_more, box_at_hand, choices_of, from_of
from laydown.web.look import COOKIE, HAND, YEAR, color_of_paper, gray_of, read_asked, read_look
from laydown.web.phone import FROM_PHONE

LONGEST_NOTICE = 600
SWATCHES_AT_ONCE = 120
"""Of a box, on a page."""
PARTS = ("patches", "lists", "fields")
"""Of which pages are made: the macros of each are known on every page, and to those after it."""
OF_LIBRARY: dict[str, Callable[..., Any]] = {
    "choices": choices_of,
    "box_of": box_at_hand,
    "paper_color": color_of_paper,
    "promises_of": promises_of,
    "all_kits": list_kits,
    "all_lessons": list_lessons,
    "all_papers": list_papers,
    "all_ranges": list_ranges,
}
"""What a page may ask of its library, each once, by the names that templates know it by."""
LICENCES = Path(__file__).parent / "static" / "licences.html"
"""Of all that a program holds that needs no Python: its build puts them there."""


def count_words(one: str, many: str, count: int, **values: object) -> str:
    """Say a text of one or of many, with ``%(num)s`` for how many and a place for each value.

    >>> count_words("%(num)s swatch", "%(num)s swatches", 2)
    '2 swatches'
    """
    return (one if count == 1 else many) % {"num": count, **values}


@cache
def environment() -> Environment:
    """Return the environment that every page is rendered in."""
    made = Environment(
        loader=PackageLoader("laydown.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    words: tuple[tuple[Callable[..., Any], ...], ...] = (
        (further, place_of, guide_of, from_of, asks_more, count_words, cloud, place_in_time),
        (gray_of, gray_of_step, in_words, reflectance_in_words, close_enough, step_words),
        (acceptance_words, chance_words, closeness, surety_words, name_words, recipe_words),
        (
            run_words,
            shade_words,
            tone_words,
            triad_words,
            lights.change_words,
            lights.instead_words,
            off_words,
        ),
        (
            look_words,
            lights.summary_words,
            lights.verdict_sentence,
            lights.verdict_words,
            dose_words,
            span_text,
        ),
        (classes_said, light_words, lasting_words, part_name, money, kit_lines),
    )
    made.globals.update(
        {function.__name__: function for group in words for function in group},
        version=laydown.__version__,
        licences=LICENCES.is_file(),
        swatches_at_once=SWATCHES_AT_ONCE,
        places=PLACES,
        recipe_text=format_recipe,
        blank_asking=Asking(),
        invented=INVENTED.__contains__,
        how_lights_read=HOW_TO_READ,
        times=TIMES,
        scale_of_time=(TICKS[0][1], LONGEST),
    )
    made.tests["invented"] = INVENTED.__contains__
    made.filters.update(
        address=lambda text: quote(str(text), safe=""), recipe_text=format_recipe, in_front=in_front
    )
    return made


def further(path: str, said: QueryParams, name: str, value: object) -> str:
    """Return the address that says the same, but for one field.

    >>> further("/box", QueryParams("kit=mine&first=150"), "first", 300)
    '/box?kit=mine&first=300'
    """
    same = [(one, told) for one, told in said.multi_items() if one != name]
    return f"{path}?{urlencode([*same, (name, value)])}"


def in_front(note: str) -> str:
    """Return what of a note stands in front; its numbers are for what is folded away.

    >>> in_front("Learned from 2 trials of yours: you lay 1.00 times what the swatches have.")
    'Learned from 2 trials of yours.'
    >>> in_front("Another is nearer (CIEDE2000 1.2).")
    ''
    """
    if "CIEDE2000" in note:
        return ""
    said, numbers, _ = note.partition(": you lay ")
    return f"{said}." if numbers else note


def render(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """Render a page; the request's cookies say how the person looks at colors."""
    desk = request.app.state.desk
    news: list[str] = desk.news
    notice = unquote(request.cookies.get("notice", ""))[:LONGEST_NOTICE]
    keep: dict[str, str] = getattr(request.state, "keep", {})
    shown: dict[str, Any] = {
        **{name: cache(partial(asked, desk.library)) for name, asked in OF_LIBRARY.items()},
        "look": read_look(request.cookies.get(COOKIE, "")),
        "here": request.url.path,
        "query": request.url.query,
        "said": request.query_params,
        "notice": notice or (news.pop() if news else ""),
        "away": FROM_PHONE in request.scope,
        "in_hand": next(iter(read_asked(keep.get(HAND) or request.cookies.get(HAND, ""))), None),
        "from_last": unquote(keep.get("from") or request.cookies.get("from", "")),
    }
    for part in PARTS:
        macros = vars(environment().get_template(f"parts/{part}.html.j2").make_module(shown))
        shown |= {name: macro for name, macro in macros.items() if not name.startswith("_")}
    text = environment().get_template(template).render(shown | context)
    response = HTMLResponse(legible(text), status_code=status)
    for name, value in keep.items():
        response.set_cookie(name, value, max_age=YEAR, httponly=True, samesite="strict")
    if notice:
        response.delete_cookie("notice", httponly=True, samesite="strict")
    return response


PLACES = (
    (
        *("My box", "/box"),
        (
            *(("Each over each", "/grid"), ("Twins", "/twins"), ("Boxes", "/kits")),
            *(("Sets", "/ranges"), ("Papers", "/papers"), ("Swatches", "/swatches")),
            ("Sheets", "/sheets"),
        ),
    ),
    (
        *("Color in hand", "/color"),
        (
            *(("What it makes", "/over"), ("What if", "/lay"), ("Fix it", "/fix")),
            *(("Muddy?", "/muddy"), ("Box by box", "/boxes"), ("Shadow and light", "/partners")),
            *(("Between two", "/gradient"), ("Shading runs", "/runs")),
            ("Under other lights", "/light"),
        ),
    ),
    (
        *("Work", "/work"),
        (
            *(("Lessons", "/lessons"), ("Pictures", "/pictures"), ("Charts", "/charts")),
            *(("Notebook", "/notebook"), ("Finished", "/finished")),
            *(("What to buy", "/choosing"), ("Long work", "/jobs"), ("History", "/history")),
        ),
    ),
)
"""Each with its name, its address, and what lies in it, by name and address."""
NOWHERE = frozenset({"/", "/phone", "/find", "/demo", "/guide", "/stop"})
"""Pages that belong to none of the places."""
GUIDED = {
    path: page
    for page, paths in {
        "swatch-your-box": ("/sheets", "/swatches"),
        "photograph-it": ("/sheet", "/card"),
        "read-an-answer": ("/color", "/chart"),
        "why-colors-go-muddy": ("/over", "/gradient", "/muddy"),
        "light-middle-dark": ("/partners", "/runs"),
        "teach-from-one-palette": ("/lesson", "/lessons"),
        "buy-only-what-helps": ("/ranges", "/choosing", "/chosen"),
        "learn-from-what-you-tried": ("/notebook", "/trial", "/hand"),
    }.items()
    for path in paths
}
"""Where a page of the guide helps, by the first part of an address."""


def guide_of(path: str) -> str:
    """Return the address of the guide's page that helps on a page; else of its first.

    >>> guide_of("/lesson/conversion"), guide_of("/papers")
    ('/guide?page=teach-from-one-palette', '/guide')
    """
    name = GUIDED.get("/" + path.strip("/").partition("/")[0])
    return f"/guide?page={name}" if name else "/guide"


def place_of(path: str) -> int | None:
    """Return the number of the place that a page lies in; None for one that lies in none.

    >>> [place_of(path) for path in ("/kit", "/light/wall", "/trial", "/")]
    [0, 1, 2, None]
    """
    first = "/" + path.strip("/").partition("/")[0]
    if first in NOWHERE:
        return None
    if first == "/card":
        return 0
    for number, (_, address, parts) in enumerate(PLACES):
        if first == address or any(first in {of, of.removesuffix("s")} for _, of in parts):
            return number
    return 2


DOTS = 60
TILES = 10
SIDE = 240.0
"""Of the drawing, in its own units."""
ROOM = 0.82
"""Share of the drawing that the farthest dot may take."""
RIM = 12.0
"""Of the drawing, which no dot's middle enters: the ring of the wanted color has room there."""
LEAST_REACH = 4.0
"""Half the width of the drawing in CIELAB units, at least: a small doubt must look small."""
CloudDot = tuple[float, float, float, FloatArray]
"""A likely result: its place across and down in the drawing, its radius, and its color."""


def cloud(expected: FloatArray, covariance: FloatArray, wanted: FloatArray) -> dict[str, Any]:
    """Lay out likely results around the expected color; all in CIELAB, shapes (3,) and (3, 3).

    The dots are spread as a normal distribution of that covariance, by a Halton sequence, the same
    for the same color: across from greener to redder, up from bluer to yellower; a larger dot is
    lighter. The wanted color stands at the rim where it lies farther out. A unit is how long one
    CIELAB unit is drawn; tiles are a few of the results, from darkest to lightest.
    """
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))  # its square is the covariance
    results = expected + _deviates() @ root.T
    reach = max(LEAST_REACH, float(np.abs(results[:, 1:] - expected[1:]).max()))
    unit = ROOM * SIDE / 2 / reach
    by_value = results[np.argsort(results[:, 0])]
    steps = np.linspace(0, DOTS - 1, TILES).round().astype(int)
    return {
        "dots": tuple(_dot(lab, expected, unit) for lab in results),
        "wanted": _dot(wanted, expected, unit),
        "unit": unit,
        "tiles": tuple(by_value[steps]),
    }


def _dot(lab: FloatArray, middle: FloatArray, unit: float) -> CloudDot:
    across, up = np.clip((lab[1:] - middle[1:]) * unit, -SIDE / 2 + RIM, SIDE / 2 - RIM)
    radius = float(np.clip(4.0 + 0.8 * (lab[0] - middle[0]), 2.0, 8.0))
    return float(SIDE / 2 + across), float(SIDE / 2 - up), radius, lab


@cache
def _deviates() -> FloatArray:
    """Return shape (DOTS, 3): evenly spread normal deviates."""
    from scipy.stats import qmc  # noqa: PLC0415 - slow to import, and only a cloud needs it

    shares = qmc.Halton(3, scramble=False).random(DOTS + 1)[1:]
    deviates: FloatArray = ndtri(shares)
    return deviates


WIDTH = 320.0
"""Of the drawing, in its own units."""
LEFT, RIGHT = 26.0, 34.0
"""Room for the words at the ends of the scale."""
NAMES = ("week", "month", "year", "10 years", "100 years")
"""Of the times on the scale; short, for a phone."""


def place_in_time(years: float) -> float:
    """Return where in the drawing of a range of years a time stands."""
    return round(LEFT + (WIDTH - LEFT - RIGHT) * along(years), 1)


TIMES = tuple((place_in_time(at), name) for name, (_, at) in zip(NAMES, TICKS, strict=True))
