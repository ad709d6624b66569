"""Recipes with the same slots, side by side: what they look like, and what may be laid on them."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.search.mixed_space import Slot
from laydown.media.colorant import Colorant
from laydown.media.film.constants import constants
from laydown.media.film.film import film, layer
from laydown.media.film.laying import load_of, profile_of
from laydown.media.film.laying import thinned as thinned_pile
from laydown.media.film.model import FilmFit, film_ground, film_pile
from laydown.media.inference.forward import variants
from laydown.media.kit.fit import KitFit, Segment, runs
from laydown.media.laydown import Medium
from laydown.media.marker.absorption import absorption, inverse
from laydown.media.marker.marker import MarkerFit
from laydown.media.marker.pile import laid_steps, pile_of, step_numbers, unchanged
from laydown.media.recipe import Part, Recipe, Step

Ints = NDArray[np.int64]
Stacked = tuple[FloatArray, FloatArray, FloatArray]
"""A layer: thickness (n, z), K X and S X of a plain coat (n, 36)."""


@dataclass(frozen=True, slots=True, eq=False)
class UsableColorants:
    """The usable colorants of one medium, in arrays.

    Parameters
    ----------
    fit
        Of the medium.
    colorants
        Those that may be used.
    places
        Their places in the fit.
    k, s
        Shape (c, 36): K X and S X of one plain coat; of markers, absorption and nothing.
    """

    fit: MarkerFit | FilmFit
    colorants: tuple[Colorant, ...]
    places: tuple[int, ...]
    k: FloatArray
    s: FloatArray

    def mixed(self, slot: Slot, choices: Ints) -> tuple[FloatArray, FloatArray]:
        """Return K X and S X of what fills a slot, for choices (c, m)."""
        parts = np.array(slot.parts or (1,), dtype=np.float64)
        shares = parts / parts.sum()
        return shares @ self.k[choices], shares @ self.s[choices]

    def step(self, slot: Slot, choice: tuple[int, ...]) -> Step:
        """Return the step of one choice."""
        used = [self.colorants[i] for i in choice]
        mixed = tuple(Part(c, n) for c, n in zip(used, slot.parts, strict=False))
        return Step(used[0], slot.laydown, mixed)


@dataclass(frozen=True, slots=True, eq=False)
class RecipeBlock:
    """Recipes with the same slots, n of them.

    Parameters
    ----------
    slots
        Theirs, bottom first.
    choices
        Shape (n, len(slots)): which choice fills each slot.
    media
        All that lies there, what lay there before included.
    seen
        Shape (n, 36), their reflectance.
    medium
        What lies uppermost in the end, see `laydown.media.kit.fit.segments`; None on bare paper.
    base
        Shape (n or 1, 36), what the uppermost run of one medium lies on.
    load
        Of that run, where it is pencil [plain coats]: the same for all.
    layers
        Of that run, where it is pencil or wash.
    zones
        Shape (n, z, 36), reflectance zone by zone, where it is pencil.
    pile
        Of the markers, wherever they lie: absorption (n, 36), strength and amount (n,).
    """

    slots: tuple[Slot, ...]
    choices: Ints
    media: frozenset[Medium]
    seen: FloatArray
    medium: Medium | None
    base: FloatArray
    load: float = 0.0
    layers: tuple[Stacked, ...] = ()
    zones: FloatArray | None = None
    pile: tuple[FloatArray, FloatArray, FloatArray] | None = None

    def rows(self, kept: Ints) -> "RecipeBlock":
        """Return some of the recipes only."""
        return replace(
            self,
            choices=self.choices[kept],
            seen=self.seen[kept],
            base=_some(self.base, kept),
            layers=tuple(
                (_some(a, kept), _some(b, kept), _some(c, kept)) for a, b, c in self.layers
            ),
            zones=None if self.zones is None else _some(self.zones, kept),
            pile=None if self.pile is None else _some_pile(self.pile, kept),
        )


def _some(array: FloatArray, kept: Ints) -> FloatArray:
    return array if len(array) == 1 else array[kept]


def _some_pile(
    pile: tuple[FloatArray, FloatArray, FloatArray], kept: Ints
) -> tuple[FloatArray, FloatArray, FloatArray]:
    a, s, t = pile
    return _some(a, kept), _some(s, kept), _some(t, kept)


def shelves(fit: KitFit, without: frozenset[str]) -> dict[Medium, UsableColorants]:
    """Put the usable colorants of each medium into arrays; a medium that has none is not there."""
    media = {Medium.MARKER: fit.markers, Medium.PENCIL: fit.pencils, Medium.WASH: fit.washes}
    kept = {m: (one, _usable(one, without)) for m, one in media.items() if one is not None}
    return {m: _shelf(one, places) for m, (one, places) in kept.items() if places}


def _usable(fit: MarkerFit | FilmFit, without: frozenset[str]) -> list[int]:
    return [i for i, c in enumerate(fit.colorants) if not {c.name, c.label} & without]


def _shelf(fit: MarkerFit | FilmFit, kept: list[int]) -> UsableColorants:
    colorants = tuple(fit.colorants[i] for i in kept)
    if isinstance(fit, MarkerFit):
        k = fit.absorption[kept]
        return UsableColorants(fit, colorants, tuple(kept), k, np.zeros_like(k))
    alone = Recipe(tuple(Step(c) for c in colorants))
    middle = variants(fit.effects, fit.own[kept], steps=len(kept))
    k, s = constants(film_ground(fit, alone), fit.medium, middle)
    return UsableColorants(fit, colorants, tuple(kept), k[0], s[0])


def ground_block(fit: KitFit, over: Recipe) -> RecipeBlock:
    """Return what lies on the paper already, as a block of one."""
    paper = fit.paper.reflectance[None]
    media = frozenset(s.colorant.medium for s in over.steps if isinstance(s, Step))
    start = RecipeBlock((), np.zeros((1, 0), dtype=np.int64), media, paper, None, paper)
    for run in runs(fit, over):
        start = _lain(start, run)
    return start


def _lain(below: RecipeBlock, run: Segment) -> RecipeBlock:
    """Lay a run of what lies there already on a block of one."""
    seen = run.over(below.seen)
    share = run.soaked.share
    if isinstance(run.fit, MarkerFit):
        pile = _marker_pile(run.fit, run.recipe)
        return replace(below, seen=seen, medium=Medium.MARKER, pile=_scaled(pile, share))
    pile_of_films = thinned_pile(film_pile(run.fit, run.recipe), share)
    layers = tuple((x.thickness, x.absorbing, x.scattering) for x in pile_of_films.layers)
    return replace(
        below,
        seen=seen,
        medium=run.fit.medium,
        base=below.seen,
        load=float(pile_of_films.load[0, 0]),
        layers=layers,
        zones=stacked(layers, below.seen),
    )


def _scaled(
    pile: tuple[FloatArray, FloatArray, FloatArray], share: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    a, s, t = pile
    return share * a, share * s, share * t


def _marker_pile(fit: MarkerFit, recipe: Recipe) -> tuple[FloatArray, FloatArray, FloatArray]:
    steps = laid_steps(recipe)
    absorptions = fit.absorption[[fit.index(c) for c in recipe.colorants]]
    variants = unchanged(fit.effects, steps=len(steps), colorants=len(absorptions))
    pile, _ = pile_of(steps, absorptions[None], variants)
    return pile.absorption, pile.strength, pile.amount


def stacked(layers: tuple[Stacked, ...], base: FloatArray) -> FloatArray:
    """Return the reflectance, zone by zone (n, z, 36), of layers on bases (n or 1, 36)."""
    seen = base[:, None]
    for thickness, k, s in layers:
        thick = thickness[:, :, None]
        seen = film(thick * k[:, None], thick * s[:, None], seen)
    return seen


def grounds(block: RecipeBlock, slot: Slot, medium: Medium, fit: FilmFit) -> FloatArray:
    """Return what a film of this slot lies on, shape (n, z or 1, 36)."""
    if block.medium is not medium:
        return np.ascontiguousarray(block.seen[:, None])
    if medium is Medium.PENCIL and block.zones is not None:
        return np.ascontiguousarray(np.broadcast_to(block.zones, _full(block, block.zones)))
    lifted = stacked(thinned(block.layers, slot, fit), block.base)
    return np.ascontiguousarray(np.broadcast_to(lifted, _full(block, lifted)))


def _full(block: RecipeBlock, array: FloatArray) -> tuple[int, ...]:
    return (len(block.choices), *array.shape[1:])


def thinned(layers: tuple[Stacked, ...], slot: Slot, fit: FilmFit) -> tuple[Stacked, ...]:
    """Return dry washes as the wet coats of a slot leave them."""
    kept = (1.0 - fit.effect("lift")) ** slot.laydown.coats
    return tuple((kept * thickness, k, s) for thickness, k, s in layers)


def film_tops(
    shelf: UsableColorants, slot: Slot, choices: Ints, below: float
) -> tuple[FloatArray, FloatArray, float]:
    """Return the films that fill a slot, over a load that lies below.

    Returns
    -------
    tuple
        R₀ and T² in each zone, shape (c, z, 36), and the load each lays.
    """
    fit = shelf.fit
    assert isinstance(fit, FilmFit)
    thick, load = thickness(fit, slot, below)
    k, s = shelf.mixed(slot, choices)
    reflected, passed = layer(thick[:, None] * k[:, None], thick[:, None] * s[:, None])
    return np.ascontiguousarray(reflected), np.ascontiguousarray(passed**2), load


def thickness(fit: FilmFit, slot: Slot, below: float) -> tuple[FloatArray, float]:
    """Return what a slot lays in each zone, shape (z,), and its load [plain coats]."""
    effects = fit.effects[None]
    load = load_of(slot.laydown, fit.medium, effects, np.full((1, 1), below))
    profile = profile_of(slot.laydown, fit.medium, effects)
    return np.asarray((load * profile)[0]), float(load[0, 0])


def extend(
    block: RecipeBlock, shelf: UsableColorants, slot: Slot, pairs: tuple[Ints, Ints], filled: Ints
) -> RecipeBlock:
    """Lay what fills a slot over recipes of a block.

    Parameters
    ----------
    block
        What lies below.
    shelf, slot
        What is laid.
    pairs
        Shape (m,) each: which recipe of the block, and which choice on it.
    filled
        Shape (c, parts), the choices.
    """
    below = block.rows(pairs[0])
    made = replace(
        below,
        slots=(*block.slots, slot),
        choices=np.concatenate([below.choices, pairs[1][:, None]], axis=1),
        media=block.media | {slot.medium},
        medium=slot.medium,
        base=below.base if block.medium is slot.medium else below.seen,
    )
    if isinstance(shelf.fit, MarkerFit):
        return _with_marker(made, below, shelf, slot, filled[pairs[1], 0])
    return _with_film(made, below, shelf, slot, filled[pairs[1]])


def _with_film(
    made: RecipeBlock, below: RecipeBlock, shelf: UsableColorants, slot: Slot, choices: Ints
) -> RecipeBlock:
    fit = shelf.fit
    assert isinstance(fit, FilmFit)
    same = below.medium is slot.medium
    thick, load = thickness(fit, slot, below.load if same else 0.0)
    k, s = shelf.mixed(slot, choices)
    lower = below.layers if same else ()
    if slot.medium is Medium.WASH:
        lower = thinned(lower, slot, fit)
    layers = (*lower, (thick[None], k, s))
    zones = film(
        thick[:, None] * k[:, None],
        thick[:, None] * s[:, None],
        grounds(below, slot, slot.medium, fit),
    )
    return replace(
        made,
        seen=zones.mean(axis=1),
        load=(below.load if same else 0.0) + load,
        layers=layers,
        zones=zones,
    )


def _with_marker(
    made: RecipeBlock, below: RecipeBlock, shelf: UsableColorants, slot: Slot, places: Ints
) -> RecipeBlock:
    fit = shelf.fit
    assert isinstance(fit, MarkerFit)
    count = len(places)
    start = (np.zeros((count, 36)), np.zeros(count), np.zeros(count))
    a, strength, amount = start
    if below.pile is not None:
        a, strength, amount = (
            np.broadcast_to(part, whole.shape)
            for part, whole in zip(below.pile, start, strict=True)
        )
    own = fit.strength[np.array(shelf.places)[places]]
    blender = fit.blender[np.array(shelf.places)[places]] > 0
    lay = partial(
        step_numbers,
        strength,
        amount,
        coats=slot.laydown.coats,
        later_coat=fit.later_coat,
        lift=fit.lifts[np.array(shelf.places)[places]],
    )
    keep, add = lay(strength=own)
    keep_b, add_b = lay(strength=0.0, blender=True)
    keep, add = np.where(blender, keep_b, keep), np.where(blender, add_b, add)
    pile = (
        keep[:, None] * a + add[:, None] * shelf.k[places],
        keep * strength + add * own,
        keep * amount + add,
    )
    beneath = absorption(fit.paper.reflectance / fit.ceiling, scale=fit.scale)
    dyed = fit.ceiling * inverse(beneath + pile[0], scale=fit.scale)
    if below.medium is Medium.WASH:
        return _under_wash(made, below, dyed, pile)
    return replace(made, seen=dyed, base=dyed, pile=pile)


def _under_wash(
    made: RecipeBlock,
    below: RecipeBlock,
    dyed: FloatArray,
    pile: tuple[FloatArray, FloatArray, FloatArray],
) -> RecipeBlock:
    """Let the dye of a marker over a dry wash go through it: the wash lies on the dyed paper."""
    zones = stacked(below.layers, dyed)
    seen = zones.mean(axis=1)
    return replace(
        made, seen=seen, medium=Medium.WASH, base=dyed, layers=below.layers, zones=zones, pile=pile
    )
