"""Find recipes for a wanted color."""

from dataclasses import dataclass, field, replace
from functools import cache

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.supplies import Bench, Supplies, look_up, set_up
from laydown.app.targets import Wanted, settle_targets
from laydown.app.tried_before import tried_before
from laydown.match import judge
from laydown.match.exact import Finder
from laydown.match.found import Watch
from laydown.match.outcome import Candidate, Match, Target
from laydown.match.ranking import Ranking
from laydown.match.space import Limits
from laydown.media.recipe import Recipe
from laydown.store.library import Library

USUAL_K_L = 0.5


@dataclass(frozen=True, slots=True)
class Asking:
    """How a match is looked for and judged; the same for one color and for a chart.

    Parameters
    ----------
    supplies
        What may be used, and the paper.
    from_paper
        The paper that a named color is wanted as on; empty for the same paper.
    steps, coats
        The most steps of a recipe, and the most coats of a step.
    top
        How many alternatives to give.
    k_L
        How lightness weighs in the ranking; below 1 it weighs more.
    tolerance
        Sketch, class or close.
    step, coat
        What each step and each coat adds to the cost of a recipe, in CIEDE2000, 0 or above.
    prices
        What a coat of a colorant adds besides, by its label (``Range/Name``), 0 or above.
    """

    supplies: Supplies = field(default_factory=Supplies)
    from_paper: str = ""
    steps: int = 3
    coats: int = 3
    top: int = 3
    k_L: float = USUAL_K_L  # noqa: N815  the symbol of the standard
    tolerance: str = "class"
    step: float = 0.0
    coat: float = 0.0
    prices: tuple[tuple[str, float], ...] = ()

    @property
    def ranking(self) -> Ranking:
        """What recipes are ranked by."""
        return Ranking(k_L=self.k_L, step=self.step, coat=self.coat, prices=self.prices)


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
    """The answer for one wanted color.

    Parameters
    ----------
    kit, paper, tolerance
        What was asked of.
    over
        What lies on the paper already; every recipe here begins with it.
    target, wanted
        The wanted color, in numbers and in words.
    best, single, alternatives
        As the match has them, each with its color in words.
    considered, notes, next_swatch
        As the match has them; the notes on supplies stand first.
    """

    kit: str
    paper: str
    tolerance: str
    over: Recipe
    target: Target
    wanted: ColorInWords
    best: CandidateInWords
    single: CandidateInWords
    alternatives: tuple[CandidateInWords, ...]
    considered: int
    notes: tuple[str, ...]
    next_swatch: str


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
        Of `laydown.app.table_cache.Tables`, for a door where many colors are asked of one kit.
    """
    wanted_on = paper_of_targets(library, request.asking)
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    (target,) = settle_targets(
        library, [Wanted(request.wanted)], paper=wanted_on, fit=lambda: at_hand().swatched
    )
    bench = at_hand()
    found = find_match(target, bench, request.asking, watch=watch, finder=finder)
    kit, paper = request.asking.supplies.kit, bench.whole.paper.name
    before = tried_before(library, target.lab, kit=kit, paper=paper)
    return _told(replace(found, notes=before + found.notes), bench, request.asking)


def paper_of_targets(library: Library, asking: Asking) -> str:
    """Look up the supplies, and return the name of the paper that named colors are wanted as on."""
    own = look_up(library, asking.supplies).paper
    if not asking.from_paper:
        return own
    with library.look() as work:
        return work.paper_name(asking.from_paper)


def find_match(
    target: Target,
    bench: Bench,
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
        Of `laydown.app.table_cache.Tables`, where many targets are asked of one kit.
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


def _told(found: Match, bench: Bench, asking: Asking) -> ColorMatched:
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
