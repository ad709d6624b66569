"""A match as tests ask for it: with what is usual where they say nothing."""

from laydown.match.judge import TOLERANCES, match_of
from laydown.match.outcome import Match, Target
from laydown.match.question import Question
from laydown.match.ranking import NOTHING, USUAL_LIMITS, Limits, Ranking, usual_ranking
from laydown.match.search.sense import for_area
from laydown.media.kit.fit import AnyFit
from laydown.media.recipe import Recipe


def match_color(
    target: Target,
    fit: AnyFit,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking | None = None,
    tolerance: str = "class",
    over: Recipe = NOTHING,
    top: int = 5,
) -> Match:
    """Find the best recipe for a wanted color; the usual ranking is that of the tolerance."""
    ranked = for_area(ranking or usual_ranking(tolerance), target.share)
    return match_of(Question(target, fit, limits, ranked, TOLERANCES[tolerance], over), top=top)
