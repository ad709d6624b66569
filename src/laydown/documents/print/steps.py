"""A recipe in words, and its layers as they are drawn: from the paper up."""

from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color
from laydown.media.laydown import ONE_COAT, Laydown
from laydown.media.prediction import Prediction
from laydown.media.recipe import AnyStep, Recipe, TreatmentStep


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
    return Layer(step.words, _how(step.laydown), step.laydown.coats, fill)


def _how(laid: Laydown) -> str:
    coats = f"{laid.coats} coat{'s' if laid.coats != 1 else ''}"
    return ", ".join([coats, *_unusual(laid)])


def _unusual(laid: Laydown) -> list[str]:
    usual = ONE_COAT
    words = [
        (laid.stroke, usual.stroke, f"{laid.stroke}"),
        (laid.pressure, usual.pressure, f"{laid.pressure} pressure"),
        (laid.dilution, usual.dilution, f"{laid.dilution:.0%} water"),
        (laid.wait, usual.wait, "while wet"),
    ]
    return [said for have, plain, said in words if have != plain]


def say_recipe(recipe: Recipe) -> str:
    """Write a recipe for people.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> from laydown.media.recipe import Step
    >>> kelp, dune = Colorant("Kelp", "Estuary"), Colorant("Dune", "Estuary")
    >>> say_recipe(Recipe((Step(kelp, Laydown(coats=2)), Step(dune))))
    'Kelp, 2 coats; then Dune, 1 coat'
    >>> say_recipe(Recipe())
    'Bare paper'
    """
    if not recipe.steps:
        return "Bare paper"
    layers = [_layer(step, "") for step in recipe.steps]
    return "; then ".join(
        f"{layer.name}, {layer.how}" if layer.coats else f"{layer.name} {layer.how}"
        for layer in layers
    )
