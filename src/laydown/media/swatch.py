"""A swatch: a measured patch of a recipe on a paper."""

from dataclasses import dataclass
from enum import StrEnum

from laydown.color.arrays import FloatArray
from laydown.media.recipe import Recipe


class Basis(StrEnum):
    """What was measured."""

    SPECTRUM = "spectrum"
    XYZ = "xyz"


@dataclass(frozen=True, slots=True, eq=False)
class Swatch:
    """A measured patch.

    Parameters
    ----------
    paper
        The name of the paper it lies on.
    recipe
        What was laid, bottom first; the last step is the swatch's own colorant. An empty recipe is
        bare paper.
    reflectance
        Shape (36,), measured, or where `basis` is XYZ the smoothest one with that XYZ.
    basis
        Whether a spectrum or only XYZ was measured.
    spread
        Standard deviation within the patch or between replicates [CIELAB units, root of the mean
        square over L*, a*, b*]; 0 where unknown.
    flags
        What was noticed on reading: ``above-white`` (reflectance over 1), ``extended-bands``.
    """

    paper: str
    recipe: Recipe
    reflectance: FloatArray
    basis: Basis = Basis.SPECTRUM
    spread: float = 0.0
    flags: frozenset[str] = frozenset()
