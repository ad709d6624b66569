"""``laydown match``, ``chart`` and ``run``: recipes for colors, and what goes with a color."""

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import click

from laydown import allowed_sizes
from laydown.cli import asking, commands, console
from laydown.cli.console import counted, recipe_text

if TYPE_CHECKING:
    from laydown.app.matches import colors
    from laydown.app.runs import OverlaysShown
    from laydown.match.outcome import Candidate


def answer(found: "colors.ColorMatched") -> str:
    """Put the answer for one wanted color into words; its numbers stand last, by themselves."""
    from laydown.app.words import in_words
    from laydown.match.acceptance import closeness

    best, wanted, gives = found.best, found.wanted, in_words(found.best.prediction.lab)
    lines = [
        f"Wanted     {found.target.name}: {wanted.words}, value {wanted.value:.1f}",
        "",
        *([f"Lies there {recipe_text(found.over)}"] if found.over.steps else []),
        f"Recipe     {_typed(found.best)}",
        *(f"           {sentence}" for sentence in best.instructions),
        f"Gives      {gives.words}, value {gives.value:.1f}",
        f"Stays off  {best.difference.words}",
        f"Verdict    {best.verdict}; {closeness(best.acceptance)}",
        *([f"Mud        {best.mud.words}"] if best.mud else []),
    ]
    others = list(_others(found))
    if others:
        lines += ["", *(f"{head:<11}{_typed(s)}: {s.difference.words}" for head, s in others)]
    lines += ["", *console.wrapped(found.notes)] if found.notes else []
    if found.next_swatch:
        lines += ["", *console.wrapped([f"Worth swatching next: {found.next_swatch}"])]
    return "\n".join([*lines, "", "Numbers", *_numbers(found)])


def _others(found: "colors.ColorMatched") -> Iterable[tuple[str, "Candidate"]]:
    if _typed(found.single) != _typed(found.best):
        yield "One alone", found.single
    for other in found.alternatives:
        yield "Or", other


def _numbers(found: "colors.ColorMatched") -> Iterable[str]:
    from laydown.app.matches import colors
    from laydown.app.words import in_words
    from laydown.match.acceptance import chance_words

    best, off = found.best, found.best.difference.delta_e
    gives, chance = in_words(best.prediction.lab), chance_words(best.acceptance)
    yield f"  wanted: {colors.color_numbers(found.wanted)}"
    yield f"  gives: {colors.color_numbers(gives)}; {colors.surety_words(best)}"
    yield f"  off by {off:.1f} (CIEDE2000); accepted by {chance} ({found.tolerance})"
    for _, other in _others(found):
        yield f"  {_typed(other)}: off by {other.difference.delta_e:.1f}"
    yield f"  searched: all {found.considered:,} recipes from {found.kit}"


def _typed(seen: "Candidate") -> str:
    """Return a recipe as it is typed."""
    from laydown.media.recipe_words import BARE_PAPER

    return recipe_text(seen.prediction.recipe) or BARE_PAPER


@commands.verb("match", "match_color", 'lab:71,8,46 --kit mine --paper "Gannet smooth"')
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
    found = console.ask(wanted=color, asking=asking.asked(), progress="searching")
    console.show(found, answer)
    if found.next_swatch:
        console.suggest("measure that swatch, then laydown swatches import FILE")
    else:
        console.suggest("laydown chart LIST.csv -o chart.pdf, for a whole list of colors")
    return commands.ANSWER_IS_NO if found.best.verdict == "out of reach" else commands.DONE


@commands.verb(
    "chart", "make_chart write_chart", 'lesson.csv --kit mine --paper "Gannet smooth" -o chart.pdf'
)
@click.argument("list_", metavar="[LIST]", required=False, default="")
@asking.text("--color colors", "COLOR", "A wanted color; may be given several times.", many=True)
@asking.named_option("range", "--colors-of range", "Convert every color of this range.")
@asking.named_option("kit", "--colors-of-kit", "Convert every color of this kit.")
@asking.text("--title", words="The chart's title.")
@asking.option(
    "--format form", ("pdf", "html", "csv", "json"), words="Instead of what the file's name says."
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
    from laydown.app.matches import colors

    wanted = form or ("json" if commands.settings().as_json else "")
    wanted = wanted or console.form_wanted(asking.FORMS, "a chart", usual="html") or "html"
    request = _request(list_, **given)
    made = console.ask(request, progress="matching")
    console.give(colors.write_chart(made, wanted, page, details=details))
    verdicts = Counter(match.best.verdict for match in made.matches)
    told = ", ".join(f"{number} {verdict}" for verdict, number in verdicts.items())
    from_kit = f"{counted(len(made.matches), 'color')} from {made.kit} on {made.paper.name}"
    console.say(f"{from_kit}: {told}.")
    if commands.settings().output == "-":
        console.suggest("the same with -o chart.pdf, to print it")
    else:
        console.suggest("print it at its true size, and color in the box beside each patch")


def _request(list_: str, *, colors_of_kit: str, **given: Any) -> "colors.MakeChart":
    if not (list_ or given["colors"] or given["range"] or colors_of_kit):
        raise click.UsageError("Name a LIST, or say --color, --colors-of or --colors-of-kit.")
    from laydown.app.matches import colors

    return colors.MakeChart(
        file=console.read_if(list_, most=allowed_sizes.LIST),
        source=console.source_of(list_),
        kit=colors_of_kit,
        asking=asking.asked(),
        **given,
    )


run = commands.Noun(
    "run",
    "Light, middle and dark: triads, and runs of one hue.",
    'list --kit mine --paper "Gannet smooth"',
)


@run.verb("list", "list_runs write_report", "--kit mine")
@asking.option(
    "--coats", (1, 3), 1, "Take up to so many coats of a colorant as steps of their own."
)
@asking.named_option(
    "range", "--shop", "Name what could be bought of this range; may be repeated.", many=True
)
@asking.sense_option()
@asking.page_option
@asking.limits_options
@asking.supplies_options
def list_(page: str, **given: Any) -> None:
    """List each color's light, middle and dark, and runs of more of them.

    Where one of the three is missing, a recipe that makes it is named, and with --shop what you
    could buy for it.

    With -o the answer is written as .pdf, .html, .csv or .json.
    """
    form = asking.report_wanted()
    found = console.ask(supplies=asking.supplies(), **given)
    asking.give_report(found, form, page)
    console.suggest("laydown run partners COLORANT")


@run.verb("partners", "list_partners write_report", "Quince --kit mine")
@click.argument("colorant", shell_complete=asking.names_of("colorant"))
@asking.option("--count", (1, 10), 3)
@asking.page_option
@asking.limits_options
@asking.supplies_options
def partners(colorant: str, count: int, page: str) -> None:
    """Propose highlight and shadow for COLORANT, and predict how they blend.

    Its triad stands first: the light, the middle and the dark.
    """
    form = asking.report_wanted()
    found = console.ask(colorant, asking.supplies(), count=count)
    asking.give_report(found, form, page)


@run.verb("over", "show_overlays", "Quince --kit mine")
@click.argument("colorant", shell_complete=asking.names_of("colorant"))
@asking.limits_options
@asking.supplies_options
def over(colorant: str) -> None:
    """Lay each of the others over COLORANT and under it, one coat of both; say which go muddy."""
    console.show(console.ask(colorant, asking.supplies()), _laid)


def _laid(found: "OverlaysShown") -> str:
    """Put into lines what a color makes."""
    from laydown.color.naming import color_name

    return "\n\n".join(
        console.columns(
            [f"{title} {found.colorant.name}", "gives", "value", ""],
            [
                [o.other.name, color_name(o.made.lab), f"{o.made.value:.1f}", "muddy" * o.muddy]
                for o in laid
            ],
        )
        for title, laid in (("over", found.over), ("under", found.under))
    )


@run.verb("gradient", "show_gradient write_report", "Quince Damson --kit mine")
@click.argument("first", shell_complete=asking.names_of("colorant"))
@click.argument("second", shell_complete=asking.names_of("colorant"))
@asking.option("--count", (1, 7), 3, "How many steps between.")
@asking.sense_option()
@asking.page_option
@asking.limits_options
@asking.supplies_options
def gradient(first: str, second: str, page: str, **given: Any) -> None:
    """Show what lies between FIRST and SECOND, and whether the two go muddy.

    With -o the answer is written as .pdf, .html, .csv or .json.
    """
    form = asking.report_wanted()
    found = console.ask(first, second, asking.supplies(), **given)
    asking.give_report(found, form, page)
