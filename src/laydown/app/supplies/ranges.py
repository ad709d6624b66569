"""Ranges: what there is, what is known of one on a paper, and what the trade says of a pan."""

from dataclasses import dataclass, replace

import numpy as np

from laydown.app import fits
from laydown.app.words import ColorInWords, reflectance_in_words
from laydown.media.film.priors import TREATMENTS
from laydown.media.inference.fit import Fit
from laydown.media.kit.fit import missing, next_swatch
from laydown.media.marker.design import coats_of
from laydown.media.pan_marks import MarkedPan, advice, parse_marks
from laydown.media.recipe import Colorant, Recipe
from laydown.store.library import Library
from laydown.store.records import Range

__all__ = ["Range"]


def list_ranges(library: Library) -> tuple[Range, ...]:
    """List all ranges with how much of each was swatched where, sorted by name."""
    with library.look() as work:
        known, covered = work.ranges(), work.coverage()
    return tuple(replace(r, on=tuple(c for c in covered if c.range == r.name)) for r in known)


def papers_of_range(library: Library, name: str) -> tuple[str, ...]:
    """Return the papers that a range was swatched on, sorted by name."""
    with library.look() as work:
        return tuple(covered.paper for covered in work.coverage(name))


@dataclass(frozen=True, slots=True, eq=False)
class ColorantShown:
    """A colorant as one even coat of it looks, and the most coats of it that were swatched."""

    colorant: Colorant
    one_coat: ColorInWords
    most_coats: int


@dataclass(frozen=True, slots=True)
class Effect:
    """An effect that all colorants share on the paper."""

    name: str
    """Scale, later coat, lift, quick, soaked or wet."""
    fitted: float
    deviation: float
    """Its value and standard deviation; of the strokes and the wait, natural logs of amounts."""
    assumed: bool
    """Whether no swatch tells it, so that it keeps its prior."""


@dataclass(frozen=True, slots=True, eq=False)
class RangeShown:
    """All that is known of a range on a paper."""

    range: str
    paper: str
    colorants: tuple[ColorantShown, ...]
    """Those swatched there, from light to dark."""
    unmeasured: tuple[Colorant, ...]
    """Colorants of the range that were not swatched there."""
    effects: tuple[Effect, ...]
    hand: float
    """Standard deviation of the natural log of a coat's amount."""
    odd: tuple[str, ...]
    notes: tuple[str, ...]
    missing: tuple[Recipe, ...]
    """What of the minimum design wasn't swatched."""
    next_swatch: str
    """The swatch that would make two coats of each colorant surest; empty where none would, or
    where it was left out."""
    marked: tuple[MarkedPan, ...]
    """Its pans of which the trade says something."""


def show_range(library: Library, range: str, paper: str = "", *, quick: bool = False) -> RangeShown:
    """Show what is known of a range on a paper.

    `range` and `paper`: names; an empty paper is the only one. `quick` says whether to leave out
    the swatch that would help most: of a large range it takes seconds.
    """
    with library.look() as work:
        name = work.find_range(range).name
        paper = fits.paper_named(work, paper)
        colorants = work.colorants(name)
        marked = tuple(m for m in work.pan_marks.all() if m.colorant.range == name)
    fit = fits.kit_fit_for(library, (name,), paper)
    one = fit.fits[0]  # a range is of one medium
    known = set(fit.colorants)
    laid = [coats_of(c, 2) for c in fit.colorants if not c.blender]
    return RangeShown(
        range=name,
        paper=paper,
        colorants=_light_to_dark(one),
        unmeasured=tuple(c for c in colorants if c not in known),
        effects=_effects(one),
        hand=one.noise.hand,
        odd=one.odd,
        notes=fit.notes,
        missing=missing(fit),
        next_swatch="" if quick else next_swatch(fit, laid)[1],
        marked=marked,
    )


def _light_to_dark(fit: Fit) -> tuple[ColorantShown, ...]:
    shown = [
        ColorantShown(colorant, reflectance_in_words(reflectance), int(most))
        for colorant, reflectance, most in zip(
            fit.colorants, fit.one_coat, fit.most_coats, strict=True
        )
    ]
    return tuple(sorted(shown, key=lambda c: (-c.one_coat.value, c.colorant)))


def _effects(fit: Fit) -> tuple[Effect, ...]:
    names, told = fit.priors.names, fit.told_effects
    deviations = np.sqrt(np.diag(fit.covariance))
    return tuple(
        Effect(name, float(value), float(deviation), name not in told)
        for name, value, deviation in zip(names, fit.effects, deviations[: len(names)], strict=True)
        if name in told or not name.startswith(TREATMENTS)
    )


def remove_range(library: Library, name: str, *, with_swatches: bool = False) -> int:
    """Remove a range, out of kits too; return how many swatches went, which they must be let."""
    with library.work(f"remove the range {name}") as work:
        return work.remove_range(name, with_swatches=with_swatches)


NO_MARKS = "none"
"""Takes the marks of a pan back."""


def mark_pan(library: Library, name: str, marks: tuple[str, ...]) -> MarkedPan:
    """Say all that the trade says of a pan, in place of what was said before.

    `name`: its name, ``Range/Name`` or owner's code. `marks`: see
    `laydown.media.pan_marks.PanMark`; ``none`` alone, or nothing, takes all back. Raises
    `PanMarkError` for what is no mark, marks at odds, and for what is no pan.
    """
    read = () if [m.casefold() for m in marks] == [NO_MARKS] else parse_marks(marks)
    with library.work(f"mark {name} as {', '.join(read) or NO_MARKS}") as work:
        pan = work.find_colorant(name)
        work.pan_marks.mark(pan, read)
    return MarkedPan(pan, read)


def advice_by_marks(library: Library, recipe: Recipe) -> tuple[str, ...]:
    """Return what the marks of its pans say to whoever lays a recipe."""
    with library.look() as work:
        marked = work.pan_marks.all()
    return advice(recipe, {one.colorant.label: one.marks for one in marked})
