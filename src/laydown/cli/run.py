"""``laydown run``: shading runs in what you have, and partners for a colorant."""

from typing import TYPE_CHECKING

import click

from laydown.cli import asking, commands, console

if TYPE_CHECKING:
    from laydown.app.matches.laying import OverlaysShown

run = commands.Noun(
    "run",
    words="Light, middle and dark: triads, and runs of one hue.",
    example='laydown run list --kit mine --paper "Gannet smooth"',
)


@run.verb("list", tasks=["list_runs", "write_report"], example="laydown run list --kit mine")
@asking.option(
    "--coats",
    among=(1, 3),
    default=1,
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
    asking.give_report(found, form, page)
    console.suggest("laydown run partners COLORANT")


@run.verb(
    "partners",
    tasks=["list_partners", "write_report"],
    example="laydown run partners Quince --kit mine",
)
@click.argument("colorant", shell_complete=asking.names_of("colorant"))
@asking.option("--count", among=(1, 10), default=3)
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


@run.verb("over", tasks=["show_overlays"], example="laydown run over Quince --kit mine")
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
                [
                    one.other.name,
                    color_name(one.made.lab),
                    f"{one.made.value:.1f}",
                    "muddy" * one.muddy,
                ]
                for one in laid
            ],
        )
        for title, laid in (("over", found.over), ("under", found.under))
    )


@run.verb(
    "gradient",
    tasks=["show_gradient", "write_report"],
    example="laydown run gradient Quince Damson --kit mine",
)
@click.argument("first", shell_complete=asking.names_of("colorant"))
@click.argument("second", shell_complete=asking.names_of("colorant"))
@asking.option("--count", among=(1, 7), default=3, help="How many steps between.")
@asking.page_option
@asking.limits_options
@asking.supplies_options
def gradient(first: str, second: str, count: int, page: str) -> None:
    """Show what lies between FIRST and SECOND, and whether the two go muddy.

    With -o the answer is written as .pdf, .html, .csv or .json.
    """
    form = asking.report_wanted()
    found = console.ask(first, second, asking.supplies(), count=count)
    asking.give_report(found, form, page)
