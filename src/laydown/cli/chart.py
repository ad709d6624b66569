"""``laydown chart``: a list of colors converted to what you have."""

from typing import TYPE_CHECKING

import click

from laydown import allowed_sizes
from laydown.cli.asking import asking, asking_options, tell_of_compiling
from laydown.cli.columns import counted
from laydown.cli.commands import verb
from laydown.cli.console import give, progress, read_bytes, say, suggest
from laydown.cli.library_in_use import library_in_use
from laydown.cli.names import names_of
from laydown.cli.page import page_option
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.make_chart import MakeChart
    from laydown.plan.chart import Chart


@verb(
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
@click.option(
    "--colors-of",
    default="",
    metavar="RANGE",
    shell_complete=names_of("range"),
    help="Convert every color of this range.",
)
@click.option(
    "--colors-of-kit",
    default="",
    metavar="KIT",
    shell_complete=names_of("kit"),
    help="Convert every color of this kit.",
)
@click.option("--title", default="", help="The chart's title.")
@click.option(
    "--format",
    "form",
    type=click.Choice(("pdf", "html", "csv", "json")),
    default=None,
    help="Instead of what the file's name says.",
)
@page_option
@asking_options
def chart(
    *,
    list_: str,
    colors: tuple[str, ...],
    colors_of: str,
    colors_of_kit: str,
    title: str,
    form: str | None,
    page: str,
) -> None:
    """Convert the colors of LIST, a CSV file with a column "color", into a chart; - is stdin.

    Other columns may be passage, role, name and note. The form follows the file named after -o:
    .pdf, .html, .csv or .json; to standard output a chart goes as HTML unless --format says more.
    """
    tell_of_compiling()
    from laydown.app.make_chart import make_chart
    from laydown.app.write_chart import WriteChart, form_of, write_chart

    wanted = form or ("json" if settings().as_json else form_of(settings().output))
    request = _request(list_, colors, colors_of, colors_of_kit, title)
    with library_in_use() as library, progress("matching") as watch:
        made = make_chart(library, request, watch=watch)
    give(write_chart(WriteChart(made, wanted, page)))
    say(_summary(made))
    if settings().output == "-":
        suggest("the same with -o chart.pdf, to print it")
    else:
        suggest("print it at its true size, and color in the box beside each patch")


def _request(
    list_: str, colors: tuple[str, ...], colors_of: str, colors_of_kit: str, title: str
) -> "MakeChart":
    if not (list_ or colors or colors_of or colors_of_kit):
        raise click.UsageError("Name a LIST, or say --color, --colors-of or --colors-of-kit.")
    from laydown.app.make_chart import MakeChart

    return MakeChart(
        title=title,
        colors=colors,
        file=read_bytes(list_, most=allowed_sizes.LIST) if list_ else None,
        source="standard input" if list_ == "-" else list_,
        range=colors_of,
        kit=colors_of_kit,
        asking=asking(),
    )


def _summary(made: "Chart") -> str:
    verdicts: dict[str, int] = {}
    for match in made.matches:
        verdict = str(match.best.verdict)
        verdicts[verdict] = verdicts.get(verdict, 0) + 1
    told = ", ".join(f"{number} {verdict}" for verdict, number in verdicts.items())
    return f"{counted(len(made.matches), 'color')} from {made.kit} on {made.paper.name}: {told}."
