"""Begin with nothing but names: a kit, its paper, and a first short sheet to color in."""

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.app.match_color import Asking
from laydown.app.own_colorants import OwnColorants, named_colorants
from laydown.app.print_sheet import PrintSheet, SheetPrinted, print_sheet
from laydown.app.supplies import Supplies
from laydown.app.targets import typed_target
from laydown.errors import BadRecipeError
from laydown.media.labels import name_key
from laydown.media.laydown import Medium
from laydown.media.recipe import parse_recipe
from laydown.store.library import Library
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class BeginKit:
    """What somebody owns, on what, and what they want.

    Parameters
    ----------
    names
        Of the colorants, as they stand on them.
    paper
        What is colored on.
    kit
        What to call the whole.
    range
        What to call the line that unknown colorants belong to; empty for the kit's name.
    medium
        Marker, pencil or wash.
    wanted
        Colors wanted first; the sheet then tries what comes near them.
    page
        A4 or Letter.
    """

    names: tuple[str, ...]
    paper: str
    kit: str = "mine"
    range: str = ""
    medium: Medium = Medium.MARKER
    wanted: tuple[str, ...] = ()
    page: str = "A4"


@dataclass(frozen=True, slots=True)
class KitBegun:
    """The kit, and the sheet to print."""

    kit: str
    colorants: int
    printed: SheetPrinted


def begin_kit(library: Library, request: BeginKit) -> KitBegun:
    """Put names into a kit, which may be there already, and make its first sheet.

    Raises
    ------
    BadRecipeError
        Where nothing is named.
    BadColorError, UnknownNameError
        For a wanted color that is none: better now than when the sheet has been read.
    """
    if not request.names:
        raise BadRecipeError(
            "Nothing is named that you own.", hint="Write the names on your colorants, one a line."
        )
    owned = OwnColorants(
        request.kit,
        request.names,
        new_range=request.range or request.kit,
        medium=request.medium,
    )
    with library.work(f"begin the kit {request.kit}") as work:
        if name_key(request.kit) not in map(name_key, work.kit_names()):
            work.add_kit(request.kit)
        work.own(request.kit, named_colorants(work, owned))
        colorants = len(work.kit(request.kit))
        _refuse_strangers(work, request.wanted)
    asking = Asking(Supplies(kit=request.kit, paper=request.paper))
    printed = print_sheet(
        library, PrintSheet("first", asking, colors=request.wanted, page=request.page)
    )
    return KitBegun(request.kit, colorants, printed)


def _refuse_strangers(work: Work, wanted: Sequence[str]) -> None:
    for text in wanted:
        if typed_target(text) is None:
            parse_recipe(text, work.find_colorant)
