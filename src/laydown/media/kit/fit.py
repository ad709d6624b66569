"""A kit of several media on one paper, behind the one face that each model has.

A recipe falls into segments of one medium each. A segment acts on the reflectance that lies below
it as on its paper. Kits of markers alone are a `MarkerFit` and stay what they were.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant, Paper
from laydown.media.film.laying import pile_reflectance, thinned
from laydown.media.film.model import FilmFit
from laydown.media.film.predicting import (
    film_leeway,
    film_offsets,
    film_outside,
    film_pile,
    film_predict,
)
from laydown.media.kit.soaking import Soaked, over_wash, soaked, soaking
from laydown.media.laydown import Medium
from laydown.media.marker import marker
from laydown.media.marker.absorption import absorption, inverse
from laydown.media.marker.marker import MarkerFit
from laydown.media.marker.noise import bears_on
from laydown.media.marker.pile import laid_steps, one_coat_absorptions, pile_of, unchanged
from laydown.media.marker.predicting import ground_of, tried_spectra
from laydown.media.marker.shapes import Leeway, Name
from laydown.media.prediction import Prediction
from laydown.media.recipe import AnyStep, Recipe, Step, check_order

MediumFit: TypeAlias = MarkerFit | FilmFit


@dataclass(frozen=True, slots=True, eq=False)
class KitFit:
    """What is known of a kit's media on one paper.

    Parameters
    ----------
    markers, pencils, washes
        The fit of each medium; None for one that the kit lacks. At least one, all on one paper.
    """

    markers: MarkerFit | None = None
    pencils: FilmFit | None = None
    washes: FilmFit | None = None

    def __post_init__(self) -> None:
        if len({fit.paper.name for fit in self.fits}) != 1:
            raise ValueError("a kit's fits lie on one paper, and there is at least one")

    @property
    def fits(self) -> tuple[MediumFit, ...]:
        """The fits that are there."""
        return tuple(f for f in (self.markers, self.pencils, self.washes) if f is not None)

    @property
    def paper(self) -> Paper:
        """The paper of all of them."""
        return self.fits[0].paper

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """All colorants, markers first."""
        return tuple(c for fit in self.fits for c in fit.colorants)

    @property
    def assumed(self) -> frozenset[str]:
        """What no swatch tells, by medium."""
        named = {"marker": self.markers, "pencil": self.pencils, "wash": self.washes}
        return frozenset(f"{n} {a}" for n, fit in named.items() if fit for a in fit.assumed)

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences on the fits as a whole."""
        return tuple(dict.fromkeys(note for fit in self.fits for note in fit.notes))

    def of(self, medium: Medium) -> MediumFit:
        """Return the fit of a medium.

        Raises
        ------
        NotMeasuredError
            Where the kit has none.
        """
        fits = {
            Medium.MARKER: self.markers,
            Medium.PENCIL: self.pencils,
            Medium.WASH: self.washes,
        }
        found = fits[medium]
        if found is None:
            raise NotMeasuredError(
                f"No {medium} of this kit has been swatched on {self.paper.name}.",
                hint="Lay one coat of a few of them there, measure and import them.",
            )
        return found


AnyFit: TypeAlias = MarkerFit | KitFit
Axes: TypeAlias = Mapping[Medium, FloatArray]
"""By medium, along which parameters are tried: shape (m, parameters of the recipe's part)."""
NO_AXES: Axes = MappingProxyType({})


def assumed_for(fit: AnyFit, recipe: Recipe) -> frozenset[str]:
    """Return what a recipe's color depends on and no swatch tells, named as in the fit."""
    if isinstance(fit, MarkerFit):
        return fit.assumed & bears_on(recipe)
    media = {step.colorant.medium for step in recipe.steps if isinstance(step, Step)}
    markers = Recipe(
        tuple(s for m, part in segments(recipe) if m is Medium.MARKER for s in part.steps)
    )
    named = {f"{Medium.MARKER} {effect}" for effect in bears_on(markers)}
    films = tuple(f"{medium} " for medium in media if medium is not Medium.MARKER)
    told = frozenset(a for a in fit.assumed if a in named or a.startswith(films))
    told |= {"marker over wash"} if over_wash(recipe)[0].steps else frozenset()
    return told | {f"{medium} under solvent" for medium in soaking(recipe)}


FROM_BELOW = (Medium.MARKER, Medium.WASH, Medium.PENCIL)
"""How media lie on each other in the end, whatever order they were laid in."""
STAYS = 0.5
"""Standard deviation of the share of a marker's dye that stays on a dry wash below it (chosen)."""


def segments(recipe: Recipe) -> tuple[tuple[Medium, Recipe], ...]:
    """Take a recipe apart into its media from below; treatments belong to the pencil.

    A marker over a dry wash comes first: its dye is taken to go through the wash into the paper.

    Raises
    ------
    BadRecipeError
        For an order that ruins tools or work.
    """
    check_order(recipe)
    by_medium: dict[Medium, list[AnyStep]] = {medium: [] for medium in FROM_BELOW}
    for step in recipe.steps:
        medium = step.colorant.medium if isinstance(step, Step) else Medium.PENCIL
        by_medium[medium].append(step)
    return tuple((medium, Recipe(tuple(steps))) for medium, steps in by_medium.items() if steps)


@dataclass(frozen=True, slots=True, eq=False)
class Segment:
    """A segment of a recipe: its fit, its steps, and what solvent above leaves of them."""

    medium: Medium
    fit: MediumFit
    recipe: Recipe
    soaked: Soaked

    def over(self, below: FloatArray) -> FloatArray:
        """Lay it on grounds, as `segment_reflectance` does."""
        return segment_reflectance(self.fit, self.recipe, below, share=self.soaked.share)

    def more_or_less(self, below: FloatArray) -> FloatArray:
        """Return its reflectance with as much left as is likely, then with more, then with less.

        Shape (3, 36); shape (0, 36) where nothing soaks through to it.
        """
        if self.soaked.untouched:
            return np.zeros((0, below.shape[-1]))
        steps = np.array([0.0, 1.0, -1.0]) * self.soaked.deviation
        shares = np.clip(self.soaked.share + steps, 0.0, None).tolist()
        return np.array(
            [segment_reflectance(self.fit, self.recipe, below, share=left) for left in shares]
        )


def runs(fit: KitFit, recipe: Recipe) -> tuple[Segment, ...]:
    """Return the segments of a recipe, each with its fit and what solvent above leaves of it.

    Raises
    ------
    BadRecipeError, NotMeasuredError
        As `reflectance` does.
    """
    parts = segments(recipe)
    return tuple(
        Segment(medium, fit.of(medium), part, _left(medium, parts[number + 1 :]))
        for number, (medium, part) in enumerate(parts)
    )


def _left(medium: Medium, above: Sequence[tuple[Medium, Recipe]]) -> Soaked:
    return soaked(medium, Recipe(tuple(step for _, part in above for step in part.steps)))


def segment_reflectance(
    fit: MediumFit, recipe: Recipe, below: FloatArray, *, share: float = 1.0
) -> FloatArray:
    """Lay a segment on grounds.

    Parameters
    ----------
    fit
        Of its medium.
    recipe
        Of that medium only.
    below
        Shape (…, 36).
    share
        What is left of it.

    Returns
    -------
    FloatArray
        Shape (…, 36), rising in `below` band by band: films are (`laydown.media.film.film`), and a
        marker's absorption adds on a scale that falls in it.
    """
    flat = below.reshape(-1, below.shape[-1])
    if isinstance(fit, FilmFit):
        return pile_reflectance(thinned(film_pile(fit, recipe), share), flat).reshape(below.shape)
    ground, used = ground_of(fit, recipe)
    steps = laid_steps(recipe)
    variants = unchanged(fit.effects, steps=len(steps), colorants=len(used))
    _, added = one_coat_absorptions(ground, variants)
    pile, _ = pile_of(steps, added, variants)
    beneath = absorption(flat / fit.ceiling, scale=fit.scale)
    laid = fit.ceiling * inverse(beneath + share * pile.absorption, scale=fit.scale)
    return np.asarray(laid).reshape(below.shape)


def reflectance(fit: AnyFit, recipe: Recipe) -> FloatArray:
    """Predict the reflectance of a recipe of any media, shape (36,).

    Raises
    ------
    BadRecipeError
        For steps or an order that can't be done.
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    if isinstance(fit, MarkerFit):
        return marker.reflectance(fit, recipe)
    return _through(runs(fit, recipe), np.array(fit.paper.reflectance))


def _through(laid: Sequence[Segment], seen: FloatArray) -> FloatArray:
    for run in laid:
        seen = run.over(seen)
    return seen


def outside(fit: AnyFit, recipe: Recipe) -> tuple[str, ...]:
    """Say in what ways a recipe lies outside what the fits were made from; empty inside."""
    if isinstance(fit, MarkerFit):
        return marker.outside(fit, recipe)
    parts = segments(recipe)
    said = [word for medium, part in parts for word in _outside(fit.of(medium), part)]
    if len(parts) > 1:
        laid = [step.colorant.medium for step in recipe.steps if isinstance(step, Step)]
        named = " over ".join(medium for medium, _ in groupby(reversed(laid)))
        said.append(f"No swatch shows {named}: how they lie on each other is reckoned.")
    if over_wash(recipe)[0].steps:
        said.append("A marker's dye is taken to go through the wash below it: that is assumed.")
    said += [_soaks(medium) for medium in sorted(soaking(recipe))]
    if len(parts) > 1 and recipe.coats > fit.paper.coats_limit:
        said.append(f"{recipe.coats} coats in all: {fit.paper.name} bears {fit.paper.coats_limit}.")
    return tuple(dict.fromkeys(said))


def _soaks(medium: Medium) -> str:
    return f"Solvent soaks through to the {medium} below; how much of it comes off is assumed."


def _outside(fit: MediumFit, recipe: Recipe) -> tuple[str, ...]:
    if isinstance(fit, MarkerFit):
        return marker.outside(fit, recipe)
    return film_outside(fit, recipe)


def predict(fit: AnyFit, recipe: Recipe) -> Prediction:
    """Predict a recipe's color, dry, and how sure it is.

    Raises
    ------
    BadRecipeError
        For steps or an order that can't be done.
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    if isinstance(fit, MarkerFit):
        return marker.predict(fit, recipe)
    parts = segments(recipe)
    if len(parts) <= 1:
        return _predict_one(fit, recipe, parts[0][0] if parts else None)
    spectrum = reflectance(fit, recipe)
    return Prediction(
        recipe=recipe,
        reflectance=spectrum,
        lab=lab_from_reflectance(spectrum),
        covariance=_leeway(fit, recipe, NO_AXES).covariance(),
        warnings=outside(fit, recipe),
    )


def _predict_one(fit: KitFit, recipe: Recipe, medium: Medium | None) -> Prediction:
    one = fit.fits[0] if medium is None else fit.of(medium)
    return marker.predict(one, recipe) if isinstance(one, MarkerFit) else film_predict(one, recipe)


def leeway(fit: AnyFit, recipe: Recipe, axes: Axes = NO_AXES) -> Leeway:
    """Return what is left open of a recipe's color, as spectra to be seen under any light.

    Parameters
    ----------
    fit, recipe
        As for `predict`.
    axes
        Along which parameters are tried; the principal ones of a medium that has none.

    Raises
    ------
    BadRecipeError, NotMeasuredError
        As `predict` does.
    """
    if isinstance(fit, MarkerFit):
        return marker.leeway(fit, recipe, axes.get(Medium.MARKER))
    parts = segments(recipe)
    if len(parts) > 1:
        return _leeway(fit, recipe, axes)
    one = fit.of(parts[0][0]) if parts else fit.fits[0]
    along = axes.get(parts[0][0]) if parts else None
    if isinstance(one, MarkerFit):
        return marker.leeway(one, recipe, along)
    return film_leeway(one, recipe, along)


def guessed_spectra(fit: AnyFit, recipe: Recipe) -> tuple[Colorant, ...]:
    """Return the colorants of a recipe of which no spectrum was measured, XYZ alone."""
    fits = (fit,) if isinstance(fit, MarkerFit) else fit.fits
    guessed = {
        c for one in fits for c, known in zip(one.colorants, one.xyz_only, strict=True) if known
    }
    return tuple(colorant for colorant in recipe.colorants if colorant in guessed)


def _leeway(fit: KitFit, recipe: Recipe, axes: Axes) -> Leeway:
    """Return what each run leaves open, seen through those above it."""
    laid, tried, misfit = runs(fit, recipe), list[tuple[FloatArray, tuple[Name, ...]]](), 0.0
    below = np.array(fit.paper.reflectance)
    for number, run in enumerate(laid):
        soaks = run.more_or_less(below), (("soaks", run.medium),)
        for seen, names in (_tried(run, below, axes.get(run.medium)), soaks):
            tried += [(_through(laid[number + 1 :], seen), names)] if len(seen) else []
        misfit += run.fit.misfit**2 * len(run.recipe.steps)
        below = run.over(below)
    tried += [(seen, (("stays",),)) for seen in _staying(fit, recipe)]
    return Leeway(
        tuple(seen for seen, _ in tried),
        (max(one.measuring for one in fit.fits) ** 2 + misfit) * np.eye(3),
        tuple(names for _, names in tried),
        {("misfit", recipe.key): misfit},
    )


def _staying(fit: KitFit, recipe: Recipe) -> tuple[FloatArray, ...]:
    """Return what dye that stays on a wash does, as spectra (3, 36); nothing without any.

    Were all of it a clear film on top of everything shows how far that may go.
    """
    late, rest = over_wash(recipe)
    if not late.steps:
        return ()
    seen = reflectance(fit, recipe)
    on_top = reflectance(fit, rest) * reflectance(fit, late) / fit.paper.reflectance
    moved = STAYS * (on_top - seen)
    return (np.clip([seen, seen + moved, seen - moved], 1e-4, None),)


def _tried(
    run: Segment, below: FloatArray, axes: FloatArray | None
) -> tuple[FloatArray, tuple[Name, ...]]:
    """Return a run's spectra with each thing left open tried to either side, and their names."""
    fit, share = run.fit, run.soaked.share
    if isinstance(fit, FilmFit):
        return film_offsets(fit, run.recipe, below, share=share, axes=axes)
    spectra, names = tried_spectra(fit, run.recipe, *ground_of(fit, run.recipe), axes)
    paper = absorption(fit.paper.reflectance / fit.ceiling, scale=fit.scale)
    beneath = absorption(below / fit.ceiling, scale=fit.scale)
    added = absorption(spectra / fit.ceiling, scale=fit.scale) - paper
    laid = fit.ceiling * inverse(beneath + share * added, scale=fit.scale)
    return np.asarray(laid), names
