"""A wanted color with everything that bears on the answer, and the searches it leads to."""

from dataclasses import dataclass, replace

from laydown.color.arrays import FloatArray
from laydown.match.outcome import Target
from laydown.match.pairing import covariance_of
from laydown.match.ranking import Ranking
from laydown.match.search.found import Found, Watch
from laydown.match.search.search import Finder, search_kit
from laydown.match.space import Limits
from laydown.media.kit.fit import AnyFit
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is asked of a kit.

    Parameters
    ----------
    target
        The wanted color.
    fit
        The kit on its paper.
    limits, ranking
        Which recipes, and what they are ranked by.
    tolerance
        CIEDE2000 at which half of observers accept.
    over
        What lies on the paper already.
    watch
        Told how far the main search has come.
    finder
        Who searches the recipes, where the caller keeps tables.
    swatched
        What swatches alone tell of the kit, where trials have moved the fit.
    """

    target: Target
    fit: AnyFit
    limits: Limits
    ranking: Ranking
    tolerance: float
    over: Recipe
    watch: Watch | None = None
    finder: Finder | None = None
    swatched: AnyFit | None = None

    def covariance(self, seen: Prediction) -> FloatArray:
        """Return the covariance of a prediction's difference from what is wanted, shape (3, 3)."""
        return covariance_of(self.target, self.fit, seen, swatched=self.swatched)

    def find(self, top: int = 1, *, within: float = 0.0) -> Found:
        """Return the best recipes that may be laid, and all up to `within` above the last."""
        return search_kit(
            self.fit,
            self.target.lab,
            limits=self.limits,
            ranking=self.ranking,
            top=top,
            over=self.over,
            watch=self.watch,
            within=within,
            finder=self.finder,
        )

    def with_limits(
        self,
        *,
        steps: int | None = None,
        added_coats: int | None = None,
        without: frozenset[str] = frozenset(),
    ) -> "Question":
        """Return the same question under narrower limits."""
        limits = replace(
            self.limits,
            steps=self.limits.steps if steps is None else steps,
            total_coats=self.limits.total_coats
            if added_coats is None
            else self.over.coats + added_coats,
            without=self.limits.without | without,
        )
        return replace(self, limits=limits, watch=None)
