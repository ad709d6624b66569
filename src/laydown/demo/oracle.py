"""The simulated bench: what a hand would see on paper, by physics that is not laydown's own.

Light in a dyed paper is radiative transfer in plane layers, by adding and doubling as the package
iadpython does it: no scale of absorption, no Kubelka and Munk, nor any other formula of
`laydown.media`. How much dye a coat leaves, and how much of what lies below a coat carries off,
follow rules of the bench's own: a paper fills up with everything laid on it, and solvent loosens
what was laid with less of it. The model that laydown fits knows neither rule. All dyes, papers and
effects are invented.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.spectra import WAVELENGTHS
from laydown.errors import NotMeasuredError
from laydown.media.laydown import Stroke, Wait
from laydown.media.recipe import Colorant, Medium, Recipe, Step
from laydown.media.swatch import Swatch

ANGLES = 8
"""Quadrature angles. Against 24 angles the reflectance of a dyed paper differs by under 1e-5 where
the paper scatters around the dye, and by under 1e-4 below a clear film (``tests/demo``)."""
NODES = 48
"""Amounts of dye at which a bench solves the transfer; between them it interpolates, to 1e-5."""
FIRST_AMOUNT = 0.05
"""Below about this amount the nodes stand evenly, above it they stand evenly in its logarithm."""
MOST_AMOUNT = 400.0
"""More dye than this counts as this much; nine coats of the strongest demo dye stay below it."""
LN_UNITS = float(np.log(1e-4)), float(np.log(1e4))
"""Between these lies the natural log of what brings a sheet to half [optical depth of dye]."""
SHEETS = 32
"""Papers whose transfer is kept at hand once it is solved."""


@dataclass(frozen=True, slots=True, eq=False)
class Slab:
    """A simulated paper: a scattering slab whose top share takes the dye."""

    name: str
    absorption: FloatArray
    """Of the bare paper, shape (36,) [optical depth of the whole sheet]."""
    scattering: float = 30.0
    """Isotropic [optical depth of the whole sheet]."""
    share: float = 0.1
    """Top share of the sheet that takes the dye: 0 leaves it as a clear film on top, 1 lets it
    through the whole sheet."""

    def __post_init__(self) -> None:
        if not 0.0 <= self.share <= 1.0:
            raise ValueError(f"share {self.share:g}: allowed is 0 to 1")


class Quadrature:
    """Iadpython's directions and their weights, its thinnest layer and its equations for adding.

    They are put together here for many layers at once.
    """

    def __init__(self, angles: int) -> None:
        # Loading iadpython takes a second, which the rest of laydown should not have to wait for.
        import iadpython  # noqa: PLC0415

        self.iad = iadpython
        self.sample = iadpython.Sample(quad_pts=angles)
        self.sample.update_quadrature()
        self.twonuw: FloatArray = np.asarray(self.sample.twonuw)

    def layers(self, absorbed: FloatArray, scattered: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return what layers, shape (…), reflect and pass, (…, angles, angles) each.

        The thinnest layer of each is doubled until it is as thick as the whole.
        """
        depths = np.stack(np.broadcast_arrays(absorbed, scattered), axis=-1)
        thin = [self._thinnest(a, s) for a, s in depths.reshape(-1, 2).tolist()]
        reflected, passed, doublings = (np.array(part) for part in zip(*thin, strict=True))
        for done in range(doublings.max()):
            here = np.flatnonzero(doublings > done)
            r, t = reflected[here], passed[here]
            reflected[here], passed[here] = self.put_on(r, r, t), self.between(r, r, t) @ t
        shape = (*depths.shape[:-1], *reflected.shape[1:])
        return reflected.reshape(shape), passed.reshape(shape)

    def _thinnest(self, absorbed: float, scattered: float) -> tuple[FloatArray, FloatArray, int]:
        self.sample.b = max(absorbed + scattered, 1e-9)
        self.sample.a = scattered / self.sample.b
        reflected, passed = self.iad.start.thinnest_layer(self.sample)
        return reflected, passed, round(np.log2(self.sample.b / self.sample.b_thinnest))

    def between(self, below: FloatArray, above: FloatArray, passed: FloatArray) -> FloatArray:
        """Return T (E − R C R)⁻¹, the sum of all light to and fro."""
        ends = np.diag(1.0 / self.twonuw) - (below * self.twonuw) @ above
        return np.asarray(passed @ np.linalg.inv(ends))

    def put_on(self, ground: FloatArray, reflected: FloatArray, passed: FloatArray) -> FloatArray:
        """Return what grounds reflect with a layer on them."""
        inner = self.between(ground, reflected, passed)
        return np.asarray((inner @ (ground * self.twonuw)) @ passed + reflected)


class SolvedSlab:
    """One sheet of a `Slab`, solved wavelength by wavelength.

    Amounts of dye are counted in *halvings*: one unit brings a sheet that absorbs nothing itself
    to half its reflectance, wherever in the paper the dye lies. So one dye looks about equally
    strong at every share.
    """

    def __init__(self, slab: Slab, *, angles: int = ANGLES) -> None:
        self.slab, self._light = slab, Quadrature(angles)
        self._below = self._rest(slab.absorption)

    def _rest(self, absorbed: FloatArray) -> FloatArray:
        """Return how the sheet below its dyed share reflects, `absorbed` over the whole sheet."""
        share = 1.0 - self.slab.share
        if share == 0.0:
            return np.zeros((len(absorbed), *(2 * self._light.twonuw.shape)))
        return self._light.layers(share * absorbed, np.array(share * self.slab.scattering))[0]

    @cached_property
    def unit(self) -> float:
        """Optical depth of dye [per halving]."""
        from scipy.optimize import brentq  # noqa: PLC0415

        none = np.zeros(1)
        white = self._rest(none)

        def top(dye: float) -> float:
            return float(self._seen(self._dyed(none, np.array([dye]), white))[0])

        half = 0.5 * top(0.0)
        return float(np.exp(brentq(lambda ln: top(np.exp(ln)) - half, *LN_UNITS, xtol=1e-10)))

    def reflectance(self, dye: FloatArray) -> FloatArray:
        """Solve the transfer for amounts of dye at each wavelength, shape (…, 36) [halvings].

        Reflectance for light that falls straight on, gathered over the half space.
        """
        return self._seen(self.matrices(dye))

    def matrices(self, dye: FloatArray) -> FloatArray:
        """Return how a sheet with dye, shape (…, 36) [halvings], reflects from each way into each.

        Shape (…, 36, angles, angles), a ground for films (`laydown.demo.films`).
        """
        return self._dyed(self.slab.absorption, dye * self.unit, self._below)

    def _seen(self, reflected: FloatArray) -> FloatArray:
        return np.asarray((self._light.twonuw * reflected[..., -1]).sum(axis=-1))

    def _dyed(self, own: FloatArray, dye: FloatArray, below: FloatArray) -> FloatArray:
        """Lay the dyed share over the rest and return what goes up."""
        share, light = self.slab.share, self._light
        if share == 0.0:
            straight = np.exp(-dye[..., None] / light.sample.nu) / light.twonuw
            passed = straight[..., None] * np.eye(len(light.twonuw))
            return light.put_on(below, np.zeros_like(passed), passed)
        scattered = np.array(share * self.slab.scattering)
        return light.put_on(below, *light.layers(share * own + dye, scattered))


def solve(slab: Slab) -> Callable[[FloatArray], FloatArray]:
    """Solve a sheet's transfer at `NODES` amounts of dye, once for all recipes on it.

    Returned is what gives its reflectance for amounts of dye, both of shape (…, 36) [halvings]: a
    cubic spline of −ln R over ln(1 + amount/`FIRST_AMOUNT`). Dye below 0 counts as 0, above
    `MOST_AMOUNT` as that.
    """
    coefficients = _spline(tuple(slab.absorption.tolist()), slab.scattering, slab.share)
    step, bands = _step(), np.arange(len(slab.absorption))

    def reflectance(dye: FloatArray) -> FloatArray:
        steps = np.log1p(np.clip(dye, 0.0, MOST_AMOUNT) / FIRST_AMOUNT) / step
        piece: NDArray[np.intp] = np.minimum(steps.astype(np.intp), NODES - 2)
        x = (steps - piece) * step
        c3, c2, c1, c0 = coefficients[:, piece, bands]
        return np.asarray(np.exp(-(((c3 * x + c2) * x + c1) * x + c0)))

    return reflectance


def _step() -> float:
    return float(np.log1p(MOST_AMOUNT / FIRST_AMOUNT) / (NODES - 1))


@lru_cache(SHEETS)
def _spline(absorption: tuple[float, ...], scattering: float, share: float) -> FloatArray:
    """Return a sheet's coefficients, shape (4, nodes − 1, bands); whoever asks may not change them.

    They are kept by what the sheet is, for those who set up many benches on one paper.
    """
    from scipy.interpolate import CubicSpline  # noqa: PLC0415

    sheet = SolvedSlab(Slab("", np.array(absorption), scattering, share))
    at = np.arange(NODES) * _step()
    amounts = FIRST_AMOUNT * np.expm1(at)
    solved = sheet.reflectance(np.repeat(amounts[:, None], len(absorption), axis=1))
    return np.asarray(CubicSpline(at, -np.log(solved)).c)


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


HAND = Steadiness()


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedBench:
    """A paper, the dyes at hand and how coats disturb each other; made by `set_up`."""

    slab: Slab
    dyes: Mapping[str, Dye]
    """What each marker holds, by its label (range and name)."""
    effects: Effects
    response: Callable[[FloatArray], FloatArray]
    """The paper's reflectance for amounts of dye, see `solve`."""

    @property
    def paper(self) -> str:
        """The paper's name."""
        return self.slab.name


def set_up(
    slab: Slab, dyes: Mapping[Colorant, Dye], effects: Effects = UNDISTURBED
) -> SimulatedBench:
    """Make a bench; solves the paper's transfer, which takes about a quarter of a second."""
    return SimulatedBench(slab, {c.label: dye for c, dye in dyes.items()}, effects, solve(slab))


def pile(bench: SimulatedBench, recipe: Recipe, factors: FloatArray) -> FloatArray:
    """Lay a recipe of markers down coat by coat; return the dye on the paper, (…, 36) [halvings].

    `factors`, shape (…, coats), is how much of its usual dye each coat brings. Filling follows
    Langmuir's isotherm: each coat finds fewer free places, whatever lies on the others, and the
    loss levels off. Lifting goes by solvent, not by strength or color: a coat carries off a share
    of what was laid with less solvent than it has itself, and nothing of its own kind.
    """
    laid = np.zeros((*factors.shape[:-1], WAVELENGTHS.shape[0]))
    amount = np.zeros(factors.shape[:-1])
    solvent = np.zeros(factors.shape[:-1])
    quick, soaked = bench.effects.quick, bench.effects.soaked
    strokes = {Stroke.QUICK: quick, Stroke.EVEN: 1.0, Stroke.SOAKED: soaked}
    for coat, step in enumerate(_coats(recipe)):
        if step.colorant.label not in bench.dyes:
            raise NotMeasuredError(f"The simulated bench has no “{step.colorant.label}”.")
        dye = bench.dyes[step.colorant.label]
        below = np.divide(solvent, amount, out=np.ones_like(amount), where=amount > 0.0)
        kept = 1.0 - bench.effects.lifting * np.clip(dye.solvent - below, 0.0, None)
        laid, amount, solvent = kept[..., None] * laid, kept * amount, kept * solvent
        if not dye.colorless:
            wet = bench.effects.wet if step.laydown.wait is Wait.WET else 1.0
            taken = factors[..., coat] * (strokes[step.laydown.stroke] * wet)
            taken = taken * (1.0 - bench.effects.filling * amount / (amount + HALF_FULL))
            laid = laid + taken[..., None] * dye.absorption
            amount, solvent = amount + taken, solvent + taken * dye.solvent
    return laid


def truth(bench: SimulatedBench, recipe: Recipe, *, amount: float = 1.0) -> FloatArray:
    """Return what a perfectly even hand and a perfect reading would give, shape (36,)."""
    return bench.response(pile(bench, recipe, np.full(recipe.coats, amount)))


def truths(bench: SimulatedBench, recipes: Sequence[Recipe]) -> FloatArray:
    """Return the truths of many recipes, shape (recipes, 36)."""
    return np.array([truth(bench, one) for one in recipes]).reshape(-1, len(WAVELENGTHS))


def by_hand(
    bench: SimulatedBench, recipe: Recipe, hand: Steadiness, rng: np.random.Generator
) -> FloatArray:
    """Return one patch as a hand lays it, perfectly read, shape (36,)."""
    factors = hand.amount * np.exp(hand.spread * rng.standard_normal(recipe.coats))
    return bench.response(pile(bench, recipe, factors))


def swatch(
    bench: SimulatedBench,
    recipe: Recipe,
    hand: Steadiness,
    rng: np.random.Generator,
    *,
    scale: float = 0.003,
    noise: float = 0.001,
    spots: int = 3,
) -> Swatch:
    """Color a patch, or leave it bare for an empty recipe, and measure its spectrum.

    So many spots are read and averaged, each with a standard deviation of its scale, as a share of
    it, and of the noise of each band [reflectance]; the spread is that between them, in CIELAB. The
    same state of chance gives the same swatch.
    """
    coats = np.exp(hand.spread * rng.standard_normal(recipe.coats))
    uneven = np.exp(hand.patchiness * rng.standard_normal((spots, 1)))
    seen = bench.response(pile(bench, recipe, hand.amount * uneven * coats))
    seen = seen * (1.0 + scale * rng.standard_normal((spots, 1)))
    seen = np.clip(seen + noise * rng.standard_normal(seen.shape), 1e-4, None)
    spread = np.sqrt(lab_from_reflectance(seen).var(axis=0, ddof=1).mean())
    return Swatch(bench.paper, recipe, seen.mean(axis=0), spread=float(spread))


def _coats(recipe: Recipe) -> list[Step]:
    coats: list[Step] = []
    for step in recipe.steps:
        if not isinstance(step, Step) or step.colorant.medium is not Medium.MARKER:
            raise NotMeasuredError("The simulated bench knows markers only.")
        coats += [step] * step.laydown.coats
    return coats
