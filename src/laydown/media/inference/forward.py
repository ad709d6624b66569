"""A recipe as inference sees it: what its color depends on, and the function that gives it.

A model knows light and paper; inference knows sets of numbers and the reflectance that each leads
to. Everything here has a leading axis of variants, for fitting, uncertainty and learning all ask
what a recipe would look like were the numbers a little different.
"""

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.leeway import FRESH, Name, See
from laydown.media.inference.priors import Noise, Priors
from laydown.media.laydown import ONE_COAT, Laydown
from laydown.media.recipe import Medium, Recipe

STEP = 1e-4
"""Step of the finite differences: the error of a one-sided difference grows with it, that of
rounding falls; about the root of the precision of the films' inner solution."""
BANDS = 36
TOGETHER = 64
"""So many recipes that are alike are colored at once: fewer ask the interpreter more often, more
don't stay in a processor's cache."""
Places: TypeAlias = NDArray[np.int64]
"""Where in an array something stands."""


@dataclass(frozen=True, slots=True)
class LaidStep:
    """A step in numbers."""

    shares: tuple[tuple[int, float], ...]
    """(place among the colorants used, share) of what is laid, adding to 1; empty for a
    treatment."""
    laydown: Laydown = ONE_COAT
    """How; of no account for a treatment."""
    treatment: str = ""
    """``solvent by swab`` and its like; empty for a colorant."""
    blender: bool = False
    """Whether it lays a colorless blender."""

    @property
    def place(self) -> int:
        """The place of its colorant, the first of a mixture."""
        return self.shares[0][0]

    @property
    def is_mixture(self) -> bool:
        """Whether several colorants are mixed on a palette before they are laid."""
        return len(self.shares) > 1


@dataclass(frozen=True, slots=True, eq=False)
class Variants:
    """Sets of numbers to try, v of them, for a recipe of s steps and u colorants."""

    effects: FloatArray
    """Shape (v, E), what all colorants of the medium share."""
    own: FloatArray
    """Shape (v, u, m), what each colorant has of its own; first the natural log of its amount
    against its reference swatch."""
    fresh: FloatArray
    """Shape (v, s), natural log of the amount of each step as it is laid now; of washes then that
    of each part of its palette mixtures."""
    covered: FloatArray
    """Shape (v, s), natural log of what each step leaves of what lies below it."""
    shapes: FloatArray
    """Shape (v, u, 36), natural log of what each reference's reflectance is multiplied by."""
    crowding: FloatArray
    """Shape (v,), the fall-off of a coat on a deep pile; 0 in every model itself."""

    @property
    def amounts(self) -> FloatArray:
        """Shape (v, u), the log amounts among `own`; writing to it writes there."""
        return self.own[..., 0]

    def about(self, offsets: "Variants", *signs: float) -> "Variants":
        """Return these numbers, then with all offsets added times each sign."""
        return Variants(*(
            np.concatenate([
                getattr(self, part.name),
                *(getattr(self, part.name) + sign * getattr(offsets, part.name) for sign in signs),
            ])
            for part in fields(self)
        ))  # fmt: skip


def variants(effects: FloatArray, own: FloatArray, *, steps: int, count: int = 1) -> Variants:
    """Return `count` variants that are all alike: effects (E,), own (u, m) and no deviation."""
    return Variants(
        effects=np.tile(effects, (count, 1)),
        own=np.tile(own, (count, 1, 1)),
        fresh=np.zeros((count, steps)),
        covered=np.zeros((count, steps)),
        shapes=np.zeros((count, len(own), BANDS)),
        crowding=np.zeros(count),
    )


Reflect: TypeAlias = Callable[[Variants], FloatArray]
"""The forward function of a recipe: from variants to reflectance, shape (v, 36)."""


@dataclass(frozen=True, slots=True, eq=False)
class Forward:
    """A recipe in a model."""

    recipe: Recipe
    """What is laid."""
    medium: Medium
    """Of what."""
    used: tuple[int, ...]
    """Places of its u colorants among all of the fit."""
    asked: tuple[int, ...]
    """Places of the effects that its color depends on."""
    coats: FloatArray
    """Shape (s,), of each step (part of a mixture); the hand's scatter averages out over them."""
    covered: FloatArray
    """Shape (s,), standard deviations of the natural log of what each step leaves of what lies
    below; 0 where nothing does or a model knows no such scatter."""
    shapes: tuple[FloatArray, ...]
    """For each colorant used (k, 36), what its reference's spectrum may be off by in ln R, a
    standard deviation a row."""
    missed: Callable[[FloatArray], float]
    """From the effects (E,) to how many times the square of the model's misfit this recipe is
    off."""
    reflect: Reflect
    """The forward function, but for `factor`."""
    factor: FloatArray | float = 1.0
    """Shape (36,), what its swatch shows over what the model says; 1 where none is counted in."""
    like: Hashable = None
    """Recipes of one fit in which this is equal differ in `used`, `references` and doubt alone, so
    that the forward function of one colors all of them; None where it does for no other."""
    references: FloatArray | None = None
    """Shape (u, 36), of its colorants, above 0; None where there is nothing alike."""

    def parameters(self, effects: int, own: int) -> list[int]:
        """Return where, after so many effects and with so many of its own, its parameters stand."""
        return [*self.asked, *(effects + own * u + j for u in self.used for j in range(own))]


def offsets(
    model: Forward,
    axes: FloatArray,
    middle: Variants,
    *,
    fresh: FloatArray,
    covered: FloatArray,
    crowding: float = 0.0,
) -> Variants:
    """Return things to vary, an offset a row; `names` says what they are.

    `model`: the recipe. `axes`: shape (a, parameters of the recipe), rows of offsets of effects and
    own numbers. `middle`: what they are offsets from, one variant. `fresh`, `covered`: shape (s,),
    by how much each step's amount and what it leaves are moved; what is moved by 0 gets no row.
    `crowding`: the same of the fall-off on a deep pile. Returns rows in the order axes, fresh,
    covered, crowding, shapes.
    """
    e, (_, u, m) = middle.effects.shape[1], middle.own.shape
    s, over = len(model.coats), np.flatnonzero(covered)
    counts = [len(axes), s, len(over), int(crowding > 0.0), sum(map(len, model.shapes))]
    rows = np.split(np.arange(sum(counts)), np.cumsum(counts)[:-1])
    moved = variants(np.zeros(e), np.zeros((u, m)), steps=s, count=sum(counts))
    moved.effects[np.ix_(rows[0], np.array(model.asked, dtype=np.int64))] = axes[
        :, : len(model.asked)
    ]
    moved.own[rows[0]] = axes[:, len(model.asked) :].reshape(-1, u, m)
    moved.fresh[rows[1], np.arange(s)] = fresh
    moved.covered[rows[2], over] = covered[over]
    moved.crowding[rows[3]] = crowding
    whose = np.repeat(np.arange(u), [len(shapes) for shapes in model.shapes])
    for row, place, shape in zip(rows[4], whose, (r for k in model.shapes for r in k), strict=True):
        moved.shapes[row, place] = shape
    return moved


def names(
    model: Forward, axes: int, *, covered: FloatArray, crowding: float = 0.0
) -> tuple[Name, ...]:
    """Return the names of the rows of `offsets`.

    How much of what lies below shows through a coat is one thing for piles that are the same.
    """
    return (
        *((f"{model.medium} axis", n) for n in range(axes)),
        *(FRESH for _ in model.coats),
        *(("covered", model.recipe.key[: n + 1]) for n in np.flatnonzero(covered).tolist()),
        *((("crowding",),) if crowding > 0.0 else ()),
        *(
            ("reference", colorant.label, n)
            for colorant, shapes in zip(model.recipe.colorants, model.shapes, strict=True)
            for n in range(len(shapes))
        ),
    )


def reflectances(models: Sequence[Forward], effects: FloatArray, own: FloatArray) -> FloatArray:
    """Return how recipes look at some parameters, shape (t, 36); these are as for `linearize`."""
    found, m = np.empty((len(models), BANDS)), own.shape[1]
    sure = [replace(model, shapes=tuple(rows[:0] for rows in model.shapes)) for model in models]
    for some in alike(sure, [None] * len(models)):
        group = [sure[i] for i in some]
        first, steps = group[0], len(group[0].coats)
        here = variants(effects, own[list(first.used)].reshape(-1, m), steps=steps)
        found[some] = seen_of_each(group, varied(group, own, here, np.zeros((1, 0, 0))))[:, 0]
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Linear:
    """Recipes, t of them, with their model made straight at some parameters (first order).

    What one has fewer of than others is filled up by zeros.
    """

    features: FloatArray
    """Shape (t, f), what each looks like there: CIELAB, for spectra more."""
    counts: Places
    """Shape (t,), how many features each has."""
    places: Places
    """Shape (t, k), where among the p parameters stand those that its color depends on: effects,
    then what each colorant has of its own; p for none."""
    slopes: FloatArray
    """Shape (t, f, k), by each of those."""
    by_hand: FloatArray
    """Shape (t, f, s), per unit of hand noise of a coat."""
    by_cover: FloatArray
    """Shape (t, f, c), per unit of the scatter of what lies below when a coat covers it."""
    by_doubt: FloatArray
    """Shape (t, f, d), for what else is unsure of it, each by its standard deviation."""
    missed: FloatArray
    """Shape (t,), how many times the square of the model's misfit it is off."""

    def jacobian(self, parameters: int) -> FloatArray:
        """Return shape (t, f, p), by so many parameters."""
        t, f, _ = self.slopes.shape
        whole = np.zeros((t, f, parameters + 1))
        np.put_along_axis(whole, self.places[:, None], self.slopes, axis=2)
        return whole[..., :parameters]

    def covariance(
        self, noise: Noise, *, measuring: FloatArray | float, fill: FloatArray | float = 0.0
    ) -> FloatArray:
        """Return what each scatters by itself, shape (t, f, f); 1 for what is filled up.

        `noise`: of hand, model and cover. `measuring`: shape (t,), of its measurement [CIELAB units
        per axis]. `fill`: shape (t,), added standard deviation of the log amounts, for a marker
        that was running dry.
        """
        hand = np.broadcast_to(np.hypot(noise.hand, fill), self.missed.shape)[:, None, None]
        roots = [hand * self.by_hand, noise.cover * self.by_cover, self.by_doubt]
        root = np.concatenate(roots, axis=2)
        f = self.features.shape[1]
        plain = np.square(measuring) + noise.misfit**2 * self.missed
        there = np.arange(f) < self.counts[:, None]
        return np.asarray(
            root @ root.swapaxes(1, 2) + np.where(there, plain[:, None], 1.0)[..., None] * np.eye(f)
        )


def linearize(
    models: Sequence[Forward],
    effects: FloatArray,
    own: FloatArray,
    priors: Priors,
    *,
    units: FloatArray | float = 1.0,
    sees: Sequence[See] = (),
    crowding: float = 0.0,
) -> Linear:
    """Make a model straight at some parameters, by one-sided differences of `STEP`.

    `models`: the recipes, all of one fit. `effects`, `own`: shapes (E,) and (n, m), of all
    colorants of the fit. `priors`: of the medium. `units`: shape (m,), in which what colorants have
    of their own is stepped and told. `sees`: for each, from reflectance to what is compared; CIELAB
    where nothing is said. `crowding`: how unsure the fall-off of a coat on a deep pile is.
    """
    if not models:
        none, nothing = np.zeros(0, dtype=np.int64), np.zeros((0, 3, 1))
        rest = nothing, nothing, nothing, nothing, np.zeros(0)
        return Linear(nothing[..., 0], none, none[:, None], *rest)
    sees = sees or [lab_from_reflectance] * len(models)
    widths = np.broadcast_to(STEP * np.asarray(units), own.shape[1])
    blocks, order = list[Linear](), list[int]()
    for some in alike(models, sees):
        group = [models[i] for i in some]
        see = sees[some[0]]
        blocks.append(
            _straight(group, effects, own, priors, widths=widths, see=see, crowding=crowding)
        )
        order += some
    fillings = {"places": len(effects) + own.size}
    parts = (
        _filled([getattr(block, part.name) for block in blocks], order, fillings.get(part.name, 0))
        for part in fields(Linear)
    )
    return Linear(*parts)


def alike(
    models: Sequence[Forward], kinds: Sequence[Hashable], *, most: int = TOGETHER
) -> Iterator[list[int]]:
    """Yield places of recipes that can be colored at once, those of one kind together."""
    groups: dict[Hashable, list[int]] = {}
    for place, (model, kind) in enumerate(zip(models, kinds, strict=True)):
        doubts = tuple(map(len, model.shapes))
        key = place if model.like is None else (model.like, model.asked, doubts, kind)
        groups.setdefault(key, []).append(place)
    for group in groups.values():
        yield from (group[n : n + most] for n in range(0, len(group), most))


def _filled(blocks: Sequence[Any], order: Sequence[int], filling: float) -> Any:
    """Return blocks (r, …) as one array (t, …) in the order of the recipes, filled up."""
    most = np.array([block.shape[1:] for block in blocks]).max(axis=0).astype(int).tolist()
    whole = np.full((len(order), *most), filling, dtype=blocks[0].dtype)
    begin = 0
    for block in blocks:
        rows = order[begin : begin + len(block)]
        there = tuple(slice(width) for width in (len(order), *block.shape[1:]))
        whole[there][rows] = block
        begin += len(block)
    return whole


def _straight(
    models: Sequence[Forward],
    effects: FloatArray,
    own: FloatArray,
    priors: Priors,
    *,
    widths: FloatArray,
    see: See,
    crowding: float,
) -> Linear:
    """Make recipes straight that are alike."""
    first, (e, m) = models[0], (len(effects), own.shape[1])
    s, asked = len(first.coats), list(first.asked)
    middle = variants(effects, own[list(first.used)].reshape(-1, m), steps=s)
    signs = np.where(effects > priors.backward, -STEP, STEP)[asked]
    axes = np.diag(np.concatenate([signs, np.tile(widths, len(first.used))]))
    steps = np.full(s, STEP)
    over = steps * (np.arange(s) > 0) if priors.noise.cover else np.zeros(s)
    moved = offsets(first, axes, middle, fresh=steps, covered=over, crowding=crowding)
    seen = see(seen_of_each(models, varied(models, own, middle.about(moved, 1.0), axes[None], 1.0)))
    slopes = (seen[:, 1:] - seen[:, :1]).swapaxes(1, 2)
    k, covers = len(axes), int(np.count_nonzero(over))
    told, by_hand, by_cover, by_doubt = np.split(slopes, np.cumsum([k, s, covers]), axis=2)
    return Linear(
        features=seen[:, 0],
        counts=np.full(len(models), seen.shape[2]),
        places=np.array([model.parameters(e, m) for model in models], dtype=np.int64),
        slopes=told / np.concatenate([signs, np.full(k - len(signs), STEP)]),
        by_hand=by_hand / STEP / np.sqrt(first.coats),
        by_cover=by_cover / STEP * first.coats[s - covers :],
        by_doubt=by_doubt,
        missed=np.array([model.missed(effects) for model in models]),
    )


def varied(
    models: Sequence[Forward], own: FloatArray, tried: Variants, axes: FloatArray, *signs: float
) -> Variants:
    """Return variants of the first of recipes that are alike, then the like of each other.

    The first one's forward function takes the others' references as its own made so much darker or
    lighter.

    `models`: the recipes, r of them. `own`: shape (n, m), of all colorants of the fit. `tried`: of
    the first: as it is, then by each sign its `offsets`; v of them. `axes`: shape (r, a, parameters
    of the recipe), the first rows of the offsets of each; (1, …) where they are the same. `signs`:
    what offsets are multiplied by.
    """
    first = models[0]
    if len(models) == 1 or first.references is None:
        return tried
    r, (v, u, m) = len(models), tried.own.shape
    used = np.array([model.used for model in models], dtype=np.int64)
    whose = np.repeat(np.arange(u), [len(shapes) for shapes in first.shapes])
    doubts = np.array([np.concatenate(model.shapes) for model in models if u])
    references = np.array([model.references for model in models], dtype=np.float64)
    effects = np.tile(tried.effects, (r, 1, 1))
    each_own = np.repeat(own[used][:, None], v, axis=1)
    shapes = np.repeat(np.log(references / first.references)[:, None], v, axis=1)
    asked, rows = list(first.asked), (v - 1) // max(len(signs), 1)
    for number, sign in enumerate(signs):
        begin, end = 1 + number * rows, 1 + (number + 1) * rows
        along = slice(begin, begin + axes.shape[1])
        effects[:, along, asked] = effects[:, :1, asked] + sign * axes[..., : len(asked)]
        each_own[:, along] += sign * axes[..., len(asked) :].reshape(*axes.shape[:2], u, m)
        doubtful = np.arange(end - len(whose), end)
        shapes[:, doubtful, whose] += sign * doubts.reshape(r, len(whose), BANDS)
    return Variants(
        effects=effects.reshape(-1, effects.shape[2]),
        own=each_own.reshape(-1, u, m),
        fresh=np.tile(tried.fresh, (r, 1)),
        covered=np.tile(tried.covered, (r, 1)),
        shapes=shapes.reshape(-1, u, BANDS),
        crowding=np.tile(tried.crowding, r),
    )


def seen_of_each(models: Sequence[Forward], tried: Variants) -> FloatArray:
    """Return reflectances of recipes that are alike, shape (r, v, 36), by variants of `varied`."""
    factors = np.array([np.broadcast_to(model.factor, BANDS) for model in models])
    spectra = models[0].reflect(tried).reshape(len(models), -1, BANDS)
    return np.asarray(spectra * factors[:, None])
