"""Swatches and trials: what was laid, and the color that was measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.recipe import Recipe


class Basis(StrEnum):
    """What was measured."""

    SPECTRUM = "spectrum"
    XYZ = "xyz"


@dataclass(frozen=True, slots=True, eq=False)
class Swatch:
    """A measured patch."""

    paper: str
    """The name of the paper it lies on."""
    recipe: Recipe
    """What was laid, bottom first; the last step is the swatch's own colorant. An empty recipe is
    bare paper."""
    reflectance: FloatArray
    """Shape (36,), measured, or where `basis` is XYZ the smoothest one with that XYZ."""
    basis: Basis = Basis.SPECTRUM
    """Whether a spectrum or only XYZ was measured."""
    spread: float = 0.0
    """Standard deviation within the patch or between replicates [CIELAB units, root of the mean
    square over L*, a*, b*]; 0 where unknown."""
    flags: frozenset[str] = frozenset()
    """What was noticed on reading: ``above-white`` (reflectance over 1), ``extended-bands``."""
    hours: float | None = None
    """How long after it was laid it was read [h]; None where it was dry."""
    picture: str = ""
    """What it was read from together with others; empty for a measurement of its own."""
    shared: float = 0.0
    """The part of its reading's noise that colors near it in that picture have alike [CIELAB units
    per axis]."""


READINGS = 4.0
"""A patch's spread counts as that of so many readings of it (common practice, no source)."""


def reading_noise(swatch: Swatch, measuring: float) -> float:
    """Return the noise of a swatch's measurement, by an instrument's [CIELAB units per axis].

    >>> patch = Swatch("Gannet smooth", Recipe(), np.ones(36), spread=0.8)
    >>> round(reading_noise(patch, 0.3), 9)
    0.5
    """
    return float(np.hypot(measuring, swatch.spread / np.sqrt(READINGS)))


class Fill(StrEnum):
    """How full the markers of a trial were, where that was worth a note."""

    USUAL = "usual"
    REFILLED = "refilled"
    RUNNING_DRY = "running dry"


FILL_DEVIATION = MappingProxyType({Fill.USUAL: 0.0, Fill.REFILLED: 0.12, Fill.RUNNING_DRY: 0.25})
"""Added standard deviation of the natural log of a coat's amount (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """What was laid and what came of it."""

    number: int
    """By which it is named when it is flagged."""
    recipe: Recipe
    """What was laid, as it was noted."""
    lab: FloatArray
    """Shape (3,), as measured."""
    noise: float = 0.0
    """Of the measurement [CIELAB units per axis]; 0 for what a good instrument has."""
    fill: Fill = Fill.USUAL
    """How full the markers were."""
    picture: str = ""
    """What it was read from together with others; empty for a measurement of its own."""
    shared: float = 0.0
    """The part of the noise that all readings of that picture have alike."""

    @property
    def own_noise(self) -> float:
        """The part of the noise that is its own."""
        return float(np.sqrt(max(self.noise**2 - self.shared**2, 0.0)))


Fills: TypeAlias = Mapping[str, Fill]
"""The labels of colorants whose fill has changed since they were swatched."""
