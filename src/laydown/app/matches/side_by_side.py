"""One color answered several ways: on what lies there or afresh, and out of each box."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from laydown.app.fits.at_hand import set_up
from laydown.app.matches.colors import (
    Asking,
    ColorMatched,
    MatchColor,
    find_match,
    match_color,
)
from laydown.app.matches.targets import targets_of_lesson
from laydown.app.supplies.papers import usual_papers
from laydown.errors import BadRecipeError, LaydownError
from laydown.match.outcome import Match
from laydown.match.search.search import Finder
from laydown.plan.lesson.lesson import Lesson
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
    return tuple(
        _of_one(library, kit, MatchColor(wanted, own), finder)
        for kit, own in _asked_of_each(library, asking, kits)
    )


def _asked_of_each(
    library: Library, asking: Asking, kits: tuple[str, ...]
) -> Iterator[tuple[str, Asking]]:
    papers = usual_papers(library).kits
    for kit in kits:
        own = replace(asking.supplies, kit=kit, ranges=(), paper=papers.get(kit, ""))
        yield kit, replace(asking, supplies=own)


@dataclass(frozen=True, slots=True, eq=False)
class LessonOfOneBox:
    """A box, and its answers to the colors of a lesson; where it has none, why."""

    kit: str
    matches: tuple[Match, ...]
    why_not: str = ""


def lesson_in_each_box(
    library: Library,
    lesson: Lesson,
    asking: Asking,
    kits: tuple[str, ...],
    *,
    finder: Finder | None = None,
) -> tuple[LessonOfOneBox, ...]:
    """Answer each color of a lesson out of each of these boxes, as `match_in_each_box` does one."""
    return tuple(
        _lesson_of_one(library, kit, lesson, own, finder)
        for kit, own in _asked_of_each(library, asking, kits)
    )


def _lesson_of_one(
    library: Library, kit: str, lesson: Lesson, asking: Asking, finder: Finder | None
) -> LessonOfOneBox:
    try:
        bench = set_up(library, asking.supplies)
        found = tuple(
            find_match(target, bench, asking, watch=None, finder=finder)
            for target in targets_of_lesson(lesson, bench.swatched)
        )
        return LessonOfOneBox(kit, found)
    except LaydownError as error:
        return LessonOfOneBox(kit, (), error.message)


def _of_one(library: Library, kit: str, asked: MatchColor, finder: Finder | None) -> OfOneBox:
    try:
        return OfOneBox(kit, match_color(library, asked, finder=finder))
    except LaydownError as error:
        return OfOneBox(kit, None, error.message)
