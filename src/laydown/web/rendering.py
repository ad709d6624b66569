"""Render templates: one environment, with what every page needs."""

from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined

import laydown
from laydown.app.invented import INVENTED
from laydown.app.light.checking import HOW_TO_READ, look_words, off_words
from laydown.app.light.life import classes_said, light_words, part_name
from laydown.app.matches.colors import Asking, surety_words
from laydown.app.pictures.plans import gray_of_step
from laydown.app.words import in_words, reflectance_in_words
from laydown.match.chances import acceptance_words, chance_words, closeness
from laydown.media.legible import legible
from laydown.media.light.exposure import span_text
from laydown.media.light.lightfastness import lasting_words
from laydown.media.recipe import format_recipe
from laydown.media.recipe_words import name_words, recipe_words
from laydown.plan.light.life import dose_words
from laydown.plan.light.lights import (
    change_words,
    instead_words,
    summary_words,
    verdict_sentence,
    verdict_words,
)
from laydown.plan.run.triads import run_words, shade_words, tone_words, triad_words
from laydown.reference.thresholds import step_words
from laydown.web.asking import asks_more, from_of
from laydown.web.drawings import cloud, lifeline
from laydown.web.look import COOKIE, HAND, YEAR, gray_of, read_hand, read_look
from laydown.web.navigation import PLACES, guide_of, place_of
from laydown.web.phone import FROM_PHONE

LONGEST_NOTICE = 600
LICENCES = Path(__file__).parent / "static" / "licences.html"
"""Of all that a program holds that needs no Python: its build puts them there."""


def count_words(one: str, many: str, count: int, **values: object) -> str:
    """Say a text of one or of many, with ``%(num)s`` for how many and a place for each value.

    Examples
    --------
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
    made.globals.update(
        version=laydown.__version__,
        licences=LICENCES.is_file(),
        place_of=place_of,
        guide_of=guide_of,
        places=PLACES,
        from_of=from_of,
        gray_of=gray_of,
        recipe_text=format_recipe,
        acceptance_words=acceptance_words,
        chance_words=chance_words,
        closeness=closeness,
        cloud=cloud,
        count_words=count_words,
        gray_of_step=gray_of_step,
        blank_asking=Asking(),
        asks_more=asks_more,
        step_words=step_words,
        in_words=in_words,
        invented=INVENTED.__contains__,
        name_words=name_words,
        recipe_words=recipe_words,
        reflectance_in_words=reflectance_in_words,
        surety_words=surety_words,
    )
    made.globals.update(
        change_words=change_words,
        how_lights_read=HOW_TO_READ,
        instead_words=instead_words,
        look_words=look_words,
        off_words=off_words,
        summary_words=summary_words,
        verdict_sentence=verdict_sentence,
        verdict_words=verdict_words,
    )
    made.globals.update(
        dose_words=dose_words,
        lifeline=lifeline,
        classes_said=classes_said,
        light_words=light_words,
        lasting_words=lasting_words,
        part_name=part_name,
        run_words=run_words,
        shade_words=shade_words,
        span_text=span_text,
        tone_words=tone_words,
        triad_words=triad_words,
    )
    made.filters["address"] = lambda text: quote(str(text), safe="")
    return made


def render(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """Render a page.

    Parameters
    ----------
    request
        That it answers: its cookies say how the person looks at colors.
    template
        Its file below ``templates``.
    status
        Of the answer.
    context
        What the template shows.
    """
    news: list[str] = request.app.state.desk.news
    notice = unquote(request.cookies.get("notice", ""))[:LONGEST_NOTICE]
    keep: dict[str, str] = getattr(request.state, "keep", {})
    text = (
        environment()
        .get_template(template)
        .render(
            look=read_look(request.cookies.get(COOKIE, "")),
            here=request.url.path,
            query=request.url.query,
            notice=notice or (news.pop() if news else ""),
            away=FROM_PHONE in request.scope,
            in_hand=read_hand(keep.get(HAND) or request.cookies.get(HAND, "")),
            from_last=unquote(keep.get("from") or request.cookies.get("from", "")),
            **context,
        )
    )
    response = HTMLResponse(legible(text), status_code=status)
    for name, value in keep.items():
        response.set_cookie(name, value, max_age=YEAR, httponly=True, samesite="strict")
    if notice:
        response.delete_cookie("notice", httponly=True, samesite="strict")
    return response
