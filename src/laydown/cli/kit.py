"""``laydown kit``: the colorants you own."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from laydown.cli.columns import columns, counted
from laydown.cli.commands import Noun
from laydown.cli.console import give, read_bytes, say, show, suggest
from laydown.cli.library_in_use import library_in_use
from laydown.cli.medium import medium_option
from laydown.cli.names import names_of
from laydown.cli.page import page_option
from laydown.cli.settings import settings
from laydown.errors import BadFileError

if TYPE_CHECKING:
    from laydown.app.check_names import NamesChecked
    from laydown.app.list_kits import Kits
    from laydown.app.own_colorants import KitChanged, OwnColorants
    from laydown.app.show_kit import KitShown
    from laydown.media.laydown import Medium

MOST_BYTES = 1_000_000
"""A longer list of names is some other file."""

kit = Noun(
    "kit",
    words="The colorants you own.",
    example='laydown kit own mine Quince Fig "Orchard/Pear skin"',
)


@kit.verb("create", tasks=["create_kit"], example="laydown kit create mine")
@click.argument("name")
def create(name: str) -> None:
    """Create the kit NAME with nothing in it."""
    from laydown.app.create_kit import create_kit

    with library_in_use(may_make=True) as library:
        show(create_kit(library, name), lambda k: f"Created the kit {k.name}.")
    suggest(f'laydown kit own "{name}" COLORANT…, or --range RANGE')


@kit.verb("list", tasks=["list_kits"], example="laydown kit list")
def list_() -> None:
    """List all kits."""
    from laydown.app.list_kits import list_kits

    with library_in_use() as library:
        found = list_kits(library)
    show(found, _listed)
    if not found.kits:
        say("There are no kits yet.")
        suggest("laydown kit create NAME")


def _listed(found: "Kits") -> str:
    rows = [[k.name, k.colorants, ", ".join(k.ranges)] for k in found.kits]
    return columns(["kit", "colorants", "out of"], rows)


@kit.verb("show", tasks=["show_kit"], example="laydown kit show mine")
@click.argument("name", shell_complete=names_of("kit"))
def show_one(name: str) -> None:
    """Show what is in the kit NAME, and on which papers it was swatched."""
    from laydown.app.show_kit import show_kit

    with library_in_use() as library:
        show(show_kit(library, name), _shown)


def _shown(found: "KitShown") -> str:
    rows = [
        [
            k.colorant.name,
            k.colorant.range,
            k.colorant.medium.value,
            k.colorant.code,
            ", ".join(k.papers) or "no paper yet",
        ]
        for k in found.colorants
    ]
    return columns(["colorant", "range", "medium", "code", "swatched on"], rows)


def _names(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the parameters that say which colorants are meant."""
    for decorate in (
        click.option(
            "--from", "listed", metavar="FILE", help="A text file with one name a line; - is stdin."
        ),
        click.option(
            "--range",
            "ranges",
            multiple=True,
            metavar="RANGE",
            shell_complete=names_of("range"),
            help="A range as a whole; may be given several times.",
        ),
        click.argument("colorants", nargs=-1, shell_complete=names_of("colorant")),
        click.argument("name", shell_complete=names_of("kit")),
    ):
        function = decorate(function)
    return function


@kit.verb("own", tasks=["own_colorants"], example="laydown kit own mine Quince Fig")
@_names
@click.option("--add-to", default="", metavar="RANGE", help="Add unknown colorants to this range.")
@medium_option
def own(
    *,
    name: str,
    colorants: tuple[str, ...],
    ranges: tuple[str, ...],
    listed: str | None,
    add_to: str,
    medium: "Medium | None",
) -> None:
    """Put COLORANTS into the kit NAME.

    A colorant is named by its name, by Range/Name, or by the code you gave it.
    """
    from laydown.app.own_colorants import own_colorants

    asked = _request(name, colorants, ranges, listed)
    request = replace(asked, new_range=add_to, medium=medium)
    with library_in_use() as library:
        changed = own_colorants(library, request)
    show(changed, lambda c: _changed(c, "Now in", "Already in"))
    suggest(f'laydown match COLOR --kit "{name}"')


@kit.verb("disown", tasks=["disown_colorants"], example="laydown kit disown mine Fig")
@_names
def disown(
    name: str, colorants: tuple[str, ...], ranges: tuple[str, ...], listed: str | None
) -> None:
    """Take COLORANTS out of the kit NAME; their swatches stay."""
    from laydown.app.disown_colorants import disown_colorants

    request = _request(name, colorants, ranges, listed)
    with library_in_use() as library:
        changed = disown_colorants(library, request)
    show(changed, lambda c: _changed(c, "No longer in", "Not in"))


def _request(
    name: str, colorants: tuple[str, ...], ranges: tuple[str, ...], listed: str | None
) -> "OwnColorants":
    from laydown.app.own_colorants import OwnColorants

    names = (*colorants, *(_names_in(listed) if listed else ()))
    if not names and not ranges:
        raise click.UsageError("Say which colorants: by name, with --range, or with --from FILE.")
    return OwnColorants(name, names, ranges)


def _names_in(listed: str) -> tuple[str, ...]:
    content = read_bytes(listed, most=MOST_BYTES)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadFileError(
            f"{listed}, byte {error.start + 1}: this is not UTF-8 text.",
            hint="Save the list as plain text in UTF-8, one name a line.",
        ) from error
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _changed(changed: "KitChanged", moved: str, same: str) -> str:
    lines = [f"{moved} {changed.kit}: {counted(len(changed.changed), 'colorant')}."]
    if changed.unchanged:
        lines.append(f"{same} {changed.kit}: {', '.join(c.name for c in changed.unchanged)}.")
    lines.append(f"The kit now holds {counted(changed.colorants, 'colorant')}.")
    return "\n".join(lines)


@kit.verb("check", tasks=["check_names"], example="laydown kit check --from list.txt")
@click.argument("names", nargs=-1)
@click.option("--from", "listed", metavar="FILE", help="A text file with one name a line.")
def check(names: tuple[str, ...], listed: str | None) -> None:
    """Say which NAMES stand for colorants here, and what the others may have meant."""
    from laydown.app.check_names import CheckNames, check_names

    asked = (*names, *(_names_in(listed) if listed else ()))
    if not asked:
        raise click.UsageError("Say which names, or --from FILE.")
    with library_in_use() as library:
        show(check_names(library, CheckNames(asked)), _checked)


def _checked(found: "NamesChecked") -> str:
    lines = [f"{counted(len(found.found), 'colorant')} clear."]
    lines += [f"{one.name}: {' or '.join(one.meant) or 'nothing near'}?" for one in found.unclear]
    return "\n".join(lines)


@kit.verb(
    "begin",
    tasks=["begin_kit"],
    example='laydown kit begin mine Quince Fig --paper "Gannet smooth" -o sheet.pdf',
)
@click.argument("name")
@click.argument("colorants", nargs=-1)
@click.option("--from", "listed", metavar="FILE", help="A text file with one name a line.")
@click.option("--paper", required=True, metavar="PAPER", help="What you color on.")
@click.option("--range", "range_", default="", metavar="RANGE", help="What new ones belong to.")
@medium_option
@click.option("--color", "wanted", multiple=True, metavar="COLOR", help="A wanted color.")
@page_option
def begin(
    *,
    name: str,
    colorants: tuple[str, ...],
    listed: str | None,
    paper: str,
    range_: str,
    medium: "Medium | None",
    wanted: tuple[str, ...],
    page: str,
) -> None:
    """Begin with nothing but names: the kit NAME of COLORANTS, and its first short sheet as PDF."""
    from laydown.app.begin_kit import BeginKit, begin_kit
    from laydown.app.print_sheet import draw_sheet

    names = (*colorants, *(_names_in(listed) if listed else ()))
    request = BeginKit(names, paper, name, range_, medium, wanted, page)
    with library_in_use(may_make=True) as library:
        made = begin_kit(library, request)
        content = b"" if settings().as_json else draw_sheet(library, made.printed.sheet)
    if settings().as_json:
        show(made, str)
    else:
        give(content)
    say(f"The kit {made.kit} holds {counted(made.colorants, 'colorant')}.")
    suggest("print it at its true size, color it in, let it dry, then: laydown sheet read PHOTO")


@kit.verb("remove", tasks=["remove_kit"], example="laydown kit remove mine")
@click.argument("name", shell_complete=names_of("kit"))
def remove(name: str) -> None:
    """Remove the kit NAME; its colorants and their swatches stay in the library."""
    from laydown.app.remove_kit import remove_kit

    with library_in_use() as library:
        show(remove_kit(library, name), lambda k: f"Removed the kit {k.name}.")
    suggest("laydown library undo, if that was not meant")
