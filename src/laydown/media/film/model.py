"""Pencils or washes on a paper: the model that their fit adds to what inference knows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.film.design import uncovered
from laydown.media.film.laying import (
    FilmGround,
    Layer,
    constants,
    film_reflectance,
    film_steps,
    is_wet,
    lay_films,
    matters,
    pile_reflectance,
    surface_of,
    thinned,
    usual_load,
)
from laydown.media.film.priors import GUESSED, film_priors
from laydown.media.inference.fit import Fit
from laydown.media.inference.forward import Forward, LaidStep, Variants
from laydown.media.inference.leeway import SEEN_SHAPES, reference_shapes
from laydown.media.inference.priors import HandPriors, Noise, Priors
from laydown.media.laydown import Laydown
from laydown.media.recipe import Medium, Recipe, Step

FILM_VERSION = "film 7"
"""Changes whenever the same swatches would give another fit."""
OTHERWISE = 0.3
"""How far an effect may be from the fit's for another person, as a share of its prior's deviation
(chosen)."""
ALIKE = 3
"""Variants of one prediction lie so near each other that so many Newton steps part them."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FilmFit(Fit):
    """Pencils, or washes, on a paper, fitted. n colorants; p = E + 5 n parameters."""

    references: FloatArray
    """Shape (n, 36), the swatch that each colorant's absorption is taken from."""
    reference_laydowns: tuple[Laydown, ...]
    """How those were laid, one step on bare paper."""
    told: frozenset[str]
    """Names of the effects that swatches tell."""
    deep_laydowns: tuple[Laydown, ...]
    deep: FloatArray
    believed: FloatArray
    """Of each colorant's deepest plain swatch how it was laid, its reflectance (n, 36), and how far
    it is believed (n,), see `laydown.media.film.laying.FilmGround`."""

    @property
    def priors(self) -> Priors:
        """Those of the medium."""
        return film_priors(self.medium)

    @property
    def one_coat(self) -> FloatArray:
        """Shape (n, 36), the reflectance of each as its reference swatch was laid."""
        return self.references

    @property
    def depth(self) -> FloatArray:
        """Shape (n,), how dark the references are."""
        return np.asarray(-self.references.mean(axis=1))

    @property
    def told_effects(self) -> frozenset[str]:
        """Names of the effects that swatches tell."""
        return self.told

    def forward(
        self, recipe: Recipe, below: FloatArray | None = None, *, share: float = 1.0
    ) -> Forward:
        """Put a recipe into the model; see `Fit.forward`."""
        ground = film_ground(self, recipe, below)
        used = tuple(self.index(colorant) for colorant in recipe.colorants)
        model = film_forward(recipe, self.medium, ground, used=used, alike=ALIKE, share=share)
        coats = [float(s.laydown.coats) if isinstance(s, Step) else 1.0 for s in recipe.steps]
        coats += model.coats[len(coats) :].tolist()
        shapes = tuple(
            _doubts(one, self.measuring, float(self.xyz_only[place]))
            for one, place in zip(ground.references, used, strict=True)
        )
        return replace(model, coats=np.array(coats), shapes=shapes)

    def lay(
        self,
        recipe: Recipe,
        below: FloatArray,
        *,
        share: float = 1.0,
        left: FloatArray | None = None,
    ) -> FloatArray:
        """Lay a recipe on grounds; see `laydown.media.film.laying.pile_reflectance`."""
        flat = below.reshape(-1, below.shape[-1])
        layers = thinned(film_pile(self, recipe, left)[0], share)
        laid = pile_reflectance(layers, surface_of(self.medium, self.effects[None]), flat)
        return laid.reshape(below.shape)

    def reflectance(self, recipe: Recipe) -> FloatArray:
        """Predict the reflectance of a recipe on the bare paper, shape (36,)."""
        return self.lay(recipe, self.paper.reflectance)

    def outside(self, recipe: Recipe) -> tuple[str, ...]:
        """Say in what ways a recipe lies outside what the fit was made from; empty inside.

        A sentence for each colorant that wasn't swatched on this paper or was carried over to it,
        each treatment, pressure or dilution that no swatch shows, wet in wet, more coats than were
        swatched or than the paper bears.
        """
        paper = self.paper.name
        said = [f"{c.name} has not been swatched on {paper}." for c in self.unknown(recipe)]
        carried = [c.name for c in recipe.colorants if c.label in self.carried]
        if carried:
            said.append(f"Carried over from another paper, not measured on {paper}: {carried[0]}.")
        said += _untold(self, recipe)
        said += filter(None, [uncovered(self, recipe)])
        if is_wet(recipe):
            said.append(
                "Wet in wet is outside the model: how washes run into each other is chance."
            )
        coats: dict[str, int] = {}
        for step in recipe.steps:
            if isinstance(step, Step) and not step.mixed:
                coats[step.words] = coats.get(step.words, 0) + step.laydown.coats
        most = int(self.most_coats.max(initial=1.0))
        said += [
            f"{n} coats of {c}: at most {most} were swatched." for c, n in coats.items() if n > most
        ]
        if recipe.coats > self.paper.coats_limit:
            said.append(f"{recipe.coats} coats in all: {paper} bears {self.paper.coats_limit}.")
        return tuple(said)

    def assumed_for(self, recipe: Recipe) -> frozenset[str]:
        """Return what no swatch tells, if the recipe lays anything."""
        return self.assumed if recipe.colorants else frozenset()

    def hand_effects(self, priors: HandPriors) -> FloatArray:
        """Return by how much the effects may differ from person to person, shape (E,)."""
        return OTHERWISE * self.priors.sd

    def moved(
        self, effects: FloatArray, own: FloatArray, covariance: FloatArray, noise: Noise
    ) -> "FilmFit":
        """Return the same with other parameters."""
        return replace(self, effects=effects, own=own, covariance=covariance, noise=noise)


def film_forward(
    recipe: Recipe,
    medium: Medium,
    ground: FilmGround,
    *,
    used: tuple[int, ...],
    alike: int,
    share: float = 1.0,
) -> Forward:
    """Put a recipe into the model, with every step counted as one coat and no spectrum in doubt.

    A part of a palette mixture scatters besides: what a brush takes from each pan is a guess.

    `recipe`, `medium`: what is laid. `ground`: what it lies on, and the references of its
    colorants. `used`: places of those among all. `alike`: as in
    `laydown.media.film.laying.constants`. `share`: what is left of it.
    """
    steps, priors = film_steps(recipe, medium), film_priors(medium)
    asked = matters(priors, steps, medium)
    scattered = len(steps) + sum(len(step.shares) for step in steps if step.is_mixture)

    def reflect(tried: Variants) -> FloatArray:
        return film_reflectance(steps, medium, ground, tried, alike=alike, share=share)

    return Forward(
        recipe=recipe,
        medium=medium,
        used=used,
        asked=tuple(i for i, name in enumerate(priors.names) if name in asked),
        coats=np.ones(scattered),
        covered=np.zeros(scattered),
        shapes=tuple(np.zeros((0, ground.paper.shape[-1])) for _ in used),
        missed=lambda _: times_missed(steps, medium, ground),
        reflect=reflect,
    )


AWAY = 1.0
"""Of the model's misfit squared, what a wash alone is off by whose load lies a factor of e from
that of a swatch of it (chosen; depths of measured washes bear it out)."""


def times_missed(steps: Sequence[LaidStep], medium: Medium, ground: FilmGround) -> float:
    """Return how many times the square of the misfit a recipe is off.

    Once for each step, and for each part of a mixture. A wash alone on bare paper is as its
    swatches show it, and the less so the farther it lies from them.
    """
    things = sum(max(len(step.shares), 1) for step in steps)
    on_paper = np.array_equal(ground.below, ground.paper)
    if things != 1 or medium is not Medium.WASH or not on_paper:
        return float(things)
    known, laid = [ground.laydowns[0], *ground.deep_laydowns[:1]], steps[0].laydown
    away = [float(np.log(usual_load(laid) / usual_load(one))) for one in known]
    return AWAY * min(ln * ln for ln in away)


def film_ground(fit: FilmFit, recipe: Recipe, below: FloatArray | None = None) -> FilmGround:
    """Return the ground of a recipe and the references of its colorants.

    Raises NotMeasuredError for a colorant that was not swatched on this paper.
    """
    used = np.array([fit.index(colorant) for colorant in recipe.colorants], dtype=np.int64)
    return FilmGround(
        below=fit.paper.reflectance if below is None else below,
        paper=fit.paper.reflectance,
        references=fit.references[used],
        laydowns=tuple(fit.reference_laydowns[i] for i in used),
        deep_laydowns=tuple(fit.deep_laydowns[i] for i in used),
        deep=fit.deep[used],
        believed=fit.believed[used],
    )


def film_pile(
    fit: FilmFit, recipe: Recipe, left: FloatArray | None = None
) -> tuple[tuple[Layer, ...], FloatArray]:
    """Return what a recipe lays, as `lay_films` does; light leaves `left` of K, see `Fit.lay`."""
    steps, usual = film_steps(recipe, fit.medium), fit.usual(recipe)
    k, s, growth = constants(film_ground(fit, recipe), fit.medium, usual)
    k = k if left is None else k * left[..., None]
    return lay_films(steps, fit.medium, (k, s, growth), usual)


def _doubts(reference: FloatArray, measuring: float, doubt: float) -> FloatArray:
    """Return what a reference's spectrum may be off by in ln R, a share of the hidden left."""
    seen = np.clip(reference, 1e-4, None)
    shapes = reference_shapes(seen, measuring=measuring, xyz_only=doubt > 0.0)
    shapes[SEEN_SHAPES:] *= GUESSED * doubt
    return shapes


def _untold(fit: FilmFit, recipe: Recipe) -> list[str]:
    asked = matters(film_priors(fit.medium), film_steps(recipe, fit.medium), fit.medium) - fit.told
    words = {"light": "a light pressure", "heavy": "a heavy pressure", "water": "diluting"}
    treated = sorted({name.rpartition(" ")[0] for name in asked if " by " in name})
    untold = [*(words[name] for name in sorted(asked) if name in words), *treated]
    return [
        f"No swatch tells what {what} does on {fit.paper.name}: it is assumed." for what in untold
    ]
