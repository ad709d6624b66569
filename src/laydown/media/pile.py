"""How coats pile up: a later coat takes less, and a paler, wetter one lifts what lies below it.

A pile on the paper is its absorption over the bands and two numbers: strength S, the sum over its
colorants of amount times strength, and amount T. A step of so many coats turns the absorption A
below it into K A + M a, where a is what one even coat of its colorant adds alone. K and M follow
from S, T and the colorant's strength: two numbers a step, whatever the number of bands.
"""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.tristimulus import WEIGHTS_D50

Number = FloatArray | float


@dataclass(frozen=True, slots=True, eq=False)
class Pile:
    """What lies on the paper.

    Parameters
    ----------
    absorption
        Shape (…, 36), without the paper's own.
    strength
        Shape (…,), sum of amount × strength of the colorants in it.
    amount
        Shape (…,), sum of their amounts, in single even coats on bare paper.
    """

    absorption: FloatArray
    strength: FloatArray
    amount: FloatArray


def strength_of(absorption: FloatArray) -> FloatArray:
    """Weigh an absorption spectrum by how much the eye sees of it: D50 light times luminosity.

    Parameters
    ----------
    absorption
        Shape (…, 36).

    Returns
    -------
    FloatArray
        Shape (…,), a weighted mean.

    Examples
    --------
    >>> round(float(strength_of(np.full(36, 0.7))), 9)
    0.7
    """
    weights = WEIGHTS_D50[:, 1] / WEIGHTS_D50[:, 1].sum()
    return np.asarray(absorption @ weights)


def step_numbers(
    strength_below: Number,
    amount_below: Number,
    *,
    strength: Number,
    coats: int,
    later_coat: Number,
    lift: Number,
    blender: bool = False,
    stroke: Number = 1.0,
    wet: Number = 1.0,
    crowding: Number = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Return K and M of one step: the absorption A below it becomes K A + M a.

    Coat by coat: where the pile is stronger per amount than the colorant, the coat first keeps of
    it the share 1 − lift (1 − strength T/S); then it adds its amount, `later_coat` of a full one
    where a colored coat lies below. A colorant over itself lifts nothing.

    Parameters
    ----------
    strength_below, amount_below
        S and T of the pile; shapes broadcast, as do those of all numbers below.
    strength
        Of the colorant.
    coats
        How many.
    later_coat
        What a coat over color takes, as a share of one on bare paper.
    lift
        The share that a coat without any color takes away of what lies below.
    blender
        Whether it is a colorless blender: it adds nothing, and what is laid over it alone counts
        as a first coat.
    stroke
        Amount of a coat with this stroke against an even one.
    wet
        Amount of a coat over wet color against one over dry; on bare paper nothing is wet.
    crowding
        Over an amount T above 1 a coat takes T^(−crowding) of that again. The model holds it at 0;
        it is there to say how unsure deep piles are.

    Returns
    -------
    tuple of FloatArray
        K in [0, 1] and M ≥ 0.

    Notes
    -----
    A rule of thumb with a reason, not a law: a solvent that carries less dye dissolves more of
    what it meets. Untrue for inks that set hard, and for more coats than the paper takes up.

    Examples
    --------
    Three coats on bare paper, each later one three quarters: 1 + ¾ + ¾.

    >>> k, m = step_numbers(0.0, 0.0, strength=0.5, coats=3, later_coat=0.75, lift=0.1)
    >>> float(k), float(m)
    (1.0, 2.5)

    One coat of blender over a pile takes the whole lift.

    >>> none = {"strength": 0.0, "blender": True}
    >>> k, m = step_numbers(1.0, 1.0, coats=1, later_coat=0.75, lift=0.1, **none)
    >>> float(k), float(m)
    (0.9, 0.0)
    """
    below = np.asarray(strength_below, dtype=np.float64)
    amount = np.asarray(amount_below, dtype=np.float64)
    keep, added = np.ones(()), np.zeros(())
    for _ in range(coats):
        share = _kept(below, amount, strength, lift)
        keep, added, below, amount = keep * share, added * share, below * share, amount * share
        if not blender:
            later = np.multiply(later_coat, wet) * np.maximum(amount, 1.0) ** np.negative(crowding)
            laid = stroke * np.where(amount > 0.0, later, 1.0)
            added, below, amount = added + laid, below + laid * strength, amount + laid
    return np.asarray(keep), np.asarray(added)


def _kept(below: FloatArray, amount: FloatArray, strength: Number, lift: Number) -> FloatArray:
    weaker = np.multiply(strength, amount)
    lifts = (amount > 0.0) & (below > weaker)
    ratio = np.divide(weaker, below, out=np.ones(np.shape(lifts)), where=lifts)
    return np.asarray(1.0 - lift * (1.0 - ratio))


def bare(shape: tuple[int, ...] = (), *, bands: int = 36) -> Pile:
    """Return a pile of nothing, of leading shape `shape`.

    Examples
    --------
    >>> bare((2,)).absorption.shape
    (2, 36)
    """
    return Pile(np.zeros((*shape, bands)), np.zeros(shape), np.zeros(shape))


def put(pile: Pile, absorption: FloatArray, *, strength: Number, keep: Number, add: Number) -> Pile:
    """Return the pile after a step whose two numbers are `keep` (K) and `add` (M).

    Parameters
    ----------
    pile
        What lies below.
    absorption
        Shape (…, 36), one even coat of the step's colorant.
    strength
        Of that colorant.
    keep, add
        From `step_numbers`.

    Examples
    --------
    >>> twice = put(bare(), np.full(36, 0.3), strength=0.3, keep=1.0, add=2.0)
    >>> round(float(twice.absorption[0]), 9), float(twice.amount)
    (0.6, 2.0)
    """
    k, m = np.asarray(keep), np.asarray(add)
    return Pile(
        k[..., None] * pile.absorption + m[..., None] * absorption,
        np.asarray(k * pile.strength + m * strength),
        np.asarray(k * pile.amount + m),
    )
