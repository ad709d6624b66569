"""Recipes by value alone: lights and darks as wanted, in whatever hue the kit holds them."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.repertoire import Repertoire
from laydown.reference.thresholds import thresholds


def recipe_of_value(held: Repertoire, wanted: FloatArray, *, steps: int = 9) -> tuple[int, float]:
    """Choose the recipe that has a color's value, whatever its hue.

    Of all recipes whose value can't be told from the one wanted, those of the fewest steps; of
    those the one nearest in color. Where none has that value, the nearest in value.

    Parameters
    ----------
    held
        All short recipes of the kit.
    wanted
        Shape (3,), the color.
    steps
        Of a recipe, at most.

    Returns
    -------
    tuple
        Its place in `held`, and how far it is off in value, whichever way.

    Examples
    --------
    ``held.recipe(recipe_of_value(held, lab)[0])``
    """
    count = np.sum(held.members >= 0, axis=1)
    off = np.abs(value_from_lab(held.lab) - float(value_from_lab(wanted)))
    off = np.where(count <= steps, off, np.inf)
    right = off <= max(thresholds()["value right"], float(off.min()) + 1e-9)
    plain = np.flatnonzero(right & (count == count[right].min()))
    nearest = plain[int(np.argmin(ciede2000(wanted, held.lab[plain])))]
    return int(nearest), float(off[nearest])
