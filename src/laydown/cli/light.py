"""``laydown light``: what light does to matches and to the work, and how long a picture lasts."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.shell_completion import CompletionItem

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, recipe_text, tenths

if TYPE_CHECKING:
    from laydown.app.light import checking, lightfastness
    from laydown.media.light.exposure import Span
    from laydown.plan.light.lights import UnderLight


def listed(found: "Sequence[lightfastness.KnownFading]") -> str:
    """Put what is known of lightfastness into a table, and say of whom nothing is."""
    parts = []
    known = [one for one in found if one.anything]
    unknown = [one.colorant.name for one in found if not one.anything]
    if known:
        rows = [
            [one.colorant.label, one.stated, one.source, one.basis, one.said + _light_of(one)]
            for one in known
        ]
        parts.append(columns(["colorant", "stated", "by", "forecast from", "plain coat"], rows))
    readings = [_read(test) for one in known for test in one.tests]
    if readings:
        header = ["number", "colorant", "paper", "million lux-hours", "ultraviolet", "moved"]
        parts.append(columns([*header, "remark"], readings))
    if unknown:
        told = f"Nothing is known of {counted(len(unknown), 'colorant')}: {', '.join(unknown)}."
        parts.append("\n".join(console.wrapped([told])))
    return "\n\n".join(parts) or "Nothing is known of lightfastness here."


def _light_of(one: "lightfastness.KnownFading") -> str:
    if not one.fading:
        return ""
    return " without ultraviolet" if one.fading.filtered else " with it"


def _read(test: "lightfastness.WindowTest") -> list[object]:
    from laydown.media.light.exposure import span_text

    read = test.reading
    return [
        test.number,
        test.colorant.label,
        test.paper,
        span_text(read.dose),
        "kept out" if read.filtered else "in it",
        f"{read.difference:.1f}",
        test.remark,
    ]


def checked(found: "checking.LightChecked") -> str:
    """Say which matches hold: a table of all, then what to know of those that break."""
    from laydown.plan.light.lights import Holding, summary_words

    head = f"“{found.title}” from {found.kit} on {found.paper}, matched for {found.day.name}"
    parts, several = [head], len(found.colors) > 1
    if several:
        parts += [table(found), summary_words([color.check for color in found.colors])]
    told = [c for c in found.colors if not several or c.check.holding is Holding.BREAKS]
    parts += [_one(color, found) for color in told]
    parts += ["\n".join(console.wrapped([note])) for note in found.notes]
    return "\n\n".join(parts)


def table(found: "checking.LightChecked") -> str:
    """Lay out every color's verdict under every light, with how far off it is there."""
    rows = [
        [color.target.name, tenths(color.check.by_day.difference.delta_e)]
        + [f"{seen.holding} {tenths(seen.difference.delta_e)}" for seen in color.check.lights]
        + ["estimated" if color.estimated else ""]
        for color in found.colors
    ]
    return columns(["color", "by day", *(one.short for one in found.lights), ""], rows)


def _one(color: "checking.ColorUnderLights", found: "checking.LightChecked") -> str:
    from laydown.media.recipe_words import BARE_PAPER
    from laydown.plan.light.lights import Holding, verdict_words

    recipe = recipe_text(color.check.recipe) or BARE_PAPER
    alone = len(found.colors) == 1
    lines = [f"{color.target.name}: {recipe}", *console.wrapped([verdict_words(color.check)], "  ")]
    for seen in (color.check.by_day, *color.check.lights):
        if alone or seen is color.check.by_day or seen.holding is not Holding.HOLDS:
            lines += _under(seen, found)
    lines += console.wrapped(_advice(color), "  ")
    return "\n".join(lines)


def _under(seen: "UnderLight", found: "checking.LightChecked") -> Iterator[str]:
    """Say what is seen under one light: its verdict, the looks of both, and what is off."""
    from laydown.app.light import checking
    from laydown.plan.light.lights import change_words

    by_day = seen.light == found.day
    yield f"  {seen.light.name} ({seen.light.cie})" + ("" if by_day else f": {seen.holding}")
    change = "" if by_day else f"; the match {change_words(seen)}"
    looks = f"The color wanted looks {checking.look_words(seen)}{change}."
    off = f"Off: {checking.off_words(seen, found.tolerance)}."
    yield from console.wrapped([looks, off], "    ")


def _advice(color: "checking.ColorUnderLights") -> Iterator[str]:
    from laydown.plan.light.lights import instead_words, verdict_sentence

    if color.instead and color.instead_check:
        day = color.instead_check.by_day.difference
        yield (
            f"Instead: {recipe_text(color.instead.prediction.recipe)}."
            f" {verdict_sentence(color.instead_check)}; by day {day.words}"
            f" ({day.delta_e:.1f})."
        )
    if color.steadiest:
        yield instead_words(color.steadiest)
    if color.estimated:
        yield f"Estimated, since {'; '.join(color.estimated)}."


LISTS = {".csv", ".txt", ".plan"}

light = commands.Noun(
    "light",
    "Other lights than day: which matches hold under a lamp, and what light does over time.",
    'check Quince --range Orchard --paper "Gannet smooth"',
)


def _names_of_lights(
    _: click.Context, __: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    from laydown.color.light import named_lights

    names = [name for one in named_lights() for name in (one.name, one.cie)]
    return [CompletionItem(n) for n in names if n.casefold().startswith(incomplete.casefold())]


@light.verb(
    "check",
    "check_light write_report",
    'lemons.csv --kit mine --paper "Gannet smooth" -o lights.pdf',
)
@click.argument("what", shell_complete=asking.names_of("colorant"))
@asking.text(
    "--light lights",
    "LIGHT",
    "Look under this light, by a plain name such as evening lamp, or the CIE's, such as A;"
    " may be repeated. If none is named: window, evening lamp, tubes and three LEDs.",
    many=True,
    shell_complete=_names_of_lights,
)
@asking.page_option
@asking.asking_options
def check(what: str, lights: tuple[str, ...], page: str) -> int:
    """See whether the match for WHAT holds under other lights.

    WHAT is a color, as for laydown match, or a file: a lesson, a picture's plan, or a CSV list as
    for laydown chart. Each match holds under a light, drifts (one sees it, and it can be borne) or
    breaks (it is accepted no longer). Where one doesn't hold, all recipes are searched for one that
    does.

    With -o the answer is written as .pdf, .html, .csv or .json. The exit code is 3 when a match
    breaks.
    """
    asking.tell_of_compiling()
    from laydown.plan.light.lights import Holding

    form = asking.report_wanted()
    found = console.ask(**_asked_of((what,)), lights=lights, progress="matching")
    asking.give_report(found, form, page, tell=checked)
    console.suggest("laydown light check … -o lights.pdf, to print it")
    return commands.ANSWER_IS_NO if found.count(Holding.BREAKS) else commands.DONE


@light.verb("rate", "rate_lightfastness", '3 Kelp "Rope locker" --source "the label"')
@click.argument("grade")
@click.argument("colorants", nargs=-1, shell_complete=asking.names_of("colorant"))
@asking.named_option(
    "range", "--range ranges", "All of this range; may be given several times.", many=True
)
@asking.text("--source", "WORDS", "Who states it.")
def rate(grade: str, colorants: tuple[str, ...], ranges: tuple[str, ...], source: str) -> None:
    """State the class of lightfastness of COLORANTS, as their maker does.

    GRADE is 1 to 8 of the blue wool scale (3-4 lies between), or I to V of ASTM D4303; unknown
    takes a class back. A maker's own stars are no class. Whole lists come in by light import.
    """
    if not colorants and not ranges:
        raise click.UsageError("Name colorants, or a --range.")
    done = console.ask(grade=grade, names=colorants, ranges=ranges, source=source)
    told = f"{done[0]}: {counted(len(done[1]), 'colorant')} changed."
    console.show(done, lambda _: told, under="fastness changed unchanged")
    console.suggest("laydown light life LESSON --kit KIT --lux 150 --glass filter")


@light.verb("ratings", "list_lightfastness", "--kit student")
@asking.named_option("kit")
@asking.named_option("range", "--range of")
def ratings(kit: str, of: str) -> None:
    """List what is known of colorants' lightfastness: classes, and readings from a window."""
    if kit and of:
        raise click.UsageError("Name a kit or a range, not both.")
    found = console.ask(kit=kit, range=of)
    console.show(found, listed, under="colorants")


@light.verb("import", "import_lightfastness", "classes.csv")
@click.argument("file")
def import_(file: str) -> None:
    """Bring classes and window readings in from FILE, all of it or nothing.

    A CSV file with the columns range, color and class, and source where somebody states it. Window
    readings have dose, ultraviolet, before and after instead of a class, as light export writes
    them.
    """
    content = console.read_bytes(file, most=allowed_sizes.LIST)
    done = console.ask(content=content, source=file)
    told = "{1} of {0} classes and {3} of {2} window readings were new.".format(*done)
    console.show(done, lambda _: told, under="classes new_classes readings new_readings")


@light.verb("export", "export_lightfastness", "-o classes.csv")
@asking.named_option("range", "--range of")
def export(of: str) -> None:
    """Write classes and window readings as CSV, which light import brings in again."""
    console.show(console.ask(range=of), str, under="text")


_exposure_options = asking.together(
    asking.text("--lux", "LUX", "Light on it: 150, or 100-200."),
    click.option("--hours", type=float, default=8.0, show_default=True, help="Hours a day."),
    asking.option(
        "--glass",
        ("none", "plain", "filter"),
        "none",
        "What keeps ultraviolet out: only a filter does. White LED lamps alone give next to none"
        " (common practice): say filter for them.",
    ),
)
"""What light falls on a piece of work."""


@light.verb(
    "window",
    "add_window_test",
    "Kelp --after lab:57,-17,20 --lux 3000-8000 --hours 9 --days 30 --glass plain",
)
@click.argument("colorant", default="", shell_complete=asking.names_of("colorant"))
@asking.text("--after", "COLOR", "Its color now, in numbers.")
@asking.text("--before", "COLOR", "Its color when it was hung.")
@asking.text("--file", "FILE", "Swatches measured now.")
@asking.text("--sheet pictures", "PICTURE", "A sheet that hung there, now.", many=True)
@asking.text("--dose", "MLXH", "Light so far in million lux-hours.")
@_exposure_options
@click.option("--days", type=float, default=None, help="Days it has hung there, in all.")
@asking.named_option("paper")
@asking.option("--noise", (0.0, 20.0), 0.0, "Of the difference.")
@asking.text("--remark", "WORDS", "In your own words.")
def window(colorant: str, **given: Any) -> None:
    """Note what light in a window did to a plain coat of COLORANT.

    Measure one coat, hang it in a window, measure it again after days and weeks; always count the
    light from the beginning. Without --before its earlier reading counts, or its one-coat swatch.
    With --sheet each plain coat of a sheet that was read before it hung there is compared with its
    first reading. Where you can only guess the light, write a range such as 2000-10000.
    """
    ways = sum(map(bool, (given["after"], given["file"], given["pictures"])))
    if ways != 1 or bool(colorant) != bool(given["after"]):
        raise click.UsageError("Give COLORANT with --after, or --file, or --sheet.")
    done = console.ask(
        dose=_dose(given),
        filtered=given["glass"] == "filter",
        colorant=colorant,
        **console.measured_since(given["file"], given["pictures"]),
        **{name: given[name] for name in ("before", "after", "paper", "noise", "remark")},
    )
    tests, repeated, notes = done
    known = [f"{counted(repeated, 'reading')} known already."] if repeated else []
    told = "\n".join([*map(_reading, tests), *known])
    console.show(done, lambda _: told, under="tests repeated notes")
    for note in notes:
        console.say(note)
    console.suggest("laydown light ratings")


def _dose(given: dict[str, Any]) -> "Span":
    from laydown.media.light.exposure import Exposure, dose_in_all, parse_span

    if bool(given["dose"]) == bool(given["lux"]):
        raise click.UsageError("Say the light with --dose, or with --lux, --hours and --days.")
    if given["dose"]:
        return parse_span(given["dose"], "dose in million lux-hours")
    if given["days"] is None:
        raise click.UsageError("For how many days has it hung there? Say --days.")
    lux = parse_span(given["lux"], "light in lux")
    return dose_in_all(Exposure(lux, given["hours"]), given["days"])


def _reading(test: "lightfastness.WindowTest") -> str:
    read = test.reading
    return f"{test.number}  {test.colorant.label}: moved by {read.difference:.1f} (CIEDE2000)"


@light.verb("forget", "forget_window_test", "3")
@click.argument("number", type=int)
def forget(number: int) -> None:
    """Take the window reading NUMBER out; light ratings lists them."""
    gone = console.ask(number=number)
    console.show(gone, lambda test: f"Forgotten: {_reading(test)}")


@light.verb(
    "life",
    "forecast_life write_report",
    "lemons.csv --kit student --lux 100-200 --hours 8 --glass filter -o life.pdf",
)
@click.argument("things", nargs=-1)
@asking.text("--laid", "RECIPE", "What lies there, as it was laid; repeatable.", many=True)
@_exposure_options
@click.option(
    "--days", type=float, default=365.0, show_default=True, help="Days a year that it hangs there."
)
@asking.option("--years wanted", (0.1, 100.0), 10.0, "For how many it shall look unchanged.")
@asking.option("--swaps", (0, 20), 3, "For how many parts to look for a more lasting recipe.")
@asking.page_option
@asking.asking_options
def life(things: tuple[str, ...], laid: tuple[str, ...], page: str, **given: Any) -> None:
    """Forecast how long a picture keeps its colors on a wall, and which parts go first.

    THINGS are colors, or one file: a lesson, a picture's plan or a list of colors. Each color is
    matched from the kit first. With --laid a recipe is taken as it was laid. The answer is always a
    range of years, and no promise; where nothing is known of a colorant's lightfastness there is no
    forecast. With -o a report is written (.pdf, .html, .csv, .json).
    """
    from laydown.media.light.exposure import Exposure, parse_span

    if not given["lux"]:
        raise click.UsageError("How much light falls on it? Say --lux 150, or --lux 100-200.")
    lux, filtered = parse_span(given["lux"], "light in lux"), given["glass"] == "filter"
    form = asking.report_wanted()
    if things:
        asking.tell_of_compiling()
    found = console.ask(
        exposure=Exposure(lux, given["hours"], given["days"], filtered=filtered),
        laid=laid,
        **_asked_of(things),
        wanted=given["wanted"],
        swaps=given["swaps"],
        progress="matching",
    )
    asking.give_report(found, form, page)
    if found.unrated:
        names = " ".join(f'"{label}"' for label in found.unrated[:3])
        console.suggest(f"laydown light rate CLASS {names}")


def _asked_of(things: tuple[str, ...]) -> dict[str, Any]:
    """Return what a request says of colors and of one file among what was named."""
    files = [
        thing
        for thing in things
        if thing == "-" or Path(thing).suffix.lower() in LISTS or Path(thing).is_file()
    ]
    if len(files) > 1:
        raise click.UsageError("One file at a time, please.")
    file = files[0] if files else ""
    return {
        "colors": tuple(thing for thing in things if thing not in files),
        "file": console.read_if(file, most=allowed_sizes.PLAN),
        "source": console.source_of(file),
        "asking": asking.asked(),
    }
