"""The first page: what is here already, and the shortest way to a first answer."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends

from laydown.app.add_demo import RANGES
from laydown.app.list_kits import Kits, list_kits
from laydown.app.list_ranges import RangeListed, list_ranges
from laydown.app.list_sheets import SheetListed, list_sheets
from laydown.app.show_library import LibraryShown, show_library
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtLibrary
from laydown.web.faces import shows
from laydown.web.pages.sheets import Begun, begun_of

router = APIRouter()
FEW = 5
"""How many of a kind the page names."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Where somebody stands.

    Parameters
    ----------
    waiting
        Sheets of which nothing was read yet.
    unfinished
        Ranges that have colorants which were never swatched, with how many on the best paper.
    kits
        What is owned.
    with_demo
        Whether invented ranges are among it.
    choices
        Names to choose from.
    begun
        What was begun with.
    """

    waiting: tuple[SheetListed, ...]
    unfinished: tuple[tuple[RangeListed, int], ...]
    kits: Kits
    with_demo: bool
    choices: Choices
    begun: Begun


def standing(library: AtLibrary, begun: Annotated[Begun, Depends(begun_of)]) -> Standing:
    """Return where somebody stands, and so what comes next."""
    ranges = list_ranges(library).ranges
    best = [(one, max((on.colorants for on in one.on), default=0)) for one in ranges]
    return Standing(
        tuple(sheet for sheet in list_sheets(library).sheets if not sheet.taken)[:FEW],
        tuple((one, most) for one, most in best if most < one.colorants)[:FEW],
        list_kits(library),
        any(one.name in RANGES for one in ranges),
        choices_of(library),
        begun,
    )


@shows(router, "/", "start.html.j2", beside=standing)
def start(library: AtLibrary) -> LibraryShown:
    """Show what the library holds, and what to do next."""
    return show_library(library)
