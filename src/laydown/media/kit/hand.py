"""Hand: how much one person lays down against another, from colorants that both have swatched."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.tristimulus import WEIGHTS_D50
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.film.learning import film_log_ratio, with_borrowed_films
from laydown.media.film.model import FilmFit
from laydown.media.marker.absorption import absorption
from laydown.media.marker.fitting import BoolArray
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pooling import pool
from laydown.media.marker.priors import EFFECTS, SCALE

FEWEST = 3
"""With fewer shared colorants a hand can't be told from one odd marker."""
OWN_STRENGTH = 0.1
"""Standard deviation of the log strength by which two markers of one name differ; see
`learning_priors.csv`."""
FAR_OUT = 2.5
"""A colorant so many robust deviations from the middle is left out and named."""


@dataclass(frozen=True, slots=True, eq=False)
class Hand:
    """What one person lays against another.

    Parameters
    ----------
    log_amount, deviation
        Natural log of mine over theirs, and its standard deviation.
    shared
        The colorants it was told by.
    log_ratios
        Shape (shared,), of each alone.
    odd
        Names of those that were left out, since they disagree with the rest.
    """

    log_amount: float
    deviation: float
    shared: tuple[Colorant, ...]
    log_ratios: FloatArray
    odd: tuple[str, ...]

    @property
    def factor(self) -> float:
        """Mine over theirs."""
        return float(np.exp(self.log_amount))

    @property
    def factors(self) -> FloatArray:
        """Shape (shared,): the same by each colorant alone."""
        return np.asarray(np.exp(self.log_ratios))


def hand_between(mine: MarkerFit | FilmFit, theirs: MarkerFit | FilmFit) -> Hand:
    """Compare two people's one-coat swatches of the same colorants on the same paper.

    Parameters
    ----------
    mine, theirs
        Fits of each person's *swatches*; not of fits that trials have moved, which hold the hand
        already.

    Raises
    ------
    NotMeasuredError
        For fewer than `FEWEST` shared colorants, different papers or different media.

    Notes
    -----
    Each colorant gives the log of the amount by which one spectrum is the other's multiple on the
    absorption scale of theirs, weighed as the eye sees. The hand is the mean of those, outliers by
    the median aside; what is unsure of the depth of the dye is in its deviation. An error that both
    papers share is not seen. Pencils and washes: `laydown.media.film.learning.film_log_ratio`.

    Examples
    --------
    ``hand_between(student, teacher).factor`` of 0.6: where the teacher lays one coat, lay two.
    """
    if mine.paper.name.casefold() != theirs.paper.name.casefold():
        raise NotMeasuredError(
            f"Those swatches are on {theirs.paper.name}, yours on {mine.paper.name}.",
            hint="A hand can only be compared on one and the same paper.",
        )
    places = [
        (i, j)
        for i, a in enumerate(mine.colorants)
        for j, b in enumerate(theirs.colorants)
        if (a.range, a.name) == (b.range, b.name) and not a.blender
    ]
    if len(places) < FEWEST:
        raise NotMeasuredError(
            f"Only {len(places)} colorants have been swatched by both on {mine.paper.name}: "
            f"a hand needs {FEWEST}.",
            hint="Lay one coat each of three or more of the same colorants, measure and import.",
        )
    ratios, unsure = _told(mine, theirs, places)
    kept = _agreeing(ratios)
    scatter = np.hypot(np.hypot(mine.hand, theirs.hand), OWN_STRENGTH)
    spread = max(float(scatter), float(ratios[kept].std(ddof=1)) if kept.sum() > 1 else 0.0)
    return Hand(
        log_amount=float(ratios[kept].mean()),
        deviation=float(np.hypot(spread / np.sqrt(kept.sum()), unsure[kept].mean())),
        shared=tuple(mine.colorants[i] for (i, _), k in zip(places, kept, strict=True) if k),
        log_ratios=ratios[kept],
        odd=tuple(mine.colorants[i].name for (i, _), k in zip(places, kept, strict=True) if not k),
    )


def _told(
    mine: MarkerFit | FilmFit, theirs: MarkerFit | FilmFit, places: Sequence[tuple[int, int]]
) -> tuple[FloatArray, FloatArray]:
    """Return each colorant's log ratio, and what is left open of it."""
    if isinstance(mine, MarkerFit) and isinstance(theirs, MarkerFit):
        return _log_ratios(mine, theirs, places)
    if not isinstance(mine, FilmFit) or not isinstance(theirs, FilmFit):
        raise NotMeasuredError(
            "A hand with markers can't be compared with one with pencils or washes.",
            hint="Compare swatches of one medium.",
        )
    pairs = np.array([film_log_ratio(mine, i, theirs, j) for i, j in places])
    return pairs[:, 0], pairs[:, 1]


def _agreeing(ratios: FloatArray) -> BoolArray:
    middle = np.median(ratios)
    away = np.abs(ratios - middle)
    wide = max(1.4826 * float(np.median(away)), OWN_STRENGTH)
    return np.asarray(away <= FAR_OUT * wide)


def _log_ratios(
    mine: MarkerFit, theirs: MarkerFit, places: Sequence[tuple[int, int]]
) -> tuple[FloatArray, FloatArray]:
    """Return each colorant's log ratio, and what the depth of the dye leaves open of it."""
    scale, sd = theirs.scale, float(np.sqrt(theirs.covariance[SCALE, SCALE]))
    tried = np.array([
        [_log_ratio(mine, i, theirs, j, scale=float(np.clip(s, 0.0, 1.0))) for i, j in places]
        for s in (scale, scale - sd, scale + sd)
    ])  # fmt: skip
    return tried[0], np.abs(tried[2] - tried[1]) / 2.0


def _log_ratio(
    mine: MarkerFit, place: int, theirs: MarkerFit, other: int, *, scale: float
) -> float:
    """Return the log of the amount of theirs that comes nearest to mine, weighed by luminosity."""
    wanted = absorption(mine.one_coat[place] / mine.ceiling, scale=scale)
    wanted = wanted - absorption(mine.paper.reflectance / mine.ceiling, scale=scale)
    unit = absorption(theirs.one_coat[other] / theirs.ceiling, scale=scale)
    unit = unit - absorption(theirs.paper.reflectance / theirs.ceiling, scale=scale)
    sight = WEIGHTS_D50.sum(axis=1) * theirs.one_coat[other] ** 2
    along = float(np.sum(sight * unit * unit))
    ratio = float(np.sum(sight * unit * wanted)) / along if along > 0.0 else 1.0
    return float(np.log(np.clip(ratio, 0.05, 20.0)))


def colors_as(fit: MarkerFit, colorants: Sequence[Colorant], hand: Hand) -> MarkerFit:
    """Return another person's fit as it would be by my hand, for colorants I haven't swatched.

    The amount is corrected once, here; what I have swatched myself needs no correction at all.

    Parameters
    ----------
    fit
        The other person's.
    colorants
        Those wanted of it.
    hand
        Mine against theirs.
    """
    e = len(EFFECTS)
    places = [fit.index(c) for c in colorants]
    rows = [*range(e), *(e + place for place in places)]
    covariance = fit.covariance[np.ix_(rows, rows)].copy()
    covariance[e:, e:] += hand.deviation**2 + np.diag(np.full(len(places), OWN_STRENGTH**2))
    return replace(
        fit,
        colorants=tuple(fit.colorants[place] for place in places),
        absorption=fit.absorption[places] * hand.factor,
        strength=fit.strength[places] * hand.factor,
        blender=fit.blender[places],
        covariance=covariance,
        xyz_only=fit.xyz_only[places],
        most_coats=fit.most_coats[places],
    )


def with_borrowed(
    mine: MarkerFit | FilmFit,
    theirs: MarkerFit | FilmFit,
    colorants: Sequence[Colorant],
    hand: Hand,
) -> MarkerFit | FilmFit:
    """Return my fit with colorants that only they have swatched, corrected once for my hand.

    Parameters
    ----------
    mine, theirs
        Of one medium on one paper.
    colorants
        Those wanted of theirs; none gives my fit itself.
    hand
        Mine against theirs.
    """
    if not colorants:
        return mine
    if isinstance(mine, MarkerFit) and isinstance(theirs, MarkerFit):
        return pool([mine, colors_as(theirs, colorants, hand)])
    if isinstance(mine, FilmFit) and isinstance(theirs, FilmFit):
        variance = hand.deviation**2 + OWN_STRENGTH**2
        return with_borrowed_films(
            mine, theirs, colorants, log_amount=hand.log_amount, variance=variance
        )
    raise TypeError("both fits are of one medium")
