"""Show one range on one paper: what is measured, what is assumed, what is missing."""

from dataclasses import dataclass

import numpy as np

from laydown.app.color_in_words import ColorInWords, reflectance_in_words
from laydown.app.kit_fits import kit_fit_for
from laydown.app.supplies import paper_named
from laydown.media.colorant import Colorant
from laydown.media.design import coats_of
from laydown.media.film_model import TREATMENTS, film_priors
from laydown.media.kit_design import missing, next_swatch
from laydown.media.kit_fit import AnyFit, MediumFit
from laydown.media.marker import MarkerFit
from laydown.media.priors import EFFECTS
from laydown.media.recipe import Recipe
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class ShowRange:
    """The range, the paper (empty for the only one), and whether to leave out what takes a while.

    That is the swatch that would help most: of a large range it takes seconds to find.
    """

    range: str
    paper: str = ""
    quick: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class ColorantShown:
    """A colorant as one even coat of it looks, and the most coats of it that were swatched."""

    colorant: Colorant
    one_coat: ColorInWords
    most_coats: int


@dataclass(frozen=True, slots=True)
class Effect:
    """An effect that all colorants share on the paper.

    Parameters
    ----------
    name
        Scale, later coat, lift, quick, soaked or wet.
    fitted, deviation
        Its value and standard deviation; of the strokes and the wait, natural logs of amounts.
    assumed
        Whether no swatch tells it, so that it keeps its prior.
    """

    name: str
    fitted: float
    deviation: float
    assumed: bool


@dataclass(frozen=True, slots=True, eq=False)
class RangeShown:
    """All that is known of a range on a paper.

    Parameters
    ----------
    range, paper
        Names.
    colorants
        Those swatched there, from light to dark.
    unmeasured
        Colorants of the range that were not swatched there.
    effects
        What they share.
    hand
        Standard deviation of the natural log of a coat's amount.
    odd, notes
        Sentences on the fit.
    missing
        What of the minimum design wasn't swatched.
    next_swatch
        The swatch that would make two coats of each colorant surest; empty where none would, or
        where it was left out.
    """

    range: str
    paper: str
    colorants: tuple[ColorantShown, ...]
    unmeasured: tuple[Colorant, ...]
    effects: tuple[Effect, ...]
    hand: float
    odd: tuple[str, ...]
    notes: tuple[str, ...]
    missing: tuple[Recipe, ...]
    next_swatch: str


def show_range(library: Library, request: ShowRange) -> RangeShown:
    """Show what is known of a range on a paper."""
    with library.look() as work:
        name = work.find_range(request.range).name
        paper = paper_named(work, request.paper)
        colorants = work.colorants(name)
    fit = kit_fit_for(library, [name], paper)
    one = _only(fit)
    known = set(fit.colorants)
    laid = [coats_of(c, 2) for c in fit.colorants if not c.blender]
    return RangeShown(
        range=name,
        paper=paper,
        colorants=_light_to_dark(one),
        unmeasured=tuple(c for c in colorants if c not in known),
        effects=_effects(one),
        hand=one.hand,
        odd=one.odd,
        notes=fit.notes,
        missing=missing(fit),
        next_swatch="" if request.quick else next_swatch(fit, laid)[1],
    )


def _only(fit: AnyFit) -> MediumFit:
    """Return the one fit of a range, which is of one medium."""
    return fit if isinstance(fit, MarkerFit) else fit.fits[0]


def _light_to_dark(fit: MediumFit) -> tuple[ColorantShown, ...]:
    coats = fit.one_coat if isinstance(fit, MarkerFit) else fit.references
    shown = [
        ColorantShown(colorant, reflectance_in_words(reflectance), int(most))
        for colorant, reflectance, most in zip(fit.colorants, coats, fit.most_coats, strict=True)
    ]
    return tuple(sorted(shown, key=lambda c: (-c.one_coat.value, c.colorant)))


def _effects(fit: MediumFit) -> tuple[Effect, ...]:
    names = EFFECTS if isinstance(fit, MarkerFit) else film_priors(fit.medium).names
    deviations = np.sqrt(np.diag(fit.covariance))
    told = frozenset(names) - fit.assumed if isinstance(fit, MarkerFit) else fit.told
    return tuple(
        Effect(name, float(value), float(deviation), name not in told)
        for name, value, deviation in zip(names, fit.effects, deviations[: len(names)], strict=True)
        if name in told or not name.startswith(TREATMENTS)
    )
