"""What soaks through: solvent over pencil loosens dye and wash below, dye goes through a dry wash.

Burnishing is dry: it moves nothing below the pencil. What solvent carries off is a share of all
that lies below, the same at every band; where the loosened dye goes, and a hue that it may lend to
the pencil, are left to the uncertainty.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from laydown.media.laydown import Medium
from laydown.media.recipe import AnyStep, Recipe, Step, Treatment, TreatmentStep
from laydown.reference.tables import load_table


@dataclass(frozen=True, slots=True)
class Soaked:
    """What is left of a medium after the treatments above it."""

    share: float = 1.0
    """Of the amount that was laid, 0 to 1."""
    deviation: float = 0.0
    """Its standard deviation; 0 where nothing soaks through."""

    @property
    def untouched(self) -> bool:
        """Whether nothing soaked through."""
        return self.share == 1.0 and self.deviation == 0.0


@cache
def soaking_priors() -> dict[tuple[str, str], tuple[float, float]]:
    """Return the share that a treatment carries off and its deviation, by medium and treatment.

    From ``soaking.csv``, which gives the reason for each: common practice, no source.
    """
    table = load_table("soaking")
    keys = zip(table.words("below"), table.words("treatment"), strict=True)
    numbers = table.numbers("carried", "sd")
    return {key: (float(mean), float(sd)) for key, (mean, sd) in zip(keys, numbers, strict=True)}


def solvents(recipe: Recipe) -> tuple[TreatmentStep, ...]:
    """Return the steps of a recipe that wet what lies below, in their order."""
    return tuple(
        step
        for step in recipe.steps
        if isinstance(step, TreatmentStep) and step.treatment is Treatment.SOLVENT
    )


def soaking(recipe: Recipe) -> frozenset[Medium]:
    """Return the media below the pencil that solvent reaches.

    Examples
    --------
    >>> sorted(soaking(Recipe()))
    []
    """
    if not solvents(recipe):
        return frozenset()
    media = {step.colorant.medium for step in recipe.steps if isinstance(step, Step)}
    return frozenset(media - {Medium.PENCIL})


def over_wash(recipe: Recipe) -> tuple[Recipe, Recipe]:
    """Return the markers of a recipe that lie over a wash, and the recipe without them.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> loam, kelp = Colorant("Loam", "Pond", Medium.WASH), Colorant("Kelp", "Estuary")
    >>> orders = (loam, kelp), (kelp, loam)
    >>> [over_wash(Recipe((Step(a), Step(b))))[0].coats for a, b in orders]
    [1, 0]
    """
    late: list[AnyStep] = []
    rest: list[AnyStep] = []
    washed = False
    for step in recipe.steps:
        medium = step.colorant.medium if isinstance(step, Step) else None
        washed = washed or medium is Medium.WASH
        (late if washed and medium is Medium.MARKER else rest).append(step)
    return Recipe(tuple(late)), Recipe(tuple(rest))


def soaked(medium: Medium, above: Recipe) -> Soaked:
    """Return what is left of a run of marker or wash below pencil and its treatments.

    Parameters
    ----------
    medium
        Of what lies below.
    above
        Pencil, with its treatments.

    Notes
    -----
    Each solvent step leaves 1 − r of what it finds; relative deviations add as squares. A stated
    prior, tested against nothing.

    Examples
    --------
    >>> from laydown.media.recipe import Tool
    >>> swab = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)
    >>> round(soaked(Medium.MARKER, Recipe((swab, swab))).share, 4)
    0.6724
    >>> soaked(Medium.MARKER, Recipe()).untouched
    True
    """
    share, relative = 1.0, 0.0
    for step in solvents(above):
        carried, sd = soaking_priors()[medium, f"{step.treatment} by {step.tool}"]
        share *= 1.0 - carried
        relative += (sd / (1.0 - carried)) ** 2
    return Soaked(share, share * float(np.sqrt(relative)))
