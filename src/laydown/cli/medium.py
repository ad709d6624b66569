"""The option that says what new colorants are made as; the same wherever they come in."""

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from laydown.media.laydown import Medium


def _medium(_: click.Context, __: click.Parameter, text: str | None) -> "Medium | None":
    from laydown.media.laydown import Medium

    return Medium(text) if text else None


medium_option = click.option(
    "--medium",
    type=click.Choice(("marker", "pencil", "wash")),
    callback=_medium,
    default=None,
    help="What a range for new ones is made of; a new one of markers, unless you say so.",
)
