"""Pages that answer for whatever a student owns: of a lesson, or of a whole range."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from laydown.app.crew import each
from laydown.app.fits import SuppliesAtHand, set_up
from laydown.app.lessons.lessons import LessonAsked, read_lesson
from laydown.app.matches.colors import Asking, paper_of_targets, question_of
from laydown.app.matches.targets import range_targets, settle_targets, targets_of_lesson
from laydown.app.supplies.names import marked_invented
from laydown.color.lab import lab_from_reflectance
from laydown.documents.files.lessons import write_lesson
from laydown.documents.page.page import AnswerPage, PageCode, PageColor, PageWay, write_page
from laydown.errors import UnknownNameError
from laydown.match.acceptance import acceptance_words, acceptances
from laydown.match.judge import own
from laydown.match.minimal import minimal_ways
from laydown.match.outcome import Target
from laydown.match.question import Question, Way, way_of
from laydown.match.ranking import Watch
from laydown.match.search.sense import are_near, is_quiet, sense_of
from laydown.match.words import difference, instructions
from laydown.media.kit.fit import predict
from laydown.media.legible import capital
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.store.library import Library

ADDRESS = re.compile(r"https?://[^\s/]+\.[^\s]{1,400}")
ABOVE = 6.0
"""Up to how much more than the best of all a way may cost to be sure to be listed [CIEDE2000].

From kits of a third of the demo's markers the best costs so much more for hardly a color."""
MOST_LIKELY = 3
REACHED = 0.2
"""A color whose best way is accepted by no more than this share is told as out of reach."""


@dataclass(frozen=True, slots=True)
class PageMade:
    """A page as one HTML file."""

    title: str
    paper: str
    html: str
    colors: int
    colorants: int
    """How many colors are wanted, and of how many colorants students may own any part."""
    unreached: tuple[str, ...]
    """Names of colors that nothing of it comes near."""


def make_lesson_page(
    library: Library, request: LessonAsked, *, watch: Watch | None = None
) -> PageMade:
    """Make the page that answers for a lesson, whatever a student owns of some ranges."""
    codes = _codes(library, request.address, request.ticked)
    lesson = read_lesson(request.file, source=request.source)
    bench = set_up(library, request.asking.supplies)
    targets = targets_of_lesson(lesson, bench.swatched)
    notes = [color.note for color in lesson.colors]
    text = write_lesson(lesson).decode()
    page = answer_page(lesson.title, targets, bench, request.asking, notes=notes, watch=watch)
    return _made(replace(page, notes=(*lesson.notes, *page.notes), lesson=text, codes=codes))


def make_range_page(
    library: Library, request: LessonAsked, *, watch: Watch | None = None
) -> PageMade:
    """Make the page that converts a whole range, color by color, as a page for a lesson does."""
    codes = _codes(library, request.address, request.ticked)
    wanted_on = paper_of_targets(library, request.asking)
    wanted = range_targets(library, request.range, wanted_on)
    bench = set_up(library, request.asking.supplies)
    targets = settle_targets(library, wanted, paper=wanted_on, fit=lambda: bench.swatched)
    title = f"{request.range} on {wanted_on}"
    page = answer_page(title, targets, bench, request.asking, watch=watch)
    return _made(replace(page, codes=codes))


def _made(page: AnswerPage) -> PageMade:
    return PageMade(
        title=page.title,
        paper=page.paper,
        html=write_page(page).decode(),
        colors=len(page.colors),
        colorants=len(page.colorants),
        unreached=page.unreached,
    )


def _codes(library: Library, address: str, kits: Sequence[str]) -> tuple[PageCode, ...]:
    """Return the codes that a page is to have."""
    if not address and not kits:
        return ()
    page = address.partition("#")[0].strip()
    if not ADDRESS.fullmatch(page):
        raise UnknownNameError(
            f"“{address}” is no address of a web page.",
            hint="Give it as a browser shows it, beginning with https://.",
        )
    with library.look() as work:
        return tuple((page, name, work.kit(name)) for name in kits) or ((page, "", ()),)


def answer_page(
    title: str,
    targets: Sequence[Target],
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    notes: Sequence[str] = (),
    watch: Watch | None = None,
) -> AnswerPage:
    """Work out what a page holds, for supplies that are set up.

    Parameters
    ----------
    targets, notes
        The colors, and what is noted of each; no notes where none is.
    """
    usable = [c for c in bench.whole.colorants if c.label not in bench.without]
    told = notes or [""] * len(targets)
    made = each(
        partial(_ByKit, bench, asking, usable), list(zip(targets, told, strict=True)), watch
    )
    laid = [Recipe((Step(colorant),)) for colorant in usable]
    return AnswerPage(
        title=title,
        paper=bench.whole.paper.name,
        paper_lab=lab_from_reflectance(bench.whole.paper.reflectance),
        notes=(*marked_invented((), laid), *bench.notes),
        colorants=tuple((r.colorants[0], predict(bench.whole, r).lab) for r in laid),
        colors=tuple(color for color, _ in made),
        bound=ABOVE,
        unreached=tuple(color.target.name for color, missed in made if missed),
    )


class _ByKit:
    """Works out a color's answers for every kit; with each whether hardly any kit comes near."""

    def __init__(self, bench: SuppliesAtHand, asking: Asking, usable: Sequence[Colorant]) -> None:
        self.bench, self.asking, self.usable = bench, asking, usable

    def __call__(
        self, part: tuple[Target, str], watch: Watch | None = None
    ) -> tuple[PageColor, bool]:
        if watch is not None:
            watch(0, 1)
        target, note = part
        question = question_of(target, self.bench, self.asking)
        ways, exact = minimal_ways(question, above=ABOVE)
        near = _near(question, self.usable)
        further = question.with_limits(without=frozenset(c.label for c in near))
        apart = minimal_ways(further, above=ABOVE)[0] if near else ()
        color = PageColor(
            target=target,
            note=note,
            ways=_told(question, _own_first(question, ways)),
            exact=exact,
            near=near,
            apart=_told(question, apart),
        )
        return color, max(_chances(question, ways[:MOST_LIKELY])) <= REACHED


def _near(question: Question, usable: Sequence[Colorant]) -> tuple[Colorant, ...]:
    """Return the colorants at whose presence the sense of the trade asks more for a color."""
    wanted = question.target.lab
    if not question.ranking.sense or not is_quiet(wanted):
        return ()
    sense = sense_of(question.fit, question.limits.without, question.over)
    colored = [colorant for colorant in usable if not colorant.blender]
    near = are_near(sense.labs, wanted).tolist()
    return tuple(colorant for colorant, so in zip(colored, near, strict=True) if so)


def _own_first(question: Question, ways: Sequence[Way]) -> list[Way]:
    """Let who owns the colorant that a color was asked by lay it, as a match does."""
    named = own(question)
    if named is None:
        return list(ways)
    mine = next((way for way in ways if way.recipe == named), None) or way_of(question, named)
    return [mine, *(way for way in ways if way.recipe != named)]


def _told(question: Question, ways: Sequence[Way]) -> tuple[PageWay, ...]:
    return tuple(
        (
            way,
            instructions(way.recipe, over=question.over),
            f"{capital(difference(question.target.lab, way.lab).words)}.",
            f"{capital(acceptance_words(chance))}.",
        )
        for way, chance in zip(ways, _chances(question, ways), strict=True)
    )


def _chances(question: Question, ways: Sequence[Way]) -> list[float]:
    if not ways:
        return []
    seen = np.array([way.lab for way in ways]), np.array([way.covariance for way in ways])
    wanted, tolerance = question.target.lab, question.tolerance
    found: list[float] = acceptances(wanted, *seen, tolerance=tolerance).tolist()
    return found
