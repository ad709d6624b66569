"""What is known of a kit of markers on a paper once its swatches are fitted."""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import BadRecipeError, NotMeasuredError
from laydown.media.colorant import Colorant, Paper
from laydown.media.laydown import Medium, Pressure, Stroke, Wait
from laydown.media.marker.absorption import inverse
from laydown.media.marker.priors import BLENDER, LATER_COAT, LIFT, QUICK, SCALE, SOAKED, WET
from laydown.media.recipe import AnyStep, Recipe, Step

MODEL_VERSION = "marker 2"
"""Changes whenever the same swatches would give another fit."""


@dataclass(frozen=True, slots=True, eq=False)
class MarkerFit:
    """Markers on a paper, fitted. n colorants; p = 7 + n parameters.

    Parameters
    ----------
    model_version
        `MODEL_VERSION` of the model that made it.
    paper
        The paper.
    colorants
        Those swatched on it, in the order of the arrays.
    ceiling
        Shape (36,), the reflectance that counts as no absorption: 1, or more where the paper or a
        colorant fluoresces. Reflectance = ceiling × inverse(absorption).
    paper_absorption
        Shape (36,), of the bare paper.
    absorption
        Shape (n, 36), what one even coat adds on dry paper.
    strength
        Shape (n,), each absorption as the eye weighs it; 0 for a blender.
    blender
        Shape (n,), 1 for a colorless blender, else 0.
    effects
        Shape (7,), in the order of `priors.EFFECTS`.
    covariance
        Shape (p, p), of the effects and then of the natural log of each colorant's amount.
    hand
        Standard deviation of the natural log of a coat's amount.
    misfit
        How far the model is off per further coat [CIELAB units per axis] at a scale of 2/3;
        see `laydown.media.marker.pile.misfit_at`.
    measuring
        Noise of the instrument [CIELAB units per axis].
    xyz_only
        Shape (n,), 1 where a colorant is known by XYZ only, so its spectrum is a guess.
    most_coats
        Shape (n,), the most coats of it in one swatch.
    laid
        Strokes and waits that were swatched ("quick", "soaked", "wet").
    assumed
        Names of effects that no swatch tells and that keep their prior.
    odd
        A sentence for each swatch that fits the rest so badly that it was given less weight.
    notes
        Sentences on the fit as a whole.
    swatched
        The recipes that were swatched.
    cover
        Standard deviation of the natural log of what lies below when a coat covers it.
    carried
        Labels of colorants carried over from another paper and not measured on this one.
    """

    model_version: str
    paper: Paper
    colorants: tuple[Colorant, ...]
    ceiling: FloatArray
    paper_absorption: FloatArray
    absorption: FloatArray
    strength: FloatArray
    blender: FloatArray
    effects: FloatArray
    covariance: FloatArray
    hand: float
    misfit: float
    measuring: float
    xyz_only: FloatArray
    most_coats: FloatArray
    laid: frozenset[str]
    assumed: frozenset[str]
    odd: tuple[str, ...]
    notes: tuple[str, ...]
    swatched: tuple[Recipe, ...]
    cover: float = 0.0
    carried: frozenset[str] = frozenset()

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
        own = np.where(self.blender > 0.0, self.effects[BLENDER], self.effects[LIFT])
        return np.asarray(own, dtype=np.float64)

    @property
    def one_coat(self) -> FloatArray:
        """Shape (n, 36), the reflectance of one even coat of each on the paper."""
        return np.asarray(
            self.ceiling * inverse(self.paper_absorption + self.absorption, scale=self.scale)
        )

    def index(self, colorant: Colorant) -> int:
        """Return the place of a colorant in the arrays, or raise NotMeasuredError."""
        for place, known in enumerate(self.colorants):
            if (known.name, known.range) == (colorant.name, colorant.range):
                return place
        raise NotMeasuredError(
            f"{colorant.label} has not been swatched on {self.paper.name}.",
            hint=f"Lay one coat of {colorant.name} on {self.paper.name}, measure and import it.",
        )


def marker_step(step: AnyStep) -> Step:
    """Return the step if it is one of a marker, or say why it has no answer here.

    Raises
    ------
    BadRecipeError
        For treatments, other media, pressure or dilution.
    """
    if not isinstance(step, Step):
        raise BadRecipeError(
            f"{step.treatment} by {step.tool} is no step for markers.",
            hint="Lay a colorless blender instead, which is a colorant of its range.",
        )
    if step.colorant.medium is not Medium.MARKER:
        raise BadRecipeError(
            f"{step.colorant.label} is a {step.colorant.medium}, and only markers are asked about.",
            hint="Match and chart lay pencils and washes, too.",
        )
    if step.mixed:
        raise BadRecipeError(
            f"{step.colorant.label}: markers aren't mixed on a palette.",
            hint="Lay one over the other instead.",
        )
    laid = step.laydown
    if laid.pressure is not Pressure.MEDIUM or laid.dilution:
        raise BadRecipeError(
            f"{step.colorant.label}: pressure and dilution mean nothing for a marker.",
            hint="Markers take coats, a stroke (quick, even, soaked) and a wait (wet, dry).",
        )
    return step


def stroke_effect(step: Step) -> int | None:
    """Return the place of the effect that the step's stroke asks for; None for an even one."""
    return {Stroke.QUICK: QUICK, Stroke.SOAKED: SOAKED}.get(step.laydown.stroke)


def wet_effect(step: Step) -> int | None:
    """Return the place of the effect of laying wet on wet; None for dry."""
    return WET if step.laydown.wait is Wait.WET else None
