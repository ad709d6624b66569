"""A recipe's layers as they are drawn: from the paper up."""

from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color
from laydown.media.prediction import Prediction
from laydown.media.recipe import AnyStep, TreatmentStep
from laydown.media.recipe_words import coats_words, unusual_words


@dataclass(frozen=True, slots=True)
class Layer:
    """One step as it is drawn.

    Parameters
    ----------
    name
        The colorant's, or what is done.
    how
        Coats and all that is unusual, in words.
    coats
        How many; 0 for a treatment, which adds none.
    fill
        The color of the pile after it, ``#rrggbb``; empty where nobody worked it out.
    """

    name: str
    how: str
    coats: int
    fill: str


def layers_of(prediction: Prediction, piles: FloatArray) -> tuple[Layer, ...]:
    """Return a recipe's layers, bottom first.

    Parameters
    ----------
    prediction
        The recipe with its final color.
    piles
        Shape (steps, 3), CIELAB of the pile after each step; shape (0, 3) where unknown, and then
        the last layer alone has its color, which is the prediction's.
    """
    steps = prediction.recipe.steps
    if not steps:
        return ()
    fills = [screen_color(lab).hex for lab in piles] if len(piles) else [""] * len(steps)
    fills[-1] = screen_color(prediction.lab).hex
    return tuple(_layer(step, fill) for step, fill in zip(steps, fills, strict=True))


def _layer(step: AnyStep, fill: str) -> Layer:
    if isinstance(step, TreatmentStep):
        return Layer(str(step.treatment), f"by {step.tool}", 0, fill)
    how = ", ".join([coats_words(step), *unusual_words(step)])
    return Layer(step.words, how, step.laydown.coats, fill)
