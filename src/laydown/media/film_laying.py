"""From a recipe of pencils or washes to reflectance, for many sets of numbers at once.

A pile is a list of layers, each with k = K X and s = S X where it lies and the share of the paper
that it covers. Washes cover everything. Pencil covers the top of the tooth: of two layers the one
that reaches less far lies wholly on the other. What is covered has one mean reflectance; taking
the mean before the next film is laid instead of after it changes a color by less than 0.1.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import BadRecipeError
from laydown.media.film import absorbing_for, film
from laydown.media.film_model import OWN, TURNS, FilmPriors, film_priors, scattering_shapes
from laydown.media.laydown import Laydown, Medium, Pressure, Stroke, Wait
from laydown.media.recipe import Recipe, Step, TreatmentStep

LEAST = 1e-3
"""A covered place is taken to reflect at least this much."""


@dataclass(frozen=True, slots=True)
class FilmStep:
    """A step in numbers.

    Parameters
    ----------
    shares
        (place among the colorants used, share) of what is laid, adding to 1; empty for a treatment.
    laydown
        How; None for a treatment.
    treatment
        ``solvent by swab`` and its like; empty for a colorant.
    """

    shares: tuple[tuple[int, float], ...]
    laydown: Laydown | None
    treatment: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class FilmGround:
    """What a film lies on, and the reference swatch of each colorant used.

    Parameters
    ----------
    below
        Shape (36,), what the recipe is laid on.
    paper
        Shape (36,), what the references lie on.
    references
        Shape (u, 36).
    laydowns
        How those were laid.
    """

    below: FloatArray
    paper: FloatArray
    references: FloatArray
    laydowns: tuple[Laydown, ...]


@dataclass(frozen=True, slots=True, eq=False)
class FilmVariants:
    """Sets of numbers to try, v of them, for a recipe of s steps and u colorants.

    Parameters
    ----------
    effects
        Shape (v, E).
    own
        Shape (v, u, 5), see `laydown.media.film_model.OWN`; the amount as a plain natural log.
    fresh
        Shape (v, s), natural log of the amount of each step as it is laid now.
    """

    effects: FloatArray
    own: FloatArray
    fresh: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class FilmLayer:
    """One layer: k and s where it lies, shape (v, 36), and the share it covers, shape (v, 1)."""

    absorbing: FloatArray
    scattering: FloatArray
    cover: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class FilmPile:
    """What lies on the ground: layers from the bottom up, and the load of pencil, shape (v, 1)."""

    layers: tuple[FilmLayer, ...]
    load: FloatArray


def film_steps(recipe: Recipe, medium: Medium) -> tuple[FilmStep, ...]:
    """Put a recipe of one medium into numbers.

    Raises
    ------
    BadRecipeError
        For a step of another medium, or one that this medium can't do.
    """
    places = {colorant: i for i, colorant in enumerate(recipe.colorants)}
    found = []
    for step in recipe.steps:
        if isinstance(step, TreatmentStep):
            _check_treatment(step, medium)
            found.append(FilmStep((), None, f"{step.treatment} by {step.tool}"))
            continue
        _check(step, medium)
        total = sum(part.parts for part in step.parts)
        shares = tuple((places[p.colorant], p.parts / total) for p in step.parts)
        found.append(FilmStep(shares, step.laydown))
    return tuple(found)


def _check_treatment(step: TreatmentStep, medium: Medium) -> None:
    if medium is not Medium.PENCIL:
        raise BadRecipeError(
            f"{step.treatment} by {step.tool} acts on pencil; it is not modeled on a {medium}.",
            hint="Blend before the wash is laid, or leave the step out.",
        )


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


def film_unchanged(
    effects: FloatArray, own: FloatArray, *, steps: int, count: int = 1
) -> FilmVariants:
    """Return `count` variants that are all alike: these numbers and no deviation."""
    return FilmVariants(
        np.tile(effects, (count, 1)), np.tile(own, (count, 1, 1)), np.zeros((count, steps))
    )


def load_of(laid: Laydown, medium: Medium, effects: FloatArray) -> FloatArray:
    """Return how much a step lays, in plain coats; shape (v, 1) for effects (v, E).

    A pencil: coats times what the pressure leaves. A wash: the undiluted share to a fitted power,
    and for each further coat a fitted part of the first.

    Examples
    --------
    >>> usual = film_priors(Medium.WASH).mean[None]
    >>> load_of(Laydown(coats=2, dilution=0.5), Medium.WASH, usual).item()
    1.0
    """
    at = film_priors(medium).at
    if medium is Medium.PENCIL:
        if laid.pressure is Pressure.MEDIUM:
            return np.full((len(effects), 1), float(laid.coats))
        return np.asarray(laid.coats * np.exp(effects[:, [at(str(laid.pressure))]]))
    coats = 1.0 + (laid.coats - 1) * np.exp(effects[:, [at("second")]])
    return np.asarray(coats * (1.0 - laid.dilution) ** effects[:, [at("water")]])


def cover_of(
    load: FloatArray, below: FloatArray, pressure: Pressure, effects: FloatArray
) -> FloatArray:
    """Return the share of the tooth that a pencil's load covers, shape (v, 1).

    c = full (1 − exp(−fill (load + reach × load below))): each coat covers the same share of what
    is bare and can be covered at this pressure, until that is full.
    """
    at = film_priors(Medium.PENCIL).at
    fill, full, reach = (effects[:, [at(name)]] for name in ("fill", "full", "reach"))
    if pressure is not Pressure.HEAVY:
        full = full * effects[:, [at("medium full")]]
    if pressure is Pressure.LIGHT:
        full = full * effects[:, [at("light full")]]
    return np.asarray(full * -np.expm1(-fill * (load + reach * below)))


def constants(
    ground: FilmGround, medium: Medium, tried: FilmVariants
) -> tuple[FloatArray, FloatArray]:
    """Return K X and S X of one plain coat of each colorant, shape (v, u, 36) each.

    S is what the variant says; K is what makes the reference swatch come out.
    """
    shapes = scattering_shapes(ground.below.shape[-1])
    at = film_priors(medium).at
    level = tried.effects[:, at("scatter"), None, None]
    s = np.exp(np.clip(level + tried.own[:, :, 1:] @ shapes, -12.0, 5.0))
    k = np.empty_like(s)
    nothing = np.zeros((len(s), 1))
    for place, laid in enumerate(ground.laydowns):
        load = load_of(laid, medium, tried.effects)
        seen, thick = ground.references[place], load
        if medium is Medium.PENCIL:
            cover = cover_of(load, nothing, laid.pressure, tried.effects)
            seen = np.maximum((seen - (1.0 - cover) * ground.paper) / cover, LEAST)
            thick = load / cover
        k[:, place] = absorbing_for(seen, thick * s[:, place], ground.paper) / thick
    amount = np.exp(tried.own[:, :, :1])
    return k * amount, s * amount


def lay_films(
    steps: Sequence[FilmStep], medium: Medium, k: FloatArray, s: FloatArray, tried: FilmVariants
) -> FilmPile:
    """Lay a recipe and return the pile.

    Parameters
    ----------
    steps
        From `film_steps`.
    medium
        Pencil or wash.
    k, s
        From `constants`.
    tried
        The numbers to lay it with.
    """
    pile = FilmPile((), np.zeros((len(tried.effects), 1)))
    for number, step in enumerate(steps):
        if step.laydown is None:
            pile = treated(pile, step.treatment, tried.effects)
            continue
        factor = np.exp(tried.fresh[:, [number]])
        load = load_of(step.laydown, medium, tried.effects) * factor
        mixed_k = sum(share * k[:, place] for place, share in step.shares)
        mixed_s = sum(share * s[:, place] for place, share in step.shares)
        coat = FilmLayer(np.asarray(mixed_k), np.asarray(mixed_s), np.ones_like(load))
        if medium is Medium.PENCIL:
            pile = _drawn(pile, coat, load, step.laydown.pressure, tried.effects)
        else:
            pile = _washed(pile, coat, load, step.laydown.coats, tried.effects)
    return pile


def _drawn(
    pile: FilmPile, coat: FilmLayer, load: FloatArray, pressure: Pressure, effects: FloatArray
) -> FilmPile:
    """Draw over a pile: the load's pigment stays together where it covers; nothing is lifted."""
    cover = cover_of(load, pile.load, pressure, effects)
    thick = load / np.maximum(cover, 1e-9)
    layer = FilmLayer(thick * coat.absorbing, thick * coat.scattering, cover)
    return FilmPile((*pile.layers, layer), pile.load + load)


def _washed(
    pile: FilmPile, coat: FilmLayer, load: FloatArray, coats: int, effects: FloatArray
) -> FilmPile:
    """Wash over a dry pile: each coat carries a share of all that lies below off."""
    kept = (1.0 - effects[:, [film_priors(Medium.WASH).at("lift")]]) ** coats
    below = tuple(FilmLayer(kept * x.absorbing, kept * x.scattering, x.cover) for x in pile.layers)
    layer = FilmLayer(load * coat.absorbing, load * coat.scattering, coat.cover)
    return FilmPile((*below, layer), pile.load)


def treated(pile: FilmPile, treatment: str, effects: FloatArray) -> FilmPile:
    """Return what solvent or burnishing makes of the layers below.

    Both spread pigment over bare tooth (*cover*) and may carry some off (*removed*) or change its
    color (*stronger*, *tilt*). Solvent makes one film of all layers; burnishing keeps their order.

    Parameters
    ----------
    pile
        Of pencil.
    treatment
        ``solvent by swab`` and its like.
    effects
        Shape (v, E).
    """
    if not pile.layers:
        return pile
    at = film_priors(Medium.PENCIL).at
    cover, removed, stronger, tilt = (effects[:, [at(f"{treatment} {turn}")]] for turn in TURNS)
    lean = np.linspace(-1.0, 1.0, pile.layers[0].absorbing.shape[-1])
    color = np.exp(stronger + tilt * lean)
    layers = (_dissolved(pile.layers),) if treatment.startswith("solvent") else pile.layers
    moved = []
    for layer in layers:
        grown = layer.cover + cover * (1.0 - layer.cover)
        thinner = (1.0 - removed) * layer.cover / grown
        moved.append(
            FilmLayer(thinner * color * layer.absorbing, thinner * layer.scattering, grown)
        )
    return FilmPile(tuple(moved), pile.load * (1.0 - removed))


def _dissolved(layers: tuple[FilmLayer, ...]) -> FilmLayer:
    """Return all layers as one film over the widest of them."""
    cover = np.maximum.reduce([layer.cover for layer in layers])
    k = sum(layer.cover * layer.absorbing for layer in layers) / cover
    s = sum(layer.cover * layer.scattering for layer in layers) / cover
    return FilmLayer(np.asarray(k), np.asarray(s), cover)


def pile_reflectance(pile: FilmPile, below: FloatArray) -> FloatArray:
    """Return the reflectance of a pile on a ground, shape (v, 36).

    Rising in `below`, band by band: films are (`laydown.media.film.laid_on`), and shares are ≥ 0.
    """
    covered = np.broadcast_to(below, (len(pile.load), below.shape[-1]))
    share = np.zeros_like(pile.load)
    for layer in pile.layers:
        new = layer.cover
        wider = np.maximum(new, share)
        ground = np.where(
            new >= share, (share * covered + (wider - share) * below) / wider, covered
        )
        laid = film(layer.absorbing, layer.scattering, ground)
        covered = np.where(new >= share, laid, (new * laid + (share - new) * covered) / wider)
        share = wider
    return np.asarray(share * covered + (1.0 - share) * below)


def film_reflectance(
    steps: Sequence[FilmStep], medium: Medium, ground: FilmGround, tried: FilmVariants
) -> FloatArray:
    """Return the reflectance of a recipe for each variant, shape (v, 36)."""
    k, s = constants(ground, medium, tried)
    return pile_reflectance(lay_films(steps, medium, k, s, tried), ground.below)


def own_units(own: FloatArray, hand: float) -> FloatArray:
    """Return what colorants have of their own with the amount as a plain natural log."""
    scale = np.ones(len(OWN))
    scale[0] = hand
    return np.asarray(own * scale)


def matters(priors: FilmPriors, steps: Sequence[FilmStep], medium: Medium) -> frozenset[str]:
    """Return the names of the effects that a recipe's color depends on."""
    names = {"scatter"} | ({"fill", "full", "medium full"} if medium is Medium.PENCIL else set())
    laid = [step.laydown for step in steps if step.laydown]
    if len(laid) > 1:
        names.add("reach" if medium is Medium.PENCIL else "lift")
    for one in laid:
        if medium is Medium.PENCIL and one.pressure is not Pressure.MEDIUM:
            names |= {str(one.pressure), f"{one.pressure} full"}
        if medium is Medium.WASH and one.dilution:
            names.add("water")
        if medium is Medium.WASH and one.coats > 1:
            names.add("second")
    for step in steps:
        names |= {f"{step.treatment} {turn}" for turn in TURNS if step.treatment}
    return frozenset(names & set(priors.names))
