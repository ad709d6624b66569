"""What the spectrum of a reference swatch may be off by, seen by XYZ or hidden from it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, lab_from_reflectance

SEEN_SHAPES = 3
"""Level, tilt and bend: the shapes that the instrument's noise of a reference is given."""
HIDDEN_SHAPES = 5
"""Further shapes, freed of what XYZ sees, that a spectrum guessed from XYZ may be off by."""
HIDDEN = 0.08
"""Standard deviation of ln R along each hidden shape; calibrated on simulated dyes, see
docs/decisions/doubt.md."""


def reference_shapes(
    one_coat: FloatArray,
    *,
    ceiling: FloatArray | float = 1.0,
    measuring: float,
    xyz_only: bool,
) -> FloatArray:
    """Return what a reference's spectrum may be off by, in ln R, a standard deviation a row.

    `one_coat`: shape (36,), relative to the ceiling. `ceiling`: shape (36,). `measuring`: noise of
    the instrument [CIELAB units per axis]; the seen shapes together come to it. `xyz_only`: whether
    the spectrum was guessed from XYZ, which adds shapes that XYZ doesn't see. Returns shape
    (shapes, 36).

    A hidden shape h is made orthogonal to R times each color-matching weight, so to first order
    R exp(h) has the XYZ of R: a metameric black, see Wyszecki and Stiles, Color Science (1982).
    """
    shapes = waves(one_coat.shape[-1], SEEN_SHAPES + HIDDEN_SHAPES)
    small = 1e-3 * shapes[:SEEN_SHAPES]
    base = lab_from_reflectance(ceiling * one_coat)
    moved = lab_from_reflectance(ceiling * one_coat * np.exp(small)) - base
    seen = small * measuring * np.sqrt(3.0 / float(np.sum(moved**2)))
    if not xyz_only:
        return np.asarray(seen)
    basis, _ = np.linalg.qr((ceiling * one_coat)[:, None] * WEIGHTS_D50)
    hidden = shapes[SEEN_SHAPES:]
    return np.concatenate([seen, HIDDEN * (hidden - hidden @ basis @ basis.T)])


@cache
def waves(bands: int, count: int) -> FloatArray:
    """Return cosines of none, one half, two halves … of a wave over the bands, of mean square 1.

    Shape (count, bands).
    """
    place = (np.arange(bands) + 0.5) / bands
    order = np.arange(count)[:, None]
    return np.asarray(np.cos(np.pi * order * place) * np.where(order > 0, np.sqrt(2.0), 1.0))


# What is left open of a color, as spectra: so that it can be told for any light, not only day.
#
# The models bend: a thing that is badly known moves a color more to one side than to the other.
# So each is tried a standard deviation to either side, and the second moment of what is seen to
# change is the covariance (an unscented transform about the mode).

SURFACES = 1.7
"""How much wider the hidden shapes of surfaces at large are than those of dyes
(`laydown.media.inference.leeway.HIDDEN`): calibrated on 238 measured patches under six lights, see
docs/decisions/light.md."""
See = Callable[[FloatArray], FloatArray]
"""Turns spectra, shape (n, 36), into what is seen of them, shape (n, 3)."""
Name: TypeAlias = tuple[object, ...]
"""Of a thing left open: two recipes of a kit that have it have the same thing open, not two."""
FRESH: Name = ()
"""The name of what is new each time that something is laid."""


@dataclass(frozen=True, slots=True, eq=False)
class Leeway:
    """What a color may turn out as."""

    tried: tuple[FloatArray, ...]
    """Each of shape (2 m + 1, 36): the spectrum expected, then each of m things left open tried a
    standard deviation to one side, then each to the other."""
    rest: FloatArray
    """Shape (3, 3), the covariance of what no spectrum stands for, such as the instrument's noise
    and the model's misfit [CIELAB²]; taken to be the same under every light."""
    names: tuple[tuple[Name, ...], ...] = ()
    """For each of `tried`, of its m things in their order; none where nobody else can have them."""
    alike: Mapping[Name, float] = field(default_factory=dict)
    """What of `rest` isn't new each time: variances per axis, by name."""

    def on_the_whole(self) -> "Leeway":
        """Return what is left open of the color that laying it many times gives on the mean."""
        kept = [np.flatnonzero([name != FRESH for name in names]) for names in self.names]
        return Leeway(
            tuple(
                spectra[np.concatenate([[0], 1 + places, 1 + len(names) + places])]
                for spectra, names, places in zip(self.tried, self.names, kept, strict=True)
            ),
            sum(self.alike.values()) * np.eye(3),
            tuple(
                tuple(names[i] for i in places)
                for names, places in zip(self.names, kept, strict=True)
            ),
            self.alike,
        )

    def things(self) -> dict[Name, FloatArray]:
        """Return each thing tried to one side and to the other, shape (2, 36), by its name.

        What has no name gets one that nothing else has.
        """
        found: dict[Name, FloatArray] = {}
        for block, spectra in enumerate(self.tried):
            count = len(spectra) // 2
            names = self.names[block] if self.names else (FRESH,) * count
            pairs = spectra[1:].reshape(2, count, spectra.shape[1]).swapaxes(0, 1)
            for place, name in enumerate(names):
                found[name or (id(self), block, place)] = pairs[place]
        return found

    def moved(self, see: See) -> FloatArray:
        """Return the covariance of what is seen of the spectra alone, shape (3, 3)."""
        total = np.zeros((3, 3))
        for spectra in self.tried:
            seen = see(spectra)
            change = seen[1:] - seen[0]
            total += 0.5 * change.T @ change
        return total

    def covariance(self, see: See = lab_from_reflectance) -> FloatArray:
        """Return the covariance of what is seen, shape (3, 3); of Lab by day if nothing is said.

        Two ways to come out, 1 % lighter or darker in all bands:

        >>> tried = np.array([1.0, 1.01, 0.99])[:, None] * np.full((3, 36), 0.5)
        >>> Leeway((tried,), np.zeros((3, 3))).covariance().round(3)[0, 0].tolist()
        0.094
        """
        return np.asarray(self.moved(see) + self.rest)


def leeway_of_color(reflectance: FloatArray, covariance: FloatArray, *, guessed: bool) -> Leeway:
    """Return what is left open of a measured color, or of one whose spectrum was guessed.

    `reflectance`: shape (36,). `covariance`: shape (3, 3), of its Lab by day. `guessed`: whether
    only its XYZ by day are known: then shapes that daylight doesn't see are left open.

    By day a guessed spectrum is as sure as a measured one, since its XYZ are known.

    >>> gray, sure = np.full(36, 0.5), np.zeros((3, 3))
    >>> bool(leeway_of_color(gray, sure, guessed=True).covariance().max() < 1e-9)
    True
    """
    if not guessed:
        return Leeway((), covariance)
    seen = np.clip(reflectance, 1e-4, None)
    shapes = SURFACES * reference_shapes(seen, measuring=0.0, xyz_only=True)
    tried = reflectance * np.exp(np.concatenate([np.zeros((1, 36)), shapes, -shapes]))
    return Leeway((alike_by_day(tried, reflectance),), covariance)


def alike_by_day(spectra: FloatArray, reflectance: FloatArray) -> FloatArray:
    """Return spectra moved by as little as gives each the XYZ by day of a reflectance."""
    seen = reflectance[:, None] * WEIGHTS_D50
    missing = (reflectance - spectra) @ WEIGHTS_D50
    return np.asarray(spectra + np.linalg.solve(WEIGHTS_D50.T @ seen, missing.T).T @ seen.T)


# Two colors beside each other: what is left open of both falls out of their difference.

SeePair = Callable[[FloatArray, FloatArray], FloatArray]
"""Turns spectra of the wanted and of the given color, shapes (n, 36), into what is seen of how they
differ, shape (n, 3)."""


def difference_by_day(wanted: FloatArray, given: FloatArray) -> FloatArray:
    """Return Lab by day of the given less that of the wanted."""
    return lab_from_reflectance(given) - lab_from_reflectance(wanted)


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """What a pair of colors may turn out as."""

    wanted: FloatArray
    given: FloatArray
    """Shapes (2 n + 1, 36): as expected, then with each of n things left open tried a standard
    deviation to one side, then each to the other. A thing that both have moves both."""
    rest: FloatArray
    """Shape (3, 3), the covariance of what no spectrum stands for [CIELAB²]."""

    def moved(self, see: SeePair) -> FloatArray:
        """Return the covariance of what is seen of the spectra alone, shape (3, 3)."""
        seen = see(self.wanted, self.given)
        change = seen[1:] - seen[0]
        return np.asarray(0.5 * change.T @ change)

    def covariance(self, see: SeePair = difference_by_day) -> FloatArray:
        """Return the covariance of the difference as it is seen, shape (3, 3)."""
        return np.asarray(self.moved(see) + self.rest)


def beside(
    wanted: FloatArray, wanted_leeway: Leeway, given: FloatArray, given_leeway: Leeway
) -> Pair:
    """Put two colors beside each other.

    `wanted`, `given`: shape (36,), their spectra. `wanted_leeway`, `given_leeway`: what is left
    open of each; things of one name are one thing.

    One and the same dye, of unknown strength, differs from itself by nothing.

    >>> gray = np.full(36, 0.5)
    >>> tried = np.array([1.0, 1.1, 0.9])[:, None] * gray
    >>> one = Leeway((tried,), np.zeros((3, 3)), ((("strength",),),))
    >>> bool(beside(gray, one, gray, one).covariance().any())
    False
    """
    own, others = wanted_leeway.things(), given_leeway.things()
    still_wanted, still_given = np.stack([wanted, wanted]), np.stack([given, given])
    names = list(dict.fromkeys([*own, *others]))
    first = np.array([own.get(name, still_wanted) for name in names]).reshape(-1, 2, 36)
    second = np.array([others.get(name, still_given) for name in names]).reshape(-1, 2, 36)
    both = wanted_leeway.alike.keys() & given_leeway.alike.keys()
    common = sum(min(wanted_leeway.alike[n], given_leeway.alike[n]) for n in both)
    return Pair(
        np.concatenate([wanted[None], first[:, 0], first[:, 1]]),
        np.concatenate([given[None], second[:, 0], second[:, 1]]),
        wanted_leeway.rest + given_leeway.rest - 2.0 * common * np.eye(3),
    )
