"""What the search and the judgement hand over: targets, candidates and matches."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.prediction import Prediction
from laydown.media.recipe import Recipe


class Origin(StrEnum):
    """Where a target's color comes from, which decides how far it is trusted."""

    MEASURED = "measured"
    SWATCHED = "predicted from swatches"
    TYPED = "typed"
    SCREEN = "screen estimate"


class Verdict(StrEnum):
    """How a match is judged, in words."""

    SAME = "same"
    BUT_VALUE = "same but for value"
    BUT_HUE = "same but for hue"
    ANOTHER_LAYER = "needs another layer"
    UNSURE = "unsure"
    OUT_OF_REACH = "out of reach"


def _certain() -> FloatArray:
    return np.zeros((3, 3))


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """A wanted color.

    Parameters
    ----------
    name
        As people call it.
    lab
        Shape (3,), CIELAB D50.
    passage, role
        The part of the picture it belongs to and whether it is its highlight, midtone or shadow.
    origin
        Where the color comes from.
    covariance
        Shape (3, 3), how uncertain the target itself is.
    reflectance
        Shape (36,) where it was measured, or predicted from measured ones; None where XYZ or Lab
        are all that is known.
    own_recipe
        Where this is the color that the swatches of the supplies which answer lead to expect of a
        recipe of theirs, on the whole: that recipe. What is left open of it and of an answer is
        partly the same, and falls out. None for any other color.
    asked_as
        Where it was asked by the name of a colorant of the supplies that answer, as on their paper,
        or is of a lesson that was made with them: that recipe. Who owns the marker is never sent to
        mix it.
    """

    name: str
    lab: FloatArray
    passage: str = ""
    role: str = ""
    origin: Origin = Origin.MEASURED
    covariance: FloatArray = field(default_factory=_certain)
    reflectance: FloatArray | None = None
    own_recipe: Recipe | None = None
    asked_as: Recipe | None = None


@dataclass(frozen=True, slots=True)
class Difference:
    """How a color differs from the one wanted; signs are obtained minus wanted.

    Parameters
    ----------
    delta_e
        CIEDE2000 with kL = kC = kH = 1.
    value
        In steps of ASTM D1535 value; above 0 is too light.
    hue
        CIELAB hue angle [degrees, -180 to 180]; None where either color is too gray to have one.
    chroma
        CIELAB chroma; below 0 is duller.
    words
        The same as a person would say it: "half a value step too light, a little yellower, duller".
    """

    delta_e: float
    value: float
    hue: float | None
    chroma: float
    words: str


@dataclass(frozen=True, slots=True)
class Mud:
    """Chroma lost by layering, its cause, and a way round.

    Parameters
    ----------
    lost
        CIELAB chroma below what the parts and the target have.
    pair
        Names of the two colorants, or mixtures, that do it.
    words
        The warning as a sentence.
    cleaner
        A recipe that avoids it, or None where none is as close.
    """

    lost: float
    pair: tuple[str, str]
    words: str
    cleaner: Recipe | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One recipe against one target.

    Parameters
    ----------
    prediction
        The recipe with its expected color and covariance.
    cost
        What it was ranked by: CIEDE2000 with the ranking's own kL (value first) as it is to be
        expected, its doubt included, and what its steps and coats add.
    difference
        At kL 1, in numbers and words.
    covariance
        Shape (3, 3), of the difference in Lab: what is unsure of the color wanted and of this one,
        without what is the same for both.
    acceptance
        The chance, 0 to 1, that an observer accepts it within the chosen tolerance.
    verdict
        The judgement in words.
    instructions
        What to do, one sentence a step.
    mud
        The warning, or None where the mixture stays clean.
    """

    prediction: Prediction
    cost: float
    difference: Difference
    covariance: FloatArray
    acceptance: float
    verdict: Verdict
    instructions: tuple[str, ...]
    mud: Mud | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Match:
    """The answer for one target.

    Parameters
    ----------
    target
        What was wanted.
    best
        The recipe recommended.
    single
        The best that one colorant alone does (it may be the best recipe itself).
    alternatives
        Further recipes in order of cost.
    considered
        How many recipes were searched, all of them exactly.
    notes
        Sentences the user should read: what is assumed, that a plainer recipe was preferred, that a
        fresh start beats covering what lies there.
    next_swatch
        The swatch that would make this answer surer, as a sentence; empty where none would.
    """

    target: Target
    best: Candidate
    single: Candidate
    alternatives: tuple[Candidate, ...]
    considered: int
    notes: tuple[str, ...] = ()
    next_swatch: str = ""
