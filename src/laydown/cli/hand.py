"""``laydown hand``: how much you lay down against someone else."""

from typing import Any

import click

from laydown import allowed_sizes
from laydown.cli.commands import Noun
from laydown.cli.console import read_bytes, show, suggest
from laydown.cli.library_in_use import library_in_use
from laydown.cli.names import names_of
from laydown.cli.trial_terms import hands_text

hand = Noun(
    "hand",
    words="How much you lay down against someone else.",
    example='laydown hand compare teacher.csv --kit mine --paper "Gannet smooth"',
)


@hand.verb(
    "compare",
    tasks=["compare_hands"],
    example='laydown hand compare teacher.csv --kit mine --recipe "Kelp; Dune"',
)
@click.argument("file")
@click.option("--kit", default="", metavar="KIT", shell_complete=names_of("kit"),
              help="Your kit.")  # fmt: skip
@click.option("--range", "ranges", multiple=True, metavar="RANGE", shell_complete=names_of("range"),
              help="A range of yours as a whole, instead of a kit.")  # fmt: skip
@click.option("--paper", default="", metavar="PAPER", shell_complete=names_of("paper"),
              help="The paper that both have swatched on.")  # fmt: skip
@click.option("--recipe", "recipes", multiple=True, metavar="RECIPE",
              help="A recipe of theirs, to be restated for your hand.")  # fmt: skip
@click.option("--list", "list_file", default="", metavar="LIST",
              help="A list whose colors are recipes of theirs.")  # fmt: skip
def compare(file: str, list_file: str, **given: Any) -> None:
    """Compare your hand with that of whoever colored the swatches in FILE.

    It takes three or more of the same colorants in one coat on one paper by both of you. Their
    recipes are then restated: where they lay one coat, lay two light ones.
    """
    from laydown.app.compare_hands import CompareHands, compare_hands
    from laydown.app.supplies import Supplies

    request = CompareHands(
        read_bytes(file, most=allowed_sizes.SWATCHES),
        file,
        Supplies(given["kit"], given["ranges"], given["paper"]),
        given["recipes"],
        read_bytes(list_file, most=allowed_sizes.LIST) if list_file else None,
        list_file,
    )
    with library_in_use() as library:
        made = compare_hands(library, request)
    show(made, hands_text)
    if not made.restated:
        suggest(f'laydown hand compare {file} --recipe "…", to restate a recipe of theirs')
