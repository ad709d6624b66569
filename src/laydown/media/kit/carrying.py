"""A range on a new paper: what carries over, and which few swatches there tell most.

A coat leaves about as much color on one paper as on another; where it lies differs. So what each
marker adds is taken over, times one amount for the whole range, and the scale on which it adds is
found anew; films keep their pigments and get a new depth and load. A few *anchors* swatched on the
new paper tell both, and what they still leave is passed on to colorants like them.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.film.fitting import film_references
from laydown.media.film.laying import constants, lay_films, pile_reflectance, surface_of
from laydown.media.film.model import FilmFit, film_ground
from laydown.media.inference.fit import Fit, OneFit
from laydown.media.inference.forward import LaidStep, variants
from laydown.media.inference.prediction import without_residuals
from laydown.media.kit.fit import AnyFit, MediumFit
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import direct_references
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import absorption, inverse, strength_of
from laydown.media.marker.priors import EFFECTS, SCALE, STRAIGHT
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step, key_of
from laydown.media.swatch import Swatch

AMOUNT_SPREAD = 0.3
"""Standard deviation of the natural log of a range's amount on another paper (chosen)."""
SCALE_SPREAD = 0.3
"""The same of its scale (chosen)."""
OWN_SPREAD = 0.12
"""The same of one colorant's amount beyond its range's (chosen; the benchmark shows about .1)."""
NEAR = 25.0
"""Colorants whose single coats lie within about this [CIELAB] are taken to behave alike."""
DEPTH_SPREAD = 0.4
"""The same of how deep pencil reaches into the tooth (chosen)."""
READ_SPREAD = 0.06
"""To what a colorant's own amount can be read from one anchor [natural log] (chosen)."""
SCALES, AMOUNTS = np.linspace(0.0, 1.0, 41), np.linspace(-1.0, 1.0, 61)
DEEPER, FILM_AMOUNTS = np.linspace(-0.8, 0.8, 17), np.linspace(-0.9, 0.9, 25)
"""What is tried: scales and log amounts of markers, depths and log amounts of films."""
NOISE = 1.0
"""What an anchor may be off by [CIELAB per axis]: hand, instrument and model together (chosen)."""


def choose_anchors(fit: Fit, count: int, *, among: Sequence[Colorant] = ()) -> tuple[Colorant, ...]:
    """Return the colorants whose swatches on a new paper would tell most of all the others.

    Greedy: each next one leaves the least unsure of all. Colorants are correlated by how near
    their single coats look, and all count alike: strong ones show an error of amount no more than
    others do, since the scale of absorption flattens out. A coat near the paper's own color is read
    less truly, by `NOISE` over its distance from the paper.

    `fit`: of the range on the paper it is known on. `count`: how many anchors. `among`: those
    owned, which are to be told and to tell; all where empty.

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


def _likeliest_taking(
    look: Callable[[float], FloatArray],
    spectra: FloatArray,
    grid: tuple[FloatArray, FloatArray],
    *,
    usual: float,
    spread: float,
) -> tuple[float, float, float]:
    """Return how a paper takes a range: where it lies, how unsure that is, and how much of it.

    That is what makes the anchors most probable, by trying all of a grid.

    Two unknowns on a bounded range, and the cost may have more than one valley: so a grid.

    `look`: from where the range lies to the anchors' reflectance at each amount, (amounts, k, 36).
    `spectra`: shape (k, 36), as the anchors were measured. `grid`: where it may lie, and natural
    logs of amounts. `usual`, `spread`: where it lay on the old paper, and the standard deviation
    from paper to paper.
    """
    where, amounts = grid
    wanted = lab_from_reflectance(spectra)
    noise = NOISE**2 + (OWN_SPREAD * 0.3 * (100.0 - wanted[:, :1])) ** 2
    off = [lab_from_reflectance(look(place)) - wanted for place in where.tolist()]
    cost = np.array([(one**2 / noise).sum(axis=(1, 2)) for one in off])
    cost += ((where[:, None] - usual) / spread) ** 2 + (amounts / AMOUNT_SPREAD) ** 2
    best = np.unravel_index(int(np.argmin(cost)), cost.shape)
    weights = np.exp(-0.5 * (cost - cost[best])).sum(axis=1)
    unsure = np.sqrt(weights @ (where - where[best[0]]) ** 2 / weights.sum())
    return float(where[best[0]]), float(max(unsure, 0.02)), float(amounts[best[1]])


def _own_amounts(
    fit: Fit, places: list[int], said: FloatArray, measured: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return each colorant's log amount beyond the range's, and its standard deviation.

    A Gaussian process over how alike colorants look: what an anchor shows goes to those like it.
    """
    count = len(fit.colorants)
    if not places:
        return np.zeros(count), np.full(count, np.hypot(AMOUNT_SPREAD, OWN_SPREAD))
    said = said[places]
    ratio = (measured * said).sum(axis=1) / np.maximum((said * said).sum(axis=1), 1e-12)
    residual = np.log(np.clip(ratio, 0.3, 3.0))
    looks = lab_from_reflectance(fit.one_coat)
    shared = OWN_SPREAD**2 * _alike(looks, looks[places])
    block = shared[places] + READ_SPREAD**2 * np.eye(len(places))
    gain = np.linalg.solve(block, shared.T).T
    variance = OWN_SPREAD**2 - (gain * shared).sum(axis=1)
    return gain @ residual, np.sqrt(np.maximum(variance, 0.0) + READ_SPREAD**2)


def _on(fit: OneFit, paper: Paper, places: list[int]) -> OneFit:
    """Return a fit that says of itself that it was carried to a paper by some anchors."""
    known = {fit.colorants[i] for i in places}
    carried = [c for c in fit.colorants if c not in known and not c.blender]
    told = f"{len(places)} anchors" if places else "no anchor"
    note = (
        f"{len(carried)} colorants are carried over from {fit.paper.name} to {paper.name} with "
        f"{told}, not measured there."
    )
    single = [r for r in fit.swatched if r.coats == 1 and len(r.steps) == 1]
    return replace(
        without_residuals(fit),
        paper=paper,
        odd=(),
        notes=(note,) if carried else (),
        swatched=tuple(r for r in single if set(r.colorants) <= known),
        carried=frozenset(c.label for c in carried),
    )


def carry_markers(fit: MarkerFit, paper: Paper, anchors: Sequence[Swatch] = ()) -> MarkerFit:
    """Carry markers over to a new paper.

    `fit`: on the paper they were swatched on. `paper`: the new one, with its own reflectance.
    `anchors`: one-coat swatches of some of them on the new paper; none still gives an answer.
    Colorants without an anchor are in `carried`; later coat and lift are
    the old paper's and count as assumed.

    A(new) = g a with one g, on the scale w of the new paper: both the most probable for the
    anchors. What an anchor leaves in log amount goes to others by a Gaussian process over how
    alike they look. Untrue where papers take up some inks and not others.
    """
    ceiling = np.max([np.ones(36), paper.reflectance, *(s.reflectance for s in anchors)], axis=0)
    ground = np.clip(paper.reflectance / ceiling, 1e-4, 1.0)
    found = direct_references(anchors, ground, ceiling)
    places = [i for i, c in enumerate(fit.colorants) if key_of(c) in found]
    seen = np.array([found[key_of(fit.colorants[i])].reflectance for i in places]).reshape(-1, 36)

    def look(scale: float) -> FloatArray:
        laid = np.exp(AMOUNTS)[:, None, None] * fit.absorption[places]
        return np.asarray(ceiling * inverse(absorption(ground, scale=scale) + laid, scale=scale))

    where, unsure, amount = fit.scale, SCALE_SPREAD, 0.0
    if places:
        where, unsure, amount = _likeliest_taking(
            look, seen * ceiling, (SCALES, AMOUNTS), usual=fit.scale, spread=SCALE_SPREAD
        )
    under = absorption(ground, scale=where)
    added, measured = np.exp(amount) * fit.absorption, absorption(seen, scale=where)
    own, spread = _own_amounts(fit, places, added, measured - under)
    added = added * np.exp(own)[:, None]
    added[places] = measured - under
    effects = fit.effects.copy()
    effects[SCALE] = where
    return replace(
        _on(fit, paper, places),
        ceiling=ceiling,
        paper_absorption=under,
        absorption=added,
        strength=strength_of(added) * (1.0 - fit.blender),
        effects=effects,
        covariance=_carried_covariance(fit, places, unsure, spread),
        laid=frozenset(),
        assumed=frozenset(EFFECTS) - ({"scale"} if places else set()),
        bend=STRAIGHT,
    )


def _carried_covariance(
    fit: MarkerFit, places: list[int], scale_sd: float, spread: FloatArray
) -> FloatArray:
    """Return the covariance on the new paper: of amounts each alone, the scale told anew."""
    e = len(EFFECTS)
    covariance = np.zeros_like(fit.covariance)
    covariance[:e, :e] = fit.covariance[:e, :e]
    covariance[SCALE, :], covariance[:, SCALE] = 0.0, 0.0
    covariance[SCALE, SCALE] = scale_sd**2
    unsure = spread**2 + np.diag(fit.covariance)[e:]
    unsure[places] = fit.noise.hand**2
    covariance[fit.amounts, fit.amounts] = unsure
    return covariance


def carry_films(fit: FilmFit, paper: Paper, anchors: Sequence[Swatch] = ()) -> FilmFit:
    """Carry pencils or washes over to a new paper.

    `fit`: on the paper they were swatched on. `paper`: the new one. `anchors`: plain coats of some
    of them on the new paper. K and S of each colorant are kept; one amount
    for all and (for pencil) the depth they reach found from the anchors, each anchor's own
    reference taken as measured.
    """
    found = film_references(anchors)
    places = [i for i, c in enumerate(fit.colorants) if key_of(c) in found]
    told = [found[key_of(fit.colorants[i])] for i in places]
    seen = np.array([one.reflectance for one in told]).reshape(-1, 36)
    lay = _single_films(fit, paper)
    effects, amount = fit.effects.copy(), 0.0
    if places:
        deeper = DEEPER if fit.medium is Medium.PENCIL else np.zeros(1)
        where, _, amount = _likeliest_taking(
            lambda by: lay(fit.reference_laydowns, _deeper(fit, by), FILM_AMOUNTS, places),
            seen,
            (deeper, FILM_AMOUNTS),
            usual=0.0,
            spread=DEPTH_SPREAD,
        )
        effects = _deeper(fit, where)
    every = list(range(len(fit.colorants)))
    white = np.log(np.maximum(paper.reflectance, 1e-4))
    one, deep = (
        white - np.log(np.maximum(lay(laid, effects, np.array([amount]), every)[0], 1e-4))
        for laid in (fit.reference_laydowns, fit.deep_laydowns)
    )
    if places:
        own, _ = _own_amounts(fit, places, one, white - np.log(seen))
        one, deep = np.exp(own)[:, None] * one, np.exp(own)[:, None] * deep
    looks = np.exp(white - one)
    looks[places] = seen
    laid, xyz = list(fit.reference_laydowns), fit.xyz_only.copy()
    for place, told_by in zip(places, told, strict=True):
        laid[place], xyz[place] = told_by.laydown, float(told_by.xyz_only)
    # which deep swatches differ from the reference in nothing but more coats
    deeper_than = [
        one.coats > other.coats and replace(one, coats=other.coats) == other
        for one, other in zip(fit.deep_laydowns, laid, strict=True)
    ]
    covariance, rest = fit.covariance.copy(), [i for i in every if i not in places]
    spread = OWN_SPREAD if places else np.hypot(AMOUNT_SPREAD, OWN_SPREAD)
    covariance[fit.amounts[rest], fit.amounts[rest]] += spread**2
    return replace(
        _on(fit, paper, places),
        references=looks,
        reference_laydowns=tuple(laid),
        deep=np.exp(white - deep),
        believed=np.where(deeper_than, fit.believed, 0.0),
        effects=effects,
        covariance=covariance,
        xyz_only=xyz,
        told=frozenset(),
        assumed=fit.assumed | fit.told,
    )


def _deeper(fit: FilmFit, by: float) -> FloatArray:
    """Return the effects with pencil reaching deeper into the tooth, in natural logs."""
    effects = fit.effects.copy()
    if fit.medium is Medium.PENCIL:
        effects[fit.priors.at("depth")] += by
    return effects


def _single_films(
    fit: FilmFit, paper: Paper
) -> Callable[[Sequence[Laydown], FloatArray, FloatArray, Sequence[int]], FloatArray]:
    """Return what lays colorants on the new paper as their swatches were laid on the old one.

    Of laydowns of all, effects, amounts and places: shape (a, k, 36).
    """
    own = fit.own.copy()
    own[:, 0] = 0.0
    known = film_ground(fit, Recipe(tuple(Step(c) for c in fit.colorants)))
    pigments = constants(known, fit.medium, variants(fit.effects, own, steps=1))

    def lay(
        laid: Sequence[Laydown], effects: FloatArray, amounts: FloatArray, places: Sequence[int]
    ) -> FloatArray:
        tried = variants(effects, own, steps=1, count=len(amounts))
        tried.fresh[:, 0] = amounts
        steps = [LaidStep(((i, 1.0),), laid[i]) for i in places]
        piles = [lay_films([step], fit.medium, pigments, tried)[0] for step in steps]
        surface, on = surface_of(fit.medium, tried.effects), paper.reflectance
        return np.stack([pile_reflectance(layers, surface, on) for layers in piles], axis=1)

    return lay
