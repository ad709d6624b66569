"""Designs over all media: which swatches a kit needs, what of them is missing, which helps most."""

from collections.abc import Sequence

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.film.design import minimum_film_design
from laydown.media.kit.fit import AnyFit
from laydown.media.laydown import Medium
from laydown.media.marker import design
from laydown.media.recipe import Recipe


def minimum_design(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None = None
) -> tuple[Recipe, ...]:
    """Return the swatches that a kit on a paper needs, bare paper first and once.

    Parameters
    ----------
    colorants
        Of any media.
    strengths
        How strong each is, in the same order; otherwise from pale to dark as given.

    Examples
    --------
    >>> pencils = [Colorant(f"Leaf {i}", "Meadow", Medium.PENCIL) for i in range(24)]
    >>> len(minimum_design(pencils)), minimum_design([]) == (Recipe(),)
    (59, True)
    """
    given = list(range(len(colorants))) if strengths is None else list(strengths)
    recipes: list[Recipe] = [Recipe()]
    for medium in Medium:
        own = [(c, s) for c, s in zip(colorants, given, strict=True) if c.medium is medium]
        make = design.minimum_design if medium is Medium.MARKER else minimum_film_design
        if own:
            recipes += make([c for c, _ in own], [s for _, s in own])[1:]
    return tuple(recipes)


def missing(fit: AnyFit) -> tuple[Recipe, ...]:
    """Return what of the minimum design hasn't been swatched, medium by medium."""
    return tuple(dict.fromkeys(recipe for one in fit.fits for recipe in one.missing()))


def swatched(fit: AnyFit) -> frozenset[Recipe]:
    """Return all recipes that the fits were made from."""
    return frozenset(recipe for one in fit.fits for recipe in one.swatched)


def next_swatch(fit: AnyFit, recipes: Sequence[Recipe]) -> tuple[Recipe, str]:
    """Return the one swatch that would make the given recipes' colors surest, and why."""
    parts = [part for recipe in recipes for part in fit.parts(recipe)]
    for medium in Medium:
        own = [part for kind, part in parts if kind is medium]
        swatch, why = fit.of(medium).next_swatch(own) if own else (Recipe(), "")
        if why:
            return swatch, why
    return Recipe(), ""
