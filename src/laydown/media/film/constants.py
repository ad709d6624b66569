"""K and S of pencils and washes from their reference swatches, and the reflectance they give."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.film.laying import (
    FilmGround,
    FilmStep,
    FilmSurface,
    Pigments,
    lay_films,
    load_of,
    pile_reflectance,
    profile_of,
    surface_of,
    thinned,
)
from laydown.media.film.priors import film_priors, scattering_shapes
from laydown.media.inference.forward import Places, Variants
from laydown.media.laydown import Laydown
from laydown.media.recipe import Medium

LEAST, MOST = np.log(1e-6), np.log(1e4)
"""Between these lies the log of absorption that is looked for: a coat that shows nothing, and one
that lets nothing through even spread over a hundred."""
TRIED = np.linspace(LEAST, MOST, 48)
"""Logs of absorption that are tried first; so near each other that Newton's steps find the rest."""
AT_HAND = 512
"""Swatches of which it stays at hand what absorption they tell: a fit asks for each many times."""
MOST_GROWTH = 1.5
"""K grows or falls off by no more than this power of the load, whatever a deep swatch shows
(chosen: three coats as five, or as one half)."""


def constants(ground: FilmGround, medium: Medium, tried: Variants, *, alike: int = 0) -> Pigments:
    """Return what one plain coat of each colorant does with light.

    S is what the variant says; K is what makes the reference swatch come out; its growth is what
    makes the deep one come out too, as far as that is believed.

    `ground`: with the references. `medium`: pencil or wash. `tried`: the numbers. `alike`: where
    all variants lie so near to the first that this many Newton steps from its answer are enough; 0
    where they don't.

    In two-constant theory K is in proportion to the load. Measured washes depart from that band by
    band, by up to the load's square root: grains pack, clump, and lie deeper. One power for each
    band, told by two swatches, says so without saying why. Untrue far beyond the deepest swatch.
    """
    level = tried.effects[:, film_priors(medium).at("scatter"), None, None]
    shapes = scattering_shapes(ground.below.shape[-1])
    # einsum adds up alike however many variants there are, so that what is alike stays so
    own = np.einsum("vuh,hb->vub", tried.own[:, :, 1:], shapes)
    s = np.exp(np.clip(level + own, -12.0, 5.0))
    k, growth = np.empty_like(s), np.zeros_like(s)
    surface, paper = surface_of(medium, tried.effects), ground.paper

    def absorbing(laid: Laydown, seen: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return K X per plain coat that makes a swatch look as seen, and its load."""
        load = load_of(laid, medium, tried.effects, np.zeros((len(s), 1)))
        thick = load * profile_of(laid, medium, tried.effects)
        film = _Film(thick, s[:, place], surface, surface.within(paper))
        return _distinct_absorbing(surface.within(seen), film, alike), load

    for place, laid in enumerate(ground.laydowns):
        first, load = absorbing(laid, ground.references[place] * np.exp(tried.shapes[:, place]))
        believed = 0.0 if ground.believed is None else ground.believed[place]
        if believed > 0.0 and ground.deep is not None:
            seen = np.broadcast_to(ground.deep[place], first.shape)
            deep, more = absorbing(ground.deep_laydowns[place], seen)
            grown = np.log(deep / first) / np.log(more / load)
            growth[:, place] = believed * np.clip(grown, -MOST_GROWTH, MOST_GROWTH)
        k[:, place] = first / load ** growth[:, place]
    amount = np.exp(tried.own[:, :, :1])
    return Pigments(k * amount, s * amount, growth)


@dataclass(frozen=True, slots=True, eq=False)
class _Film:
    """A film of uneven thickness on a ground, of which the absorption isn't known yet."""

    thickness: FloatArray
    """Shape (v, z), of each zone [plain coats]."""
    scattering: FloatArray
    """Shape (v, 36), S X of one plain coat."""
    surface: FilmSurface
    """What it lies in."""
    ground: FloatArray
    """Shape (v, 36), below the surface."""

    def rows(self, places: Places) -> "_Film":
        """Return some of the variants."""
        thickness, scattering = self.thickness[places], self.scattering[places]
        return _Film(thickness, scattering, self.surface.rows(places), self.ground[places])

    def seen(self, log_absorbing: FloatArray) -> FloatArray:
        """Return its reflectance below the surface, shape (v, 36), as absorption goes."""
        k, ground = np.exp(log_absorbing), self.ground[:, None]
        return np.asarray(
            self.surface.zones(self.thickness, k, self.scattering, ground).mean(axis=1)
        )


def _distinct_absorbing(wanted: FloatArray, film: _Film, alike: int) -> FloatArray:
    """Return the absorption with which a film looks as wanted, worked out once for what is alike.

    Most of what is varied about a recipe leaves the absorption of one of its colorants as it is,
    and swatches of one colorant ask for the same.
    """
    surface = film.surface
    told = film.thickness, film.scattering, surface.scattering, surface.glare, surface.packing
    parts = [*told, film.ground, wanted]
    places = dict[bytes, int]()
    rows = np.concatenate(parts, axis=1)
    which = [places.setdefault(row.tobytes(), len(places)) for row in rows]
    widths = tuple(part.shape[1] for part in parts)
    return _absorbing(b"".join(places), widths, alike)[which]


@lru_cache(AT_HAND)
def _absorbing(rows: bytes, widths: tuple[int, ...], alike: int) -> FloatArray:
    """Return the absorption for rows of `_distinct_absorbing`, one after the other."""
    table = np.frombuffer(rows).reshape(-1, sum(widths))
    parts = np.split(table, np.cumsum(widths)[:-1], axis=1)
    thick, s, *surface, ground, wanted = map(np.ascontiguousarray, parts)
    film = _Film(thick, s, FilmSurface(*surface), ground)
    if not alike:
        return absorbing_for(wanted, film)
    first = absorbing_for(wanted[:1], film.rows(np.array([0])))
    return _finished(np.log(first), wanted, film, rounds=alike)


def absorbing_for(wanted: FloatArray, film: _Film) -> FloatArray:
    """Find the absorption with which a film looks as wanted on its ground.

    Between which of `TRIED` it lies shows at once, since reflectance falls as absorption rises; a
    few Newton steps then reach full precision, so that derivatives can be had by differences.

    `wanted`: shape (v, 36), below the surface. `film`: what is known of it. Returns shape (v, 36),
    of one plain coat, from 1e-6 to 1e4; the end of that where none will do.

    A clear film twice the thickness of a coat, seen as a quarter of white: exp(−4 k) = ¼.

    >>> clear, twice = np.zeros((1, 1)), np.full((1, 1), 2.0)
    >>> film = _Film(twice, clear, FilmSurface(clear, clear, clear + 1.0), np.ones((1, 1)))
    >>> absorbing_for(np.full((1, 1), 0.25), film).round(6).item()
    0.346574
    """
    count, tried = len(film.scattering), len(TRIED)
    every = film.rows(np.tile(np.arange(count), tried))
    seen = every.seen(np.repeat(TRIED, count)[:, None]).reshape(tried, count, -1)
    after = np.clip((seen > wanted).sum(axis=0), 1, tried - 1)
    above, below = (np.take_along_axis(seen, n[None], axis=0)[0] for n in (after - 1, after))
    on = np.clip((above - wanted) / np.maximum(above - below, 1e-9), 0.0, 1.0)
    return _finished(TRIED[after - 1] + on * (TRIED[1] - TRIED[0]), wanted, film)


def _finished(guess: FloatArray, wanted: FloatArray, film: _Film, *, rounds: int = 3) -> FloatArray:
    """Take Newton steps on the logarithm of absorption; each reaches 0.5 at most."""
    found = np.broadcast_to(guess, film.scattering.shape)
    for _ in range(rounds):
        now = film.seen(found)
        slope = (film.seen(found + 1e-5) - now) / 1e-5
        step = np.divide(wanted - now, slope, out=np.zeros(found.shape), where=slope < -1e-7)
        found = np.clip(found + np.clip(step, -0.5, 0.5), LEAST, MOST)
    return np.asarray(np.exp(found))


def film_reflectance(
    steps: Sequence[FilmStep],
    medium: Medium,
    ground: FilmGround,
    tried: Variants,
    *,
    alike: int = 0,
    share: float = 1.0,
) -> FloatArray:
    """Return the reflectance of a recipe, shape (v, 36), with its absorption taken from references.

    Of all that is laid only `share` is left.
    """
    pigments = constants(ground, medium, tried, alike=alike)
    pile = thinned(lay_films(steps, medium, pigments, tried), share)
    return pile_reflectance(pile, ground.below)
