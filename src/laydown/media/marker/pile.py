"""The absorption scale on which coats of dye add, and how they pile up on it."""

from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50
from laydown.errors import BadRecipeError
from laydown.media.inference.forward import LaidStep, Variants
from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.marker.priors import BLENDER, LATER_COAT, LIFT, QUICK, SCALE, SOAKED, WET
from laydown.media.recipe import AnyStep, Medium, Recipe, Step

# The absorption scale runs from clear film to dye in the fibre.
#
# With u = −ln R the scale reads A = (1 − w) u + w (cosh u − 1), for (1 − R)²/2R = cosh u − 1. It is
# a mixture of the two classical scales of a dyed white: ln R, exact for a clear film over the paper
# (light passes the dye twice, Beer's law), and K/S, exact in Kubelka and Munk's model for dye
# through the whole of a thick scatterer.

DARKEST = 1e-4
"""Reflectance is taken as no lower than this: no instrument tells a patch that dark from black."""
MOST_STEPS = 60
"""Steps after which the inverse would give up; from its starting point it needs three."""
NEAR = 1e-5
"""Share of the root within which a step is the last: what it leaves goes by that share's cube."""


FLATTEST = 1e-300
"""Where nothing is absorbed, dye in the fibre has no slope: there the root is 0 already."""


def absorption(reflectance: FloatArray, *, scale: FloatArray | float) -> FloatArray:
    """Put reflectance on the absorption scale.

    `reflectance`: shape (…,), as a share of the whitest that can be [above 0 to 1]; what is darker
    than `DARKEST` counts as that, what is above 1 as 1. `scale`: w in [0, 1]: 0 for clear film, 1
    for dye in the fibre; broadcasts. Returns a ≥ 0, falling as reflectance rises.

    Untrue where light leaves the patch at other wavelengths than it came in (fluorescence), and
    where a gloss adds light from the surface, which must be taken off first.

    Source: P. Kubelka, F. Munk, Ein Beitrag zur Optik der Farbanstriche, Z. tech. Phys. 12 (1931).

    Half the light comes back: ln 2 for the film, (1 − ½)²/(2·½) = ¼ for the fibre.

    >>> absorption(np.array([0.5]), scale=np.array([0.0, 1.0])).round(4).tolist()
    [0.6931, 0.25]
    """
    r = np.clip(reflectance, DARKEST, 1.0)
    fibre = 0.5 * (1.0 - r) ** 2 / r
    return np.asarray((scale - 1.0) * np.log(r) + scale * fibre, dtype=np.float64)


def inverse(absorbed: FloatArray, *, scale: FloatArray | float) -> FloatArray:
    """Bring absorption back to reflectance, to the last digits.

    A is convex and rising in u. Both (1 − w) u + w u²/2 ≤ A and w (cosh u − 1) ≤ A bound u from
    above, the lower of these bounds by no more than a quarter, and Halley's method starts from it.

    `absorbed`: shape (…,), A; below 0 counts as 0. `scale`: w in [0, 1]; broadcasts. Returns
    reflectance in (0, 1].

    >>> inverse(np.array([0.25]), scale=1.0).round(12).tolist()
    [0.5]
    """
    a = np.maximum(np.asarray(absorbed, dtype=np.float64), 0.0)
    w = np.asarray(scale, dtype=np.float64)
    u = _bound(*np.broadcast_arrays(a, w))
    for _ in range(MOST_STEPS):
        more = np.expm1(u)
        less = more / (1.0 + more)  # half their product is cosh u - 1, half their sum sinh u
        bent = 0.5 * w * (more * less)
        slope = np.maximum((1.0 - w) + 0.5 * w * (more + less), FLATTEST)
        newton = ((1.0 - w) * u + bent - a) / slope
        step = newton / (1.0 - 0.5 * newton * ((bent + w) / slope))
        u = np.maximum(u - step, 0.0)
        if not (np.abs(step) > NEAR * u).any():
            break
    return np.asarray(np.exp(-u), dtype=np.float64)


def _bound(a: FloatArray, w: FloatArray) -> FloatArray:
    """Return the lower of two upper bounds of u."""
    below = (1.0 - w) + np.sqrt((1.0 - w) ** 2 + 2.0 * w * a)
    square = np.divide(2.0 * a, below, out=np.zeros_like(a), where=below > 0.0)
    x = a / np.maximum(w, 1e-9)
    hyperbolic = np.log1p(x + np.sqrt(x * (x + 2.0)))
    return np.asarray(np.where(w > 1e-9, np.minimum(square, hyperbolic), square))


# How coats pile up: a later coat takes less, and a paler, wetter one lifts what lies below it.
#
# A pile on the paper is its absorption over the bands and two numbers: strength S, the sum over
# its colorants of amount times strength, and amount T. A step of so many coats turns the
# absorption A below it into K A + M a, where a is what one even coat of its colorant adds alone.
# K and M follow from S, T and the colorant's strength: two numbers a step, whatever the number of
# bands.

Number = FloatArray | float
DyePile: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]
"""What lies on the paper: its absorption (…, 36) without the paper's own, its strength and its
amount (…,), the sums over colorants of amount × strength and of amounts [single even coats]."""


def strength_of(absorption: FloatArray) -> FloatArray:
    """Weigh an absorption spectrum by how much the eye sees of it: D50 light times luminosity.

    `absorption`: shape (…, 36). Returns shape (…,), a weighted mean.

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

    `strength_below`, `amount_below`: S and T of the pile; shapes broadcast, as do those of all
    numbers below. `strength`: of the colorant. `coats`: how many. `later_coat`: what a coat over
    color takes, as a share of one on bare paper. `lift`: the share that a coat without any color
    takes away of what lies below. `blender`: whether it is a colorless blender: it adds nothing,
    and what is laid over it alone counts as a first coat. `stroke`: amount of a coat with this
    stroke against an even one. `wet`: amount of a coat over wet color against one over dry; on bare
    paper nothing is wet. `crowding`: over an amount T above 1 a coat takes T^(−crowding) of that
    again; the model holds it at 0, and it is there to say how unsure deep piles are. Returns K in
    [0, 1] and M ≥ 0.

    A rule of thumb with a reason, not a law: a solvent that carries less dye dissolves more of
    what it meets. Untrue for inks that set hard, and for more coats than the paper takes up.

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
        weaker = np.multiply(strength, amount)
        lifts = (amount > 0.0) & (below > weaker)
        ratio = np.divide(weaker, below, out=np.ones(np.shape(lifts)), where=lifts)
        share = np.asarray(1.0 - lift * (1.0 - ratio))
        keep, added, below, amount = keep * share, added * share, below * share, amount * share
        if not blender:
            later = np.multiply(later_coat, wet) * np.maximum(amount, 1.0) ** np.negative(crowding)
            laid = stroke * np.where(amount > 0.0, later, 1.0)
            added, below, amount = added + laid, below + laid * strength, amount + laid
    return np.asarray(keep), np.asarray(added)


# From a recipe and the model's numbers to reflectance, for many sets of numbers at once.
#
# Fitting and uncertainty both ask what a recipe would look like were the numbers a little
# different, so everything here has a leading axis of variants.

MOST = 2.0 / 3.0
"""Scale at which the model misses most."""
EXACT = 0.5
"""Share of the model's misfit that stays where dye goes through the whole fibre; chosen."""


def misfit_at(scale: float, *, misfit: float) -> float:
    """Return how far the model is off per further coat at a scale [CIELAB units].

    Dye through the fibre is a limit that the scale has exactly; short of it the scale is a mixture
    that no physics demands, and against radiative transfer it misses most where the dye lies in the
    top tenth of the paper, at scales about 2/3 to 0.8. A clear film is a limit as well, but inks
    that are measured as films miss it by as much (docs/decisions/doubt.md): so from 2/3 on the
    misfit goes as w² (1 − w), and below that it stays.

    `scale`: w in [0, 1]. `misfit`: at its largest, where w is 2/3 or less.

    >>> [round(misfit_at(w, misfit=0.4), 9) for w in (0.0, 2 / 3, 1.0)]
    [0.4, 0.4, 0.2]
    """
    w = max(scale, MOST)
    return misfit * (EXACT + (1.0 - EXACT) * 6.75 * w**2 * (1.0 - w))


def marker_step(step: AnyStep) -> Step:
    """Return the step if it is one of a marker, or say why it has no answer here.

    Raises BadRecipeError for treatments, other media, pressure or dilution.
    """
    if not isinstance(step, Step):
        raise BadRecipeError(
            f"{step.words} is no step for markers.",
            hint="Lay a colorless blender instead, which is a colorant of its range.",
        )
    if step.colorant.medium is not Medium.MARKER:
        raise BadRecipeError(
            f"{step.colorant.label} is a {step.colorant.medium}, and only markers are asked about.",
            hint="Match and chart lay pencils and washes, too.",
        )
    if step.mixed:
        raise BadRecipeError(
            f"{step.colorant.label}: markers aren't mixed on a palette.",
            hint="Lay one over the other instead.",
        )
    laid = step.laydown
    if laid.pressure is not Pressure.MEDIUM or laid.dilution:
        raise BadRecipeError(
            f"{step.colorant.label}: pressure and dilution mean nothing for a marker.",
            hint="Markers take coats, a stroke (quick, even, soaked) and a wait (wet, dry).",
        )
    return step


def stroke_effect(laid: Laydown) -> int | None:
    """Return the place of the effect that a stroke asks for; None for an even one."""
    return {Stroke.QUICK: QUICK, Stroke.SOAKED: SOAKED}.get(laid.stroke)


def laid_steps(recipe: Recipe) -> tuple[LaidStep, ...]:
    """Put a recipe into numbers.

    Raises BadRecipeError for steps that no marker can do.
    """
    steps, used = [marker_step(step) for step in recipe.steps], recipe.colorants
    return tuple(
        LaidStep(((used.index(s.colorant), 1.0),), s.laydown, blender=s.colorant.blender)
        for s in steps
    )


def pile_of(
    steps: tuple[LaidStep, ...], absorptions: FloatArray, tried: Variants
) -> tuple[DyePile, FloatArray]:
    """Lay a recipe and return the pile and what each colorant has a share in it.

    `steps`: from `laid_steps`. `absorptions`: shape (v, u, 36), one even coat of each colorant.
    `tried`: the numbers to lay it with; amounts and shapes are in `absorptions` already. Returns
    the pile, and shape (v, u): amounts c so that the pile's absorption is Σ c a.
    """
    effects, strengths = tried.effects, strength_of(absorptions)
    pile, shares = np.zeros((len(effects), absorptions.shape[-1])), np.zeros(absorptions.shape[:2])
    strength, amount = np.zeros(len(effects)), np.zeros(len(effects))
    for number, step in enumerate(steps):
        stroke = stroke_effect(step.laydown)
        laid = 1.0 if stroke is None else np.exp(effects[:, stroke])
        keep, add = step_numbers(
            strength,
            amount,
            strength=0.0 if step.blender else strengths[:, step.place],
            coats=step.laydown.coats,
            later_coat=effects[:, LATER_COAT],
            lift=effects[:, BLENDER if step.blender else LIFT],
            blender=step.blender,
            stroke=laid * np.exp(tried.fresh[:, number]),
            wet=np.exp(effects[:, WET]) if step.laydown.wait is Wait.WET else 1.0,
            crowding=tried.crowding,
        )
        keep = keep * np.exp(tried.covered[:, number])
        pile = keep[:, None] * pile + add[:, None] * absorptions[:, step.place]
        strength = keep * strength + add * strengths[:, step.place]
        amount = keep * amount + add
        shares = shares * keep[:, None]
        shares[:, step.place] += add
    return (pile, strength, amount), shares


def one_coat_absorptions(
    paper: FloatArray, one_coat: FloatArray, tried: Variants
) -> tuple[FloatArray, FloatArray]:
    """Return the paper's absorption (v, 36) and one even coat's of each colorant (v, u, 36).

    `paper`, `one_coat`: reflectances (36,) and (u, 36), relative to the ceiling.
    """
    scale = tried.effects[:, SCALE, None]
    ground = absorption(paper, scale=scale)
    coated = one_coat * np.exp(tried.shapes)
    added = absorption(coated, scale=scale[..., None]) - ground[:, None, :]
    return ground, np.asarray(added * np.exp(tried.amounts)[..., None])


def relative_reflectance(
    steps: tuple[LaidStep, ...], paper: FloatArray, one_coat: FloatArray, tried: Variants
) -> FloatArray:
    """Return the reflectance of a recipe relative to the ceiling, shape (v, 36)."""
    ground, added = one_coat_absorptions(paper, one_coat, tried)
    return inverse(ground + pile_of(steps, added, tried)[0][0], scale=tried.effects[:, SCALE, None])
