"""What a fit says of itself: which colorants it knows, how far they were tried, what is odd."""

from collections.abc import Collection, Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant, Key, Paper, key_of
from laydown.media.inference.fitting import Observation
from laydown.media.inference.posterior import FACTORS
from laydown.media.inference.priors import BoolArray, Noise, Priors
from laydown.media.recipe import Recipe, Step, format_recipe
from laydown.media.swatch import Swatch

MOST_NOISE = float(FACTORS[-2])
"""Noise is at the end of what is tried from so many times the usual on."""
ENDS = {
    "scale": "How deep your color goes into the paper",
    "sunk": "How deep your color goes into the paper",
    "later coat": "What a second coat adds",
    "second": "What a second coat adds",
    "quick": "What a quick stroke lays",
    "soaked": "What a soaked stroke lays",
    "wet": "What a coat over wet color adds",
    "scatter": "How much your colors cover",
    "depth": "How far a pencil reaches into the paper's tooth",
    "light": "What a light hand lays",
    "light depth": "How far a light hand reaches into the paper's tooth",
    "heavy": "What a heavy hand lays",
    "heavy depth": "How far a heavy hand reaches into the paper's tooth",
    "water": "What water does",
    "glare": "How much the dry paper shines",
}
"""Effects in words, to say of one that it lies on an end of what it can be."""
GUESSED_NOTE = "Spectra were guessed from XYZ: layers are less sure than from spectra."


def known_colorants(
    colorants: Sequence[Colorant], swatches: Sequence[Swatch], known: Collection[Key], paper: Paper
) -> tuple[Colorant, ...]:
    """Return the colorants that are known: as the kit lists them, then as swatches name them.

    Raises
    ------
    NotMeasuredError
        Where there is none with a color.
    """
    listed = [*colorants, *(c for s in swatches for c in s.recipe.colorants)]
    first: dict[Key, Colorant] = {}
    for colorant in listed:
        if colorant.blender or key_of(colorant) in known:
            first.setdefault(key_of(colorant), colorant)
    if all(c.blender for c in first.values()):
        raise NotMeasuredError(
            f"No colorant has been swatched on {paper.name}.",
            hint="Lay one coat of a few colorants on it, measure and import them.",
        )
    return tuple(first.values())


def most_coats(colorants: Sequence[Colorant], recipes: Sequence[Recipe]) -> FloatArray:
    """Return the most coats of each colorant in one recipe, shape (n,)."""
    most: dict[Colorant, float] = {}
    for recipe in recipes:
        for colorant in recipe.colorants:
            most[colorant] = max(most.get(colorant, 0.0), _coats(colorant, recipe))
    return np.array([most.get(colorant, 0.0) for colorant in colorants])


def _coats(colorant: Colorant, recipe: Recipe) -> float:
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    laid = [step for step in steps if colorant in [part.colorant for part in step.parts]]
    return float(sum(step.laydown.coats for step in laid))


def odd_swatches(
    observations: Sequence[Observation], distances: FloatArray, *, limit: float
) -> tuple[str, ...]:
    """Return a sentence for each swatch farther from the rest than so many deviations."""
    return tuple(
        f"{format_recipe(seen.model.recipe)}: {d:.1f} standard deviations from the rest; "
        "check this swatch."
        for seen, d in zip(observations, distances, strict=True)
        if d > limit
    )


def usual_notes(
    paper: Paper, colorants: Sequence[Colorant], known: Sequence[Colorant]
) -> tuple[str, ...]:
    """Return what any fit has to say: which of the kit's colorants are missing, and the paper."""
    keys = {key_of(c) for c in known}
    missing = [c.name for c in colorants if key_of(c) not in keys]
    said = [f"Not swatched on {paper.name}: {', '.join(missing)}."] if missing else []
    if not paper.measured:
        said.append(f"Bare {paper.name} was not measured: a usual white is assumed.")
    return tuple(said)


def notes_on_ends(
    priors: Priors, effects: FloatArray, told: BoolArray, noise: Noise
) -> tuple[str, ...]:
    """Return a sentence for each number of a fit that lies on an end of what it can be.

    Parameters
    ----------
    priors
        With what effects can be; noise can be the last of `FACTORS` times what is usual.
    effects
        Shape (E,), as they were fitted.
    told
        Shape (E,), which of them swatches tell.
    noise
        As it was found.
    """
    there = told & priors.capped & ((effects <= priors.lowest) | (effects >= priors.highest))
    words = dict.fromkeys(
        _in_words(name) for name, at_end in zip(priors.names, there, strict=True) if at_end
    )
    said = [
        f"{what} came out at the end of what I can tell: layers are less sure." for what in words
    ]
    if max(noise.hand / priors.hand, noise.misfit / priors.misfit) >= MOST_NOISE:
        said.append("Your swatches differ more than I allow for. Are two of them mixed up?")
    return tuple(said)


def _in_words(effect: str) -> str:
    """Say what an effect is; of a treatment, what that does."""
    return ENDS.get(effect) or f"What {effect.rpartition(' ')[0]} does"
