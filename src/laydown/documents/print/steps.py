"""A recipe's layers as they are drawn: overlapping strokes, in the order of laying."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color
from laydown.media.recipe import Recipe
from laydown.media.recipe_words import step_words


@dataclass(frozen=True, slots=True)
class Layer:
    """One step as it is drawn."""

    words: str
    """What to do, such as “2 coats Kelp”."""
    fills: tuple[str, ...]
    """The step's color alone on the paper, then with each later step over it, ``#rrggbb``; empty
    where nobody worked them out."""

    @property
    def own(self) -> str:
        """The step's color alone on the paper; white where it is unknown."""
        return self.fills[0] if self.fills else "#ffffff"


def layers_of(recipe: Recipe, strokes: Sequence[FloatArray]) -> tuple[Layer, ...]:
    """Return a recipe's layers, bottom first.

    Parameters
    ----------
    recipe
        What is laid.
    strokes
        As `plan.chart.Chart.layers` has them for the recipe; empty where unknown.
    """
    known: Sequence[Iterable[FloatArray]] = strokes or [()] * len(recipe.steps)
    below = (None, *recipe.steps)[: len(recipe.steps)]
    return tuple(
        Layer(step_words(step, under), tuple(screen_color(lab).hex for lab in labs))
        for step, under, labs in zip(recipe.steps, below, known, strict=True)
    )


def stroke_areas(
    layers: Sequence[Layer],
) -> Iterator[tuple[tuple[float, float, float, float], str]]:
    """Yield what is to be painted, in order: x, y, width and height in a unit square, and the fill.

    Each stroke begins a little to the right of and below the one before, so that its own color
    stays bare at two corners, and steps that follow each other overlap in every way they can.

    Examples
    --------
    >>> list(stroke_areas([Layer("1 coat Kelp", ("#334433",))]))
    [((0.0, 0.0, 1.0, 1.0), '#334433')]
    """
    count = len(layers)
    offset = 0.0 if count < 2 else 1.0 / (count + 1.5)
    side = 1.0 - (count - 1) * offset
    for over in range(count):
        for first, layer in enumerate(layers[: count - over]):
            if over < len(layer.fills):
                start = (first + over) * offset
                reach = first * offset + side - start
                yield (start, start, reach, reach), layer.fills[over]
