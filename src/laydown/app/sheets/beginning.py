"""Begin with nothing but names: a kit, its paper, and a first short sheet to color in."""

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.app.fits.at_hand import Supplies
from laydown.app.matches.colors import Asking
from laydown.app.sheets.printing import PrintSheet, SheetPrinted, print_sheet
from laydown.app.supplies.colorants import find_or_add_all
from laydown.color.typed import typed_color
from laydown.errors import AmbiguousNameError, BadRecipeError
from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.recipe import name_key, parse_recipe
from laydown.store.library import Library, Work


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
        Marker, pencil or wash; None for what the line is made of, or markers where it is new.
    wanted
        Colors wanted first; the sheet then tries what comes near them.
    page
        A4 or Letter.
    """

    names: tuple[str, ...]
    paper: str
    kit: str = "mine"
    range: str = ""
    medium: Medium | None = None
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
    DuplicateNameError, AmbiguousNameError
        Where the name of the line, or of a colorant, is one of another medium.
    BadColorError, UnknownNameError
        For a wanted color that is none: better now than when the sheet has been read.
    """
    if not request.names:
        raise BadRecipeError(
            "Nothing is named that you own.", hint="Write the names on your colorants, one a line."
        )
    with library.work(f"begin the kit {request.kit}") as work:
        if name_key(request.kit) not in map(name_key, work.kit_names()):
            work.add_kit(request.kit)
        work.own(request.kit, _named(work, request))
        colorants = len(work.kit(request.kit))
        _refuse_strangers(work, request.wanted)
    asking = Asking(Supplies(kit=request.kit, paper=request.paper))
    printed = print_sheet(
        library, PrintSheet("first", asking, colors=request.wanted, page=request.page)
    )
    return KitBegun(request.kit, colorants, printed)


def _named(work: Work, request: BeginKit) -> tuple[Colorant, ...]:
    line = request.range or request.kit
    named = find_or_add_all(work, request.names, line, medium=request.medium)
    for name, found in zip(request.names, named, strict=True):
        if "/" not in name and request.medium not in {None, found.medium}:
            raise AmbiguousNameError(
                f"“{name}” is a {found.medium} of {found.range} here.",
                hint=f"Write “{found.label}” if you mean that one, or “{line}/{name}” for a "
                f"{request.medium} of your own.",
            )
    return tuple(dict.fromkeys(named))


def _refuse_strangers(work: Work, wanted: Sequence[str]) -> None:
    for text in wanted:
        if typed_color(text) is None:
            parse_recipe(text, work.find_colorant)
