"""Pencils and washes over dyed paper on the simulated bench.

The dye lies in the paper as `laydown.demo.oracle` lays it, the films lie on the paper as
`laydown.demo.films` lays them, and light goes through both by adding and doubling. Nothing here
takes a layer's reflectance for the paper of the next one, as `laydown.media.kit_fit` does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.demo.films import ANGLES, FilmBench
from laydown.demo.oracle import Bench, pile
from laydown.demo.slabs import Sheet
from laydown.errors import NotMeasuredError
from laydown.media.laydown import Medium
from laydown.media.recipe import AnyStep, Recipe, Step


@dataclass(slots=True, eq=False)
class MixedBench:
    """One paper with its dyes and its pigments.

    Parameters
    ----------
    dyes, pigments
        The benches of markers and of films, on the same slab.
    """

    dyes: Bench
    pigments: FilmBench
    _sheet: Sheet | None = field(default=None)

    def __post_init__(self) -> None:
        if self.dyes.slab is not self.pigments.slab:
            raise ValueError("dyes and pigments lie on one slab")

    def truth(self, recipe: Recipe, factors: Sequence[float] | FloatArray = ()) -> FloatArray:
        """Return a recipe's reflectance, shape (36,).

        Parameters
        ----------
        recipe
            Markers first, then pencils, washes and treatments.
        factors
            Each coat's, bottom first; 1 where none.

        Raises
        ------
        NotMeasuredError
            For a marker over a film: where its dye stays, in the film or below, nobody told us.
        """
        dyed, films = _parted(recipe)
        given = np.ones(recipe.coats)
        given[: len(factors)] = factors
        dye = pile(self.dyes, dyed, given[: dyed.coats])
        if self._sheet is None:
            self._sheet = Sheet(self.dyes.slab, angles=ANGLES)
        return self.pigments.truth_over(self._sheet.matrices(dye), films, given[dyed.coats :])


def _parted(recipe: Recipe) -> tuple[Recipe, Recipe]:
    count = 0
    while count < len(recipe.steps) and _is_marker(recipe.steps[count]):
        count += 1
    above = recipe.steps[count:]
    if any(_is_marker(step) for step in above):
        raise NotMeasuredError("The simulated bench lays no marker over a film.")
    return Recipe(recipe.steps[:count]), Recipe(above)


def _is_marker(step: AnyStep) -> bool:
    return isinstance(step, Step) and step.colorant.medium is Medium.MARKER
