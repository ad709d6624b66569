"""What a fit of pencils or washes starts from."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.film_laying import matters
from laydown.media.film_model import GUESSED, FilmPriors
from laydown.media.film_swatches import (
    FilmReference,
    FilmSwatch,
    film_order,
    film_references,
    film_swatch,
    is_wet,
    key_of,
)
from laydown.media.laydown import Medium
from laydown.media.paper import Paper
from laydown.media.recipe import Recipe
from laydown.media.shapes import SEEN_SHAPES, reference_shapes
from laydown.media.swatch import Swatch


@dataclass(frozen=True, slots=True, eq=False)
class FilmSetting:
    """What a fit starts from.

    Parameters
    ----------
    medium, paper, order
        Which, where, and the colorants in the order of the arrays.
    references
        By range and name.
    rows
        The swatches, each reference once.
    usual, priors
        What is taken for granted before any swatch, and with what the swatches tell of noise.
    told
        Names of the effects that swatches tell.
    hidden
        Shape (n, h, 36), what spectra guessed from XYZ may hide.
    """

    medium: Medium
    paper: Paper
    order: tuple[Colorant, ...]
    references: dict[tuple[str, str], FilmReference]
    rows: tuple[FilmSwatch, ...]
    usual: FilmPriors
    priors: FilmPriors
    told: frozenset[str]
    hidden: FloatArray

    @property
    def spread(self) -> FloatArray:
        """Shape (p,), the prior standard deviation of every parameter."""
        own = np.tile(self.priors.own_sd, len(self.order))
        return np.concatenate([self.priors.sd, own, np.ones(self.hidden[..., 0].size)])

    @property
    def movable(self) -> FloatArray:
        """Shape (p,), 1 for what may move."""
        free = [float(name in self.told) for name in self.priors.names]
        return np.concatenate([free, np.ones(len(self.spread) - len(free))])

    @property
    def middle(self) -> FloatArray:
        """Shape (p,), the prior mean."""
        return np.concatenate(
            [self.priors.mean, np.zeros(len(self.spread) - len(self.priors.mean))]
        )


def film_setting(
    swatches: Sequence[Swatch],
    paper: Paper,
    medium: Medium,
    colorants: Sequence[Colorant],
    priors: FilmPriors,
) -> FilmSetting:
    """Make swatches ready for `laydown.media.film_fit.fit_films`, which says what is given."""
    fitted = [s for s in swatches if s.recipe.steps and not is_wet(s.recipe)]
    references = film_references(fitted)
    order = film_order(fitted, colorants, references, paper)
    rows = [
        film_swatch(s, paper, references, medium=medium, order=order, measuring=priors.measuring)
        for s in fitted
    ]
    once: dict[Recipe, FilmSwatch] = {r.recipe: r for r in rows if r.is_reference}
    kept = (*once.values(), *(r for r in rows if not r.is_reference))
    hidden = np.array([_hidden(references[key_of(c)], priors) for c in order])
    told = _told(kept, priors, medium)
    return FilmSetting(medium, paper, order, references, kept, priors, priors, told, hidden)


def _hidden(reference: FilmReference, priors: FilmPriors) -> FloatArray:
    """Return what a spectrum guessed from XYZ may hide, shape (h, 36); none where it was measured.

    A deep laydown and layers show some of it: what XYZ doesn't see of one coat it sees of three.
    """
    shapes = reference_shapes(
        np.clip(reference.reflectance, 1e-4, None),
        ceiling=np.ones(len(reference.reflectance)),
        measuring=priors.measuring,
        xyz_only=True,
    )[SEEN_SHAPES:]
    return GUESSED * shapes * float(reference.xyz_only)


def _told(rows: Sequence[FilmSwatch], priors: FilmPriors, medium: Medium) -> frozenset[str]:
    asked = [matters(priors, row.steps, medium) for row in rows if not row.is_reference]
    return frozenset().union(*asked)
