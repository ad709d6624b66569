"""``laydown match``: recipes for a wanted color."""

from typing import TYPE_CHECKING

import click

from laydown.cli import exit_codes
from laydown.cli.asking import asking, asking_options, tell_of_compiling
from laydown.cli.commands import verb
from laydown.cli.console import progress, show, suggest
from laydown.cli.library_in_use import library_in_use
from laydown.cli.names import names_of
from laydown.cli.terms import answer, out_of_reach

if TYPE_CHECKING:
    from laydown.app.match_color import ColorMatched


@verb(
    "match",
    tasks=["match_color"],
    example='laydown match lab:71,8,46 --kit mine --paper "Gannet smooth"',
)
@click.argument("color", shell_complete=names_of("colorant"))
@asking_options
def match(color: str) -> int:
    """Find recipes for a wanted COLOR from what you have, on the paper you have.

    COLOR is a colorant's name or Range/Name, a recipe such as "Kelp*2; Dune", lab:L,a,b,
    xyz:X,Y,Z, the notation of ASTM D1535 such as "5YR 6/8", or #rrggbb, which is only a screen's
    idea of a color.

    All recipes within the limits are searched. The exit code is 3 when none comes near.
    """
    tell_of_compiling()
    request = asking()
    from laydown.app.match_color import MatchColor, match_color

    with library_in_use() as library, progress("searching") as watch:
        found = match_color(library, MatchColor(color, request), watch=watch)
    show(found, answer)
    _go_on(found)
    return exit_codes.ANSWER_IS_NO if out_of_reach(found) else exit_codes.DONE


def _go_on(found: "ColorMatched") -> None:
    if found.next_swatch:
        suggest("measure that swatch, then laydown swatches import FILE")
    else:
        suggest("laydown chart LIST.csv -o chart.pdf, for a whole list of colors")
