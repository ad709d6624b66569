"""The hand with pencils or washes: how much of someone else's film makes my swatch."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.colorant import Colorant
from laydown.media.film_constants import film_reflectance
from laydown.media.film_laying import FilmStep, film_unchanged
from laydown.media.film_model import OWN, FilmFit, film_priors
from laydown.media.film_predicting import film_ground
from laydown.media.recipe import Recipe, Step

TRIED = np.linspace(-2.0, 2.0, 161)
"""Log amounts to try; between them the best is found by a parabola."""


def film_log_ratio(mine: FilmFit, place: int, theirs: FilmFit, other: int) -> tuple[float, float]:
    """Return the log of the amount of theirs that looks most like my swatch, and what is unsure.

    Parameters
    ----------
    mine, theirs
        Fits of each person's swatches, of one medium on one paper.
    place, other
        Of the colorant in each.

    Notes
    -----
    Their film is laid as my swatch was laid, times an amount; the nearest CIELAB counts. Where no
    amount comes near, since pigment or paper differ, the distance left counts as unsure by how much
    amount it is worth.
    """
    laid, colorant = mine.reference_laydowns[place], theirs.colorants[other]
    ground = film_ground(theirs, Recipe((Step(colorant),)))
    own = theirs.own[[other]] * np.where(np.arange(len(OWN)) == 0, 0.0, 1.0)
    tried = film_unchanged(theirs.effects, own, steps=1, count=len(TRIED))
    tried.fresh[:, 0] = TRIED
    seen = film_reflectance([FilmStep(((0, 1.0),), laid)], theirs.medium, ground, tried)
    labs = lab_from_reflectance(seen)
    off = ((labs - lab_from_reflectance(mine.references[place])) ** 2).sum(axis=-1)
    best = int(np.clip(np.argmin(off), 1, len(TRIED) - 2))
    before, here, after = off[best - 1 : best + 2]
    curve = max(float(before - 2.0 * here + after), 1e-12)
    step = float(TRIED[1] - TRIED[0])
    moved = float(np.clip(0.5 * (before - after) / curve, -0.5, 0.5))
    noise = mine.measuring**2 + theirs.measuring**2
    return float(TRIED[best]) + moved * step, float(np.sqrt(2.0 * noise / curve)) * step


def with_borrowed_films(
    mine: FilmFit,
    theirs: FilmFit,
    colorants: Sequence[Colorant],
    *,
    log_amount: float,
    variance: float,
) -> FilmFit:
    """Return my fit with colorants that only they have swatched, as if my hand had laid them.

    Parameters
    ----------
    mine, theirs
        Of one medium on one paper; how the paper takes a film is mine.
    colorants
        Those wanted of theirs.
    log_amount, variance
        Natural log of mine over theirs, and the variance that adds to their amounts.
    """
    places, e, m = (
        [theirs.index(c) for c in colorants],
        len(film_priors(mine.medium).names),
        len(OWN),
    )
    rows = [e + m * place + j for place in places for j in range(m)]
    added = theirs.covariance[np.ix_(rows, rows)].copy()
    amounts = m * np.arange(len(places))
    added[amounts, amounts] += variance
    own = theirs.own[places].copy()
    own[:, 0] += log_amount
    return replace(
        mine,
        colorants=(*mine.colorants, *(theirs.colorants[p] for p in places)),
        references=np.concatenate([mine.references, theirs.references[places]]),
        reference_laydowns=(
            *mine.reference_laydowns,
            *(theirs.reference_laydowns[p] for p in places),
        ),
        own=np.concatenate([mine.own, own]),
        covariance=_side_by_side(mine.covariance, added),
        xyz_only=np.concatenate([mine.xyz_only, theirs.xyz_only[places]]),
        most_coats=np.concatenate([mine.most_coats, theirs.most_coats[places]]),
    )


def _side_by_side(one: FloatArray, other: FloatArray) -> FloatArray:
    whole = np.zeros((len(one) + len(other), len(one) + len(other)))
    whole[: len(one), : len(one)] = one
    whole[len(one) :, len(one) :] = other
    return whole
