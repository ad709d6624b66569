"""What is known of one medium's colorants on a paper: parameters with covariance, and a model."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import ClassVar, Self, TypeVar

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import NotMeasuredError
from laydown.media.inference.forward import Forward, Places, Variants, variants
from laydown.media.inference.priors import HandPriors, Noise, Priors
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step, key_of

NO_RESIDUALS = np.zeros((0, 36))
"""Of a fit that predicts no recipe by its swatch."""
AT_HAND = 32
"""Fits whose colorants and residuals stay at hand by name and by recipe."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Fit(ABC):
    """One medium on a paper, fitted: n colorants, E effects, m numbers of each colorant's own.

    The parameters are the effects and then what each colorant has of its own, p = E + n m. What
    turns them into color is the model, which each medium adds.
    """

    trials_tell_noise: ClassVar[bool] = False
    """Whether a person's trials say how far hand, model and cover scatter, or the fit alone."""

    model_version: str
    """Of the model that made it."""
    medium: Medium
    """Marker, pencil or wash."""
    paper: Paper
    """The paper."""
    colorants: tuple[Colorant, ...]
    """Those swatched on it, in the order of the arrays."""
    effects: FloatArray
    """Shape (E,), in the order of `priors.names`."""
    own: FloatArray
    """Shape (n, m), what each colorant has of its own; first the natural log of its amount."""
    covariance: FloatArray
    """Shape (p, p)."""
    noise: Noise
    """What its swatches scatter by."""
    measuring: float
    """Noise of the instrument [CIELAB units per axis]."""
    xyz_only: FloatArray
    """Shape (n,), which share of the doubt about a spectrum guessed from XYZ is left: 1 where
    nothing but that XYZ is known, 0 where the spectrum was measured."""
    most_coats: FloatArray
    """Shape (n,), the most coats of it in one swatch."""
    assumed: frozenset[str]
    """Names of effects that matter and that no swatch tells."""
    odd: tuple[str, ...]
    """A sentence for each swatch that fits the rest so badly that it was given less weight."""
    notes: tuple[str, ...]
    """Sentences on the fit as a whole."""
    swatched: tuple[Recipe, ...]
    """The recipes that were swatched."""
    carried: frozenset[str] = frozenset()
    """Labels of colorants carried over from another paper and not measured on this one."""
    hand_share: float = 0.0
    """How far trials say that the person may be from who colored the swatches, as a share of what
    hands at large differ by; 0 where the swatches are their own."""
    measured: tuple[Recipe, ...] = ()
    """Recipes of one laydown that are predicted by their swatches."""
    residuals: FloatArray = field(default_factory=lambda: NO_RESIDUALS)
    """Shape (measured, 36), natural log of what each swatch shows over what the model says."""

    @property
    def integrated(self) -> int | None:
        """The place of the effect that a color is integrated over; None for none."""
        return None

    def within(self, effects: FloatArray) -> FloatArray:
        """Return effects to try, shape (v, E), no farther out than they can be."""
        return self.priors.within(effects, self.effects)

    @property
    def fits(self) -> tuple[Self, ...]:
        """Itself: a kit of one medium."""
        return (self,)

    def of(self, medium: Medium) -> Self:
        """Return itself, which says of steps of other media that it can't do them."""
        return self

    def mapped(self, change: Callable[[Self], Self]) -> Self:
        """Return what a change makes of the fit of each medium: of this one."""
        return change(self)

    def parts(self, recipe: Recipe) -> tuple[tuple[Medium, Recipe], ...]:
        """Return the recipe as one part of its medium."""
        return ((self.medium, recipe),)

    @property
    def colored(self) -> FloatArray:
        """Shape (n,), 0 for a colorless blender, else 1: whose amount a hand decides."""
        return np.array([0.0 if c.blender else 1.0 for c in self.colorants])

    @property
    def amounts(self) -> Places:
        """Places, among the parameters, of the colorants' log amounts."""
        steps = self.own.shape[1] * np.arange(len(self.colorants))
        return np.asarray(len(self.effects) + steps, dtype=np.int64)

    def index(self, colorant: Colorant) -> int:
        """Return the place of a colorant in the arrays, or raise NotMeasuredError."""
        place = _places(self).get(key_of(colorant))
        if place is not None:
            return place
        raise NotMeasuredError(
            f"{colorant.label} has not been swatched on {self.paper.name}.",
            hint=f"Lay one coat of {colorant.name} on {self.paper.name}, measure and import it.",
        )

    def unknown(self, recipe: Recipe) -> list[Colorant]:
        """Return the colorants of a recipe that were not swatched on this paper."""
        return [c for c in recipe.colorants if key_of(c) not in _places(self)]

    def usual(self, recipe: Recipe, *, count: int = 1) -> Variants:
        """Return a recipe's numbers as they were fitted: `count` variants that are all alike."""
        used = [self.index(colorant) for colorant in recipe.colorants]
        own = self.own[used].reshape(len(used), self.own.shape[1])
        mixed = sum(len(step.mixed) for step in recipe.steps if isinstance(step, Step))
        return variants(self.effects, own, steps=len(recipe.steps) + mixed, count=count)

    def factor(self, recipe: Recipe) -> FloatArray | None:
        """Return what its swatch shows over what the model says of a recipe, shape (36,).

        None where it isn't predicted by a swatch.
        """
        return _factors(self).get(recipe)

    def as_measured(self, recipe: Recipe, spectra: FloatArray) -> FloatArray:
        """Return spectra that the model has of a recipe, shape (…, 36), as its swatch has them."""
        factor = self.factor(recipe)
        return spectra if factor is None else np.asarray(spectra * factor)

    def model_of(self, recipe: Recipe) -> Forward:
        """Put a recipe on the bare paper into the model, its swatch counted in."""
        model, factor = self.forward(recipe), self.factor(recipe)
        if factor is None:
            return model
        return replace(model, factor=factor, missed=lambda _: 0.0)

    @property
    @abstractmethod
    def priors(self) -> Priors:
        """What is expected of such a medium, with the names of its effects."""

    @property
    @abstractmethod
    def one_coat(self) -> FloatArray:
        """Shape (n, 36), the reflectance of each as its reference swatch was laid."""

    @property
    @abstractmethod
    def depth(self) -> FloatArray:
        """Shape (n,), by which colorants rank from pale to dark."""

    @property
    @abstractmethod
    def told_effects(self) -> frozenset[str]:
        """Names of the effects that swatches tell."""

    @abstractmethod
    def forward(
        self, recipe: Recipe, below: FloatArray | None = None, *, share: float = 1.0
    ) -> Forward:
        """Put a recipe into the model.

        `recipe`: of this medium. `below`: shape (36,), what it is laid on; the bare paper where
        None. `share`: what is left of it. Raises BadRecipeError for steps that this medium can't
        do. Raises NotMeasuredError for a colorant that was not swatched on this paper.
        """

    @abstractmethod
    def lay(
        self,
        recipe: Recipe,
        below: FloatArray,
        *,
        share: float = 1.0,
        left: FloatArray | None = None,
    ) -> FloatArray:
        """Lay a recipe on grounds.

        `recipe`: of this medium. `below`: shape (…, 36). `share`: what is left of it, as solvent
        takes of all that lies there. `left`: shape (v, u), which share of the absorption of each
        colorant is left, as light takes it; all where None. Returns shape (…, 36), rising in
        `below` band by band.
        """

    @abstractmethod
    def reflectance(self, recipe: Recipe) -> FloatArray:
        """Predict the reflectance of a recipe on the bare paper, shape (36,)."""

    @abstractmethod
    def outside(self, recipe: Recipe) -> tuple[str, ...]:
        """Say in what ways a recipe lies outside what the fit was made from; empty inside."""

    @abstractmethod
    def assumed_for(self, recipe: Recipe) -> frozenset[str]:
        """Return what a recipe's color depends on and no swatch tells."""

    @abstractmethod
    def hand_effects(self, priors: HandPriors) -> FloatArray:
        """Return by how much the effects may differ from person to person, shape (E,)."""

    @abstractmethod
    def moved(
        self, effects: FloatArray, own: FloatArray, covariance: FloatArray, noise: Noise
    ) -> Self:
        """Return the same with other parameters, each given as `own` and `effects` are."""


@lru_cache(AT_HAND)
def _places(fit: Fit) -> dict[tuple[str, str], int]:
    return {key_of(c): place for place, c in enumerate(fit.colorants)}


@lru_cache(AT_HAND)
def _factors(fit: Fit) -> dict[Recipe, FloatArray]:
    return dict(zip(fit.measured, np.exp(fit.residuals), strict=True))


OneFit = TypeVar("OneFit", bound=Fit)
"""The fit of one medium, whichever: what is made of one is of the same medium."""
