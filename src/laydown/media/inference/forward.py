"""A recipe as inference sees it: what its color depends on, and the function that gives it.

A model knows light and paper; inference knows sets of numbers and the reflectance that each leads
to. Everything here has a leading axis of variants, for fitting, uncertainty and learning all ask
what a recipe would look like were the numbers a little different.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.leeway import FRESH, Name
from laydown.media.inference.priors import Noise, Priors
from laydown.media.laydown import Medium
from laydown.media.recipe import Recipe

STEP = 1e-4
"""Step of the finite differences: the error of a one-sided difference grows with it, that of
rounding falls; about the root of the precision of the films' inner solution."""
BANDS = 36
Places: TypeAlias = NDArray[np.int64]
"""Where in an array something stands."""


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
    """The forward function."""

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
) -> tuple[Variants, tuple[Name, ...]]:
    """Return things to vary, an offset a row, and their names.

    Parameters
    ----------
    model
        The recipe.
    axes
        Shape (a, parameters of the recipe), rows of offsets of effects and own numbers.
    middle
        What they are offsets from, one variant.
    fresh, covered
        Shape (s,), by how much each step's amount and what it leaves are moved; what is moved by
        0 gets no row.
    crowding
        The same of the fall-off on a deep pile.

    Returns
    -------
    tuple
        Rows in the order axes, fresh, covered, crowding, shapes; one name for each.
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
    return moved, _names(model, len(axes), over, crowding=crowding > 0.0)


def _names(model: Forward, axes: int, over: Places, *, crowding: bool) -> tuple[Name, ...]:
    """Return the names of the rows of `offsets`.

    How much of what lies below shows through a coat is one thing for piles that are the same.
    """
    return (
        *((f"{model.medium} axis", n) for n in range(axes)),
        *(FRESH for _ in model.coats),
        *(("covered", model.recipe.key[: int(n) + 1]) for n in over),
        *((("crowding",),) if crowding else ()),
        *(
            ("reference", colorant.label, n)
            for colorant, shapes in zip(model.recipe.colorants, model.shapes, strict=True)
            for n in range(len(shapes))
        ),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Linear:
    """A recipe with its model made straight at some parameters (first order)."""

    features: FloatArray
    """Shape (f,), what it looks like there: CIELAB, for spectra more."""
    jacobian: FloatArray
    """Shape (f, p), by effects and then by what each colorant has of its own."""
    by_hand: FloatArray
    """Shape (f, s), per unit of hand noise of a coat."""
    by_cover: FloatArray
    """Shape (f, c), per unit of the scatter of what lies below when a coat covers it."""
    by_doubt: FloatArray
    """Shape (f, k), for what else is unsure of it, each by its standard deviation."""
    missed: float
    """How many times the square of the model's misfit it is off."""

    def covariance(self, noise: Noise, *, measuring: float, fill: float = 0.0) -> FloatArray:
        """Return what it scatters by itself, shape (f, f).

        Parameters
        ----------
        noise
            Of hand, model and cover.
        measuring
            Of its measurement [CIELAB units per axis].
        fill
            Added standard deviation of the log amounts, for a marker that was running dry.
        """
        hand = np.hypot(noise.hand, fill)
        roots = [hand * self.by_hand, noise.cover * self.by_cover, self.by_doubt]
        root = np.concatenate(roots, axis=1)
        plain = measuring**2 + noise.misfit**2 * self.missed
        return np.asarray(root @ root.T + plain * np.eye(len(self.features)))


def linearize(
    model: Forward,
    effects: FloatArray,
    own: FloatArray,
    priors: Priors,
    *,
    units: FloatArray | float = 1.0,
    features: Callable[[FloatArray], FloatArray] = lab_from_reflectance,
    crowding: float = 0.0,
) -> Linear:
    """Make a model straight at some parameters, by one-sided differences of `STEP`.

    Parameters
    ----------
    model
        The recipe.
    effects, own
        Shapes (E,) and (n, m), of all colorants of the fit.
    priors
        Of the medium.
    units
        Shape (m,), in which what colorants have of their own is stepped and told.
    features
        From reflectance to what is compared.
    crowding
        How unsure the fall-off of a coat on a deep pile is.
    """
    e, m, s = len(effects), own.shape[1], len(model.coats)
    asked, used = list(model.asked), list(model.used)
    middle = variants(effects, own[used].reshape(-1, m), steps=s)
    signs = np.where(effects > priors.backward, -STEP, STEP)[asked]
    widths = np.concatenate(
        [signs, np.tile(np.broadcast_to(STEP * np.asarray(units), m), len(used))]
    )
    steps = np.full(s, STEP)
    over = steps * (np.arange(s) > 0) if priors.cover else np.zeros(s)
    moved, _ = offsets(model, np.diag(widths), middle, fresh=steps, covered=over, crowding=crowding)
    seen = features(model.reflect(middle.about(moved, 1.0)))
    slopes = (seen[1:] - seen[0]).T
    parameters, covers = len(widths), int(np.count_nonzero(over))
    jacobian = np.zeros((len(slopes), e + own.size))
    told = np.concatenate([signs, np.full(parameters - len(signs), STEP)])
    jacobian[:, model.parameters(e, m)] = slopes[:, :parameters] / told
    by_hand, by_cover, by_doubt = np.split(slopes[:, parameters:], np.cumsum([s, covers]), axis=1)
    return Linear(
        seen[0],
        jacobian,
        by_hand / STEP / np.sqrt(model.coats),
        by_cover / STEP * model.coats[s - covers :],
        by_doubt,
        model.missed(effects),
    )
