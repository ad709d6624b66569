"""One color answered several ways: on what lies there or afresh, and out of each box."""

from dataclasses import dataclass, replace

from laydown.app.matches.colors import Asking, ColorMatched, MatchColor, match_color
from laydown.app.supplies.papers import usual_papers
from laydown.errors import BadRecipeError, LaydownError
from laydown.match.search.search import Finder
from laydown.reference.thresholds import thresholds
from laydown.store.library import Library

POOR = 0.25
"""A chance to be accepted below which a color is probably not close enough."""


@dataclass(frozen=True, slots=True, eq=False)
class Fixed:
    """How what lies on the paper comes to a wanted color, and the same on bare paper."""

    mended: ColorMatched
    fresh: ColorMatched
    is_fresh_better: bool
    """Whether what lies there probably stays too far off, and bare paper comes visibly nearer."""


def fix_color(library: Library, request: MatchColor, *, finder: Finder | None = None) -> Fixed:
    """Look for a wanted color over what lies on the paper already, and on bare paper.

    Raises
    ------
    BadRecipeError
        Where nothing lies there.
    UnknownNameError, NotMeasuredError
        As `match_color` does.
    """
    supplies = request.asking.supplies
    if not supplies.over:
        raise BadRecipeError(
            "Nothing is on the paper yet.", hint="Say what you laid, bottom layer first."
        )
    bare = replace(request.asking, supplies=replace(supplies, over=""))
    asked = (request, MatchColor(request.wanted, bare))
    mended, fresh = (match_color(library, one, finder=finder) for one in asked)
    on_top, afresh = mended.best.candidate, fresh.best.candidate
    nearer = on_top.difference.delta_e - afresh.difference.delta_e >= thresholds()["noticeable"]
    return Fixed(mended, fresh, nearer and on_top.acceptance < POOR)


@dataclass(frozen=True, slots=True, eq=False)
class OfOneBox:
    """A box, and its answer; where it has none, why."""

    kit: str
    found: ColorMatched | None
    why_not: str = ""


def match_in_each_box(
    library: Library,
    wanted: str,
    asking: Asking,
    kits: tuple[str, ...],
    *,
    finder: Finder | None = None,
) -> tuple[OfOneBox, ...]:
    """Answer a color out of each of these boxes, on the paper that most of each was swatched on."""
    papers = usual_papers(library).kits
    asked = (
        (kit, replace(asking.supplies, kit=kit, ranges=(), paper=papers.get(kit, "")))
        for kit in kits
    )
    return tuple(
        _of_one(library, kit, MatchColor(wanted, replace(asking, supplies=own)), finder)
        for kit, own in asked
    )


def _of_one(library: Library, kit: str, asked: MatchColor, finder: Finder | None) -> OfOneBox:
    try:
        return OfOneBox(kit, match_color(library, asked, finder=finder))
    except LaydownError as error:
        return OfOneBox(kit, None, error.message)
