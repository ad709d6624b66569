"""What comes of laying: one color over another, each over each, and any pile under any light."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.app.fits.at_hand import Supplies, set_up
from laydown.app.matches.near import by_hue
from laydown.app.runs import named_colorant, shade_of
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.light_names import NamedLight, named_lights
from laydown.errors import BadRecipeError
from laydown.match.mud import chroma_lost
from laydown.match.words import difference
from laydown.media.kit.fit import AnyFit, predict
from laydown.media.recipe import Recipe, order_troubles
from laydown.media.recipe_words import recipe_words
from laydown.plan.run.runs import Shade, one_coats, shades_of
from laydown.reference.thresholds import thresholds
from laydown.store.library import Library

MOST_IN_GRID = 20
"""Colors along each side of a grid: what can be told apart on a screen (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """Another color, what comes of one coat of both, and whether that is muddy."""

    other: Shade
    made: Shade
    lost: float
    """How much less chroma it has than the two alone on average; below 0 it grew."""
    muddy: bool


@dataclass(frozen=True, slots=True, eq=False)
class OverlaysShown:
    """A color of the supplies with each other one laid over it, and with it laid over each."""

    kit: str
    paper: str
    colorant: Shade
    over: tuple[Overlay, ...]
    under: tuple[Overlay, ...]
    notes: tuple[str, ...]


def show_overlays(library: Library, colorant: str, supplies: Supplies) -> OverlaysShown:
    """Lay each other color of the supplies over one, and under it, in one coat each.

    Raises
    ------
    UnknownNameError
        For a name that is none of the supplies'.
    """
    wanted = named_colorant(library, colorant, supplies)
    bench = set_up(library, supplies)
    shades = one_coats(bench.whole, without=bench.without)
    own = shade_of(wanted, shades)
    others = by_hue(one for one in shades if one is not own)
    return OverlaysShown(
        kit=bench.label,
        paper=bench.whole.paper.name,
        colorant=own,
        over=_overlays(bench.whole, [(own, one) for one in others], others),
        under=_overlays(bench.whole, [(one, own) for one in others], others),
        notes=bench.notes,
    )


def _overlays(
    fit: AnyFit, pairs: Sequence[tuple[Shade, Shade]], others: Sequence[Shade]
) -> tuple[Overlay, ...]:
    """Lay pairs, the lower one first; those that ruin tools or work are left out."""
    laid = [Recipe(below.recipe.steps + above.recipe.steps) for below, above in pairs]  # type: ignore[union-attr]
    sound = [place for place, recipe in enumerate(laid) if not order_troubles(recipe)]
    made = shades_of(fit, [(recipe_words(laid[place]), laid[place]) for place in sound])
    return tuple(
        _overlay(others[place], pairs[place], one) for place, one in zip(sound, made, strict=True)
    )


def _overlay(other: Shade, pair: tuple[Shade, Shade], made: Shade) -> Overlay:
    alone, together = (np.hypot(*one.lab[1:]) for one in pair), np.hypot(*made.lab[1:])
    lost = float(sum(alone) / 2.0 - together)
    return Overlay(other, made, lost, lost >= thresholds()["mud"])


@dataclass(frozen=True, slots=True, eq=False)
class GridShown:
    """Colors of the supplies, each laid over each."""

    kit: str
    paper: str
    shades: tuple[Shade, ...]
    """Of both sides, by hue and from light to dark."""
    rows: tuple[tuple[Overlay, ...], ...]
    """Over each of them in turn: every other one, as far as the order ruins nothing."""
    left_out: int
    """How many more there are."""
    notes: tuple[str, ...]

    @property
    def by_loss(self) -> tuple[Overlay, ...]:
        """All of them, what lost most chroma first."""
        laid = (one for row in self.rows for one in row)
        return tuple(sorted(laid, key=lambda one: (-one.lost, one.made.name)))


def show_grid(library: Library, supplies: Supplies, *, skip: int = 0) -> GridShown:
    """Lay each color of the supplies over each other one, in one coat each.

    Parameters
    ----------
    skip
        Where there are too many for one grid, they are spread over all hues; others come with
        each number from 0.
    """
    bench = set_up(library, supplies)
    every = by_hue(one_coats(bench.whole, without=bench.without))
    stride = max(1, -(-len(every) // MOST_IN_GRID))
    shades = every[skip % stride :: stride]
    return GridShown(
        kit=bench.label,
        paper=bench.whole.paper.name,
        shades=shades,
        rows=tuple(
            _overlays(bench.whole, [(below, one) for one in others], others)
            for below in shades
            for others in [tuple(one for one in shades if one is not below)]
        ),
        left_out=len(every) - len(shades),
        notes=bench.notes,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A pile as it comes out, and what it is made of."""

    kit: str
    paper: str
    recipe: Recipe
    color: ColorInWords
    alone: tuple[Shade, ...]
    """Each of its steps by itself on the paper, bottom first."""
    lost: float
    """Chroma that layering takes; below 0 it grows."""
    muddy: bool
    turned: Recipe | None
    turned_lab: FloatArray | None
    turned_words: str
    """The same the other way round, its color, and how that differs; None and empty where it
    can't be done."""
    lights: tuple[tuple[NamedLight, FloatArray], ...]
    """What an eye used to each of the usual lights sees, in CIELAB."""
    warnings: tuple[str, ...]
    """Where the pile goes beyond what was swatched."""
    notes: tuple[str, ...]


def lay(library: Library, recipe: str, supplies: Supplies) -> Laid:
    """Lay a pile, and see what comes of it.

    Parameters
    ----------
    recipe
        The pile in its text form, bottom first.

    Raises
    ------
    BadRecipeError
        For what is no recipe, or an order that ruins tools or work.
    UnknownNameError
        For a name that is nowhere here.
    """
    bench = set_up(library, replace(supplies, over=recipe))
    fit, pile = bench.whole, bench.over
    if not pile.steps:
        raise BadRecipeError("Nothing was laid.", hint="Name a color, or touch one.")
    made, lost = predict(fit, pile), chroma_lost(fit, pile)
    alone = shades_of(fit, [(recipe_words(one), one) for s in pile.steps for one in [Recipe((s,))]])
    turned = Recipe(pile.steps[::-1])
    sound = len(pile.steps) > 1 and not order_troubles(turned)
    other = predict(fit, turned).lab if sound else None
    return Laid(
        kit=bench.label,
        paper=fit.paper.name,
        recipe=pile,
        color=in_words(made.lab),
        alone=alone,
        lost=lost,
        muddy=lost >= thresholds()["mud"],
        turned=turned if sound else None,
        turned_lab=other,
        turned_words=difference(made.lab, other).words if other is not None else "",
        lights=tuple(
            (one, lab_from_reflectance(made.reflectance, weights=one.weights))
            for one in named_lights()
            if one.usual
        ),
        warnings=made.warnings,
        notes=bench.notes,
    )
