"""``laydown run``: shading runs in what you have, and partners for a colorant."""

from typing import TYPE_CHECKING

import click

from laydown.cli import asking, commands, console
from laydown.cli.console import columns, recipe_text

if TYPE_CHECKING:
    from laydown.app.runs import GradientFound, PartnersFound, RunsFound
    from laydown.plan.run.runs import Run

run = commands.Noun(
    "run",
    words="Light, middle and dark: triads, and runs of one hue.",
    example='laydown run list --kit mine --paper "Gannet smooth"',
)
MOST_SHOWN = 20


@run.verb("list", tasks=["list_runs", "write_report"], example="laydown run list --kit mine")
@click.option(
    "--coats",
    type=click.IntRange(1, 3),
    default=1,
    show_default=True,
    help="Take up to so many coats of a colorant as steps of their own.",
)
@asking.named_option(
    "range", "--shop", many=True, help="Name what could be bought of this range; may be repeated."
)
@asking.page_option
@asking.limits_options
@asking.supplies_options
def list_(coats: int, shop: tuple[str, ...], page: str) -> None:
    """List each color's light, middle and dark, and runs of more of them.

    Where one of the three is missing, a recipe that makes it is named, and with --shop what you
    could buy for it.

    With -o the answer is written as .pdf, .html, .csv or .json.
    """
    form = asking.report_wanted()
    found = console.ask(supplies=asking.supplies(), coats=coats, shop=shop)
    asking.give_report(found, _listed, form, page)
    console.suggest("laydown run partners COLORANT")


def _listed(found: "RunsFound") -> str:
    from laydown.plan.run.triads import tone_words

    threes = [[t.name, *(tone_words(tone, recipe_text) for tone in t.tones)] for t in found.triads]
    rows = [_run_row(run) for run in found.runs[:MOST_SHOWN]]
    parts = [columns(["color", "light", "middle", "dark"], threes)]
    if rows:
        parts += [columns(["rating", "colors", "step", "off", "drift", "from light to dark"], rows)]
    if len(found.runs) > MOST_SHOWN:
        parts.append(f"and {len(found.runs) - MOST_SHOWN} more runs; all of them with -o runs.csv")
    if found.alone:
        parts.append("In no run: " + ", ".join(s.name for s in found.alone))
    mendings = [
        [
            m.place,
            f"{m.value:.1f}",
            recipe_text(m.recipe) or "bare paper",
            f"{m.recipe_off:.1f}",
            m.purchase,
        ]
        for m in found.gaps
    ]
    if mendings:
        parts.append(columns(["missing", "value", "nearest recipe", "off", "to buy"], mendings))
    return "\n\n".join(parts)


def _run_row(run: "Run") -> list[str | int]:
    numbers = [f"{run.step:.1f}", f"{run.unevenness:.1f}", f"{run.drift:.0f}"]
    return [run.rating, len(run.shades), *numbers, " – ".join(run.names)]


@run.verb(
    "partners",
    tasks=["list_partners", "write_report"],
    example="laydown run partners Quince --kit mine",
)
@click.argument("colorant", shell_complete=asking.names_of("colorant"))
@click.option("--count", type=click.IntRange(1, 10), default=3, show_default=True)
@asking.page_option
@asking.limits_options
@asking.supplies_options
def partners(colorant: str, count: int, page: str) -> None:
    """Propose highlight and shadow for COLORANT, and predict how they blend.

    Its triad stands first: the light, the middle and the dark.
    """
    form = asking.report_wanted()
    found = console.ask(colorant, asking.supplies(), count=count)
    asking.give_report(found, _partners, form, page)


def _partners(found: "PartnersFound") -> str:
    from laydown.plan.run.triads import triad_words

    rows = [
        [
            p.role,
            p.shade.name,
            f"{p.step:+.1f}",
            f"{p.turn:+.0f}",
            f"{found.colorant.value:.1f}",
            p.mud or ("" if p.between else "darker where they meet"),
        ]
        for p in found.partners
    ]
    triad = f"Light, middle, dark: {triad_words(found.triad, recipe_text)}"
    if not rows:
        return f"{triad}\n\nNothing else at hand is a highlight or a shadow of it."
    heads = ["for", "partner", "value step", "hue", "own value", "where they meet"]
    return f"{triad}\n\n{columns(heads, rows)}"


@run.verb(
    "gradient",
    tasks=["show_gradient", "write_report"],
    example="laydown run gradient Quince Damson --kit mine",
)
@click.argument("first", shell_complete=asking.names_of("colorant"))
@click.argument("second", shell_complete=asking.names_of("colorant"))
@click.option(
    "--count",
    type=click.IntRange(1, 7),
    default=3,
    show_default=True,
    help="How many steps between.",
)
@asking.page_option
@asking.limits_options
@asking.supplies_options
def gradient(first: str, second: str, count: int, page: str) -> None:
    """Show what lies between FIRST and SECOND, and whether the two go muddy.

    With -o the answer is written as .pdf, .html, .csv or .json.
    """
    form = asking.report_wanted()
    found = console.ask(first, second, asking.supplies(), count=count)
    asking.give_report(found, _gradient, form, page)


def _gradient(found: "GradientFound") -> str:
    from laydown.color.naming import color_name

    rows = [[one.name, f"{one.value:.1f}", color_name(one.lab)] for one in found.gradient.shades]
    return f"{found.words}\n\n{columns(['lay', 'value', 'looks'], rows)}"
