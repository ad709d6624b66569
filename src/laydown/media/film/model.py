"""Pencils or washes on a paper: the model that their fit adds to what inference knows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.film import design
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
from laydown.media.inference.forward import Forward, LaidStep, Variants, variants
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

    def effect(self, name: str) -> float:
        """Return an effect by its name."""
        return float(self.effects[self.priors.at(name)])

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
        return film_spectrum(self, recipe)

    def outside(self, recipe: Recipe) -> tuple[str, ...]:
        """Say in what ways a recipe lies outside what the fit was made from; empty inside.

        A sentence for each colorant that wasn't swatched on this paper or was carried over to it,
        each treatment, pressure or dilution that no swatch shows, wet in wet, more coats than were
        swatched or than the paper bears.
        """
        known = {(c.range, c.name) for c in self.colorants}
        paper = self.paper.name
        said = [
            f"{c.name} has not been swatched on {paper}."
            for c in recipe.colorants
            if (c.range, c.name) not in known
        ]
        carried = [c.name for c in recipe.colorants if c.label in self.carried]
        if carried:
            said.append(f"Carried over from another paper, not measured on {paper}: {carried[0]}.")
        said += _untold(self, recipe)
        said += [word for word in [design.uncovered(self, recipe)] if word]
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
        return replace(
            self,
            effects=effects,
            own=own,
            covariance=covariance,
            hand=noise.hand,
            misfit=noise.misfit,
        )

    def missing(self) -> tuple[Recipe, ...]:
        """Return what of the minimum design hasn't been swatched."""
        return design.film_missing(self)

    def next_swatch(self, recipes: Sequence[Recipe]) -> tuple[Recipe, str]:
        """Return the one swatch that would make the recipes' colors surest, and why."""
        return design.next_film_swatch(self, recipes)


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
    asked, parts = matters(priors, steps, medium), mixed_parts(steps)

    def reflect(tried: Variants) -> FloatArray:
        return film_reflectance(steps, medium, ground, tried, alike=alike, share=share)

    return Forward(
        recipe=recipe,
        medium=medium,
        used=used,
        asked=tuple(i for i, name in enumerate(priors.names) if name in asked),
        coats=np.ones(len(steps) + parts),
        covered=np.zeros(len(steps) + parts),
        shapes=tuple(np.zeros((0, ground.paper.shape[-1])) for _ in used),
        missed=lambda _: times_missed(steps, medium, ground),
        reflect=reflect,
    )


def mixed_parts(steps: Sequence[LaidStep]) -> int:
    """Return how many parts all palette mixtures of a recipe have."""
    return sum(len(step.shares) for step in steps if step.is_mixture)


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


def _usual(fit: FilmFit, recipe: Recipe) -> Variants:
    used = [fit.index(colorant) for colorant in recipe.colorants]
    own = fit.own[used].reshape(len(used), fit.own.shape[1])
    steps = film_steps(recipe, fit.medium)
    return variants(fit.effects, own, steps=len(steps) + mixed_parts(steps))


def film_spectrum(fit: FilmFit, recipe: Recipe, below: FloatArray | None = None) -> FloatArray:
    """Return a recipe's reflectance, shape (36,), on the paper or on another ground."""
    if not recipe.steps:
        return np.array(fit.paper.reflectance if below is None else below)
    steps = film_steps(recipe, fit.medium)
    ground = film_ground(fit, recipe, below)
    return np.asarray(film_reflectance(steps, fit.medium, ground, _usual(fit, recipe))[0])


def film_pile(
    fit: FilmFit, recipe: Recipe, left: FloatArray | None = None
) -> tuple[tuple[Layer, ...], FloatArray]:
    """Return what a recipe lays, as `lay_films` does; light leaves `left` of K, see `Fit.lay`."""
    steps, usual = film_steps(recipe, fit.medium), _usual(fit, recipe)
    k, s, growth = constants(film_ground(fit, recipe), fit.medium, usual)
    k = k if left is None else k * left[..., None]
    return lay_films(steps, fit.medium, (k, s, growth), usual)


def _doubts(reference: FloatArray, measuring: float, doubt: float) -> FloatArray:
    """Return what a reference's spectrum may be off by in ln R, a share of the hidden left."""
    shapes = reference_shapes(
        np.clip(reference, 1e-4, None),
        ceiling=np.ones(reference.shape[-1]),
        measuring=measuring,
        xyz_only=doubt > 0.0,
    )
    shapes[SEEN_SHAPES:] *= GUESSED * doubt
    return shapes


def _untold(fit: FilmFit, recipe: Recipe) -> list[str]:
    asked = matters(film_priors(fit.medium), film_steps(recipe, fit.medium), fit.medium) - fit.told
    words = {"light": "a light pressure", "heavy": "a heavy pressure", "water": "diluting"}
    said = [
        f"No swatch tells what {words[name]} does on {fit.paper.name}: it is assumed."
        for name in sorted(asked)
        if name in words
    ]
    treated = sorted({name.rpartition(" ")[0] for name in asked if " by " in name})
    said += [
        f"No swatch tells what {name} does on {fit.paper.name}: it is assumed." for name in treated
    ]
    return said
