"""What the search and the judgement hand over: targets, candidates and matches."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.match.acceptance import closeness
from laydown.media.kit.fit import Prediction
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
    BUT_VALUE = "off mostly in value"
    BUT_HUE = "off mostly in hue"
    ANOTHER_LAYER = "needs another layer"
    UNSURE = "unsure"
    OUT_OF_REACH = "out of reach"

    @classmethod
    def _missing_(cls, value: object) -> "Verdict | None":
        """Read what was kept when these two were called the same, however far off they were."""
        once = {"same but for value": cls.BUT_VALUE, "same but for hue": cls.BUT_HUE}
        return once.get(str(value))


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """A wanted color."""

    name: str
    """As people call it."""
    lab: FloatArray
    """Shape (3,), CIELAB D50."""
    passage: str = ""
    role: str = ""
    """The part of the picture it belongs to and whether it is its highlight, midtone or shadow."""
    origin: Origin = Origin.MEASURED
    """Where the color comes from."""
    covariance: FloatArray = field(default_factory=lambda: np.zeros((3, 3)))
    """Shape (3, 3), how uncertain the target itself is."""
    reflectance: FloatArray | None = None
    """Shape (36,) where it was measured, or predicted from measured ones; None where XYZ or Lab are
    all that is known."""
    own_recipe: Recipe | None = None
    """Where this is the color that the swatches of the supplies which answer lead to expect of a
    recipe of theirs, on the whole: that recipe. What is left open of it and of an answer is partly
    the same, and falls out. None for any other color."""
    asked_as: Recipe | None = None
    """Where it was asked by the name of a colorant of the supplies that answer, as on their paper,
    or is of a lesson that was made with them: that recipe. Who owns the marker is never sent to mix
    it."""
    alike: float = 0.0
    """Variance [CIELAB units squared, per axis] that this color and what answers err alike, both
    having been read from one picture: it is left out of `covariance`, and falls out of theirs."""
    share: float | None = None
    """Of the picture's area [percent]; None where nobody stated it."""


@dataclass(frozen=True, slots=True)
class Difference:
    """How a color differs from the one wanted; signs are obtained minus wanted."""

    delta_e: float
    """CIEDE2000 with kL = kC = kH = 1."""
    value: float
    """In steps of ASTM D1535 value; above 0 is too light."""
    hue: float | None
    """CIELAB hue angle [degrees, -180 to 180]; None where either color is too gray to have one."""
    chroma: float
    """CIELAB chroma; below 0 is duller."""
    words: str
    """The same as a person would say it: "half a value step too light, a little yellower,
    duller"."""


@dataclass(frozen=True, slots=True)
class Mud:
    """Chroma lost by layering, its cause, and a way round."""

    lost: float
    """CIELAB chroma below what the parts and the target have."""
    pair: tuple[str, str]
    """Names of the two colorants, or mixtures, that do it."""
    words: str
    """The warning as a sentence."""
    cleaner: Recipe | None = None
    """A recipe that avoids it, or None where none is as close."""


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One recipe against one target."""

    prediction: Prediction
    """The recipe with its expected color and covariance."""
    cost: float
    """What it was ranked by: CIEDE2000 with the ranking's own kL (value first) as it is to be
    expected, its doubt included, and what its steps and coats add."""
    difference: Difference
    """At kL 1, in numbers and words."""
    covariance: FloatArray
    """Shape (3, 3), of the difference in Lab: what is unsure of the color wanted and of this one,
    without what is the same for both."""
    acceptance: float
    """The chance, 0 to 1, that an observer accepts it within the chosen tolerance."""
    verdict: Verdict
    """The judgement in words."""
    instructions: tuple[str, ...]
    """What to do, one sentence a step."""
    mud: Mud | None = None
    """The warning, or None where the mixture stays clean."""

    @property
    def told(self) -> str:
        """The judgement, what is off and the chance in one line: they are told together."""
        judged = f"{self.verdict.capitalize()}: {self.difference.words}"
        return f"{judged}; {closeness(self.acceptance)}"


@dataclass(frozen=True, slots=True, eq=False)
class Match:
    """The answer for one target."""

    target: Target
    """What was wanted."""
    best: Candidate
    """The recipe recommended."""
    single: Candidate
    """The best that one colorant alone does (it may be the best recipe itself)."""
    alternatives: tuple[Candidate, ...]
    """Further recipes in order of cost."""
    considered: int
    """How many recipes were searched, all of them exactly."""
    notes: tuple[str, ...] = ()
    """Sentences the user should read: what is assumed, that a plainer recipe was preferred, that a
    fresh start beats covering what lies there."""
    next_swatch: str = ""
    """The swatch that would make this answer surer, as a sentence; empty where none would."""
