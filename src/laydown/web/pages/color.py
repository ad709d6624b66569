"""One color: a wanted color, and the recipe that comes nearest from what is at hand."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query

from laydown.app.complete_names import Names, names_in
from laydown.app.match_color import ColorMatched, MatchColor, match_color
from laydown.web.asking import LONGEST_RECIPE, AskingOf, Name
from laydown.web.choices import choices_of
from laydown.web.desk import AtLibrary
from laydown.web.faces import shows

router = APIRouter()
Wanted = Annotated[str, Query(max_length=LONGEST_RECIPE)]
KINDS = "^(colorant|range|paper|kit)$"


@dataclass(frozen=True, slots=True)
class NothingAsked:
    """The page before a color was wanted."""

    wanted: str = ""


@shows(router, "/color", "color.html.j2", beside=choices_of)
def color(library: AtLibrary, asking: AskingOf, wanted: Wanted = "") -> ColorMatched | NothingAsked:
    """Find recipes for a wanted color."""
    if not wanted.strip():
        return NothingAsked()
    return match_color(library, MatchColor(wanted, asking))


@shows(router, "/names", "names.html.j2")
def names(
    library: AtLibrary,
    begins: Name = "",
    kind: Annotated[str, Query(pattern=KINDS)] = "colorant",
) -> Names:
    """Offer names that begin with what was typed."""
    return names_in(library, kind, begins)
