"""Recipes for a wanted color, and whether it was made before."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache, partial

import numpy as np

from laydown.app.crew import each
from laydown.app.fits.at_hand import Supplies, SuppliesAtHand, look_up, set_up
from laydown.app.matches.tables import Tables
from laydown.app.matches.targets import WantedColor, settle_targets
from laydown.app.supplies.kits import running_low
from laydown.app.supplies.pan_marks import advice_by_marks
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.match import judge
from laydown.match.outcome import Candidate, Match, Target
from laydown.match.question import Question
from laydown.match.ranking import Ranking, usual_ranking
from laydown.match.search.found import Watch
from laydown.match.search.search import Finder
from laydown.match.search.sense import for_area
from laydown.match.space import Limits
from laydown.media.recipe import Recipe, format_recipe, name_key
from laydown.store.library import Library
from laydown.store.records import StoredTrial

NEAR = 2.25
"""An earlier trial within this of what is wanted would do: half of observers accept it."""
MOST = 3


def near_trials(
    trials: Sequence[StoredTrial], lab: FloatArray, *, paper: str
) -> tuple[StoredTrial, ...]:
    """Return the trials on a paper that came out near a color, nearest first."""
    there = [t for t in trials if name_key(t.entry.paper) == name_key(paper)]
    if not there:
        return ()
    labs = lab_from_reflectance(np.array([t.entry.reflectance for t in there]))
    far = ciede2000(labs, lab)
    order = [int(i) for i in np.argsort(far, kind="stable") if far[i] <= NEAR]
    return tuple(there[i] for i in order[:MOST])


def tried_before(library: Library, lab: FloatArray, *, kit: str, paper: str) -> tuple[str, ...]:
    """Say which trial of a kit on a paper came out nearest to a color, if any came near."""
    with library.look() as work:
        own = [t for t in work.notebook.latest() if name_key(t.entry.kit) == name_key(kit)]
    near = near_trials(own, lab, paper=paper)
    if not near:
        return ()
    nearest = near[0]
    off = float(ciede2000(lab_from_reflectance(nearest.entry.reflectance), lab))
    recipe = format_recipe(nearest.entry.recipe)
    return (f"You made this before: trial {nearest.number}, “{recipe}”, came within {off:.1f}.",)


USUAL_K_L = 0.5


@dataclass(frozen=True, slots=True)
class Asking:
    """How a match is looked for and judged; the same for one color and for a chart."""

    supplies: Supplies = field(default_factory=Supplies)
    """What may be used, and the paper."""
    from_paper: str = ""
    """The paper that a named color is wanted as on; empty for the same paper."""
    steps: int = 3
    coats: int = 3
    """The most steps of a recipe, and the most coats of a step."""
    top: int = 3
    """How many alternatives to give."""
    k_L: float = USUAL_K_L  # noqa: N815  the symbol of the standard
    """How lightness weighs in the ranking; below 1 it weighs more."""
    tolerance: str = "class"
    """Sketch, class or close."""
    step: float | None = None
    coat: float | None = None
    """What each step and each coat adds to the cost of a recipe, in CIEDE2000, 0 or above; None for
    what is usual at the tolerance."""
    prices: tuple[tuple[str, float], ...] = ()
    """What a coat of a colorant adds besides, by its label (``Range/Name``), 0 or above."""
    sense: bool = True
    """Whether the sense of the trade counts (``reference/sense.csv``)."""

    @property
    def ranking(self) -> Ranking:
        """What recipes are ranked by."""
        return usual_ranking(
            self.tolerance,
            k_L=self.k_L,
            step=self.step,
            coat=self.coat,
            prices=self.prices,
            sense=self.sense,
        )


@dataclass(frozen=True, slots=True)
class MatchColor:
    """A wanted color, and how to look for it."""

    wanted: str
    asking: Asking = field(default_factory=Asking)


@dataclass(frozen=True, slots=True, eq=False)
class CandidateInWords:
    """A candidate with its color in words beside its numbers."""

    color: ColorInWords
    candidate: Candidate


@dataclass(frozen=True, slots=True, eq=False)
class ColorMatched:
    """The answer for one wanted color."""

    kit: str
    paper: str
    tolerance: str
    """What was asked of."""
    over: Recipe
    """What lies on the paper already; every recipe here begins with it."""
    target: Target
    wanted: ColorInWords
    """The wanted color, in numbers and in words."""
    best: CandidateInWords
    single: CandidateInWords
    alternatives: tuple[CandidateInWords, ...]
    """As the match has them, each with its color in words."""
    considered: int
    notes: tuple[str, ...]
    next_swatch: str
    """As the match has them; the notes on supplies stand first, those on marks of pans last."""


def match_color(
    library: Library,
    request: MatchColor,
    *,
    watch: Watch | None = None,
    finder: Finder | None = None,
) -> ColorMatched:
    """Find the best recipes for a wanted color.

    Parameters
    ----------
    library
        Where supplies and swatches are.
    request
        What is wanted.
    watch
        Told (done, total) as the search goes on; may raise to cancel.
    finder
        Of `laydown.app.matches.tables.Tables`, for a door where many colors are asked of one kit.
    """
    wanted_on = paper_of_targets(library, request.asking)
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    (target,) = settle_targets(
        library, [WantedColor(request.wanted)], paper=wanted_on, fit=lambda: at_hand().swatched
    )
    bench = at_hand()
    found = find_match(target, bench, request.asking, watch=watch, finder=finder)
    kit, paper = request.asking.supplies.kit, bench.whole.paper.name
    before = tried_before(library, target.lab, kit=kit, paper=paper)
    recipe = found.best.prediction.recipe
    advised = running_low(library, kit, recipe) + advice_by_marks(library, recipe)
    return _told(replace(found, notes=before + found.notes + advised), bench, request.asking)


def paper_of_targets(library: Library, asking: Asking) -> str:
    """Look up the supplies, and return the name of the paper that named colors are wanted as on."""
    own = look_up(library, asking.supplies).paper
    if not asking.from_paper:
        return own
    with library.look() as work:
        return work.paper_name(asking.from_paper)


def find_match(
    target: Target,
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    watch: Watch | None,
    finder: Finder | None = None,
) -> Match:
    """Search and judge one target with supplies that are set up.

    Parameters
    ----------
    target, bench, asking, watch
        What is wanted, of what, and how.
    finder
        Of `laydown.app.matches.tables.Tables`, where many targets are asked of one kit.
    """
    found = judge.match_color(
        target,
        bench.whole,
        limits=Limits(steps=asking.steps, coats=asking.coats, without=bench.without),
        ranking=asking.ranking,
        tolerance=asking.tolerance,
        over=bench.over,
        watch=watch,
        top=asking.top,
        finder=finder,
        swatched=bench.swatched,
    )
    return replace(found, notes=bench.notes + found.notes)


class ByColor:
    """Finds the best recipe of each color, with tables that all of them share."""

    def __init__(self, bench: SuppliesAtHand, asking: Asking, colors: int) -> None:
        self.bench, self.asking, self.tables = bench, asking, Tables(colors)

    def __call__(self, target: Target, watch: Watch | None = None) -> Match:
        """Find that of one color."""
        return find_match(target, self.bench, self.asking, watch=watch, finder=self.tables.find)


def find_matches(
    targets: Sequence[Target], bench: SuppliesAtHand, asking: Asking, watch: Watch | None = None
) -> list[Match]:
    """Find a match for each color, as `find_match` does for one."""
    return each(partial(ByColor, bench, asking, len(targets)), targets, watch)


def short_limits(bench: SuppliesAtHand, asking: Asking) -> Limits:
    """Return what a recipe of up to two steps of two coats may be, within what was asked for."""
    return Limits(steps=min(2, asking.steps), coats=min(2, asking.coats), without=bench.without)


def question_of(
    target: Target, bench: SuppliesAtHand, asking: Asking, finder: Finder | None = None
) -> Question:
    """Return what a match of one target with supplies that are set up asks of them."""
    return Question(
        target,
        bench.whole,
        Limits(steps=asking.steps, coats=asking.coats, without=bench.without),
        for_area(asking.ranking, target.share),
        judge.TOLERANCES[asking.tolerance],
        bench.over,
        finder=finder,
        swatched=bench.swatched,
    )


def _told(found: Match, bench: SuppliesAtHand, asking: Asking) -> ColorMatched:
    return ColorMatched(
        kit=bench.label,
        paper=bench.whole.paper.name,
        tolerance=asking.tolerance,
        over=bench.over,
        target=found.target,
        wanted=in_words(found.target.lab),
        best=_with_words(found.best),
        single=_with_words(found.single),
        alternatives=tuple(_with_words(c) for c in found.alternatives),
        considered=found.considered,
        notes=found.notes,
        next_swatch=found.next_swatch,
    )


def _with_words(candidate: Candidate) -> CandidateInWords:
    return CandidateInWords(in_words(candidate.prediction.lab), candidate)
