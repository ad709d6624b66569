"""K and S of pencils and washes from their reference swatches, and the reflectance they give."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.film.film import film
from laydown.media.film.laying import (
    FilmGround,
    FilmStep,
    lay_films,
    load_of,
    pile_reflectance,
    profile_of,
    thinned,
)
from laydown.media.film.priors import film_priors, scattering_shapes
from laydown.media.inference.forward import Variants
from laydown.media.laydown import Medium


def constants(
    ground: FilmGround, medium: Medium, tried: Variants, *, alike: int = 0
) -> tuple[FloatArray, FloatArray]:
    """Return K X and S X of one plain coat of each colorant, shape (v, u, 36) each.

    S is what the variant says; K is what makes the reference swatch come out.

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
    s = np.exp(np.clip(level + tried.own[:, :, 1:] @ shapes, -12.0, 5.0))
    k = np.empty_like(s)
    nothing = np.zeros((len(s), 1))
    for place, laid in enumerate(ground.laydowns):
        thick = load_of(laid, medium, tried.effects, nothing)
        thick = thick * profile_of(laid, medium, tried.effects)
        seen = ground.references[place] * np.exp(tried.shapes[:, place])
        if alike:
            first = absorbing_for(seen[:1], s[:1, place], thick[:1], ground.paper)
            k[:, place] = _finished(
                np.log(first), seen, s[:, place], thick, ground.paper, rounds=alike
            )
        else:
            k[:, place] = absorbing_for(seen, s[:, place], thick, ground.paper)
    amount = np.exp(tried.own[:, :, :1])
    return k * amount, s * amount


def absorbing_for(
    wanted: FloatArray, scattering: FloatArray, thickness: FloatArray, ground: FloatArray
) -> FloatArray:
    """Find the absorption with which a film of uneven thickness looks as wanted on a ground.

    Reflectance falls as absorption rises, so halving an interval of its logarithm can't miss; a
    few steps along the slope finish.

    Parameters
    ----------
    wanted
        Shape (v, 36) or (36,).
    ground
        Shape (36,).
    scattering
        Shape (v, 36), of one plain coat.
    thickness
        Shape (v, z), of each zone.

    Returns
    -------
    FloatArray
        Shape (v, 36), of one plain coat, from 1e-6 to 1e2; the end of that where none will do.

    Examples
    --------
    A clear film twice the thickness of a coat, seen as a quarter of white: exp(−4 k) = ¼.

    >>> clear, twice = np.zeros((1, 1)), np.full((1, 1), 2.0)
    >>> absorbing_for(np.array([0.25]), clear, twice, np.ones(1)).round(6).item()
    0.346574
    """
    low = np.full(scattering.shape, np.log(1e-6))
    high = np.full(scattering.shape, np.log(1e2))
    for _ in range(14):
        middle = 0.5 * (low + high)
        above = _uneven(middle, scattering, thickness, ground) > wanted
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return _finished(0.5 * (low + high), wanted, scattering, thickness, ground)


def _finished(
    guess: FloatArray,
    wanted: FloatArray,
    scattering: FloatArray,
    thickness: FloatArray,
    ground: FloatArray,
    *,
    rounds: int = 3,
) -> FloatArray:
    """Take Newton steps on the logarithm of absorption; each reaches 0.5 at most."""
    found = np.broadcast_to(guess, scattering.shape)
    for _ in range(rounds):
        now = _uneven(found, scattering, thickness, ground)
        slope = (_uneven(found + 1e-5, scattering, thickness, ground) - now) / 1e-5
        step = np.divide(wanted - now, slope, out=np.zeros(found.shape), where=slope < -1e-7)
        found = np.clip(found + np.clip(step, -0.5, 0.5), np.log(1e-6), np.log(1e2))
    return np.asarray(np.exp(found))


def _uneven(
    log_absorbing: FloatArray, scattering: FloatArray, thickness: FloatArray, ground: FloatArray
) -> FloatArray:
    thick = thickness[:, :, None]
    zones = film(thick * np.exp(log_absorbing)[:, None], thick * scattering[:, None], ground)
    return np.asarray(zones.mean(axis=1))


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
    k, s = constants(ground, medium, tried, alike=alike)
    pile = thinned(lay_films(steps, medium, k, s, tried), share)
    return pile_reflectance(pile, ground.below)
