"""``laydown match`` and ``laydown chart``: recipes for one wanted color, or for a list."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import counted, recipe_text

if TYPE_CHECKING:
    from laydown.app.matches import charts, colors
    from laydown.match.outcome import Difference
    from laydown.plan.chart import Chart


def out_of_reach(found: "colors.ColorMatched") -> bool:
    """Return whether the answer is no."""
    return str(found.best.candidate.verdict) == "out of reach"


def answer(found: "colors.ColorMatched") -> str:
    """Put the answer for one wanted color into words; its numbers stand last, by themselves."""
    from laydown.match.acceptance import closeness

    best, wanted = found.best.candidate, found.wanted
    lines = [
        f"Wanted     {found.target.name}: {wanted.words}, value {wanted.value:.1f}",
        "",
        *([f"Lies there {recipe_text(found.over)}"] if found.over.steps else []),
        f"Recipe     {_typed(found.best)}",
        *(f"           {sentence}" for sentence in best.instructions),
        f"Gives      {found.best.color.words}, value {found.best.color.value:.1f}",
        f"Stays off  {best.difference.words}",
        f"Verdict    {best.verdict}; {closeness(best.acceptance)}",
        *([f"Mud        {best.mud.words}"] if best.mud else []),
    ]
    others = list(_others(found))
    if others:
        lines += ["", *(f"{head:<11}{_typed(s)}: {_off(s).words}" for head, s in others)]
    lines += ["", *console.wrapped(found.notes)] if found.notes else []
    if found.next_swatch:
        lines += ["", *console.wrapped([f"Worth swatching next: {found.next_swatch}"])]
    return "\n".join([*lines, "", "Numbers", *_numbers(found)])


def _others(found: "colors.ColorMatched") -> Iterable[tuple[str, "colors.CandidateInWords"]]:
    if _typed(found.single) != _typed(found.best):
        yield "One alone", found.single
    for other in found.alternatives:
        yield "Or", other


def _numbers(found: "colors.ColorMatched") -> Iterable[str]:
    from laydown.app.matches import colors
    from laydown.match.acceptance import chance_words

    best, chance = found.best, chance_words(found.best.candidate.acceptance)
    yield f"  wanted: {colors.color_numbers(found.wanted)}"
    yield f"  gives: {colors.color_numbers(best.color)}; {colors.surety_words(best)}"
    yield f"  off by {_off(best).delta_e:.1f} (CIEDE2000); accepted by {chance} ({found.tolerance})"
    for _, other in _others(found):
        yield f"  {_typed(other)}: off by {_off(other).delta_e:.1f}"
    yield f"  searched: all {found.considered:,} recipes from {found.kit}"


def _off(seen: "colors.CandidateInWords") -> "Difference":
    return seen.candidate.difference


def _typed(seen: "colors.CandidateInWords") -> str:
    """Return a recipe as it is typed."""
    from laydown.media.recipe_words import BARE_PAPER

    return recipe_text(seen.candidate.prediction.recipe) or BARE_PAPER


@commands.verb(
    "match",
    tasks=["match_color"],
    example='laydown match lab:71,8,46 --kit mine --paper "Gannet smooth"',
)
@click.argument("color", shell_complete=asking.names_of("colorant"))
@asking.asking_options
def match(color: str) -> int:
    """Find recipes for a wanted COLOR from what you have, on the paper you have.

    COLOR is a colorant's name or Range/Name, a recipe such as "Kelp*2; Dune", lab:L,a,b,
    xyz:X,Y,Z, the notation of ASTM D1535 such as "5YR 6/8", or #rrggbb, which is only a screen's
    idea of a color.

    All recipes within the limits are searched. The exit code is 3 when none comes near.
    """
    asking.tell_of_compiling()
    request = asking.asked()
    found = console.ask(wanted=color, asking=request, progress="searching")
    console.show(found, answer)
    _go_on(found)
    return commands.ANSWER_IS_NO if out_of_reach(found) else commands.DONE


def _go_on(found: "colors.ColorMatched") -> None:
    if found.next_swatch:
        console.suggest("measure that swatch, then laydown swatches import FILE")
    else:
        console.suggest("laydown chart LIST.csv -o chart.pdf, for a whole list of colors")


@commands.verb(
    "chart",
    tasks=["make_chart", "write_chart"],
    example='laydown chart lesson.csv --kit mine --paper "Gannet smooth" -o chart.pdf',
)
@click.argument("list_", metavar="[LIST]", required=False, default="")
@click.option(
    "--color",
    "colors",
    multiple=True,
    metavar="COLOR",
    help="A wanted color; may be given several times.",
)
@asking.named_option("range", "--colors-of", "range", help="Convert every color of this range.")
@asking.named_option("kit", "--colors-of-kit", help="Convert every color of this kit.")
@click.option("--title", default="", help="The chart's title.")
@asking.option(
    "--format",
    "form",
    among=("pdf", "html", "csv", "json"),
    help="Instead of what the file's name says.",
)
@asking.page_option
@asking.details_option
@asking.asking_options
@commands.by_several
def chart(*, list_: str, form: str | None, page: str, details: bool, **given: Any) -> None:
    """Convert the colors of LIST, a CSV file with a column "color", into a chart; - is stdin.

    Other columns may be passage, role, name and note. The form follows the file named after -o:
    .pdf, .html, .csv or .json; to standard output a chart goes as HTML unless --format says more.
    Up to about 30 colors are printed on one page.
    """
    asking.tell_of_compiling()
    from laydown.app.matches import charts

    wanted = form or ("json" if commands.settings().as_json else "")
    wanted = wanted or console.form_wanted(asking.FORMS, "a chart", usual="html") or "html"
    request = _request(list_, **given)
    made = console.ask(request, progress="matching")
    console.give(charts.write_chart(made, wanted, page, details=details))
    console.say(_summary(made))
    if commands.settings().output == "-":
        console.suggest("the same with -o chart.pdf, to print it")
    else:
        console.suggest("print it at its true size, and color in the box beside each patch")


def _request(list_: str, *, colors_of_kit: str, **given: Any) -> "charts.MakeChart":
    if not (list_ or given["colors"] or given["range"] or colors_of_kit):
        raise click.UsageError("Name a LIST, or say --color, --colors-of or --colors-of-kit.")
    from laydown.app.matches import charts

    return charts.MakeChart(
        file=console.read_if(list_, most=allowed_sizes.LIST),
        source=console.source_of(list_),
        kit=colors_of_kit,
        asking=asking.asked(),
        **given,
    )


def _summary(made: "Chart") -> str:
    verdicts: dict[str, int] = {}
    for match in made.matches:
        verdict = str(match.best.verdict)
        verdicts[verdict] = verdicts.get(verdict, 0) + 1
    told = ", ".join(f"{number} {verdict}" for verdict, number in verdicts.items())
    return f"{counted(len(made.matches), 'color')} from {made.kit} on {made.paper.name}: {told}."
