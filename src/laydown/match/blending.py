"""What solvent or burnishing would make of a pencil recipe: before, after, and when to beware."""

from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.match.question import Question
from laydown.media.film.model import FilmFit
from laydown.media.film.priors import TREATMENTS, TURNS
from laydown.media.kit.fit import KitFit, reflectance, soaking
from laydown.media.recipe import Medium, Recipe, Step, Tool, Treatment, TreatmentStep

SPOKEN = {Treatment.SOLVENT: "solvent", Treatment.BURNISH: "burnishing"}
"""Treatments as they are named in a sentence."""
USUAL = (
    TreatmentStep(Treatment.SOLVENT, Tool.SWAB),
    TreatmentStep(Treatment.BURNISH, Tool.STUMP),
)
"""What is tried where no swatch shows any treatment: one of each (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Blended:
    """A recipe before and after a treatment."""

    treatment: TreatmentStep
    """Which."""
    told: bool
    """Whether swatches tell what it does on this paper, to all that it reaches."""
    before: FloatArray
    after: FloatArray
    """Shape (3,), Lab."""
    off_before: float
    off_after: float
    """CIEDE2000 from the wanted color, all factors 1."""


def treatments_of(fit: KitFit) -> tuple[TreatmentStep, ...]:
    """Return the treatments that swatches of the kit's pencils show, or else the usual ones."""
    if fit.pencils is None:
        return ()
    every = [TreatmentStep(t, tool) for t in Treatment for tool in Tool]
    named = zip(every, TREATMENTS, strict=True)
    told = tuple(step for step, name in named if f"{name} {TURNS[0]}" in fit.pencils.told)
    return told or USUAL


def blended(question: Question, recipe: Recipe) -> tuple[Blended, ...]:
    """Return what each treatment would make of a recipe that ends in pencil.

    `question`: what is asked; of a kit with pencils. `recipe`: what is laid over what lies there.
    One that ends in a treatment already gives nothing.
    """
    fit, pile = question.fit, question.over.then(recipe)
    last = pile.steps[-1] if pile.steps else None
    if not isinstance(fit, KitFit) or not isinstance(last, Step):
        return ()
    if last.colorant.medium is not Medium.PENCIL or fit.pencils is None:
        return ()
    before = lab_from_reflectance(reflectance(fit, pile))
    made = []
    for step in treatments_of(fit):
        treated = Recipe((*pile.steps, step))
        after = lab_from_reflectance(reflectance(fit, treated))
        made.append(
            Blended(
                treatment=step,
                told=_told(fit.pencils, treated),
                before=before,
                after=after,
                off_before=float(ciede2000(question.target.lab, before)),
                off_after=float(ciede2000(question.target.lab, after)),
            )
        )
    return tuple(made)


def _told(pencils: FilmFit, treated: Recipe) -> bool:
    """Whether swatches tell what the last step of a recipe does to all that it reaches."""
    (*_, step) = treated.steps
    assert isinstance(step, TreatmentStep)
    soaks = step.treatment is Treatment.SOLVENT and bool(soaking(treated))
    return not soaks and f"{step.treatment} by {step.tool} cover" in pencils.told


def notes_on_blending(question: Question, recipe: Recipe) -> list[str]:
    """Say where a match holds dry but not after blending, and the other way round."""
    said = []
    for one in blended(question, recipe):
        done = SPOKEN[one.treatment.treatment]
        named = f"{done} by {one.treatment.tool}"
        trust = "" if one.told else " (assumed: no swatch shows it)"
        holds, held = one.off_before <= question.tolerance, one.off_after <= question.tolerance
        if holds and not held:
            said.append(
                f"It holds as laid but not after {named}{trust}: {one.off_before:.1f} becomes "
                f"{one.off_after:.1f}. Leave it unblended."
            )
        elif held and not holds:
            said.append(
                f"As laid it is off by {one.off_before:.1f}; after {named}{trust} it would be "
                f"off by {one.off_after:.1f}."
            )
    return said
