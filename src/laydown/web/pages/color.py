"""One color: a wanted color, and the recipe that comes nearest from what is at hand."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query

from laydown.app.complete_names import Names, names_in
from laydown.app.list_papers import Papers, list_papers
from laydown.app.match_color import Asking, ColorMatched, MatchColor, match_color
from laydown.web.asking import LONGEST_RECIPE, AskingOf, Name
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtDesk, AtLibrary
from laydown.web.faces import shows

router = APIRouter()
Wanted = Annotated[str, Query(max_length=LONGEST_RECIPE)]
KINDS = "^(colorant|range|paper|kit)$"


@dataclass(frozen=True, slots=True)
class NothingAsked:
    """The page before a color was wanted."""

    wanted: str = ""


@dataclass(frozen=True, slots=True)
class Besides:
    """What the page shows besides the answer.

    Parameters
    ----------
    wanted, asking
        As they were typed, for the form to keep them.
    choices
        Names to choose from.
    papers
        With their colors, for patches to lie on.
    """

    wanted: str
    asking: Asking
    choices: Choices
    papers: Papers


def besides(library: AtLibrary, asking: AskingOf, wanted: Wanted = "") -> Besides:
    """Return what the page shows besides the answer."""
    return Besides(wanted, asking, choices_of(library), list_papers(library))


@shows(router, "/color", "color.html.j2", beside=besides)
def color(desk: AtDesk, asking: AskingOf, wanted: Wanted = "") -> ColorMatched | NothingAsked:
    """Find recipes for a wanted color."""
    if not wanted.strip():
        return NothingAsked()
    return match_color(desk.library, MatchColor(wanted, asking), finder=desk.tables.find)


@shows(router, "/names", "names.html.j2")
def names(
    library: AtLibrary,
    begins: Name = "",
    wanted: Wanted = "",
    color: Name = "",
    kind: Annotated[str, Query(pattern=KINDS)] = "colorant",
) -> Names:
    """Offer names that begin with what was typed last, in whichever field it was typed."""
    typed = begins or wanted or color
    return names_in(library, kind, typed.rpartition(";")[2].strip())
