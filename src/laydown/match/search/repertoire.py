"""All short recipes of a kit with their colors: what choices over many matches pick from."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.ranking import BY_EYE, NOTHING, VALUE_FIRST, Limits, Ranking
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.shelves import Ints
from laydown.media.kit.fit import AnyFit
from laydown.media.recipe import Colorant, Recipe

SHORT = Limits(steps=2, coats=2)
"""Two steps of two coats: what a class can lay without a mistake (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Repertoire:
    """Every recipe within the limits, the bare paper first."""

    fit: AnyFit
    """The kit's colorants on the paper."""
    space: RecipeSpace
    """All recipes."""
    numbers: Ints
    """Shape (m,), the recipes' numbers."""
    lab: FloatArray
    """Shape (m, 3), their colors."""
    members: NDArray[np.int64]
    """Shape (m, steps), the places of their colorants in `space.colorants`, bottom first; -1 where
    a recipe has fewer steps."""

    def __len__(self) -> int:
        """Return how many recipes there are."""
        return len(self.numbers)

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """The colorants in the order that `members` counts them."""
        return self.space.colorants

    def recipe(self, place: int) -> Recipe:
        """Return one recipe."""
        return self.space.recipe(int(self.numbers[place]))

    def place(self, recipe: Recipe) -> int | None:
        """Return the place of a recipe; None where it is not among these."""
        number = self.space.number(recipe)
        places = np.flatnonzero(self.numbers == (-1 if number is None else number))
        return int(places[0]) if len(places) else None

    def made_from(self, held: NDArray[np.bool_]) -> "Repertoire":
        """Return the recipes that need none but these colorants, shape (colorants,)."""
        keep = (held[np.maximum(self.members, 0)] | (self.members < 0)).all(axis=1)
        return replace(
            self, numbers=self.numbers[keep], lab=self.lab[keep], members=self.members[keep]
        )

    def nearest(
        self, lab: FloatArray, count: int, *, ranking: Ranking = BY_EYE
    ) -> tuple[NDArray[np.int64], FloatArray]:
        """Return the places of about the nearest recipes to a color, and their differences.

        Those four times as many that are nearest in CIELAB with lightness weighed as the ranking
        has it are compared; use the search where the best of all must be proven.
        """
        weight = np.array([1.0 / ranking.k_L, 0.6, 0.6])
        far = np.sum(((self.lab - lab) * weight) ** 2, axis=1)
        wide = min(len(far), 4 * count + 8)
        near = np.argpartition(far, wide - 1)[:wide] if wide < len(far) else np.arange(len(far))
        off = ranking.difference(lab, self.lab[near])
        order = np.lexsort((near, np.round(off, 9)))[:count]
        return near[order], off[order]


def repertoire(
    fit: AnyFit,
    *,
    limits: Limits = SHORT,
    ranking: Ranking = VALUE_FIRST,
    over: Recipe = NOTHING,
) -> Repertoire:
    """Lay every recipe within the limits and see its color.

    `fit`: the kit's colorants on the paper. `limits`: which recipes; with two steps a kit of 100
    has some ten thousand. `ranking`: what each step and coat is to cost. `over`: what lies on the
    paper already. Returns those of few steps first.

    ``len(repertoire(fit, limits=Limits(steps=1, coats=1)))`` is one more than the colorants.
    """
    space = recipe_space(fit, limits=limits, ranking=ranking, over=over)
    blocks = [(b.numbers, space.seen(b)) for b in space.levels()]
    numbers = np.concatenate([of for of, _ in blocks])
    lab = np.concatenate([seen for _, seen in blocks])
    return Repertoire(fit, space, numbers, lab, space.members(numbers))
