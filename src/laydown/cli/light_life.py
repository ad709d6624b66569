"""``laydown light``: how fast colorants fade, and how long a picture lasts on a wall."""

from typing import TYPE_CHECKING, Any

import click

from laydown import allowed_sizes
from laydown.cli.asking import asking, asking_options, tell_of_compiling
from laydown.cli.columns import counted
from laydown.cli.console import give_text, progress, read_bytes, say, show, suggest
from laydown.cli.library_in_use import library_in_use
from laydown.cli.life_terms import listed, lives
from laydown.cli.light import light
from laydown.cli.names import names_of
from laydown.cli.page import page_option
from laydown.cli.reporting import give_report, report_wanted
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.add_window_test import WindowTest, WindowTestAdded
    from laydown.media.exposure import Exposure, Span

GLASSES = click.Choice(("none", "plain", "filter"))
_glass = click.option(
    "--glass",
    type=GLASSES,
    default="none",
    show_default=True,
    help="What keeps ultraviolet out: only a filter does. White LED lamps alone give next to none"
    " (common practice): say filter for them.",
)


@light.verb(
    "rate",
    tasks=["rate_lightfastness"],
    example='laydown light rate 3 Kelp "Rope locker" --source "the label"',
)
@click.argument("grade")
@click.argument("colorants", nargs=-1, shell_complete=names_of("colorant"))
@click.option(
    "--range",
    "ranges",
    multiple=True,
    metavar="RANGE",
    shell_complete=names_of("range"),
    help="All of this range; may be given several times.",
)
@click.option("--source", default="", metavar="WORDS", help="Who states it.")
def rate(grade: str, colorants: tuple[str, ...], ranges: tuple[str, ...], source: str) -> None:
    """State the class of lightfastness of COLORANTS, as their maker does.

    GRADE is 1 to 8 of the blue wool scale (3-4 lies between), or I to V of ASTM D4303; unknown
    takes a class back. A maker's own stars are no class. Whole lists come in by light import.
    """
    from laydown.app.rate_lightfastness import RateLightfastness, rate_lightfastness

    if not colorants and not ranges:
        raise click.UsageError("Name colorants, or a --range.")
    with library_in_use() as library:
        done = rate_lightfastness(library, RateLightfastness(grade, colorants, ranges, source))
    show(done, lambda d: f"{d.fastness}: {counted(len(d.changed), 'colorant')} changed.")
    suggest("laydown light life LESSON --kit KIT --lux 150 --glass filter")


@light.verb("ratings", tasks=["list_lightfastness"], example="laydown light ratings --kit student")
@click.option("--kit", default="", metavar="KIT", shell_complete=names_of("kit"))
@click.option("--range", "of", default="", metavar="RANGE", shell_complete=names_of("range"))
def ratings(kit: str, of: str) -> None:
    """List what is known of colorants' lightfastness: classes, and readings from a window."""
    from laydown.app.list_lightfastness import ListLightfastness, list_lightfastness

    if kit and of:
        raise click.UsageError("Name a kit or a range, not both.")
    with library_in_use() as library:
        found = list_lightfastness(library, ListLightfastness(kit, of))
    show(found, listed)


@light.verb("import", tasks=["import_lightfastness"], example="laydown light import classes.csv")
@click.argument("file")
def import_(file: str) -> None:
    """Bring classes and window readings in from FILE, all of it or nothing.

    A CSV file with the columns range, color and class, and source where somebody states it. Window
    readings have dose, ultraviolet, before and after instead of a class, as light export writes
    them.
    """
    from laydown.app.import_lightfastness import ImportLightfastness, import_lightfastness

    content = read_bytes(file, most=allowed_sizes.LIST)
    with library_in_use() as library:
        done = import_lightfastness(library, ImportLightfastness(content, file))
    show(
        done,
        lambda d: (
            f"{d.new_classes} of {d.classes} classes and {d.new_readings} of {d.readings} window"
            " readings were new."
        ),
    )


@light.verb("export", tasks=["export_lightfastness"], example="laydown light export -o classes.csv")
@click.option("--range", "of", default="", metavar="RANGE", shell_complete=names_of("range"))
def export(of: str) -> None:
    """Write classes and window readings as CSV, which light import brings in again."""
    from laydown.app.export_lightfastness import ExportLightfastness, export_lightfastness

    with library_in_use() as library:
        done = export_lightfastness(library, ExportLightfastness(of))
    if settings().as_json:
        show(done, lambda d: d.text)
    else:
        give_text(done.text)


def _exposure_options(function: Any) -> Any:
    """Add the options that say what light falls on a piece of work."""
    for decorate in (
        _glass,
        click.option("--hours", type=float, default=8.0, show_default=True, help="Hours a day."),
        click.option("--lux", default="", metavar="LUX", help="Light on it: 150, or 100-200."),
    ):
        function = decorate(function)
    return function


@light.verb(
    "window",
    tasks=["add_window_test"],
    example="laydown light window Kelp --after lab:57,-17,20 --lux 3000-8000 --hours 9 --days 30"
    " --glass plain",
)
@click.argument("colorant", default="", shell_complete=names_of("colorant"))
@click.option("--after", default="", metavar="COLOR", help="Its color now, in numbers.")
@click.option("--before", default="", metavar="COLOR", help="Its color when it was hung.")
@click.option("--file", default="", metavar="FILE", help="Swatches measured now.")
@click.option(
    "--sheet", "pictures", multiple=True, metavar="PICTURE", help="A sheet that hung there, now."
)
@click.option("--dose", default="", metavar="MLXH", help="Light so far in million lux-hours.")
@_exposure_options
@click.option("--days", type=float, default=None, help="Days it has hung there, in all.")
@click.option("--paper", default="", metavar="PAPER", shell_complete=names_of("paper"))
@click.option("--noise", type=click.FloatRange(0, 20), default=0.0, help="Of the difference.")
@click.option("--remark", default="", metavar="WORDS", help="In your own words.")
def window(colorant: str, **given: Any) -> None:
    """Note what light in a window did to a plain coat of COLORANT.

    Measure one coat, hang it in a window, measure it again after days and weeks; always count the
    light from the beginning. Without --before its earlier reading counts, or its one-coat swatch.
    With --sheet each plain coat of a sheet that was read before it hung there is compared with its
    first reading. Where you can only guess the light, write a range such as 2000-10000.
    """
    from laydown.app.add_window_test import AddWindowTest, add_window_test
    from laydown.app.read_sheet import PictureFile

    ways = sum(map(bool, (given["after"], given["file"], given["pictures"])))
    if ways != 1 or bool(colorant) != bool(given["after"]):
        raise click.UsageError("Give COLORANT with --after, or --file, or --sheet.")
    request = AddWindowTest(
        dose=_dose(given),
        filtered=given["glass"] == "filter",
        colorant=colorant,
        before=given["before"],
        after=given["after"],
        file=read_bytes(given["file"], most=allowed_sizes.SWATCHES) if given["file"] else None,
        source=given["file"],
        pictures=tuple(
            PictureFile(read_bytes(p, most=allowed_sizes.PHOTOGRAPH), p) for p in given["pictures"]
        ),
        paper=given["paper"],
        noise=given["noise"],
        remark=given["remark"],
    )
    with library_in_use() as library:
        done = add_window_test(library, request)
    show(done, _noted)
    for note in done.notes:
        say(note)
    suggest("laydown light ratings")


def _dose(given: dict[str, Any]) -> "Span":
    from laydown.media.exposure import Exposure, dose_in_all, parse_span

    if bool(given["dose"]) == bool(given["lux"]):
        raise click.UsageError("Say the light with --dose, or with --lux, --hours and --days.")
    if given["dose"]:
        return parse_span(given["dose"], "dose in million lux-hours")
    if given["days"] is None:
        raise click.UsageError("For how many days has it hung there? Say --days.")
    return dose_in_all(
        Exposure(parse_span(given["lux"], "light in lux"), given["hours"]), given["days"]
    )


def _noted(done: "WindowTestAdded") -> str:
    lines = [_reading(test) for test in done.tests]
    if done.repeated:
        lines.append(f"{counted(done.repeated, 'reading')} known already.")
    return "\n".join(lines)


def _reading(test: "WindowTest") -> str:
    read = test.reading
    return f"{test.number}  {test.colorant.label}: moved by {read.difference:.1f} (CIEDE2000)"


@light.verb("forget", tasks=["forget_window_test"], example="laydown light forget 3")
@click.argument("number", type=int)
def forget(number: int) -> None:
    """Take the window reading NUMBER out; light ratings lists them."""
    from laydown.app.forget_window_test import ForgetWindowTest, forget_window_test

    with library_in_use() as library:
        gone = forget_window_test(library, ForgetWindowTest(number))
    show(gone, lambda test: f"Forgotten: {_reading(test)}")


@light.verb(
    "life",
    tasks=["forecast_life", "write_report"],
    example="laydown light life lemons.csv --kit student --lux 100-200 --hours 8 --glass filter"
    " -o life.pdf",
)
@click.argument("things", nargs=-1)
@click.option(
    "--laid", multiple=True, metavar="RECIPE", help="What lies there, as it was laid; repeatable."
)
@_exposure_options
@click.option(
    "--days", type=float, default=365.0, show_default=True, help="Days a year that it hangs there."
)
@click.option(
    "--years",
    "wanted",
    type=click.FloatRange(0.1, 100),
    default=10.0,
    show_default=True,
    help="For how many it shall look unchanged.",
)
@click.option(
    "--swaps",
    type=click.IntRange(0, 20),
    default=3,
    show_default=True,
    help="For how many parts to look for a more lasting recipe.",
)
@page_option
@asking_options
def life(things: tuple[str, ...], laid: tuple[str, ...], page: str, **given: Any) -> None:
    """Forecast how long a picture keeps its colors on a wall, and which parts go first.

    THINGS are colors, or one file: a lesson, a picture's plan or a list of colors. Each color is
    matched from the kit first. With --laid a recipe is taken as it was laid. The answer is always a
    range of years, and no promise; where nothing is known of a colorant's lightfastness there is no
    forecast. With -o a report is written (.pdf, .html, .csv, .json).
    """
    if not given["lux"]:
        raise click.UsageError("How much light falls on it? Say --lux 150, or --lux 100-200.")
    form = report_wanted()
    content, source, colors = _file_among(things)
    if things:
        tell_of_compiling()
    from laydown.app.forecast_life import ForecastLife, forecast_life

    request = ForecastLife(
        exposure=_exposure(given),
        colors=colors,
        laid=laid,
        file=content,
        source=source,
        asking=asking(),
        wanted=given["wanted"],
        swaps=given["swaps"],
    )
    with library_in_use() as library, progress("matching") as watch:
        found = forecast_life(library, request, watch=watch)
    give_report(found, lives, form, page)
    if found.unrated:
        suggest(f"laydown light rate CLASS {' '.join(map(_quoted, found.unrated[:3]))}")


def _quoted(label: str) -> str:
    return f'"{label}"'


def _exposure(given: dict[str, Any]) -> "Exposure":
    from laydown.media.exposure import Exposure, parse_span

    lux = parse_span(given["lux"], "light in lux")
    return Exposure(lux, given["hours"], given["days"], filtered=given["glass"] == "filter")


def _file_among(things: tuple[str, ...]) -> tuple[bytes | None, str, tuple[str, ...]]:
    """Part what was named into one file, if there is one, and colors."""
    from pathlib import Path

    files = [thing for thing in things if thing == "-" or Path(thing).is_file()]
    if len(files) > 1:
        raise click.UsageError("One file at a time, please.")
    colors = tuple(thing for thing in things if thing not in files)
    if not files:
        return None, "", colors
    return read_bytes(files[0], most=allowed_sizes.PLAN), files[0], colors
