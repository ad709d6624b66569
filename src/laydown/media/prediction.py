"""What a model says of a recipe: its reflectance, its color, and how sure that is."""

from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.media.recipe import Recipe


@dataclass(frozen=True, slots=True, eq=False)
class Prediction:
    """A recipe's color as a model expects it, dry, under D50."""

    recipe: Recipe
    """What is laid, bottom first."""
    reflectance: FloatArray
    """Shape (36,)."""
    lab: FloatArray
    """Shape (3,), CIELAB for D50 and the 2° observer."""
    covariance: FloatArray
    """Shape (3, 3), of `lab`: swatch spread, fit and hand together."""
    warnings: tuple[str, ...] = ()
    """One sentence for each way in which the recipe lies outside what was fitted; empty inside."""
