"""Pencils and washes over dyed paper, and markers over them, on the simulated bench.

The dye lies in the paper as `laydown.demo.oracle` lays it, the films lie on the paper as
`laydown.demo.films` lays them, and light goes through both by adding and doubling. Nothing here
takes a layer's reflectance for the paper of the next one, as `laydown.media.kit.fit` does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.demo.films import ANGLES, FilmBench
from laydown.demo.oracle import SimulatedBench, pile
from laydown.demo.slabs import SolvedSlab
from laydown.errors import NotMeasuredError
from laydown.media.laydown import Medium
from laydown.media.recipe import AnyStep, Recipe, Step


@dataclass(eq=False)
class MixedBench:
    """One paper with its dyes and its pigments."""

    dyes: SimulatedBench
    pigments: FilmBench
    """The benches of markers and of films, on the same slab."""
    through: float = 1.0
    """Share of the dye of a marker laid over a wash that goes through it into the paper; the rest
    stays on top as a clear film. Nobody told us which, so it can be either."""
    _sheet: SolvedSlab | None = field(default=None)

    def __post_init__(self) -> None:
        if self.dyes.slab is not self.pigments.slab:
            raise ValueError("dyes and pigments lie on one slab")

    def truth(self, recipe: Recipe, factors: Sequence[float] | FloatArray = ()) -> FloatArray:
        """Return a recipe's reflectance, shape (36,).

        Parameters
        ----------
        recipe
            Markers, then pencils, washes and treatments, then markers again.
        factors
            Each coat's, bottom first; 1 where none.

        Raises
        ------
        NotMeasuredError
            For a film over a marker that lies over a film.
        """
        under, films, over = _parted(recipe)
        given = np.ones(recipe.coats)
        given[: len(factors)] = factors
        first, last = under.coats, recipe.coats - over.coats
        dye = pile(self.dyes, under, given[:first])
        late = pile(self.dyes, over, given[last:])
        if self._sheet is None:
            self._sheet = SolvedSlab(self.dyes.slab, angles=ANGLES)
        ground = self._sheet.matrices(dye + self.through * late)
        clear = (1.0 - self.through) * late * self._clear_unit
        return self.pigments.truth_over(ground, films, given[first:last], clear=clear)

    @cached_property
    def _clear_unit(self) -> float:
        """Optical depth of dye in a clear film [per halving]."""
        return SolvedSlab(replace(self.dyes.slab, share=0.0), angles=ANGLES).unit


def _parted(recipe: Recipe) -> tuple[Recipe, Recipe, Recipe]:
    """Take a recipe apart into markers, films and the markers over them."""
    kinds = [_is_marker(step) for step in recipe.steps]
    first = kinds.index(False) if False in kinds else len(kinds)
    last = len(kinds) - kinds[::-1].index(False) if False in kinds else len(kinds)
    if any(kinds[first:last]):
        raise NotMeasuredError("The simulated bench lays no film over a marker over a film.")
    steps = recipe.steps
    return Recipe(steps[:first]), Recipe(steps[first:last]), Recipe(steps[last:])


def _is_marker(step: AnyStep) -> bool:
    return isinstance(step, Step) and step.colorant.medium is Medium.MARKER
