"""What is taken for granted of a model until swatches say otherwise."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.reference.tables import load_table, numbers_of

BoolArray: TypeAlias = NDArray[np.bool_]
HELD = 1e-6
"""Standard deviation of an effect that is held where it is."""
NATURAL = frozenset({"lift", "blender", "fill", "settle", "cover", "removed"})
"""Last words of effects whose ends are answers: nothing of it, or all."""


@dataclass(frozen=True, slots=True)
class Noise:
    """What swatches scatter by."""

    hand: float
    """Standard deviation of the natural log of a coat's amount."""
    misfit: float
    """How far the model is off [CIELAB units per axis], per coat or step beyond the first."""
    cover: float = 0.0
    """Standard deviation of the natural log of what lies below when a coat of another colorant
    covers it; 0 where a model knows no such scatter."""


@dataclass(frozen=True, slots=True, eq=False)
class Priors:
    """What is expected of a model's parameters before any swatch, and how firmly."""

    names: tuple[str, ...]
    """Of the E effects, which all colorants of a medium share on a paper, in their order."""
    mean: FloatArray
    sd: FloatArray
    lowest: FloatArray
    highest: FloatArray
    """Shape (E,), of the effects; and what they can be at all."""
    backward: FloatArray
    """Shape (E,): above this an effect is differentiated by a step down, else by a step up."""
    own_sd: FloatArray
    """Shape (m,), of what each colorant has of its own; the first is its log amount, in units of
    the hand's scatter."""
    noise: Noise
    noise_sd: Noise
    """What swatches scatter by, and the standard deviation of the natural log of each of that."""
    measuring: float
    """Noise of the instrument [CIELAB units per axis]."""
    misfit_lowest: float = 0.0
    crowding_sd: float = 0.0
    """How unsure the fall-off of a coat on a deep pile is; 0 where a model has none."""

    @property
    def capped(self) -> BoolArray:
        """Shape (E,), which effects end where no more can be told, not where nothing is left."""
        return np.array([name.rpartition(" ")[2] not in NATURAL for name in self.names])

    def within(self, tried: FloatArray, middle: FloatArray) -> FloatArray:
        """Return effects to try about fitted ones (E,), shape (v, E), no farther out than can be.

        What would pass a cap is turned inward, see `turned_inward`.
        """
        lowest, highest = np.minimum(self.lowest, middle), np.maximum(self.highest, middle)
        turned = turned_inward(tried, middle, lowest=lowest, highest=highest)
        return np.where(self.capped, turned, np.clip(tried, lowest, highest))

    def at(self, name: str) -> int:
        """Return the place of an effect."""
        return self.names.index(name)

    def held(self, values: Mapping[str, float]) -> "Priors":
        """Return the same with some effects, by name, held at given values."""
        return self.believed({name: (value, HELD) for name, value in values.items()})

    def believed(self, values: Mapping[str, tuple[float, float]]) -> "Priors":
        """Return the same with other means and standard deviations of some effects, by name."""
        mean, sd = self.mean.copy(), self.sd.copy()
        for name, (value, spread) in values.items():
            mean[self.at(name)], sd[self.at(name)] = value, spread
        return replace(self, mean=mean, sd=sd)

    def log_density(self, noise: Noise) -> float:
        """Return the log of the prior density of a noise, up to a constant.

        Each kind is log-normal: a scatter can't be negative, and is known within a factor.
        """
        # told one by one: a fit asks for thousands, and `astuple` copies all it meets
        told = ((one.hand, one.misfit, one.cover) for one in (noise, self.noise, self.noise_sd))
        kinds = zip(*told, strict=True)
        return -0.5 * float(sum((np.log(x / mean) / sd) ** 2 for x, mean, sd in kinds if mean))


def priors_of(
    effects: Mapping[str, FloatArray], noise: Mapping[str, FloatArray], *, own_sd: FloatArray
) -> Priors:
    """Return priors from rows of a table: mean, deviation, lowest and highest of each effect.

    `noise`: the same of *hand*, *misfit*, *measuring*, and *cover* where a model has it. `own_sd`:
    as `Priors` has it.
    """
    mean, sd, lowest, highest = np.array(list(effects.values())).T
    kinds = np.array([noise[kind] for kind in ("hand", "misfit", "cover") if kind in noise])
    return Priors(
        names=tuple(effects),
        mean=mean,
        sd=np.maximum(sd, HELD),
        lowest=lowest,
        highest=highest,
        backward=highest,
        own_sd=own_sd,
        noise=Noise(*kinds[:, 0].tolist()),
        noise_sd=Noise(*kinds[:, 1].tolist()),
        measuring=float(noise["measuring"][0]),
    )


def turned_inward(
    tried: FloatArray,
    middle: FloatArray | float,
    *,
    lowest: FloatArray | float,
    highest: FloatArray | float,
) -> FloatArray:
    """Return numbers to try about one that has ends, turned inward where they pass an end.

    So what lies on an end is as unsure as it would be elsewhere. Of a Gaussian cut off at a
    distance d, the mean square about its middle is nearly that of a deviation s to one side and
    √(s (s − d)) to the other.

    `tried`: shape (v, …). `middle`, `lowest`, `highest`: what they are tried about, and its ends;
    shape (…).

    >>> turned_inward(np.array([-0.25, 0.25]), 0.0, lowest=0.0, highest=1.0).tolist()
    [0.25, 0.25]
    >>> turned_inward(np.array([0.25, 0.75]), 0.5, lowest=0.0, highest=1.0).tolist()
    [0.25, 0.75]
    """
    away = tried - middle
    room = np.where(away > 0.0, highest - middle, middle - lowest)
    size = np.abs(away)
    inward = np.sqrt(size * np.maximum(size - room, 0.0))
    outward = np.where(inward > room, -inward, np.minimum(size, room))
    return np.clip(middle + np.sign(away) * outward, lowest, highest)


HandPriors: TypeAlias = Mapping[str, float]
"""How far a person's bench may be from the one that was swatched, as standard deviations: of each
effect by its name, added to what the fit leaves open; *amount*, of the natural log of what the
person lays in a coat; *strength*, of that of one colorant's own strength."""


@cache
def usual_hand_priors() -> HandPriors:
    """Return the priors of ``learning_priors.csv``, which gives the reason for each.

    >>> usual_hand_priors()["amount"]
    0.27
    """
    table = load_table("learning_priors")
    return dict(zip(table["name"], numbers_of(table, "sd")[:, 0].tolist(), strict=True))
