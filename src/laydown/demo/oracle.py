"""The simulated bench: what a hand would see on paper, by physics that is not laydown's own model.

Where light goes is radiative transfer (`laydown.demo.slabs`). How much dye a coat leaves, and how
much of what lies below a coat carries off, follow rules of the bench's own: a paper fills up with
everything laid on it, and solvent loosens what was laid with less of it. The model that laydown
fits knows neither rule. All dyes, papers and effects are invented.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.spectra import WAVELENGTHS
from laydown.demo.slabs import Response, Slab, solve
from laydown.errors import NotMeasuredError
from laydown.media.laydown import Stroke, Wait
from laydown.media.recipe import Colorant, Medium, Recipe, Step
from laydown.media.swatch import Swatch


@dataclass(frozen=True, slots=True, eq=False)
class Dye:
    """What one marker holds."""

    absorption: FloatArray
    """One even coat on fresh paper, shape (36,) [halvings]."""
    solvent: float = 0.5
    """Share of solvent in the ink, 0 to 1; it loosens dye laid with less of it."""

    @property
    def colorless(self) -> bool:
        """Whether it is a blender: solvent and nothing else."""
        return not self.absorption.any()


@dataclass(frozen=True, slots=True)
class Effects:
    """How coats disturb each other on one paper."""

    filling: float = 0.0
    """Share of a coat's dye that a full paper refuses; over n coats' worth, n/(n + `HALF_FULL`) of
    that share is refused."""
    lifting: float = 0.0
    """Share of what lies below that a coat carries off, per unit of solvent it has more than
    that."""
    quick: float = 0.7
    soaked: float = 1.35
    """Dye left by those strokes, against an even one."""
    wet: float = 1.1
    """Dye left on ground still wet, against dry."""


HALF_FULL = 0.7
"""Coats' worth at which a paper is half full (invented, as are all effects)."""
UNDISTURBED = Effects()
"""Coats add without filling or lifting; strokes and wet ground still count."""


@dataclass(frozen=True, slots=True)
class Steadiness:
    """How evenly a person colors."""

    amount: float = 1.0
    """Dye laid per coat against the usual hand."""
    spread: float = 0.06
    """Standard deviation of the logarithm of a coat's amount, from coat to coat."""
    patchiness: float = 0.02
    """The same from spot to spot within a patch."""


@dataclass(frozen=True, slots=True)
class Meter:
    """How well a patch is read."""

    scale: float = 0.003
    """Standard deviation of a reading's scale, as a share of it."""
    noise: float = 0.001
    """Standard deviation of each band [reflectance]."""
    spots: int = 3
    """Readings averaged into one swatch."""


HAND = Steadiness()
METER = Meter()


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedBench:
    """A paper, the dyes at hand and how coats disturb each other; made by `set_up`."""

    slab: Slab
    """The paper."""
    dyes: Mapping[str, Dye]
    """What each marker holds, by its label (range and name)."""
    effects: Effects
    """How coats disturb each other."""
    response: Response
    """The paper's solved transfer."""

    @property
    def paper(self) -> str:
        """The paper's name."""
        return self.slab.name


def set_up(
    slab: Slab, dyes: Mapping[Colorant, Dye], effects: Effects = UNDISTURBED
) -> SimulatedBench:
    """Make a bench; solves the paper's transfer, which takes about a third of a second."""
    return SimulatedBench(slab, {c.label: dye for c, dye in dyes.items()}, effects, solve(slab))


def pile(bench: SimulatedBench, recipe: Recipe, factors: FloatArray) -> FloatArray:
    """Lay a recipe down coat by coat.

    Parameters
    ----------
    bench
        Paper, dyes and effects.
    recipe
        Markers only.
    factors
        Shape (…, coats): how much of its usual dye each coat brings.

    Returns
    -------
    FloatArray
        Shape (…, 36): dye on the paper [halvings].

    Notes
    -----
    Filling follows Langmuir's isotherm: each coat finds fewer free places, whatever lies on the
    others, and the loss levels off. Lifting
    goes by solvent, not by strength or color: a coat carries off a share of what was laid with less
    solvent than it has itself, and nothing of its own kind.
    """
    laid = np.zeros((*factors.shape[:-1], WAVELENGTHS.shape[0]))
    amount = np.zeros(factors.shape[:-1])
    solvent = np.zeros(factors.shape[:-1])
    for coat, step in enumerate(_coats(recipe)):
        dye = _dye(bench, step)
        below = np.divide(solvent, amount, out=np.ones_like(amount), where=amount > 0.0)
        kept = 1.0 - bench.effects.lifting * np.clip(dye.solvent - below, 0.0, None)
        laid, amount, solvent = kept[..., None] * laid, kept * amount, kept * solvent
        if not dye.colorless:
            taken = factors[..., coat] * _stroke(bench.effects, step)
            taken = taken * (1.0 - bench.effects.filling * amount / (amount + HALF_FULL))
            laid = laid + taken[..., None] * dye.absorption
            amount, solvent = amount + taken, solvent + taken * dye.solvent
    return laid


def truth(bench: SimulatedBench, recipe: Recipe, *, amount: float = 1.0) -> FloatArray:
    """Return what a perfectly even hand and a perfect reading would give, shape (36,)."""
    factors = np.full(recipe.coats, amount)
    return bench.response.reflectance(pile(bench, recipe, factors))


def truths(bench: SimulatedBench, recipes: Sequence[Recipe], *, amount: float = 1.0) -> FloatArray:
    """Return the truths of many recipes, shape (recipes, 36)."""
    return np.array([truth(bench, recipe, amount=amount) for recipe in recipes]).reshape(
        len(recipes), WAVELENGTHS.shape[0]
    )


def by_hand(
    bench: SimulatedBench, recipe: Recipe, hand: Steadiness, rng: np.random.Generator
) -> FloatArray:
    """Return one patch as a hand lays it, perfectly read, shape (36,)."""
    factors = hand.amount * np.exp(hand.spread * rng.standard_normal(recipe.coats))
    return bench.response.reflectance(pile(bench, recipe, factors))


def swatch(
    bench: SimulatedBench,
    recipe: Recipe,
    hand: Steadiness,
    rng: np.random.Generator,
    *,
    meter: Meter = METER,
) -> Swatch:
    """Color a patch and measure it.

    Parameters
    ----------
    bench
        Paper, dyes and effects.
    recipe
        What to lay down; empty for the bare paper.
    hand
        Who lays it down.
    rng
        Chance; the same state gives the same swatch.
    meter
        How it is read.

    Returns
    -------
    Swatch
        With a spectrum, and the spread between its spots in CIELAB.
    """
    coats = np.exp(hand.spread * rng.standard_normal(recipe.coats))
    spots = np.exp(hand.patchiness * rng.standard_normal((meter.spots, 1)))
    seen = bench.response.reflectance(pile(bench, recipe, hand.amount * spots * coats))
    seen = seen * (1.0 + meter.scale * rng.standard_normal((meter.spots, 1)))
    seen = np.clip(seen + meter.noise * rng.standard_normal(seen.shape), 1e-4, None)
    spread = np.sqrt(lab_from_reflectance(seen).var(axis=0, ddof=1).mean())
    return Swatch(bench.paper, recipe, seen.mean(axis=0), spread=float(spread))


def _coats(recipe: Recipe) -> list[Step]:
    coats: list[Step] = []
    for step in recipe.steps:
        if not isinstance(step, Step) or step.colorant.medium is not Medium.MARKER:
            raise NotMeasuredError("The simulated bench knows markers only.")
        coats += [step] * step.laydown.coats
    return coats


def _dye(bench: SimulatedBench, step: Step) -> Dye:
    if step.colorant.label not in bench.dyes:
        raise NotMeasuredError(f"The simulated bench has no “{step.colorant.label}”.")
    return bench.dyes[step.colorant.label]


def _stroke(effects: Effects, step: Step) -> float:
    stroke = {Stroke.QUICK: effects.quick, Stroke.EVEN: 1.0, Stroke.SOAKED: effects.soaked}
    wet = effects.wet if step.laydown.wait is Wait.WET else 1.0
    return stroke[step.laydown.stroke] * wet
