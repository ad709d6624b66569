"""K and S of pencils and washes from their reference swatches, and the reflectance they give."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.film.film import sunk
from laydown.media.film.laying import (
    FilmGround,
    FilmStep,
    Pigments,
    lay_films,
    below_surface,
    further_coats,
    load_of,
    pile_reflectance,
    profile_of,
    surface_of,
    thinned,
)
from laydown.media.film.priors import SCATTERING, film_priors, scattering_shapes
from laydown.media.inference.forward import Variants
from laydown.media.laydown import Laydown, Medium


def constants(
    ground: FilmGround, medium: Medium, tried: Variants, *, alike: int = 0
) -> Pigments:
    """Return what one plain coat of each colorant does with light.

    S is what the variant says; K is what makes the reference swatch come out, and its growth what
    makes the deep one come out, too.

    Parameters
    ----------
    ground
        With the references.
    medium
        Pencil or wash.
    tried
        The numbers.
    alike
        Where all variants lie so near to the first that this many Newton steps from its answer
        are enough; 0 where they don't.
    """
    level = tried.effects[:, film_priors(medium).at("scatter"), None, None]
    shapes = scattering_shapes(ground.below.shape[-1])
    s = np.exp(np.clip(level + tried.own[:, :, SCATTERING] @ shapes, -12.0, 5.0))
    k, growth = np.empty_like(s), np.zeros_like(s)
    bed = _Bed(medium, tried, ground.paper, alike)
    for place, laid in enumerate(ground.laydowns):
        seen = ground.references[place] * np.exp(tried.shapes[:, place])
        k[:, place], load = bed.absorbing(place, laid, seen, s[:, place])
        deep = ground.deep[place] if ground.deep else None
        if deep:
            deeper, more = bed.absorbing(place, deep[0], deep[1] + 0.0 * seen, s[:, place])
            grown = np.log(deeper / k[:, place]) / np.log(more / load)
            growth[:, place] = deep[2] * np.clip(grown, -MOST_GROWTH, MOST_GROWTH)
            k[:, place] /= load ** growth[:, place]
    amount = np.exp(tried.own[:, :, :1])
    return Pigments(k * amount, s * amount, growth)


MOST_GROWTH = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class _Bed:
    """Bare paper, on which plain swatches tell absorption."""

    medium: Medium
    tried: Variants
    paper: FloatArray
    alike: int

    def absorbing(
        self, place: int, laid: Laydown, seen: FloatArray, s: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return K (v, 36) of one plain coat that makes a swatch look as seen, and its load."""
        medium, effects = self.medium, self.tried.effects
        surface, glare, crowd = surface_of(medium, effects)
        load = load_of(laid, medium, effects, np.zeros((len(effects), 1)))
        load = load * further_coats(laid, medium, effects, self.tried.own[:, place])
        thick = load * profile_of(laid, medium, effects)
        seen = below_surface(seen, glare)
        on = thick, (surface, crowd), below_surface(self.paper, glare)
        if not self.alike:
            return absorbing_for(seen, s, *on), load
        first = absorbing_for(seen[:1], s[:1], thick[:1], (surface[:1], crowd[:1]), on[2][:1])
        return _finished(np.log(first), seen, s, *on, rounds=self.alike), load


def absorbing_for(
    wanted: FloatArray,
    scattering: FloatArray,
    thickness: FloatArray,
    surface: tuple[FloatArray, FloatArray],
    ground: FloatArray,
) -> FloatArray:
    """Find the absorption with which a film of uneven thickness looks as wanted on a ground.

    Reflectance falls as absorption rises, so halving an interval of its logarithm can't miss; a
    few steps along the slope finish.

    Parameters
    ----------
    wanted
        Shape (v, 36) or (36,).
    scattering
        Shape (v, 36), of one plain coat.
    thickness
        Shape (v, z), of each zone.
    surface
        Shape (v, 1), see `laydown.media.film.film.sunk`.
    ground
        Shape (v, 36) or (36,).

    Returns
    -------
    FloatArray
        Shape (v, 36), of one plain coat, from 1e-6 to 1e4; the end of that where none will do.

    Examples
    --------
    A clear film twice the thickness of a coat, seen as a quarter of white: exp(−4 k) = ¼.

    >>> clear, twice = np.zeros((1, 1)), np.full((1, 1), 2.0)
    >>> absorbing_for(np.array([0.25]), clear, twice, clear, np.ones(1)).round(6).item()
    0.346574
    """
    low = np.full(scattering.shape, np.log(1e-6))
    high = np.full(scattering.shape, np.log(1e4))
    for _ in range(15):
        middle = 0.5 * (low + high)
        above = _uneven(middle, scattering, thickness, surface, ground) > wanted
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return _finished(0.5 * (low + high), wanted, scattering, thickness, surface, ground)


def _finished(
    guess: FloatArray,
    wanted: FloatArray,
    scattering: FloatArray,
    thickness: FloatArray,
    surface: tuple[FloatArray, FloatArray],
    ground: FloatArray,
    *,
    rounds: int = 3,
) -> FloatArray:
    """Take Newton steps on the logarithm of absorption; each reaches 0.5 at most."""
    found = np.broadcast_to(guess, scattering.shape)
    for _ in range(rounds):
        now = _uneven(found, scattering, thickness, surface, ground)
        slope = (_uneven(found + 1e-5, scattering, thickness, surface, ground) - now) / 1e-5
        step = np.divide(wanted - now, slope, out=np.zeros(found.shape), where=slope < -1e-7)
        found = np.clip(found + np.clip(step, -0.5, 0.5), np.log(1e-6), np.log(1e4))
    return np.asarray(np.exp(found))


def _uneven(
    log_absorbing: FloatArray,
    scattering: FloatArray,
    thickness: FloatArray,
    surface: tuple[FloatArray, FloatArray],
    ground: FloatArray,
) -> FloatArray:
    thick = thickness[:, :, None]
    k, s = np.exp(log_absorbing)[:, None], scattering[:, None]
    return np.asarray(sunk(thick * k, thick ** surface[1][:, :, None] * s, surface[0][:, :, None], ground[..., None, :]).mean(axis=1))


def film_reflectance(
    steps: Sequence[FilmStep],
    medium: Medium,
    ground: FilmGround,
    tried: Variants,
    *,
    alike: int = 0,
    share: float = 1.0,
) -> FloatArray:
    """Return the reflectance of a recipe for each variant, shape (v, 36); see `constants`.

    Of all that is laid only `share` is left.
    """
    pigments = constants(ground, medium, tried, alike=alike)
    pile = thinned(lay_films(steps, medium, pigments, tried), share)
    return pile_reflectance(pile, ground.below)
