"""A kit of several media on one paper, behind the one face that the fit of each medium has.

A recipe falls into segments of one medium each. A segment acts on the reflectance that lies below
it as on its paper. The fit of one medium is a kit of that medium.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant, Paper
from laydown.media.film.model import FilmFit
from laydown.media.inference import prediction
from laydown.media.inference.leeway import Leeway, Name
from laydown.media.kit.soaking import Soaked, over_wash, soaked, soaking
from laydown.media.laydown import Medium
from laydown.media.marker.model import MarkerFit
from laydown.media.prediction import Prediction
from laydown.media.recipe import AnyStep, Recipe, Step, check_order

MediumFit: TypeAlias = MarkerFit | FilmFit


@dataclass(frozen=True, slots=True, eq=False)
class KitFit:
    """What is known of a kit's media on one paper."""

    markers: MarkerFit | None = None
    pencils: FilmFit | None = None
    washes: FilmFit | None = None
    """The fit of each medium; None for one that the kit lacks. At least one, all on one paper."""

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

    def mapped(self, change: Callable[[Any], Any]) -> "KitFit":
        """Return the kit with the fit of each medium changed."""
        there = (self.markers, self.pencils, self.washes)
        return KitFit(*(None if fit is None else change(fit) for fit in there))

    def parts(self, recipe: Recipe) -> tuple[tuple[Medium, Recipe], ...]:
        """Take a recipe apart into its media; see `segments`."""
        return segments(recipe)

    def assumed_for(self, recipe: Recipe) -> frozenset[str]:
        """Return what a recipe's color depends on and no swatch tells, named as in `assumed`."""
        told = frozenset(
            f"{medium} {name}"
            for medium, part in segments(recipe)
            if part.colorants
            for name in self.of(medium).assumed_for(part)
        )
        told |= {"marker over wash"} if over_wash(recipe)[0].steps else frozenset()
        return told | {f"{medium} under solvent" for medium in soaking(recipe)}


AnyFit: TypeAlias = MarkerFit | KitFit
"""What is asked of: markers alone, or a kit of any media."""
Axes: TypeAlias = Mapping[Medium, FloatArray]
"""By medium, along which parameters are tried: shape (m, parameters of the recipe's part)."""
NO_AXES: Axes = MappingProxyType({})
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
        """Lay it on grounds, shape (…, 36)."""
        return self.fit.lay(self.recipe, below, share=self.soaked.share)

    def more_or_less(self, below: FloatArray) -> FloatArray:
        """Return its reflectance with as much left as is likely, then with more, then with less.

        Shape (3, 36); shape (0, 36) where nothing soaks through to it.
        """
        if self.soaked.untouched:
            return np.zeros((0, below.shape[-1]))
        steps = np.array([0.0, 1.0, -1.0]) * self.soaked.deviation
        shares = np.clip(self.soaked.share + steps, 0.0, None).tolist()
        return np.array([self.fit.lay(self.recipe, below, share=left) for left in shares])


def runs(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[Segment, ...]:
    """Return the segments of a recipe, each with its fit and what solvent above leaves of it.

    Raises
    ------
    BadRecipeError, NotMeasuredError
        As `reflectance` does.
    """
    parts = fit.parts(recipe)
    return tuple(
        Segment(medium, fit.of(medium), part, _left(medium, parts[number + 1 :]))
        for number, (medium, part) in enumerate(parts)
    )


def _left(medium: Medium, above: Sequence[tuple[Medium, Recipe]]) -> Soaked:
    return soaked(medium, Recipe(tuple(step for _, part in above for step in part.steps)))


def reflectance(fit: MediumFit | KitFit, recipe: Recipe) -> FloatArray:
    """Predict the reflectance of a recipe of any media, shape (36,).

    Raises
    ------
    BadRecipeError
        For steps or an order that can't be done.
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    parts = fit.parts(recipe)
    if len(parts) == 1:
        one = fit.of(parts[0][0])
        return one.as_measured(recipe, one.reflectance(recipe))
    return _through(runs(fit, recipe), np.array(fit.paper.reflectance))


def _through(laid: Sequence[Segment], seen: FloatArray) -> FloatArray:
    for run in laid:
        seen = run.over(seen)
    return seen


def outside(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[str, ...]:
    """Say in what ways a recipe lies outside what the fits were made from; empty inside."""
    parts = fit.parts(recipe)
    said = [word for medium, part in parts for word in fit.of(medium).outside(part)]
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


def predict(fit: MediumFit | KitFit, recipe: Recipe) -> Prediction:
    """Predict a recipe's color, dry, and how sure it is.

    Returns
    -------
    Prediction
        Its covariance is that of one application by the same hand, measured once.

    Raises
    ------
    BadRecipeError
        For steps or an order that can't be done.
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    spectrum = reflectance(fit, recipe)
    return Prediction(
        recipe=recipe,
        reflectance=spectrum,
        lab=lab_from_reflectance(spectrum),
        covariance=leeway(fit, recipe).covariance(),
        warnings=outside(fit, recipe),
    )


def predict_lab(fit: MediumFit | KitFit, recipes: Sequence[Recipe]) -> FloatArray:
    """Predict the Lab of several recipes, shape (recipes, 3)."""
    spectra = np.array([reflectance(fit, recipe) for recipe in recipes])
    return lab_from_reflectance(spectra.reshape(-1, len(fit.paper.reflectance)))


def leeway(fit: MediumFit | KitFit, recipe: Recipe, axes: Axes = NO_AXES) -> Leeway:
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
    parts = fit.parts(recipe)
    if len(parts) > 1:
        return _leeway(fit, recipe, axes)
    medium = parts[0][0] if parts else fit.fits[0].medium
    return prediction.leeway(fit.of(medium), recipe, axes.get(medium))


def guessed_spectra(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[Colorant, ...]:
    """Return the colorants of a recipe of which no spectrum was measured, XYZ alone."""
    guessed = {
        c for one in fit.fits for c, known in zip(one.colorants, one.xyz_only, strict=True) if known
    }
    return tuple(colorant for colorant in recipe.colorants if colorant in guessed)


def _leeway(fit: MediumFit | KitFit, recipe: Recipe, axes: Axes) -> Leeway:
    """Return what each run leaves open, seen through those above it."""
    laid, tried, misfit = runs(fit, recipe), list[tuple[FloatArray, tuple[Name, ...]]](), 0.0
    below = np.array(fit.paper.reflectance)
    for number, run in enumerate(laid):
        model = run.fit.forward(run.recipe, below, share=run.soaked.share)
        soaks = run.more_or_less(below), (("soaks", run.medium),)
        left_open = prediction.tried_spectra(run.fit, model, axes.get(run.medium))
        for seen, names in (left_open, soaks):
            tried += [(_through(laid[number + 1 :], seen), names)] if len(seen) else []
        misfit += run.fit.misfit**2 * model.missed(run.fit.effects)
        below = run.over(below)
    tried += [(seen, (("stays",),)) for seen in _staying(fit, recipe)]
    return Leeway(
        tuple(seen for seen, _ in tried),
        (max(one.measuring for one in fit.fits) ** 2 + misfit) * np.eye(3),
        tuple(names for _, names in tried),
        {("misfit", recipe.key): misfit},
    )


def _staying(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[FloatArray, ...]:
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
