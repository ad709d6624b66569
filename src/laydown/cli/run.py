"""``laydown run``: shading runs in what you have, and partners for a colorant."""

from typing import TYPE_CHECKING

import click

from laydown.cli.asking import (
    give_report,
    limits_options,
    page_option,
    report_wanted,
    supplies,
    supplies_options,
)
from laydown.cli.commands import Noun
from laydown.cli.completion import named_option, names_of
from laydown.cli.console import ask, columns, suggest

if TYPE_CHECKING:
    from laydown.app.runs import PartnersFound, RunsFound

run = Noun(
    "run",
    words="Shading runs: colorants of one hue from light to dark.",
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
@named_option(
    "range", "--shop", many=True, help="Name what could be bought of this range; may be repeated."
)
@page_option
@limits_options
@supplies_options
def list_(coats: int, shop: tuple[str, ...], page: str) -> None:
    """List shading runs, the colorants without neighbors, and what would complete them.

    With -o the answer is written as .pdf, .html, .csv or .json.
    """
    form = report_wanted()
    found = ask(supplies=supplies(), coats=coats, shop=shop)
    give_report(found, _listed, form, page)
    suggest("laydown run partners COLORANT")


def _listed(found: "RunsFound") -> str:
    from laydown.media.recipe import format_recipe

    rows = [
        [
            r.rating,
            len(r.shades),
            f"{r.step:.1f}",
            f"{r.unevenness:.1f}",
            f"{r.drift:.0f}",
            " – ".join(r.names),
        ]
        for r in found.runs[:MOST_SHOWN]
    ]
    parts = [columns(["rating", "colors", "step", "off", "drift", "from light to dark"], rows)]
    if len(found.runs) > MOST_SHOWN:
        parts.append(f"and {len(found.runs) - MOST_SHOWN} more runs; all of them with -o runs.csv")
    if found.alone:
        parts.append("In no run: " + ", ".join(s.name for s in found.alone))
    mendings = [
        [
            m.place,
            f"{m.value:.1f}",
            format_recipe(m.recipe) or "bare paper",
            f"{m.recipe_off:.1f}",
            m.purchase,
        ]
        for m in (*found.gaps, *found.mendings)
    ]
    if mendings:
        parts.append(columns(["missing", "value", "nearest recipe", "off", "to buy"], mendings))
    return "\n\n".join(parts)


@run.verb(
    "partners",
    tasks=["list_partners", "write_report"],
    example="laydown run partners Quince --kit mine",
)
@click.argument("colorant", shell_complete=names_of("colorant"))
@click.option("--count", type=click.IntRange(1, 10), default=3, show_default=True)
@page_option
@limits_options
@supplies_options
def partners(colorant: str, count: int, page: str) -> None:
    """Propose highlight and shadow for COLORANT, and predict how they blend."""
    form = report_wanted()
    found = ask(colorant, supplies(), count=count)
    give_report(found, _partners, form, page)


def _partners(found: "PartnersFound") -> str:
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
    return columns(["for", "partner", "value step", "hue", "own value", "where they meet"], rows)
