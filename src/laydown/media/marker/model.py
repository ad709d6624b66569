"""Markers on a paper: the model that their fit adds to what inference knows."""

from collections.abc import Sequence
from dataclasses import astuple, dataclass, replace
from functools import lru_cache
from typing import ClassVar

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.fit import Fit
from laydown.media.inference.forward import Forward, Variants
from laydown.media.inference.leeway import reference_shapes
from laydown.media.inference.prediction import residuals_over
from laydown.media.inference.priors import HandPriors, Noise, Priors
from laydown.media.marker.design import bears_on, words_laid
from laydown.media.marker.pile import (
    absorption,
    inverse,
    laid_steps,
    misfit_at,
    one_coat_absorptions,
    pile_of,
    relative_reflectance,
    strength_of,
)
from laydown.media.marker.priors import (
    BLENDER,
    EFFECTS,
    LATER_COAT,
    LIFT,
    SCALE,
    STRAIGHT,
    scale_at,
    usual_priors,
)
from laydown.media.recipe import Colorant, Medium, Recipe

MODEL_VERSION = "marker 6"
"""Changes whenever the same swatches would give another fit."""
UNLIKE = 0.3
"""How the share that a blender carries off scatters between colorants (standard deviation of its
natural log, in proportion); calibrated on the simulated bench."""
UNUSUAL = {"quick": "a quick stroke", "soaked": "a soaked stroke", "wet": "a coat over wet color"}
AT_HAND = 32
"""Fits of which what all their recipes rest on stays at hand."""


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
        paper, coats, used = ground_of(self, recipe)
        shapes = tuple(_shapes_of(self, place) for place in used)
        off = float(UNLIKE * np.log1p(-self.effects[BLENDER]))
        found = marker_forward(
            recipe, paper, coats, ceiling=self.ceiling, used=used, shapes=shapes,
            cover=(self.noise.cover, float(np.hypot(self.noise.cover, off))),
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
        paper, coats, _ = ground_of(self, recipe)
        steps, usual = laid_steps(recipe), self.usual(recipe)
        _, added = one_coat_absorptions(paper, coats, usual)
        pile, shares = pile_of(steps, added, usual)
        dye = pile[0][0] if left is None else (left * shares[0]) @ added[0]
        beneath = absorption(below / self.ceiling, scale=self.scale)
        return np.asarray(self.ceiling * inverse(beneath + share * dye, scale=self.scale))

    def reflectance(self, recipe: Recipe) -> FloatArray:
        """Predict the reflectance of a recipe on the bare paper, shape (36,)."""
        steps = laid_steps(recipe)
        paper, coats, _ = ground_of(self, recipe)
        laid = relative_reflectance(steps, paper, coats, self.usual(recipe))
        return np.asarray(self.ceiling * laid[0])

    def outside(self, recipe: Recipe) -> tuple[str, ...]:
        """Say in what ways a recipe lies outside what the fit was made from; empty inside."""
        paper = self.paper.name
        said = [f"{c.name} has not been swatched on {paper}." for c in self.unknown(recipe)]
        said += [
            f"{c.name} is carried over from another paper, not measured on {paper}."
            for c in recipe.colorants
            if c.label in self.carried
        ]
        said += [
            f"No swatch tells how much {UNUSUAL[word]} lays on {paper}: it is assumed."
            for word in sorted(words_laid(recipe) - self.laid)
        ]
        swatched = int(self.most_coats.max(initial=1.0))
        for colorant, coats in coats_of(recipe).items():
            if coats > swatched and not colorant.blender:
                said.append(f"{coats} coats of {colorant.name}: at most {swatched} were swatched.")
        if recipe.coats > self.paper.coats_limit:
            said.append(
                f"{recipe.coats} coats in all: {paper} bears {self.paper.coats_limit} "
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
            noise=noise,
        )


def ground_of(fit: MarkerFit, recipe: Recipe) -> tuple[FloatArray, FloatArray, tuple[int, ...]]:
    """Return paper, one coat of each of a recipe's colorants, and their places in the fit.

    Shapes (36,) and (u, 36), relative to the ceiling. Raises NotMeasuredError for a colorant that
    was not swatched on this paper.
    """
    used = tuple(fit.index(c) for c in recipe.colorants)
    paper, one_coat, _ = _at_hand(fit)
    return paper, one_coat[list(used)].reshape(len(used), 36), used


@lru_cache(AT_HAND)
def _at_hand(fit: MarkerFit) -> tuple[FloatArray, FloatArray, dict[int, FloatArray]]:
    """Return what every recipe of a fit rests on: worked out once, for thousands are predicted.

    Reflectance of paper and of one coat of each, relative to the ceiling; shapes by place.
    """
    piled = fit.paper_absorption + fit.absorption
    return inverse(fit.paper_absorption, scale=fit.scale), inverse(piled, scale=fit.scale), {}


def _shapes_of(fit: MarkerFit, place: int) -> FloatArray:
    _, one_coat, shapes = _at_hand(fit)
    if place not in shapes:
        shapes[place] = one_coat_shapes(
            one_coat[place], fit.ceiling, fit.measuring,
            blender=bool(fit.blender[place]), xyz_only=bool(fit.xyz_only[place]),
        )  # fmt: skip
    return shapes[place]


def marker_forward(
    recipe: Recipe,
    paper: FloatArray,
    one_coat: FloatArray,
    *,
    ceiling: FloatArray,
    used: tuple[int, ...],
    shapes: tuple[FloatArray, ...],
    cover: tuple[float, float] = (0.0, 0.0),
) -> Forward:
    """Put a recipe into the model.

    `recipe`: of markers. `paper`, `one_coat`: as of `ground_of`. `ceiling`: shape (36,). `used`:
    places of its colorants among all. `shapes`: for each, what its one coat's spectrum may be off
    by, see `one_coat_shapes`. `cover`: standard deviations of the natural log of what a coat of
    color, and one of a blender, leaves of what lies below.
    """
    steps = laid_steps(recipe)
    further = max(recipe.coats - 1, 0)
    covered = np.array([cover[step.blender] * step.laydown.coats for step in steps])
    covered[:1] = 0.0  # there is nothing below

    def reflect(tried: Variants) -> FloatArray:
        return np.asarray(ceiling * relative_reflectance(steps, paper, one_coat, tried))

    return Forward(
        recipe=recipe,
        medium=Medium.MARKER,
        used=used,
        asked=tuple(range(len(EFFECTS))),
        coats=np.array([float(step.laydown.coats) for step in steps]),
        covered=covered,
        shapes=shapes,
        missed=lambda effects: (misfit_at(float(effects[SCALE]), misfit=1.0) * further) ** 2,
        reflect=reflect,
        like=steps,
        references=one_coat,
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
        c: sum(step.laydown.coats for step in laid if step.place == place)
        for place, c in enumerate(recipe.colorants)
    }


# Several fits as one: the ranges of a kit on one paper, and what earlier fits teach later ones.

APART = 0.1
"""Scales of two ranges that differ by more are noted (chosen, no source)."""


def pool(fits: Sequence[MarkerFit]) -> MarkerFit:
    """Join ranges that were fitted apart on one paper into one fit.

    Ranges may differ in how deep their dye goes. A pile of both has no scale of its own, so the
    pooled effects are means of the fits' own, weighted by how much color each holds and how sure
    it is; one coat of each colorant stays exactly what it was, and the variance of each effect
    grows by how far the ranges lie apart.

    `fits`: at least one, all on the same paper, no colorant twice. It has the colorants of all, in
    the order given. Raises ValueError for no fit, fits on different papers, or a colorant that is
    in two.

    A single fit is its own pool.

    >>> from laydown.media.marker.fitting import fit_markers
    >>> from laydown.media.swatch import Swatch
    >>> from laydown.media.recipe import Paper, Step
    >>> paper, kelp = Paper("Gannet smooth", np.full(36, 0.9)), Colorant("Kelp", "Estuary")
    >>> fit = fit_markers([Swatch(paper.name, Recipe((Step(kelp),)), np.full(36, 0.4))], paper)
    >>> pool([fit]) is fit
    True
    """
    _check(fits)
    if len(fits) == 1:
        return fits[0]
    e, held = len(EFFECTS), np.array([max(float(f.strength.sum()), 1e-9) for f in fits])
    # color held, over variance: adding to 1 over the fits
    weights = held[:, None] / np.maximum([np.diag(f.covariance)[:e] for f in fits], 1e-12)
    weights = weights / weights.sum(axis=0)
    effects = np.sum(weights * np.array([f.effects for f in fits]), axis=0)
    ceiling = np.max([f.ceiling for f in fits], axis=0)
    scale = effects[SCALE]
    paper = absorption(fits[0].paper.reflectance / ceiling, scale=scale)
    coats = np.concatenate([f.one_coat for f in fits])
    blender = np.concatenate([f.blender for f in fits])
    added = absorption(coats / ceiling, scale=scale) - paper
    noises = np.array([astuple(f.noise) for f in fits])
    pooled = MarkerFit(
        model_version=fits[0].model_version,
        medium=fits[0].medium,
        paper=fits[0].paper,
        colorants=tuple(c for f in fits for c in f.colorants),
        ceiling=ceiling,
        paper_absorption=paper,
        absorption=added,
        strength=strength_of(added) * (1.0 - blender),
        blender=blender,
        effects=effects,
        own=np.zeros((len(coats), 1)),
        covariance=_covariance(fits, weights, effects),
        noise=Noise(*np.sqrt(np.mean(noises**2, axis=0)).tolist()),
        measuring=max(f.measuring for f in fits),
        xyz_only=np.concatenate([f.xyz_only for f in fits]),
        most_coats=np.concatenate([f.most_coats for f in fits]),
        laid=frozenset().union(*(f.laid for f in fits)),
        assumed=frozenset.intersection(*(f.assumed for f in fits)),
        odd=tuple(s for f in fits for s in f.odd),
        notes=_notes(fits),
        swatched=tuple(r for f in fits for r in f.swatched),
        bend=np.mean([f.bend for f in fits], axis=0),
    )
    measured, residuals = residuals_over(pooled, fits)
    return replace(pooled, measured=measured, residuals=residuals)


def _check(fits: Sequence[MarkerFit]) -> None:
    if not fits:
        raise ValueError("nothing to pool")
    if len({f.paper.name for f in fits}) > 1:
        raise ValueError("fits on different papers can't be pooled")
    labels = [c.label for f in fits for c in f.colorants]
    if len(set(labels)) < len(labels):
        raise ValueError("a colorant is in two of the fits")


def _covariance(fits: Sequence[MarkerFit], weights: FloatArray, effects: FloatArray) -> FloatArray:
    """Return each fit's own blocks for the amounts, and for the effects their mean and scatter."""
    from scipy.linalg import block_diag  # noqa: PLC0415 - slow to import, for joined fits alone

    e, diagonals = len(EFFECTS), [np.diag(weight) for weight in weights]
    weighted = [d @ fit.covariance[:e] for d, fit in zip(diagonals, fits, strict=True)]
    own = [rows[:, :e] @ d for d, rows in zip(diagonals, weighted, strict=True)]
    apart = np.array([f.effects for f in fits]) - effects
    between = np.sum(own, axis=0) + np.diag(np.sum(weights * apart**2, axis=0))
    across = np.concatenate([rows[:, e:] for rows in weighted], axis=1)
    amounts = block_diag(*(fit.covariance[e:, e:] for fit in fits))
    return np.block([[between, across], [across.T, amounts]])


def _notes(fits: Sequence[MarkerFit]) -> tuple[str, ...]:
    notes = list(dict.fromkeys(note for f in fits for note in f.notes))
    scales = [f.scale for f in fits]
    if max(scales) - min(scales) > APART:
        notes.append(
            "The ranges of this kit lie differently deep in the paper "
            f"(scales {min(scales):.2f} to {max(scales):.2f}): layers of both are less sure."
        )
    return tuple(notes)
