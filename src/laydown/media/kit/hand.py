"""Hand: how much one person lays down against another, from colorants that both have swatched."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.film.laying import film_reflectance
from laydown.media.film.model import FilmFit, film_ground
from laydown.media.inference.fit import Fit
from laydown.media.inference.forward import LaidStep, variants
from laydown.media.inference.prediction import without_residuals
from laydown.media.kit.fit import MediumFit
from laydown.media.marker.model import MarkerFit, pool
from laydown.media.marker.pile import absorption
from laydown.media.marker.priors import EFFECTS, SCALE
from laydown.media.recipe import Colorant, Recipe, Step, key_of

FEWEST = 3
"""With fewer shared colorants a hand can't be told from one odd marker."""
OWN_STRENGTH = 0.1
"""Standard deviation of the log strength by which two markers of one name differ; see
`learning_priors.csv`."""
FAR_OUT = 2.5
"""A colorant so many robust deviations from the middle is left out and named."""
TRIED = np.linspace(-2.0, 2.0, 161)
"""Log amounts to try; between them the best is found by a parabola."""


@dataclass(frozen=True, slots=True, eq=False)
class Hand:
    """What one person lays against another."""

    log_amount: float
    deviation: float
    """Natural log of mine over theirs, and its standard deviation."""
    shared: tuple[Colorant, ...]
    """The colorants it was told by."""
    log_ratios: FloatArray
    """Shape (shared,), of each alone."""
    odd: tuple[str, ...]
    """Names of those that were left out, since they disagree with the rest."""

    @property
    def factor(self) -> float:
        """Mine over theirs."""
        return float(np.exp(self.log_amount))

    @property
    def factors(self) -> FloatArray:
        """Shape (shared,): the same by each colorant alone."""
        return np.asarray(np.exp(self.log_ratios))


def hand_between(mine: Fit, theirs: Fit) -> Hand:
    """Compare two people's one-coat swatches of the same colorants on the same paper.

    `mine`, `theirs`: fits of each person's *swatches*; not of fits that trials have moved, which
    hold the hand already. Raises NotMeasuredError for fewer than `FEWEST` shared colorants,
    different papers or different media.

    Each colorant gives the log of the amount by which one spectrum is the other's multiple on the
    absorption scale of theirs, weighed as the eye sees. The hand is the mean of those, outliers by
    the median aside; what is unsure of the depth of the dye is in its deviation. An error that both
    papers share is not seen. Pencils and washes: `film_log_ratio`.

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
        if key_of(a) == key_of(b) and not a.blender
    ]
    if len(places) < FEWEST:
        raise NotMeasuredError(
            f"Only {len(places)} colorants have been swatched by both on {mine.paper.name}: "
            f"a hand needs {FEWEST}.",
            hint="Lay one coat each of three or more of the same colorants, measure and import.",
        )
    pairs = np.array([_amount_ratio(mine, i, theirs, j) for i, j in places])
    ratios, unsure = pairs.T
    away = np.abs(ratios - np.median(ratios))
    kept = away <= FAR_OUT * max(1.4826 * float(np.median(away)), OWN_STRENGTH)
    scatter = np.hypot(np.hypot(mine.noise.hand, theirs.noise.hand), OWN_STRENGTH)
    spread = max(float(scatter), float(ratios[kept].std(ddof=1)) if kept.sum() > 1 else 0.0)
    return Hand(
        log_amount=float(ratios[kept].mean()),
        deviation=float(np.hypot(spread / np.sqrt(kept.sum()), unsure[kept].mean())),
        shared=tuple(mine.colorants[i] for (i, _), k in zip(places, kept, strict=True) if k),
        log_ratios=ratios[kept],
        odd=tuple(mine.colorants[i].name for (i, _), k in zip(places, kept, strict=True) if not k),
    )


def _amount_ratio(mine: Fit, place: int, theirs: Fit, other: int) -> tuple[float, float]:
    """Return a colorant's log ratio, and what is left open of it."""
    if isinstance(mine, MarkerFit) and isinstance(theirs, MarkerFit):
        # what the depth of the dye leaves open
        sd = float(np.sqrt(theirs.covariance[SCALE, SCALE]))
        scales = np.clip(theirs.scale + sd * np.array([0.0, -1.0, 1.0]), 0.0, 1.0).tolist()
        here, low, high = (_log_ratio(mine, place, theirs, other, scale=s) for s in scales)
        return here, abs(high - low) / 2.0
    if isinstance(mine, FilmFit) and isinstance(theirs, FilmFit):
        return film_log_ratio(mine, place, theirs, other)
    raise NotMeasuredError(
        "A hand with markers can't be compared with one with pencils or washes.",
        hint="Compare swatches of one medium.",
    )


def _log_ratio(
    mine: MarkerFit, place: int, theirs: MarkerFit, other: int, *, scale: float
) -> float:
    """Return the log of the amount of theirs that comes nearest to mine, weighed by luminosity."""
    wanted, unit = (
        absorption(fit.one_coat[at] / fit.ceiling, scale=scale)
        - absorption(fit.paper.reflectance / fit.ceiling, scale=scale)
        for fit, at in ((mine, place), (theirs, other))
    )
    sight = WEIGHTS_D50.sum(axis=1) * theirs.one_coat[other] ** 2
    along = float(np.sum(sight * unit * unit))
    ratio = float(np.sum(sight * unit * wanted)) / along if along > 0.0 else 1.0
    return float(np.log(np.clip(ratio, 0.05, 20.0)))


def colors_as(fit: MarkerFit, colorants: Sequence[Colorant], hand: Hand) -> MarkerFit:
    """Return another person's fit as it would be by my hand, for colorants I haven't swatched.

    The amount is corrected once, here; what I have swatched myself needs no correction at all.

    `fit`: the other person's. `colorants`: those wanted of it. `hand`: mine against theirs.
    """
    e = len(EFFECTS)
    places = [fit.index(c) for c in colorants]
    rows = [*range(e), *(e + place for place in places)]
    covariance = fit.covariance[np.ix_(rows, rows)].copy()
    covariance[e:, e:] += hand.deviation**2 + np.diag(np.full(len(places), OWN_STRENGTH**2))
    return replace(
        without_residuals(fit),
        colorants=tuple(fit.colorants[place] for place in places),
        absorption=fit.absorption[places] * hand.factor,
        strength=fit.strength[places] * hand.factor,
        blender=fit.blender[places],
        own=fit.own[places],
        covariance=covariance,
        xyz_only=fit.xyz_only[places],
        most_coats=fit.most_coats[places],
    )


def with_borrowed(
    mine: MediumFit, theirs: MediumFit, colorants: Sequence[Colorant], hand: Hand
) -> MediumFit:
    """Return my fit with colorants that only they have swatched, corrected once for my hand.

    `mine`, `theirs`: of one medium on one paper. `colorants`: those wanted of theirs; none gives my
    fit itself. `hand`: mine against theirs.
    """
    if not colorants:
        return mine
    if isinstance(mine, MarkerFit) and isinstance(theirs, MarkerFit):
        return pool([mine, colors_as(theirs, colorants, hand)])
    if isinstance(mine, FilmFit) and isinstance(theirs, FilmFit):
        return with_borrowed_films(mine, theirs, colorants, hand)
    raise TypeError("both fits are of one medium")


def film_log_ratio(mine: FilmFit, place: int, theirs: FilmFit, other: int) -> tuple[float, float]:
    """Return the log of the amount of theirs that looks most like my swatch, and what is unsure.

    `mine`, `theirs`: fits of each person's swatches, of one medium on one paper. `place`, `other`:
    of the colorant in each.

    Their film is laid as my swatch was laid, times an amount; the nearest CIELAB counts. Where no
    amount comes near, since pigment or paper differ, the distance left counts as unsure by how much
    amount it is worth.
    """
    laid, colorant = mine.reference_laydowns[place], theirs.colorants[other]
    ground = film_ground(theirs, Recipe((Step(colorant),)))
    own = theirs.own[[other]].copy()
    own[:, 0] = 0.0
    tried = variants(theirs.effects, own, steps=1, count=len(TRIED))
    tried.fresh[:, 0] = TRIED
    seen = film_reflectance([LaidStep(((0, 1.0),), laid)], theirs.medium, ground, tried)
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
    mine: FilmFit, theirs: FilmFit, colorants: Sequence[Colorant], hand: Hand
) -> FilmFit:
    """Return my fit with colorants that only they have swatched, as if my hand had laid them.

    As in `with_borrowed`; how the paper takes a film is mine.
    """
    from scipy.linalg import block_diag  # noqa: PLC0415 - slow to import, for this alone

    places, m = [theirs.index(c) for c in colorants], theirs.own.shape[1]
    rows = [len(theirs.effects) + m * place + j for place in places for j in range(m)]
    added = theirs.covariance[np.ix_(rows, rows)].copy()
    amounts = m * np.arange(len(places))
    added[amounts, amounts] += hand.deviation**2 + OWN_STRENGTH**2
    own = theirs.own[places].copy()
    own[:, 0] += hand.log_amount
    laid, deep_laid = theirs.reference_laydowns, theirs.deep_laydowns
    return replace(
        mine,
        colorants=(*mine.colorants, *(theirs.colorants[p] for p in places)),
        references=np.concatenate([mine.references, theirs.references[places]]),
        reference_laydowns=(*mine.reference_laydowns, *(laid[p] for p in places)),
        deep_laydowns=(*mine.deep_laydowns, *(deep_laid[p] for p in places)),
        deep=np.concatenate([mine.deep, theirs.deep[places]]),
        believed=np.concatenate([mine.believed, theirs.believed[places]]),
        own=np.concatenate([mine.own, own]),
        covariance=block_diag(mine.covariance, added),
        xyz_only=np.concatenate([mine.xyz_only, theirs.xyz_only[places]]),
        most_coats=np.concatenate([mine.most_coats, theirs.most_coats[places]]),
    )
