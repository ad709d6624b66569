"""A range on a new paper: what carries over, and which few swatches there tell most.

A coat leaves about as much color on one paper as on another; where it lies differs. So what each
marker adds is taken over, times one amount for the whole range, and the scale on which it adds is
found anew; films keep their pigments and get a new depth and load. A few *anchors* swatched on the
new paper tell both, and what they still leave is passed on to colorants like them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.colorant import Colorant, Paper
from laydown.media.film.constants import constants
from laydown.media.film.fitting import FilmReference, film_references, key_of
from laydown.media.film.laying import (
    FilmGround,
    FilmStep,
    lay_films,
    pile_reflectance,
)
from laydown.media.film.model import FilmFit
from laydown.media.inference.fit import Fit
from laydown.media.inference.forward import variants
from laydown.media.kit.fit import AnyFit, MediumFit
from laydown.media.laydown import Medium
from laydown.media.marker.absorption import absorption, inverse
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import strength_of
from laydown.media.marker.priors import EFFECTS, SCALE
from laydown.media.marker.references import direct_references
from laydown.media.recipe import Recipe
from laydown.media.swatch import Swatch

AMOUNT_SPREAD = 0.3
"""Standard deviation of the natural log of a range's amount on another paper (chosen)."""
SCALE_SPREAD = 0.3
"""The same of its scale (chosen)."""
OWN_SPREAD = 0.12
"""The same of one colorant's amount beyond its range's (chosen; the benchmark shows about .1)."""
NEAR = 25.0
"""Colorants whose single coats lie within about this [CIELAB] are taken to behave alike."""
SCALES = np.linspace(0.0, 1.0, 41)
AMOUNTS = np.linspace(-1.0, 1.0, 61)
NOISE = 1.0
"""What an anchor may be off by [CIELAB per axis]: hand, instrument and model together (chosen)."""


def choose_anchors(fit: Fit, count: int, *, among: Sequence[Colorant] = ()) -> tuple[Colorant, ...]:
    """Return the colorants whose swatches on a new paper would tell most of all the others.

    Greedy: each next one leaves the least unsure of all. Colorants are correlated by how near
    their single coats look, and all count alike: strong ones show an error of amount no more than
    others do, since the scale of absorption flattens out. A coat near the paper's own color is read
    less truly, by `NOISE` over its distance from the paper.

    Parameters
    ----------
    fit
        Of the range on the paper it is known on.
    count
        How many anchors.
    among
        Those owned, which are to be told and to tell; all where empty.

    Examples
    --------
    ``choose_anchors(fit, 5)`` names five colorants to lay once on the new paper.
    """
    owned = {c.label for c in among or fit.colorants}
    colored = [i for i, c in enumerate(fit.colorants) if not c.blender and c.label in owned]
    looks = lab_from_reflectance(fit.one_coat)[colored]
    shared = _alike(looks, looks)
    seen = np.linalg.norm(looks - lab_from_reflectance(fit.paper.reflectance), axis=1)
    noise = 1e-3 + (NOISE / np.maximum(seen, NOISE) / OWN_SPREAD) ** 2
    chosen: list[int] = []
    for _ in range(min(count, len(colored))):
        rest = [i for i in range(len(colored)) if i not in chosen]
        left = [_left_open(shared, noise, [*chosen, i]) for i in rest]
        chosen.append(rest[int(np.argmin(np.round(left, 12)))])
    return tuple(fit.colorants[colored[i]] for i in chosen)


def _left_open(shared: FloatArray, noise: FloatArray, told: list[int]) -> float:
    block = shared[np.ix_(told, told)] + np.diag(noise[told])
    gain = np.linalg.solve(block, shared[told])
    return float(np.trace(shared) - np.sum(shared[told] * gain))


def _alike(one: FloatArray, other: FloatArray) -> FloatArray:
    away = ((one[:, None] - other[None]) ** 2).sum(axis=-1)
    return np.asarray(np.exp(-0.5 * away / NEAR**2))


def carry(fit: AnyFit, paper: Paper, anchors: Sequence[Swatch] = ()) -> AnyFit:
    """Carry a kit over to a new paper, each medium by the anchors of its own."""

    def carried(part: MediumFit) -> Any:
        own = [s for s in anchors if {c.medium for c in s.recipe.colorants} == {part.medium}]
        if isinstance(part, MarkerFit):
            return carry_markers(part, paper, own)
        return carry_films(part, paper, own)

    return fit.mapped(carried)


def carry_markers(fit: MarkerFit, paper: Paper, anchors: Sequence[Swatch] = ()) -> MarkerFit:
    """Carry markers over to a new paper.

    Parameters
    ----------
    fit
        On the paper they were swatched on.
    paper
        The new one, with its own reflectance.
    anchors
        One-coat swatches of some of them on the new paper; none still gives an answer.

    Returns
    -------
    MarkerFit
        On the new paper. Colorants without an anchor are in `carried`; later coat and lift are
        the old paper's and count as assumed.

    Notes
    -----
    A(new) = g a with one g, on the scale w of the new paper: both the most probable for the
    anchors. What an anchor leaves in log amount goes to others by a Gaussian process over how
    alike they look. Untrue where papers take up some inks and not others.
    """
    ceiling = np.max([np.ones(36), paper.reflectance, *(s.reflectance for s in anchors)], axis=0)
    ground = np.clip(paper.reflectance / ceiling, 1e-4, 1.0)
    found = direct_references(anchors, ground, ceiling)
    places = [i for i, c in enumerate(fit.colorants) if key_of(c) in found]
    seen = np.array([found[key_of(fit.colorants[i])].reflectance for i in places]).reshape(-1, 36)
    scale, amount, unsure = _scale_and_amount(fit, places, seen * ceiling, ground, ceiling)
    under = absorption(ground, scale=scale)
    added = np.exp(amount) * fit.absorption
    measured = absorption(seen, scale=scale) - under
    own, spread = _own_amounts(fit, places, added, measured)
    added = added * np.exp(own)[:, None]
    if places:
        added[places] = measured
    return _carried(fit, paper, places, (scale, unsure), (ceiling, under, added, spread))


def _scale_and_amount(
    fit: MarkerFit, places: list[int], seen: FloatArray, ground: FloatArray, ceiling: FloatArray
) -> tuple[float, float, float]:
    """Return the most probable scale and log amount, and how unsure the scale is."""
    if not places:
        return fit.scale, 0.0, SCALE_SPREAD
    wanted = lab_from_reflectance(seen)
    w, g = (grid.ravel() for grid in np.meshgrid(SCALES, AMOUNTS, indexing="ij"))
    w, g = w[:, None, None], g[:, None, None]
    piled = absorption(ground, scale=w) + np.exp(g) * fit.absorption[places]
    off = lab_from_reflectance(ceiling * inverse(piled, scale=w)) - wanted
    noise = NOISE**2 + (OWN_SPREAD * 0.3 * (100.0 - wanted[:, :1])) ** 2
    cost = (off**2 / noise).sum(axis=(1, 2))
    cost += ((w[:, 0, 0] - fit.scale) / SCALE_SPREAD) ** 2 + (g[:, 0, 0] / AMOUNT_SPREAD) ** 2
    best = int(np.argmin(cost))
    weights = np.exp(-0.5 * (cost - cost[best]))
    unsure = np.sqrt(weights @ (w[:, 0, 0] - w[best, 0, 0]) ** 2 / weights.sum())
    return float(w[best, 0, 0]), float(g[best, 0, 0]), float(max(unsure, 0.02))


def _own_amounts(
    fit: Fit, places: list[int], said: FloatArray, measured: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return each colorant's log amount beyond the range's, and its standard deviation."""
    count = len(fit.colorants)
    if not places:
        return np.zeros(count), np.full(count, np.hypot(AMOUNT_SPREAD, OWN_SPREAD))
    said = said[places]
    ratio = (measured * said).sum(axis=1) / np.maximum((said * said).sum(axis=1), 1e-12)
    left = np.log(np.clip(ratio, 0.3, 3.0))
    looks = lab_from_reflectance(fit.one_coat)
    shared = OWN_SPREAD**2 * _alike(looks, looks[places])
    block = shared[places] + 0.06**2 * np.eye(len(places))
    gain = np.linalg.solve(block, shared.T).T
    variance = OWN_SPREAD**2 - (gain * shared).sum(axis=1)
    return gain @ left, np.sqrt(np.maximum(variance, 0.0) + 0.06**2)


def _carried(
    fit: MarkerFit,
    paper: Paper,
    places: list[int],
    scale: tuple[float, float],
    made: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
) -> MarkerFit:
    ceiling, under, added, spread = made
    effects, e = fit.effects.copy(), len(EFFECTS)
    effects[SCALE] = scale[0]
    covariance = np.zeros_like(fit.covariance)
    covariance[:e, :e] = fit.covariance[:e, :e]
    covariance[SCALE, :], covariance[:, SCALE] = 0.0, 0.0
    covariance[SCALE, SCALE] = scale[1] ** 2
    unsure = spread**2 + np.diag(fit.covariance)[e:]
    unsure[places] = fit.hand**2
    covariance[range(e, e + len(unsure)), range(e, e + len(unsure))] = unsure
    names = [c.name for i, c in enumerate(fit.colorants) if i not in places and not c.blender]
    return replace(
        fit,
        paper=paper,
        ceiling=ceiling,
        paper_absorption=under,
        absorption=added,
        strength=strength_of(added) * (1.0 - fit.blender),
        effects=effects,
        covariance=covariance,
        laid=frozenset(),
        assumed=frozenset(EFFECTS) - ({"scale"} if places else set()),
        odd=(),
        notes=_notes(fit, paper, names, len(places)),
        swatched=tuple(Recipe(s.steps) for s in fit.swatched if _is_anchor(s, fit, places)),
        carried=frozenset(
            c.label for i, c in enumerate(fit.colorants) if i not in places and not c.blender
        ),
    )


def _is_anchor(recipe: Recipe, fit: Fit, places: list[int]) -> bool:
    known = {fit.colorants[i] for i in places}
    return recipe.coats == 1 and len(recipe.steps) == 1 and set(recipe.colorants) <= known


def _notes(fit: Fit, paper: Paper, names: list[str], anchors: int) -> tuple[str, ...]:
    if not names:
        return ()
    told = f"{anchors} anchors" if anchors else "no anchor"
    note = (
        f"{len(names)} colorants are carried over from {fit.paper.name} to {paper.name} with "
        f"{told}, not measured there."
    )
    return (note,)


@dataclass(frozen=True, slots=True, eq=False)
class _Carried:
    """Films on the new paper for one guess of how its tooth takes them."""

    effects: FloatArray
    amount: float


def carry_films(fit: FilmFit, paper: Paper, anchors: Sequence[Swatch] = ()) -> FilmFit:
    """Carry pencils or washes over to a new paper.

    Parameters
    ----------
    fit
        On the paper they were swatched on.
    paper
        The new one.
    anchors
        Plain coats of some of them on the new paper.

    Returns
    -------
    FilmFit
        On the new paper: K and S of each colorant kept, one amount for all and (for pencil) the
        depth they reach found from the anchors, each anchor's own reference taken as measured.
    """
    references = film_references(anchors)
    places = [i for i, c in enumerate(fit.colorants) if key_of(c) in references]
    guess = _best_film(fit, paper, places, references)
    said = _single_films(fit, paper, guess)
    looks = said.copy()
    laid = list(fit.reference_laydowns)
    if places:
        seen = np.array([references[key_of(fit.colorants[i])].reflectance for i in places])
        depth = np.log(np.maximum(paper.reflectance, 1e-4))
        own, _ = _own_amounts(
            fit, places, depth - np.log(np.maximum(said, 1e-4)), depth - np.log(seen)
        )
        looks = np.exp(depth - np.exp(own)[:, None] * (depth - np.log(np.maximum(said, 1e-4))))
        looks[places] = seen
        for i in places:
            laid[i] = references[key_of(fit.colorants[i])].laydown
    names = [c.name for i, c in enumerate(fit.colorants) if i not in places]
    xyz = fit.xyz_only.copy()
    for i in places:
        xyz[i] = float(references[key_of(fit.colorants[i])].xyz_only)
    return replace(
        fit,
        paper=paper,
        references=looks,
        reference_laydowns=tuple(laid),
        effects=guess.effects,
        covariance=_wider(fit, places),
        xyz_only=xyz,
        told=frozenset(),
        assumed=fit.assumed | fit.told,
        odd=(),
        notes=_notes(fit, paper, names, len(places)),
        swatched=tuple(s for s in fit.swatched if _is_anchor(s, fit, places)),
        carried=frozenset(c.label for i, c in enumerate(fit.colorants) if i not in places),
    )


def _best_film(
    fit: FilmFit, paper: Paper, places: list[int], references: dict[tuple[str, str], FilmReference]
) -> _Carried:
    usual = _Carried(fit.effects, 0.0)
    if not places:
        return usual
    wanted = lab_from_reflectance(
        np.array([references[key_of(fit.colorants[i])].reflectance for i in places])
    )
    best, least = usual, np.inf
    for deeper in np.linspace(-0.8, 0.8, 17) if fit.medium is Medium.PENCIL else (0.0,):
        for amount in np.linspace(-0.9, 0.9, 25):
            effects = fit.effects.copy()
            if fit.medium is Medium.PENCIL:
                effects[fit.priors.at("depth")] += deeper
            guess = _Carried(effects, float(amount))
            off = lab_from_reflectance(_single_films(fit, paper, guess)[places]) - wanted
            noise = NOISE**2 + (OWN_SPREAD * 0.3 * (100.0 - wanted[:, :1])) ** 2
            cost = float((off**2 / noise).sum())
            cost += (amount / AMOUNT_SPREAD) ** 2 + (deeper / 0.4) ** 2
            if cost < least:
                best, least = guess, cost
    return best


def _single_films(fit: FilmFit, paper: Paper, guess: _Carried) -> FloatArray:
    """Return each reference laydown as it would look on the new paper, shape (n, 36)."""
    count = len(fit.colorants)
    ground = FilmGround(
        fit.paper.reflectance, fit.paper.reflectance, fit.references, fit.reference_laydowns
    )
    k, s = constants(ground, fit.medium, variants(fit.effects, fit.own * _NO_AMOUNT, steps=1))
    seen = []
    for i in range(count):
        step = FilmStep(((i, 1.0),), fit.reference_laydowns[i])
        tried = variants(guess.effects, fit.own, steps=1)
        tried.fresh[:] = guess.amount
        pile = lay_films([step], fit.medium, k, s, tried)
        seen.append(pile_reflectance(pile, paper.reflectance)[0])
    return np.array(seen)


_NO_AMOUNT = np.array([0.0, 1.0, 1.0, 1.0, 1.0])


def _wider(fit: FilmFit, places: list[int]) -> FloatArray:
    """Return the covariance with amounts that were not measured here made wider."""
    wider = fit.covariance.copy()
    e = len(fit.effects)
    size = len(fit.own[0])
    for i in range(len(fit.colorants)):
        if i not in places:
            spread = OWN_SPREAD if places else np.hypot(AMOUNT_SPREAD, OWN_SPREAD)
            wider[e + size * i, e + size * i] += spread**2
    return wider
