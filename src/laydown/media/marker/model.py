"""Markers on a paper: the model that their fit adds to what inference knows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar, NamedTuple

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.inference.fit import Fit
from laydown.media.inference.forward import Forward, Variants
from laydown.media.inference.leeway import reference_shapes
from laydown.media.inference.priors import HandPriors, Noise, Priors
from laydown.media.laydown import Medium
from laydown.media.marker import design
from laydown.media.marker.absorption import absorption, inverse
from laydown.media.marker.pile import (
    Ground,
    laid_steps,
    misfit_at,
    one_coat_absorptions,
    pile_of,
    relative_reflectance,
    strength_of,
    unchanged,
)
from laydown.media.marker.priors import BLENDER, EFFECTS, LATER_COAT, LIFT, SCALE, usual_priors
from laydown.media.marker.scale import STRAIGHT, scale_at
from laydown.media.marker.telling import bears_on, words_laid
from laydown.media.recipe import Recipe

MODEL_VERSION = "marker 6"
"""Changes whenever the same swatches would give another fit."""
UNLIKE = 0.3
"""How the share that a blender carries off scatters between colorants (standard deviation of its
natural log, in proportion); calibrated on the simulated bench."""


AT_HAND = 32
"""Fits of which what all their recipes rest on stays at hand."""


class _AtHand(NamedTuple):
    """Reflectance of paper and of one coat of each, relative to the ceiling; shapes by place."""

    paper: FloatArray
    one_coat: FloatArray
    shapes: dict[int, FloatArray]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MarkerFit(Fit):
    """Markers fitted on a paper. n colorants; p = 7 + n parameters, each one's own a log amount."""

    trials_tell_noise: ClassVar[bool] = True

    ceiling: FloatArray
    """Shape (36,), the reflectance that counts as no absorption: 1, or more where the paper or a
    colorant fluoresces. Reflectance = ceiling × inverse(absorption)."""
    paper_absorption: FloatArray
    """Shape (36,), of the bare paper."""
    absorption: FloatArray
    """Shape (n, 36), what one even coat adds on dry paper; the amounts are in it, so that `own` is
    0 throughout."""
    strength: FloatArray
    """Shape (n,), each absorption as the eye weighs it; 0 for a blender."""
    blender: FloatArray
    """Shape (n,), 1 for a colorless blender, else 0."""
    laid: frozenset[str]
    """Strokes and waits that were swatched ("quick", "soaked", "wet")."""
    bend: FloatArray
    """Shape (11,), how what is believed of the scale differs from a Gaussian, see `belief`."""

    @property
    def scale(self) -> float:
        """Where the dye lies: 0 film on the paper, 1 through its fibre."""
        return float(self.effects[SCALE])

    @property
    def later_coat(self) -> float:
        """What a coat over color takes, as a share of one on bare paper."""
        return float(self.effects[LATER_COAT])

    @property
    def lift(self) -> float:
        """The share of what lies below that a coat of next to no color takes away."""
        return float(self.effects[LIFT])

    @property
    def lifts(self) -> FloatArray:
        """Shape (n,), that share for each colorant: a colorless blender has its own."""
        shares = np.where(self.blender > 0.0, self.effects[BLENDER], self.effects[LIFT])
        return np.asarray(shares, dtype=np.float64)

    @property
    def one_coat(self) -> FloatArray:
        """Shape (n, 36), the reflectance of one even coat of each on the paper."""
        return np.asarray(
            self.ceiling * inverse(self.paper_absorption + self.absorption, scale=self.scale)
        )

    @property
    def priors(self) -> Priors:
        """The usual ones."""
        return usual_priors()

    @property
    def depth(self) -> FloatArray:
        """Shape (n,), the strength of each."""
        return self.strength

    @property
    def integrated(self) -> int | None:
        """The scale, where what is believed of it is no Gaussian."""
        return None if np.array_equal(self.bend, STRAIGHT) else SCALE

    def within(self, effects: FloatArray) -> FloatArray:
        """Return effects to try, shape (v, 7), as what is believed of the scale bends them."""
        inside = np.array(super(MarkerFit, self).within(effects))
        if self.integrated is not None:
            sd = float(np.sqrt(self.covariance[SCALE, SCALE]))
            inside[:, SCALE] = scale_at(
                (effects[:, SCALE] - self.scale) / sd, middle=self.scale, sd=sd, bend=self.bend
            )
        return inside

    @property
    def told_effects(self) -> frozenset[str]:
        """Names of the effects that swatches tell."""
        return frozenset(EFFECTS) - self.assumed

    def forward(
        self, recipe: Recipe, below: FloatArray | None = None, *, share: float = 1.0
    ) -> Forward:
        """Put a recipe into the model; see `Fit.forward`."""
        ground, used = ground_of(self, recipe)
        shapes = tuple(_shapes_of(self, place) for place in used)
        off = float(UNLIKE * np.log1p(-self.effects[BLENDER]))
        found = marker_forward(
            recipe, ground, ceiling=self.ceiling, used=used, shapes=shapes,
            cover=(self.cover, float(np.hypot(self.cover, off))),
        )  # fmt: skip
        if below is None:
            return found
        return replace(
            found,
            like=None,
            reflect=lambda tried: self._moved_to(found.reflect(tried), below, share),
        )

    def _moved_to(self, spectra: FloatArray, below: FloatArray, share: float) -> FloatArray:
        """Return spectra on the bare paper as they look on another ground, a share of them left."""
        scale, ceiling = self.scale, self.ceiling
        paper = absorption(self.paper.reflectance / ceiling, scale=scale)
        added = absorption(spectra / ceiling, scale=scale) - paper
        beneath = absorption(below / ceiling, scale=scale)
        return np.asarray(ceiling * inverse(beneath + share * added, scale=scale))

    def lay(
        self,
        recipe: Recipe,
        below: FloatArray,
        *,
        share: float = 1.0,
        left: FloatArray | None = None,
    ) -> FloatArray:
        """Lay a recipe on grounds: absorption adds, on a scale that falls in reflectance."""
        ground, used = ground_of(self, recipe)
        steps = laid_steps(recipe)
        usual = unchanged(self.effects, steps=len(steps), colorants=len(used))
        _, added = one_coat_absorptions(ground, usual)
        pile, shares = pile_of(steps, added, usual)
        dye = pile.absorption[0] if left is None else (left * shares[0]) @ added[0]
        beneath = absorption(below / self.ceiling, scale=self.scale)
        return np.asarray(self.ceiling * inverse(beneath + share * dye, scale=self.scale))

    def reflectance(self, recipe: Recipe) -> FloatArray:
        """Predict the reflectance of a recipe on the bare paper, shape (36,)."""
        steps = laid_steps(recipe)
        ground, used = ground_of(self, recipe)
        usual = unchanged(self.effects, steps=len(steps), colorants=len(used))
        return np.asarray(self.ceiling * relative_reflectance(steps, ground, usual)[0])

    def outside(self, recipe: Recipe) -> tuple[str, ...]:
        """Say in what ways a recipe lies outside what the fit was made from; empty inside."""
        known = {(c.range, c.name) for c in self.colorants}
        said = [
            f"{c.name} has not been swatched on {self.paper.name}."
            for c in recipe.colorants
            if (c.range, c.name) not in known
        ]
        said += [
            f"{c.name} is carried over from another paper, not measured on {self.paper.name}."
            for c in recipe.colorants
            if c.label in self.carried
        ]
        words = {
            "quick": "a quick stroke",
            "soaked": "a soaked stroke",
            "wet": "a coat over wet color",
        }
        said += [
            f"No swatch tells how much {words[word]} lays on {self.paper.name}: it is assumed."
            for word in sorted(words_laid(recipe) - self.laid)
        ]
        swatched = int(self.most_coats.max(initial=1.0))
        for colorant, coats in coats_of(recipe).items():
            if coats > swatched and not colorant.blender:
                said.append(f"{coats} coats of {colorant.name}: at most {swatched} were swatched.")
        if recipe.coats > self.paper.coats_limit:
            said.append(
                f"{recipe.coats} coats in all: {self.paper.name} bears {self.paper.coats_limit} "
                "before it pills, bleeds or fills."
            )
        return tuple(said)

    def assumed_for(self, recipe: Recipe) -> frozenset[str]:
        """Return what a recipe's color depends on and no swatch tells."""
        return self.assumed & bears_on(recipe)

    def hand_effects(self, priors: HandPriors) -> FloatArray:
        """Return by how much the effects may differ from person to person, shape (7,)."""
        return np.array([priors[name] for name in EFFECTS])

    def moved(
        self, effects: FloatArray, own: FloatArray, covariance: FloatArray, noise: Noise
    ) -> "MarkerFit":
        """Return the same with other effects, and amounts that are further by `own`.

        One coat of each keeps its reflectance as the scale moves, but for its amount.
        """
        white = inverse(self.paper_absorption, scale=self.scale)
        coated = inverse(self.paper_absorption + self.absorption, scale=self.scale)
        paper = absorption(white, scale=effects[SCALE])
        added = (absorption(coated, scale=effects[SCALE]) - paper) * np.exp(own)
        return replace(
            self,
            paper_absorption=paper,
            absorption=added,
            strength=strength_of(added) * (1.0 - self.blender),
            effects=effects,
            covariance=covariance,
            hand=noise.hand,
            misfit=noise.misfit,
            cover=noise.cover,
        )

    def missing(self) -> tuple[Recipe, ...]:
        """Return what of the minimum design hasn't been swatched."""
        return design.missing(self)

    def next_swatch(self, recipes: Sequence[Recipe]) -> tuple[Recipe, str]:
        """Return the one swatch that would make the recipes' colors surest, and why."""
        return design.next_swatch(self, recipes)


def ground_of(fit: MarkerFit, recipe: Recipe) -> tuple[Ground, tuple[int, ...]]:
    """Return paper and one coat of each colorant of a recipe, and the colorants' places in the fit.

    Raises
    ------
    NotMeasuredError
        For a colorant that was not swatched on this paper.
    """
    used = tuple(fit.index(c) for c in recipe.colorants)
    at_hand = _at_hand(fit)
    return Ground(at_hand.paper, at_hand.one_coat[list(used)].reshape(len(used), 36)), used


@lru_cache(AT_HAND)
def _at_hand(fit: MarkerFit) -> _AtHand:
    """Return what every recipe of a fit rests on: worked out once, for thousands are predicted."""
    piled = fit.paper_absorption + fit.absorption
    return _AtHand(
        inverse(fit.paper_absorption, scale=fit.scale), inverse(piled, scale=fit.scale), {}
    )


def _shapes_of(fit: MarkerFit, place: int) -> FloatArray:
    at_hand = _at_hand(fit)
    if place not in at_hand.shapes:
        at_hand.shapes[place] = one_coat_shapes(
            at_hand.one_coat[place], fit.ceiling, fit.measuring,
            blender=bool(fit.blender[place]), xyz_only=bool(fit.xyz_only[place]),
        )  # fmt: skip
    return at_hand.shapes[place]


def marker_forward(
    recipe: Recipe,
    ground: Ground,
    *,
    ceiling: FloatArray,
    used: tuple[int, ...],
    shapes: tuple[FloatArray, ...],
    cover: tuple[float, float] = (0.0, 0.0),
) -> Forward:
    """Put a recipe into the model.

    Parameters
    ----------
    recipe
        Of markers.
    ground
        Paper, and one coat of each of its colorants.
    ceiling
        Shape (36,).
    used
        Places of its colorants among all.
    shapes
        For each, what its one coat's spectrum may be off by, see `one_coat_shapes`.
    cover
        Standard deviations of the natural log of what a coat of color, and one of a blender, leaves
        of what lies below.
    """
    steps = laid_steps(recipe)
    further = max(recipe.coats - 1, 0)
    covered = np.array([cover[step.blender] * step.coats for step in steps])
    covered[:1] = 0.0  # there is nothing below

    def reflect(tried: Variants) -> FloatArray:
        return np.asarray(ceiling * relative_reflectance(steps, ground, tried))

    return Forward(
        recipe=recipe,
        medium=Medium.MARKER,
        used=used,
        asked=tuple(range(len(EFFECTS))),
        coats=np.array([float(step.coats) for step in steps]),
        covered=covered,
        shapes=shapes,
        missed=lambda effects: (misfit_at(float(effects[SCALE]), misfit=1.0) * further) ** 2,
        reflect=reflect,
        like=steps,
        references=ground.one_coat,
    )


def one_coat_shapes(
    one_coat: FloatArray, ceiling: FloatArray, measuring: float, *, blender: bool, xyz_only: bool
) -> FloatArray:
    """Return what a colorant's reference may be off by; nothing for a blender, which has none."""
    if blender:
        return np.zeros((0, one_coat.shape[-1]))
    return reference_shapes(one_coat, ceiling=ceiling, measuring=measuring, xyz_only=xyz_only)


def coats_of(recipe: Recipe) -> dict[Colorant, int]:
    """Return how many coats of each colorant a recipe has."""
    laid = laid_steps(recipe)
    return {
        c: sum(step.coats for step in laid if step.place == place)
        for place, c in enumerate(recipe.colorants)
    }
