"""``laydown picture print``: a plan on paper, to color by numbers or to trace, and its list."""

from contextlib import nullcontext
from typing import TYPE_CHECKING

import click

from laydown.cli import exit_codes
from laydown.cli.asking import asking_options, tell_of_compiling
from laydown.cli.console import progress, suggest
from laydown.cli.library_in_use import library_in_use
from laydown.cli.names import names_of
from laydown.cli.picture import (
    picture_asking,
    picture_file,
    tell,
    values_only_option,
    white_option,
)
from laydown.cli.picture_edits import picture
from laydown.cli.picture_terms import print_in_words
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.match_color import Asking

__all__ = ["picture"]


@picture.verb(
    "print",
    tasks=["print_plan"],
    example='laydown picture print lemons.plan --kit mine --paper "Gannet smooth" -o lemons.pdf',
)
@click.argument("file")
@click.option(
    "--page",
    default="A4",
    show_default=True,
    metavar="PAGE",
    help="To print on: A3, A4, A5, Letter, or width x height in mm, such as 240x320.",
)
@click.option(
    "--beside",
    multiple=True,
    metavar="KIT",
    shell_complete=names_of("kit"),
    help="Another kit, or a range, side by side with it, in .html and .json; may be repeated.",
)
@values_only_option
@white_option
@asking_options
def print_one(
    file: str, *, page: str, beside: tuple[str, ...], values_only: bool, white: tuple[str, ...]
) -> int:
    """Print FILE, a plan, or a picture that is planned first, to color it by numbers.

    With -o lemons.pdf there are three things to print at true size: the outlined regions with the
    numbers of their colors, a pale outline to color on or to trace, and the list of colors with
    recipes, value patches and boxes to try them in. The form follows the name: .pdf, .svg, .html
    (with the picture beside the plan) or .json. Without --kit or --range the list has the colors
    alone. The exit code is 3 when some colors are out of reach.
    """
    from laydown.app.picture_light import names_paper
    from laydown.app.print_plan import PrintPlan, plan_form, print_plan

    kept, how = settings().output, _asking_if_named(beside, values_only)
    form = "json" if kept == "-" else plan_form(kept)
    paper = how.supplies.paper if how else ""
    asked = picture_file(file, white=white, paper=paper)
    request = PrintPlan(asked, how, beside, values_only, form, page)
    needed = how or names_paper(white)
    with library_in_use() if needed else nullcontext() as library, progress("matching") as watch:
        made = print_plan(library, request, watch=watch)
    tell(made.shown, print_in_words, made.document, kept)
    if kept == "-":
        suggest("the same with -o NAME.pdf, to print it")
    elif form == "pdf":
        suggest("print it at its true size (100 %, not fitted to the page)")
    far = any(kit.lost.out_of_reach for kit in made.shown.painting.kits)
    return exit_codes.ANSWER_IS_NO if far else exit_codes.DONE


def _asking_if_named(beside: tuple[str, ...], values_only: bool) -> "Asking | None":
    """Return what the options ask for; None where they name no supplies."""
    how = picture_asking()
    if how.supplies.kit or how.supplies.ranges:
        tell_of_compiling()
        return how
    if beside or values_only:
        raise click.UsageError("Name the kit with --kit, or a range with --range.")
    return None
