"""``laydown kit choose``: what to buy so that lessons can be made."""

from textwrap import wrap
from typing import TYPE_CHECKING

import click

from laydown import allowed_sizes
from laydown.cli import exit_codes
from laydown.cli.console import progress, read_bytes
from laydown.cli.kit import kit
from laydown.cli.library_in_use import library_in_use
from laydown.cli.names import names_of
from laydown.cli.page import page_option
from laydown.cli.reporting import give_report, report_wanted

if TYPE_CHECKING:
    from laydown.app.choose_kit import KitsChosen, LessonFile

WIDTH = 88


def _file(name: str) -> "LessonFile":
    from laydown.app.choose_kit import LessonFile

    return LessonFile(read_bytes(name, most=allowed_sizes.LIST), name)


def _cents(_: click.Context, parameter: click.Parameter, value: float | None) -> int | None:
    return None if value is None else round(100 * value)


@kit.verb(
    "choose",
    tasks=["choose_kit", "write_report"],
    example='laydown kit choose lemons.txt --range Orchard --paper "Gannet smooth" -o buy.pdf',
)
@click.argument("lessons", nargs=-1, required=True)
@click.option(
    "--range",
    "ranges",
    multiple=True,
    metavar="RANGE",
    shell_complete=names_of("range"),
    help="What could be bought; may be repeated. Without it, all ranges known on the paper.",
)
@click.option("--apart", is_flag=True, help="Choose within each range by itself, side by side.")
@click.option("--paper", default="", metavar="PAPER", shell_complete=names_of("paper"))
@click.option(
    "--kit",
    "owned",
    default="",
    metavar="KIT",
    shell_complete=names_of("kit"),
    help="What is owned already.",
)
@click.option("--must", multiple=True, metavar="COLORANT", help="Buy this in any case.")
@click.option("--never", multiple=True, metavar="COLORANT", help="Don't use this.")
@click.option(
    "--aim",
    type=click.Choice(("fewest", "cheapest", "best")),
    default="fewest",
    show_default=True,
    help="Fewest colorants, cheapest purchase, or the best that --most purchases do.",
)
@click.option("--most", type=click.IntRange(0), default=None, help="At most so many purchases.")
@click.option(
    "--budget",
    type=click.FloatRange(0),
    default=None,
    callback=_cents,
    help="All may cost so much, solvent and paper counted.",
)
@click.option(
    "--prices",
    default="",
    metavar="FILE",
    help="A price list: CSV with kind (single, set, extra), name, contents, price, currency."
    " A range named as a single prices each of its colorants.",
)
@click.option(
    "--tolerance",
    type=click.Choice(("sketch", "class", "close")),
    default="class",
    show_default=True,
    help="How close is close enough.",
)
@click.option("--steps", type=click.IntRange(1, 2), default=2, show_default=True)
@click.option("--coats", type=click.IntRange(1, 3), default=2, show_default=True)
@click.option(
    "--seconds",
    type=click.FloatRange(1, 3600),
    default=60.0,
    show_default=True,
    help="How long to try to prove the choice.",
)
@page_option
def choose(  # one parameter an option
    *,
    lessons: tuple[str, ...],
    ranges: tuple[str, ...],
    apart: bool,
    paper: str,
    owned: str,
    must: tuple[str, ...],
    never: tuple[str, ...],
    aim: str,
    most: int | None,
    budget: int | None,
    prices: str,
    tolerance: str,
    steps: int,
    coats: int,
    seconds: float,
    page: str,
) -> int:
    """Choose what to buy so that the colors of LESSONS can be made within the tolerance.

    Recipes of two steps count. The answer says whether it is proven the best, else the gap that is
    proven; what fewer purchases cost and more bring; and what can be made with nothing bought.
    With -o a supply list is written (.pdf, .html, .csv, .json). The exit code is 3 when no recipe
    that was counted makes some color, whatever is bought.
    """
    from laydown.app.choose_kit import ChooseKit, choose_kit

    if aim == "best" and most is None:
        raise click.UsageError("The best of how many purchases? Say --most N.")
    form = report_wanted()
    request = ChooseKit(
        lessons=tuple(_file(name) for name in lessons),
        ranges=ranges,
        apart=apart,
        paper=paper,
        kit=owned,
        must=must,
        never=never,
        aim=aim,
        most=most,
        budget=budget,
        tolerance=tolerance,
        steps=steps,
        coats=coats,
        prices=_file(prices) if prices else None,
        seconds=seconds,
    )
    with library_in_use() as library, progress("choosing") as watch:
        found = choose_kit(library, request, watch=watch)
    give_report(found, _told, form, page)
    unreachable = any(group.choice.unreachable for group in found.groups)
    return exit_codes.ANSWER_IS_NO if unreachable else exit_codes.DONE


def _told(found: "KitsChosen") -> str:
    from laydown.app.write_report import kit_lines

    parts = []
    for group in found.groups:
        bought = ", ".join(offer.name for offer in group.choice.chosen.bought) or "nothing"
        lines = [f"{group.label}: {bought}", *kit_lines(found, group)]
        parts.append("\n".join(part for line in lines for part in wrap(line, WIDTH)))
    return "\n\n".join(parts)
