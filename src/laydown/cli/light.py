"""``laydown light``: what another light does to matches, and to the work on a wall."""

from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.shell_completion import CompletionItem

from laydown import allowed_sizes
from laydown.cli import exit_codes
from laydown.cli.asking import asking, asking_options, tell_of_compiling
from laydown.cli.commands import Noun
from laydown.cli.console import progress, read_bytes, suggest
from laydown.cli.library_in_use import library_in_use
from laydown.cli.light_terms import checked
from laydown.cli.names import names_of
from laydown.cli.page import page_option
from laydown.cli.reporting import give_report, report_wanted

if TYPE_CHECKING:
    from laydown.app.check_light import CheckLight

LISTS = {".csv", ".txt", ".plan"}

light = Noun(
    "light",
    words="Other lights than day: which matches hold under a lamp, and what light does over time.",
    example='laydown light check Quince --range Orchard --paper "Gannet smooth"',
)


def _names_of_lights(
    _: click.Context, __: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    from laydown.color.light_names import named_lights

    names = [name for one in named_lights() for name in (one.name, one.cie)]
    return [CompletionItem(n) for n in names if n.casefold().startswith(incomplete.casefold())]


@light.verb(
    "check",
    tasks=["check_light", "write_report"],
    example='laydown light check lemons.csv --kit mine --paper "Gannet smooth" -o lights.pdf',
)
@click.argument("what", shell_complete=names_of("colorant"))
@click.option(
    "--light",
    "lights",
    multiple=True,
    metavar="LIGHT",
    shell_complete=_names_of_lights,
    help="Look under this light, by a plain name such as evening lamp, or the CIE's, such as A;"
    " may be repeated. If none is named: window, evening lamp, tubes and three LEDs.",
)
@page_option
@asking_options
def check(what: str, lights: tuple[str, ...], page: str) -> int:
    """See whether the match for WHAT holds under other lights.

    WHAT is a color, as for laydown match, or a file: a lesson, a picture's plan, or a CSV list as
    for laydown chart. Each match holds under a light, drifts (one sees it, and it can be borne) or
    breaks (it is accepted no longer). Where one doesn't hold, all recipes are searched for one that
    does.

    With -o the answer is written as .pdf, .html, .csv or .json. The exit code is 3 when a match
    breaks.
    """
    tell_of_compiling()
    from laydown.app.check_light import check_light
    from laydown.plan.lights import Holding

    form, request = report_wanted(), _request(what, lights)
    with library_in_use() as library, progress("matching") as watch:
        found = check_light(library, request, watch=watch)
    give_report(found, checked, form, page)
    suggest("laydown light check … -o lights.pdf, to print it")
    return exit_codes.ANSWER_IS_NO if found.count(Holding.BREAKS) else exit_codes.DONE


def _request(what: str, lights: tuple[str, ...]) -> "CheckLight":
    from laydown.app.check_light import CheckLight

    if what == "-" or Path(what).suffix.lower() in LISTS or Path(what).is_file():
        source = "standard input" if what == "-" else what
        content = read_bytes(what, most=allowed_sizes.PLAN)
        return CheckLight(file=content, source=source, lights=lights, asking=asking())
    return CheckLight(colors=(what,), lights=lights, asking=asking())
