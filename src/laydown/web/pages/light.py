"""Light: what a lamp does to matches, and how long a picture lasts."""

from dataclasses import replace
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, Query, Response, UploadFile
from pydantic import Field

from laydown import allowed_sizes
from laydown.app.lessons.lessons import fetch_lesson, write_lesson
from laydown.app.light import lightfastness as light_tasks
from laydown.app.light.checking import CheckLight, LightChecked, lights_named
from laydown.app.light.life import ForecastLife, LifeForecast
from laydown.app.matches.colors import MakeChart, spelled_out
from laydown.app.pictures.plans import kept_file, kept_plan, kept_plans, lesson_from_plan
from laydown.color.light import DAY, named_lights
from laydown.color.value import value_from_lab
from laydown.errors import BadFileError, LightfastnessError, TooLargeError, UnknownNameError
from laydown.media.light.exposure import Exposure, dose_in_all, parse_span
from laydown.media.recipe import Colorant
from laydown.plan.light.lights import Holding
from laydown.web import asking as ask
from laydown.web.desk import AtDesk, AtLibrary, Desk
from laydown.web.faces import Beside, changes, of_library, shows
from laydown.web.files import file_of, file_sent, hands_over, sent_pictures
from laydown.web.long_work import asked_by, finds, jobs_of, lists, starts

MOST_TEXT = 200_000
"""Characters of a pasted list."""
MOST_BYTES = allowed_sizes.PLAN
"""Of a file: lists and lessons are far smaller."""
MOST_COLORS = 2000
"""Typed one a line."""


def colors_sent(
    *,
    desk: AtDesk,
    pasted: Annotated[str, Form(max_length=MOST_TEXT)] = "",
    file: UploadFile | None = None,
    chart: ask.CountSent = 0,
    lesson: ask.CountSent = 0,
    plan: ask.CountSent = 0,
    before: ask.CountSent = 0,
) -> MakeChart:
    """Read the colors of a form, typed and listed, as those of a chart.

    Of what holds a list only one counts, a file before all others. The file of an earlier question
    counts where no other is chosen.

    Raises TooLargeError for more than can be asked at once.
    """
    typed = tuple(ask.typed_of(pasted))
    if len(typed) > MOST_COLORS:
        raise TooLargeError(
            f"There are {len(typed)} colors; {MOST_COLORS} are taken at once.", hint="Ask in parts."
        )
    made = _listed(desk, chart=chart, plan=plan, lesson=lesson)
    sent = file_sent(file)
    if sent is not None:
        if len(sent.content) > MOST_BYTES:
            raise TooLargeError(
                f"{sent.source} has {len(sent.content)} bytes; {MOST_BYTES} are taken.",
                hint="Lists and lessons are text, and far smaller.",
            )
        made = replace(made, file=sent.content, source=sent.source)
    elif before:
        asked = desk.jobs.request(before)
        made = MakeChart()
        if isinstance(asked, CheckLight | ForecastLife):
            made = MakeChart(file=asked.file, source=asked.source)
    return replace(made, colors=typed + made.colors)


def _listed(desk: Desk, *, chart: int, plan: int, lesson: int) -> MakeChart:
    made = MakeChart()
    if chart:
        made = spelled_out(desk.library, asked_by(desk.jobs, chart, MakeChart))
    if plan:  # its colors as the lesson of it, which is small
        title = kept_plan(desk.library, plan).title
        of_plan = lesson_from_plan(kept_file(desk.library, plan), title, title=title)
        made = replace(made, file=write_lesson(of_plan), source=title)
    if lesson:
        kept = fetch_lesson(desk.library, lesson)
        source = kept.source.removesuffix(".lesson.txt")
        made = replace(made, file=kept.content, source=source)
    return made


ColorsOf = Annotated[MakeChart, Depends(colors_sent)]
"""What a page's function names to be handed the colors of a form."""
router = APIRouter()
ON_A_PAGE_LIGHT = 12
MOST_LIGHTS = 20
Holds = Literal["", "holds", "drifts", "breaks"]


def to_ask(
    *,
    desk: AtDesk,
    asking: ask.AskingOf,
    wanted: Annotated[str, Query(max_length=ask.LONGEST_RECIPE)] = "",
    chart: ask.Count = 0,
    lesson: ask.Count = 0,
    plan: ask.Count = 0,
) -> Beside:
    """Return what a form about light shows besides; a chart brings its own supplies along."""
    if chart:
        asking = asked_by(desk.jobs, chart, MakeChart).asking
    return {
        "wanted": wanted,
        "chart": chart,
        "lesson": lesson,
        "plan": plan,
        "asking": asking,
        "charts": jobs_of(desk.jobs, "make_chart"),
        "plans": kept_plans(desk.library),
        "lights": tuple(one for one in named_lights() if one.cie != DAY),
    }


asked_before = lists("check_light", "forecast_life")
shows(router, "/light", "light.html.j2", beside=to_ask, under="jobs")(asked_before)
shows(router, "/light/wall", "wall.html.j2", beside=to_ask, under="jobs")(asked_before)


def _what(asked: CheckLight | ForecastLife) -> str:
    """Return what is asked about: the one color, or where the colors are from."""
    named = asked.colors + (asked.laid if isinstance(asked, ForecastLife) else ())
    return named[0] if len(named) == 1 else asked.source or "Colors"


@starts(
    router,
    "/light/check",
    "check_light",
    "/light/checked",
    lambda asked: f"{_what(asked)} under other lights",
)
def check(
    colors: ColorsOf,
    asking: ask.AskingSent,
    light: Annotated[
        list[Annotated[str, Field(max_length=ask.LONGEST)]], Form(max_length=MOST_LIGHTS)
    ] = [],  # noqa: B006  FastAPI copies it
) -> CheckLight:
    """Match colors by day, then see the matches under other lights."""
    if not (colors.colors or colors.file):
        raise BadFileError(
            "No color was named.",
            hint="Type one a line, choose a file, a lesson, a plan or a chart.",
        )
    named = tuple(name for name in light if name)
    lights_named(named)
    return CheckLight(colors.colors, colors.file, colors.source, named, asking)


checked = finds(LightChecked)


def arranged(
    *,
    found: Annotated[LightChecked, Depends(checked)],
    only: Holds = "",
    skip: ask.Count = 0,
    color: ask.Count = 0,
) -> Beside:
    """Choose what of a check is shown: a page of the list, or one color by its number."""
    numbered = tuple(enumerate(found.colors, 1))
    chosen = tuple(one for one in numbered if not only or one[1].check.holding is Holding(only))
    number = 1 if len(numbered) == 1 else color
    alone = found.colors[number - 1] if 0 < number <= len(numbered) else None
    shown = chosen[skip : skip + ON_A_PAGE_LIGHT]
    return {
        "skip": skip,
        "at_once": ON_A_PAGE_LIGHT,
        "only": only,
        "count": len(chosen),
        "colors": shown,
        "alone": alone,
        "value_of": value_from_lab,
    }


shows(router, "/light/checked", "light_checked.html.j2", beside=arranged)(checked)
hands_over(router, "/light/checked/file", checked, "{0.title} under other lights")
ON_A_PAGE_LIFE = 25
MOST_LAID = 200
"""Recipes in one picture, as they were laid."""
Glass = Literal["none", "plain", "filter"]


def exposure_sent(
    lux: ask.FullLine,
    hours: Annotated[float, Form(gt=0, le=24, allow_inf_nan=False)] = 8.0,
    days: Annotated[float, Form(gt=0, le=366, allow_inf_nan=False)] = 365.0,
    glass: Annotated[Glass, Form()] = "none",
) -> Exposure:
    """Read the light on a wall."""
    return Exposure(parse_span(lux, "light in lux"), hours, days, filtered=glass == "filter")


@starts(
    router,
    "/light/wall",
    "forecast_life",
    "/light/lasting",
    lambda asked: f"{_what(asked)} on a wall",
)
def forecast(
    *,
    colors: ColorsOf,
    asking: ask.AskingSent,
    exposure: Annotated[Exposure, Depends(exposure_sent)],
    laid: Annotated[str, Form(max_length=MOST_TEXT)] = "",
    years: Annotated[float, Form(ge=0.1, le=100, allow_inf_nan=False)] = 10.0,
    swaps: Annotated[int, Form(ge=0, le=20)] = 3,
) -> ForecastLife:
    """Forecast how long colors last on a wall: wanted ones, matched first, or recipes as laid."""
    recipes = tuple(ask.typed_of(laid))
    if len(recipes) > MOST_LAID:
        raise TooLargeError(
            f"There are {len(recipes)} recipes; {MOST_LAID} are taken at once.",
            hint="Ask in parts.",
        )
    if not (colors.colors or colors.file or recipes):
        raise BadFileError(
            "Nothing was named that hangs on the wall.",
            hint="Type colors or recipes one a line, choose a file, a lesson, a plan or a chart.",
        )
    return ForecastLife(
        exposure,
        colors.colors,
        recipes,
        colors.file,
        colors.source,
        asking,
        wanted=years,
        swaps=swaps,
    )


lasting = finds(LifeForecast)


def around_life(found: Annotated[LifeForecast, Depends(lasting)], skip: ask.Count = 0) -> Beside:
    """Choose what of a forecast is shown."""
    most, known = ON_A_PAGE_LIFE, [part for part in found.parts if part.noticeable]
    unknown = [part for part in found.parts if not part.noticeable][:most]
    numbered = list(enumerate(known, 1))[skip : skip + most]
    return {"at_once": most, "parts": numbered, "count": len(known), "unknown": unknown}


shows(router, "/light/lasting", "lasting.html.j2", beside=around_life)(lasting)
hands_over(router, "/light/lasting/file", lasting, "{0.title}, life on a wall")
CLASSES = "/light/classes"
ON_A_PAGE_LIGHTFASTNESS = 40


def _asked(kit: ask.Name = "", range: ask.Name = "") -> dict[str, str]:
    if kit and range:
        raise UnknownNameError(
            "Name a kit or a range, not both.", hint="Leave one of the two empty."
        )
    return {"kit": kit, "range": range}


AskedFor = Annotated[dict[str, str], Depends(_asked)]


def known(library: AtLibrary, asked: AskedFor) -> tuple[light_tasks.KnownFading, ...]:
    """List what is known of colorants' lightfastness, and of which nothing is."""
    return light_tasks.list_lightfastness(library, **asked)


def around_lightfastness(
    asked: AskedFor,
    found: Annotated[tuple[light_tasks.KnownFading, ...], Depends(known)],
    skip: ask.Count = 0,
) -> Beside:
    """Choose which colorants are shown."""
    most, listed = ON_A_PAGE_LIGHTFASTNESS, [one for one in found if one.anything]
    unknown = [one.colorant for one in found if not one.anything]
    return {
        "at_once": most,
        "asked": asked,
        "shown": listed[skip : skip + most],
        "count": len(listed),
        "unknown": unknown,
        "ticked": unknown[: ask.MOST_NAMES],
    }


shows(router, CLASSES, "lightfastness.html.j2", beside=around_lightfastness, under="colorants")(
    known
)


Rated = tuple[str, tuple[Colorant, ...], tuple[Colorant, ...]]
"""A class in words, the colorants it was new for, and those that had it."""


def _rated(done: Rated) -> str:
    return f"{done[0]}: {len(done[1])} color{'s' * (len(done[1]) != 1)} changed."


@changes(router, "/light/rate", CLASSES, _rated, under="fastness changed unchanged")
def rate(
    *,
    library: AtLibrary,
    grade: ask.FullLine,
    pasted: Annotated[str, Form(max_length=100_000)] = "",
    tick: ask.Ticked = [],  # noqa: B006  FastAPI copies it
    range: ask.Ticked = [],  # noqa: B006  the trade's word; FastAPI copies it
    source: ask.Line = "",
) -> Rated:
    """State a class for colorants, all of them or, if one name is unknown, none."""
    names = tuple(name for name in (*tick, *ask.names_of(pasted)) if name)
    ranges = tuple(name for name in range if name)
    if not names and not ranges:
        raise UnknownNameError(
            "No colorant was named.", hint="Tick some, type names one a line, or choose a range."
        )
    return light_tasks.rate_lightfastness(library, grade, names, ranges, source)


CAME = "{0[1]} of {0[0]} classes and {0[3]} of {0[2]} window readings were new."
COUNTED = "classes new_classes readings new_readings"


@changes(router, "/light/import", CLASSES, CAME, under=COUNTED)
def bring_in(library: AtLibrary, file: Annotated[UploadFile, File()]) -> tuple[int, int, int, int]:
    """Bring classes and window readings in from a file: all of it, or nothing."""
    sent = file_sent(file)
    if sent is None:
        raise BadFileError("No file was chosen.", hint="Choose a CSV file.")
    return light_tasks.import_lightfastness(library, sent.content, sent.source)


@router.get(f"{CLASSES}/file", response_class=Response)
def hand_out(library: AtLibrary, range: ask.Name = "") -> Response:
    """Hand classes and window readings out as a file that brings the same in again."""
    made = light_tasks.export_lightfastness(library, range)
    return file_of(made.encode(), f"{range or 'lightfastness'} classes.csv")


WINDOW = "/light/window"
CENTURY = 36_525
Typed = Annotated[str, Form(max_length=ask.LONGEST_RECIPE)]
shows(router, WINDOW, "window.html.j2", under="colorants")(
    of_library(light_tasks.list_lightfastness)
)


def in_window(
    *,
    dose: ask.Line = "",
    lux: ask.Line = "",
    hours: Annotated[float, Form(gt=0, le=24, allow_inf_nan=False)] = 8.0,
    days: Annotated[float | None, Form(gt=0, le=CENTURY, allow_inf_nan=False)] = None,
    glass: Annotated[Literal["none", "plain", "filter"], Form()] = "none",
    paper: ask.Line = "",
    noise: Annotated[float, Form(ge=0, le=20, allow_inf_nan=False)] = 0.0,
    remark: ask.Line = "",
) -> light_tasks.AddWindowTest:
    """Read how much light fell on a test: as a dose, or as light, hours and days."""
    if bool(dose) == bool(lux):
        raise LightfastnessError(
            "Say the light once.", hint="As a dose, or as lux with hours a day and days."
        )
    if dose:
        so_far = parse_span(dose, "dose in million lux-hours")
    elif days is None:
        raise LightfastnessError("For how many days has it hung there?", hint="Say the days, too.")
    else:
        so_far = dose_in_all(Exposure(parse_span(lux, "light in lux"), hours), days)
    return light_tasks.AddWindowTest(
        so_far, filtered=glass == "filter", paper=paper, noise=noise, remark=remark
    )


InLight = Annotated[light_tasks.AddWindowTest, Depends(in_window)]


AS_NOTED = "tests repeated notes"


def _noted(done: light_tasks.WindowTestAdded) -> str:
    tests, repeated, _ = done
    said = [_moved(test) for test in tests[:3]]
    if len(tests) > len(said):
        said.append(f"and {len(tests) - len(said)} more")
    if repeated:
        many = "reading was" if repeated == 1 else "readings were"
        said.append(f"{repeated} {many} known already")
    return "; ".join(said) + "."


def _moved(test: light_tasks.WindowTest) -> str:
    return f"{test.colorant.label} moved by {test.reading.difference:.1f} (CIEDE2000)"


@changes(router, WINDOW, WINDOW, _noted, under=AS_NOTED)
def note(
    *,
    library: AtLibrary,
    light: InLight,
    colorant: ask.Line = "",
    before: Typed = "",
    after: Typed = "",
    file: UploadFile | None = None,
) -> light_tasks.WindowTestAdded:
    """Note what light did to a coat: its color typed, or swatches measured now in a file."""
    sent = file_sent(file)
    if (sent is None) != bool(after) or bool(colorant) != bool(after):
        raise LightfastnessError(
            "What was measured isn't clear.",
            hint="Name a colorant and type its color now, or choose a file of swatches.",
        )
    typed = replace(light, colorant=colorant, before=before, after=after)
    asked = replace(typed, file=sent.content, source=sent.source) if sent else typed
    return light_tasks.add_window_test(library, asked)


@starts(
    router,
    "/light/window/sheet",
    "add_window_test",
    "/light/window/noted",
    lambda asked: f"Reading {', '.join(p.source for p in asked.pictures)} from the window",
    under=AS_NOTED,
)
def note_sheet(
    light: InLight, pictures: Annotated[list[UploadFile], File()]
) -> light_tasks.AddWindowTest:
    """Read sheets that hung in a window, each plain coat against its first reading."""
    return replace(light, pictures=sent_pictures(pictures))


noted = finds(tuple, "add_window_test")
shows(router, "/light/window/noted", "window_noted.html.j2", under=AS_NOTED)(noted)
changes(router, "/light/forget", WINDOW, lambda gone: f"Forgotten: {_moved(gone)}.")(
    of_library(light_tasks.forget_window_test, number=ask.NumberSent)
)
