"""From a recipe of pencils or washes to reflectance, for many sets of numbers at once.

The paper has a tooth, taken as a few zones of equal share from its peaks down. A pile is a list of
layers, each with k = K X and s = S X in every zone; each zone is a stack of Kubelka–Munk films on
the ground, and the eye sees the mean of the zones. A pencil leaves most on the peaks and reaches
further down the harder it is pressed; a wash settles a little in the valleys.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import BadRecipeError
from laydown.media.film.film import DARKEST, sunk
from laydown.media.film.priors import OWN, SURFACE, TURNS, film_priors
from laydown.media.inference.forward import LaidStep, Variants
from laydown.media.inference.leeway import waves
from laydown.media.inference.priors import Priors
from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.recipe import Medium, Recipe, Step, TreatmentStep

ZONES = {Medium.PENCIL: 4, Medium.WASH: 2}
"""Into how many zones the tooth is taken apart; more change a fit's errors by less than 0.1."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmGround:
    """What a film lies on, and the reference swatch of each colorant used."""

    below: FloatArray
    """Shape (36,), what the recipe is laid on."""
    paper: FloatArray
    """Shape (36,), what the references lie on."""
    references: FloatArray
    """Shape (u, 36)."""
    laydowns: tuple[Laydown, ...]
    """How those were laid."""
    deep_laydowns: tuple[Laydown, ...] = ()
    """How the deepest plain swatch of each was laid; as its reference where there is no deeper one.
    None of them while these are only being compared with the model."""
    deep: FloatArray | None = None
    """Shape (u, 36), those swatches."""
    believed: FloatArray | None = None
    """Shape (u,), which share of what the model leaves of them is the model's fault: 0 where there
    is no deeper one."""


Pigments: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]
"""K X and S X of a plain coat of each of u colorants, for v variants, and the power of the load
that K grows by (0 where a deep swatch shows none), each of shape (v, u, 36)."""


Layer: TypeAlias = tuple[FloatArray, FloatArray, FloatArray]
"""What lies of it in each zone [plain coats], shape (v, z); its k and s, (v, 36). Each sinks into
the surface of what lies below it; of several, the lowest comes first."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmSurface:
    """What films lie in, for v variants: each of shape (v, 1)."""

    scattering: FloatArray
    """Of the part of the ground that a film sinks into; 0 where it lies on top."""
    glare: FloatArray
    """Share of light that the dry surface throws back before it meets color."""
    packing: FloatArray
    """Power of the load that a film's scattering grows by: 1 where grains don't pack."""

    def within(self, seen: FloatArray) -> FloatArray:
        """Return what grounds reflect below the surface, as they look from above (…, 36)."""
        return np.asarray(np.maximum((seen - self.glare) / (1.0 - self.glare), DARKEST))

    def above(self, inner: FloatArray) -> FloatArray:
        """Return what is seen from above, where inner (…, 36) is what lies below the surface."""
        return self.glare + (1.0 - self.glare) * inner

    def zones(
        self, thickness: FloatArray, k: FloatArray, s: FloatArray, ground: FloatArray
    ) -> FloatArray:
        """Lay a film in each zone of grounds, all below the surface.

        `thickness`: shape (v, z) [plain coats]. `k`, `s`: shape (…, v, 36), K X and S X of a plain
        coat. `ground`: shape (v or 1, z or 1, 36). Returns shape (…, v, z, 36).
        """
        thick, k, s = thickness[:, :, None], k[..., None, :], s[..., None, :]
        packed = thick ** self.packing[:, :, None]
        return sunk(thick * k, packed * s, self.scattering[:, :, None], ground)

    def stacked(self, layers: tuple[Layer, ...], below: FloatArray) -> FloatArray:
        """Return what layers on grounds (n or 1, 36) reflect below the surface, (n, z, 36)."""
        inner = self.within(below)[:, None]
        for thickness, k, s in layers:
            inner = self.zones(thickness, k, s, inner)
        return inner


def film_steps(recipe: Recipe, medium: Medium) -> tuple[LaidStep, ...]:
    """Put a recipe of one medium into numbers.

    Raises BadRecipeError for a step of another medium, or one that this medium can't do.
    """
    places = {colorant: i for i, colorant in enumerate(recipe.colorants)}
    found = []
    for step in recipe.steps:
        if isinstance(step, TreatmentStep):
            if medium is not Medium.PENCIL:
                raise BadRecipeError(
                    f"{step.words} acts on pencil; it is not modeled on a {medium}.",
                    hint="Blend before the wash is laid, or leave the step out.",
                )
            found.append(LaidStep((), treatment=step.words))
            continue
        _check(step, medium)
        total = sum(part.parts for part in step.parts)
        shares = tuple((places[p.colorant], p.parts / total) for p in step.parts)
        found.append(LaidStep(shares, step.laydown))
    return tuple(found)


def _check(step: Step, medium: Medium) -> None:
    laid, name = step.laydown, step.words
    wrong = [part.colorant.label for part in step.parts if part.colorant.medium is not medium]
    if wrong:
        raise BadRecipeError(f"{wrong[0]} is not a {medium}.")
    if step.mixed and medium is not Medium.WASH:
        raise BadRecipeError(
            f"{name}: only washes are mixed on a palette.", hint="Lay one over the other instead."
        )
    if laid.stroke is not Stroke.EVEN:
        raise BadRecipeError(f"{name}: a stroke means nothing for a {medium}.")
    if medium is Medium.PENCIL and (laid.dilution or laid.wait is Wait.WET):
        raise BadRecipeError(f"{name}: dilution and wet mean nothing for a pencil.")
    if medium is Medium.WASH and laid.pressure is not Pressure.MEDIUM:
        raise BadRecipeError(f"{name}: pressure means nothing for a wash.")


def load_of(laid: Laydown, medium: Medium, effects: FloatArray, below: FloatArray) -> FloatArray:
    """Return how much a step lays where it touches, in plain coats; shape (v, 1).

    A pencil: what the pressure leaves, coat by coat less as the tooth fills, by the factor
    exp(−fill × load below). A wash: the undiluted share and the number of coats, each to a fitted
    power.

    `laid`: how the step is laid. `medium`: pencil or wash. `effects`: shape (v, E). `below`: load
    that lies there already, shape (v, 1).

    >>> usual = film_priors(Medium.WASH).mean[None]
    >>> load_of(Laydown(coats=2, dilution=0.5), Medium.WASH, usual, np.zeros((1, 1))).item()
    1.0
    """
    at = film_priors(medium).at
    if medium is Medium.WASH:
        coats = laid.coats ** np.exp(effects[:, [at("second")]])
        return np.asarray(coats * (1.0 - laid.dilution) ** effects[:, [at("water")]])
    each: FloatArray | float = 1.0
    if laid.pressure is not Pressure.MEDIUM:
        each = np.exp(effects[:, [at(str(laid.pressure))]])
    fill, load = effects[:, [at("fill")]], np.zeros_like(below)
    for _ in range(laid.coats):
        load = load + each * np.exp(-fill * (below + load))
    return np.asarray(load)


def usual_load(laid: Laydown) -> float:
    """Return what a step of wash lays as far as anybody would count it [plain coats].

    >>> usual_load(Laydown(coats=2, dilution=0.75))
    0.5
    """
    return laid.coats * (1.0 - laid.dilution)


def profile_of(laid: Laydown, medium: Medium, effects: FloatArray) -> FloatArray:
    """Return how a load lies over the zones from the peaks down, shape (v, z).

    A pencil reaches down with exp(−(u/depth)²), u from 0 at the peaks to 1; a wash lies thicker
    in the valleys by the share it settles.
    """
    at, zones = film_priors(medium).at, ZONES[medium]
    down = (np.arange(zones) + 0.5) / zones
    if medium is Medium.WASH:
        return np.asarray(1.0 + effects[:, [at("settle")]] * (2.0 * down - 1.0) * 2.0)
    depth = effects[:, [at("depth")]]
    if laid.pressure is not Pressure.MEDIUM:
        depth = depth + effects[:, [at(f"{laid.pressure} depth")]]
    return np.asarray(np.exp(-((down * np.exp(-depth)) ** 2)))


def lay_films(
    steps: Sequence[LaidStep], medium: Medium, pigments: Pigments, tried: Variants
) -> tuple[tuple[Layer, ...], FloatArray]:
    """Lay a recipe and return its layers, and the load of pencil, shape (v, 1).

    `steps`: from `film_steps`. `medium`: pencil or wash. `pigments`: from `constants`. `tried`: the
    numbers to lay it with: `fresh` of each step, then of each part of its mixtures.
    """
    layers, on_paper = tuple[Layer, ...](), np.zeros((len(tried.effects), 1))
    (plain, scattering, growth), fresh = pigments, np.exp(tried.fresh)
    parts = fresh[:, len(steps) :]
    for number, step in enumerate(steps):
        if step.treatment:
            layers, on_paper = treated(layers, on_paper, step.treatment, tried.effects)
            continue
        load = load_of(step.laydown, medium, tried.effects, on_paper) * fresh[:, [number]]
        shares = np.array([[share for _, share in step.shares]])
        if step.is_mixture:
            shares, parts = shares * parts[:, : shares.size], parts[:, shares.size :]
        mixed = [(shares[:, [i]], place) for i, (place, _) in enumerate(step.shares)]
        coat = (
            load * profile_of(step.laydown, medium, tried.effects),
            np.asarray(sum(w * (plain[:, i] * load ** growth[:, i]) for w, i in mixed)),
            np.asarray(sum(w * scattering[:, i] for w, i in mixed)),
        )
        if medium is Medium.WASH:
            layers = rewetted(layers, step.laydown.coats, tried.effects)
        layers, on_paper = (*layers, coat), on_paper + load
    return layers, on_paper


def surface_of(medium: Medium, effects: FloatArray) -> FilmSurface:
    """Return the surface that films of a medium lie in; effects are (v, E).

    A pencil lies on top of the tooth, its glare is part of its color, and it doesn't pack.
    """
    if medium is Medium.PENCIL:
        nothing = np.zeros((len(effects), 1))
        return FilmSurface(nothing, nothing, nothing + 1.0)
    scattering, glare, packing = (effects[:, [film_priors(medium).at(name)]] for name in SURFACE)
    return FilmSurface(np.exp(scattering), np.exp(glare), packing)


def rewetted(layers: tuple[Layer, ...], coats: int, effects: FloatArray) -> tuple[Layer, ...]:
    """Return dry washes after so many wet coats over them: each carries a share off."""
    kept = (1.0 - effects[:, [film_priors(Medium.WASH).at("lift")]]) ** coats
    return tuple((kept * thickness, k, s) for thickness, k, s in layers)


def thinned(layers: tuple[Layer, ...], share: float) -> tuple[Layer, ...]:
    """Return layers of which only a share is left, of each alike."""
    return tuple((share * thickness, k, s) for thickness, k, s in layers)


def treated(
    layers: tuple[Layer, ...], load: FloatArray, treatment: str, effects: FloatArray
) -> tuple[tuple[Layer, ...], FloatArray]:
    """Return what solvent or burnishing makes of the layers of pencil below, and of their load.

    Both even the pigment out over the tooth (*cover*, the share of the way to quite even) and may
    carry some off (*removed*) or change its color (*stronger*, *tilt*: natural logs that absorption
    is multiplied by). Solvent makes one film of all layers; burnishing keeps their order.

    `treatment`: ``solvent by swab`` and its like. `effects`: shape (v, E).
    """
    if not layers:
        return layers, load
    at = film_priors(Medium.PENCIL).at
    cover, removed, stronger, tilt = (effects[:, [at(f"{treatment} {turn}")]] for turn in TURNS)
    color = np.exp(stronger + tilt * np.linspace(-1.0, 1.0, layers[0][1].shape[-1]))
    layers = (_dissolved(layers),) if treatment.startswith("solvent") else layers
    moved = []
    for thickness, k, s in layers:
        mean = thickness.mean(axis=1, keepdims=True)
        even = (1.0 - removed) * (thickness + cover * (mean - thickness))
        moved.append((even, color * k, s))
    return tuple(moved), load * (1.0 - removed)


def _dissolved(layers: tuple[Layer, ...]) -> Layer:
    """Return all layers as one film, as thick in each zone as they are together."""
    total = np.sum([thickness for thickness, _, _ in layers], axis=0)
    whole = np.maximum(total.mean(axis=1, keepdims=True), 1e-12)
    shares = [thickness.mean(axis=1, keepdims=True) / whole for thickness, _, _ in layers]
    k = sum(share * k for share, (_, k, _) in zip(shares, layers, strict=True))
    s = sum(share * s for share, (_, _, s) in zip(shares, layers, strict=True))
    return total, np.asarray(k), np.asarray(s)


def pile_reflectance(
    layers: tuple[Layer, ...], surface: FilmSurface, below: FloatArray
) -> FloatArray:
    """Return the reflectance of a pile on a ground, shape (v, 36); `below` is (36,) or (v, 36).

    Rising in `below`, band by band: every film is (`laydown.media.film.film.sunk`), and a mean.
    """
    if not layers:
        shape = max(below.size // below.shape[-1], len(surface.glare)), below.shape[-1]
        return np.array(np.broadcast_to(below, shape))
    return surface.above(surface.stacked(layers, np.atleast_2d(below)).mean(axis=1))


def matters(priors: Priors, steps: Sequence[LaidStep], medium: Medium) -> frozenset[str]:
    """Return the names of the effects that a recipe's color depends on."""
    names = {"scatter"} | ({"depth"} if medium is Medium.PENCIL else {"settle", *SURFACE})
    laid = [step.laydown for step in steps if not step.treatment]
    if len(laid) > 1 or any(one.coats > 1 for one in laid):
        names |= {"fill"}
    if len(laid) > 1:
        names |= {"lift"}
    for one in laid:
        if medium is Medium.PENCIL and one.pressure is not Pressure.MEDIUM:
            names |= {str(one.pressure), f"{one.pressure} depth"}
        if one.dilution:
            names.add("water")
        if one.coats > 1:
            names.add("second")
    for step in steps:
        names |= {f"{step.treatment} {turn}" for turn in TURNS if step.treatment}
    return frozenset(names & set(priors.names))


def is_wet(recipe: Recipe) -> bool:
    """Whether something is laid on what is still wet, which no film model covers."""
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    return any(s.laydown.wait is Wait.WET for s in steps[1:])


# K and S of pencils and washes from their reference swatches, and the reflectance they give.

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
    shapes = waves(ground.below.shape[-1], len(OWN) - 1)
    # einsum adds up alike however many variants there are, so that what is alike stays so
    own = np.einsum("vuh,hb->vub", tried.own[:, :, 1:], shapes)
    s = np.exp(np.clip(level + own, -12.0, 5.0))
    k, growth = np.empty_like(s), np.zeros_like(s)
    surface, paper = surface_of(medium, tried.effects), ground.paper
    told = surface.scattering, surface.glare, surface.packing

    def absorbing(laid: Laydown, seen: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return K X per plain coat that makes a swatch look as seen, and its load."""
        load = load_of(laid, medium, tried.effects, np.zeros((len(s), 1)))
        thick = load * profile_of(laid, medium, tried.effects)
        film = (thick, s[:, place], *told, surface.within(paper))
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
    return k * amount, s * amount, growth


Film: TypeAlias = tuple[FloatArray, ...]
"""A film of uneven thickness, of which the absorption isn't known yet: the thickness of each zone
[plain coats], shape (v, z), S X of one plain coat (v, 36), the three numbers of the surface that it
lies in, as `FilmSurface` has them, and its ground below that (v, 36)."""


def _seen(film: Film, log_absorbing: FloatArray) -> FloatArray:
    """Return its reflectance below the surface, shape (…, v, 36), as absorption goes."""
    thickness, scattering, *surface, ground = film
    k = np.exp(log_absorbing)
    zones = FilmSurface(*surface).zones(thickness, k, scattering, ground[:, None])
    return np.asarray(zones.mean(axis=-2))


def _distinct_absorbing(wanted: FloatArray, film: Film, alike: int) -> FloatArray:
    """Return the absorption with which a film looks as wanted, worked out once for what is alike.

    Most of what is varied about a recipe leaves the absorption of one of its colorants as it is,
    and swatches of one colorant ask for the same.
    """
    parts, places = [*film, wanted], dict[bytes, int]()
    rows = np.concatenate(parts, axis=1)
    which = [places.setdefault(row.tobytes(), len(places)) for row in rows]
    widths = tuple(part.shape[1] for part in parts)
    return _absorbing(b"".join(places), widths, alike)[which]


@lru_cache(AT_HAND)
def _absorbing(rows: bytes, widths: tuple[int, ...], alike: int) -> FloatArray:
    """Return the absorption for rows of `_distinct_absorbing`, one after the other."""
    table = np.frombuffer(rows).reshape(-1, sum(widths))
    parts = np.split(table, np.cumsum(widths)[:-1], axis=1)
    *film, wanted = map(np.ascontiguousarray, parts)
    if not alike:
        return absorbing_for(wanted, tuple(film))
    first = _absorbing(rows[: table[:1].nbytes], widths, 0)
    return _finished(np.log(first), wanted, tuple(film), rounds=alike)


def absorbing_for(wanted: FloatArray, film: Film) -> FloatArray:
    """Find the absorption with which a film looks as wanted on its ground.

    Between which of `TRIED` it lies shows at once, since reflectance falls as absorption rises; a
    few Newton steps then reach full precision, so that derivatives can be had by differences.

    `wanted`: shape (v, 36), below the surface. `film`: what is known of it. Returns shape (v, 36),
    of one plain coat, from 1e-6 to 1e4; the end of that where none will do.

    A clear film twice the thickness of a coat, seen as a quarter of white: exp(−4 k) = ¼.

    >>> clear, twice = np.zeros((1, 1)), np.full((1, 1), 2.0)
    >>> film = (twice, clear, clear, clear, clear + 1.0, np.ones((1, 1)))
    >>> absorbing_for(np.full((1, 1), 0.25), film).round(6).item()
    0.346574
    """
    seen = _seen(film, TRIED[:, None, None])
    after = np.clip((seen > wanted).sum(axis=0), 1, len(TRIED) - 1)
    above, below = (np.take_along_axis(seen, n[None], axis=0)[0] for n in (after - 1, after))
    on = np.clip((above - wanted) / np.maximum(above - below, 1e-9), 0.0, 1.0)
    return _finished(TRIED[after - 1] + on * (TRIED[1] - TRIED[0]), wanted, film)


def _finished(guess: FloatArray, wanted: FloatArray, film: Film, *, rounds: int = 3) -> FloatArray:
    """Take Newton steps on the logarithm of absorption; each reaches 0.5 at most."""
    found = np.broadcast_to(guess, film[1].shape)
    for _ in range(rounds):
        now, beyond = _seen(film, np.stack([found, found + 1e-5]))
        slope = (beyond - now) / 1e-5
        step = np.divide(wanted - now, slope, out=np.zeros(found.shape), where=slope < -1e-7)
        found = np.clip(found + np.clip(step, -0.5, 0.5), LEAST, MOST)
    return np.asarray(np.exp(found))


def film_reflectance(
    steps: Sequence[LaidStep],
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
    layers, _ = lay_films(steps, medium, pigments, tried)
    surface = surface_of(medium, tried.effects)
    return pile_reflectance(thinned(layers, share), surface, ground.below)
