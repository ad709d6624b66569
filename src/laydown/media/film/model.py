"""What is known of pencils or washes on a paper once their swatches are fitted."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant, Paper
from laydown.media.laydown import Laydown, Medium
from laydown.media.recipe import Recipe, Tool, Treatment
from laydown.reference.tables import load_table

FILM_VERSION = "film 2"
"""Changes whenever the same swatches would give another fit."""
TREATMENTS = tuple(f"{t} by {tool}" for t in Treatment for tool in Tool)
TURNS = ("cover", "removed", "stronger", "tilt")
"""What a treatment does: see `laydown.media.film.laying`."""
OWN = ("amount", "level", "slope", "bend", "wave")
"""What each colorant has of its own: log amount, and four shapes of its log scattering."""


GUESSED = 1.5
"""How much more the spectrum of a film guessed from XYZ may hide than that of a dye
(`laydown.media.marker.shapes.HIDDEN`); calibrated on simulated pigments, see
docs/decisions/doubt.md."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmPriors:
    """What is expected of a medium before any swatch, and how firmly.

    Parameters
    ----------
    names
        Of the effects, in their order.
    mean, sd, lowest, highest
        Shape (E,), of the effects.
    own_sd
        Shape (5,), of what each colorant has of its own, see `OWN`; the first is in units of the
        hand's scatter.
    hand, misfit, measuring, hand_sd, misfit_sd
        As in `laydown.media.marker.priors.Priors`.
    misfit_lowest
        What the model is off by at least.
    """

    names: tuple[str, ...]
    mean: FloatArray
    sd: FloatArray
    lowest: FloatArray
    highest: FloatArray
    own_sd: FloatArray
    hand: float
    misfit: float
    measuring: float
    hand_sd: float
    misfit_sd: float
    misfit_lowest: float

    def at(self, name: str) -> int:
        """Return the place of an effect."""
        return self.names.index(name)


@cache
def film_priors(medium: Medium) -> FilmPriors:
    """Return the priors of ``film_priors.csv``, which gives the reason for each.

    Examples
    --------
    >>> film_priors(Medium.WASH).names
    ('scatter', 'water', 'lift', 'second', 'settle')
    """
    table = load_table("film_priors")
    kinds, names = table.words("medium"), table.words("name")
    numbers = table.numbers("mean", "sd", "lowest", "highest")
    listed = [i for i, kind in enumerate(kinds) if kind == medium]
    if medium is Medium.PENCIL:
        listed += [i for i, kind in enumerate(kinds) if kind in TREATMENTS]
    own = [i for i, kind in enumerate(kinds) if kind == "colorant"]
    told = ("noise", f"{medium} noise")
    noise = {names[i]: numbers[i] for i, kind in enumerate(kinds) if kind in told}
    mean, sd, lowest, highest = numbers[listed].T
    return FilmPriors(
        names=tuple(names[i] if kinds[i] == medium else f"{kinds[i]} {names[i]}" for i in listed),
        mean=mean,
        sd=sd,
        lowest=lowest,
        highest=highest,
        own_sd=numbers[own, 1],
        hand=float(noise["hand"][0]),
        misfit=float(noise["misfit"][0]),
        measuring=float(noise["measuring"][0]),
        hand_sd=float(noise["hand"][1]),
        misfit_sd=float(noise["misfit"][1]),
        misfit_lowest=float(noise["misfit"][2]),
    )


@dataclass(frozen=True, slots=True, eq=False)
class FilmFit:
    """Pencils, or washes, on a paper, fitted. n colorants; p = E + 5 n parameters.

    Parameters
    ----------
    model_version
        `FILM_VERSION` of the model that made it.
    medium
        Pencil or wash.
    paper
        The paper.
    colorants
        Those swatched on it, in the order of the arrays.
    references
        Shape (n, 36), the swatch that each colorant's absorption is taken from.
    reference_laydowns
        How those were laid, one step on bare paper.
    effects
        Shape (E,), in the order of `film_priors(medium).names`.
    own
        Shape (n, 5), see `OWN`.
    covariance
        Shape (p, p), of the effects and then of each colorant's own.
    hand, misfit, measuring
        As in `laydown.media.marker.model.MarkerFit`.
    xyz_only
        Shape (n,), which share of the doubt about a spectrum guessed from XYZ is left: 1 where
        nothing but that XYZ is known, 0 where the spectrum was measured.
    most_coats
        Shape (n,), the most coats of it in one swatch.
    told
        Names of the effects that swatches tell.
    assumed
        Names of effects that matter without any treatment and that no swatch tells.
    odd, notes, swatched
        As in `MarkerFit`.
    carried
        Labels of colorants that were carried over from another paper and not measured on this one.
    """

    model_version: str
    medium: Medium
    paper: Paper
    colorants: tuple[Colorant, ...]
    references: FloatArray
    reference_laydowns: tuple[Laydown, ...]
    effects: FloatArray
    own: FloatArray
    covariance: FloatArray
    hand: float
    misfit: float
    measuring: float
    xyz_only: FloatArray
    most_coats: FloatArray
    told: frozenset[str]
    assumed: frozenset[str]
    odd: tuple[str, ...]
    notes: tuple[str, ...]
    swatched: tuple[Recipe, ...]
    carried: frozenset[str] = frozenset()

    def effect(self, name: str) -> float:
        """Return an effect by its name."""
        return float(self.effects[film_priors(self.medium).at(name)])

    def index(self, colorant: Colorant) -> int:
        """Return the place of a colorant in the arrays, or raise NotMeasuredError."""
        for place, known in enumerate(self.colorants):
            if (known.name, known.range) == (colorant.name, colorant.range):
                return place
        raise NotMeasuredError(
            f"{colorant.label} has not been swatched on {self.paper.name}.",
            hint=f"Lay one coat of {colorant.name} on {self.paper.name}, measure and import it.",
        )


def scattering_shapes(bands: int = 36) -> FloatArray:
    """Return the four shapes of log scattering over the bands, shape (4, bands), mean square 1."""
    place = (np.arange(bands) + 0.5) / bands
    order = np.arange(len(OWN) - 1)[:, None]
    return np.asarray(np.cos(np.pi * order * place) * np.where(order > 0, np.sqrt(2.0), 1.0))
