"""Recipes side by side: what they look like, and what may be laid on them."""

from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.match.search.shelves import Ints, Tops
from laydown.media.film import laying
from laydown.media.film.model import FilmFit, film_pile
from laydown.media.kit.fit import KitFit, Segment, runs
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import DyePile, inverse, laid_steps, pile_of, step_numbers
from laydown.media.recipe import Medium, Recipe, Step


@dataclass(frozen=True, slots=True, eq=False)
class RecipeBlock:
    """Recipes whose steps are laid alike (of markers: of any coats), n of them."""

    fit: KitFit
    """The kit."""
    numbers: Ints
    """Shape (n,), see `laydown.match.search.recipes.RecipeSpace`."""
    last: Ints
    """Shape (n,), the kind of what was laid last (`Tops.kind`), -1 where nothing was."""
    laid: Ints
    """Shape (n,), how many coats were added."""
    place: int
    """What a further step's digit counts in a recipe's number."""
    steps: int
    """How many steps were added, mixtures counting as two."""
    media: frozenset[Medium]
    """All that lies there, what lay there before included."""
    medium: Medium | None
    """What lies uppermost in the end, see `laydown.media.kit.fit.segments`; None on bare paper."""
    base: FloatArray
    """Shape (n or 1, 36), what the uppermost run of one medium lies on."""
    seen: FloatArray | None
    """Shape (n, 36), their reflectance; None while only their pile or their layers are known."""
    picked: Ints
    """Shape (n, layers), which of each of `layers` a recipe has."""
    load: float = 0.0
    """Of the uppermost run, where it is pencil [plain coats]: the same for all."""
    layers: tuple[laying.Layer, ...] = ()
    """Of that run, where it is pencil or wash: what each of its steps may be."""
    pile: DyePile | None = None
    """Of the markers, wherever they lie."""

    def __len__(self) -> int:
        """Return how many recipes there are."""
        return len(self.numbers)

    def rows(self, kept: Ints | slice) -> "RecipeBlock":
        """Return some of the recipes only."""

        def some(array: FloatArray) -> FloatArray:
            return array if len(array) == 1 else array[kept]

        return replace(
            self,
            numbers=self.numbers[kept],
            last=self.last[kept],
            laid=self.laid[kept],
            base=some(self.base),
            seen=None if self.seen is None else self.seen[kept],
            picked=self.picked[kept],
            pile=None if self.pile is None else tuple(part[kept] for part in self.pile),  # type: ignore[arg-type]  # three, as before
        )

    @property
    def reflectance(self) -> FloatArray:
        """What they look like, shape (n, 36)."""
        if self.seen is not None:
            return self.seen
        if self.layers:
            fit = self.fit.pencils if self.medium is Medium.PENCIL else self.fit.washes
            assert fit is not None
            each = zip(self.layers, self.picked.T, strict=True)
            laid = tuple((thick, k[rows], s[rows]) for (thick, k, s), rows in each)
            return laying.pile_reflectance(laid, surface(fit), self.base)
        assert self.fit.markers is not None
        assert self.pile is not None
        return _dyed(self.fit.markers, self.pile)

    @property
    def lab(self) -> FloatArray:
        """Their colors, shape (n, 3), to digits that don't depend on what lies beside them."""
        return lab_from_reflectance(self.reflectance[:, None])[:, 0]


def _dyed(fit: MarkerFit, pile: DyePile) -> FloatArray:
    return np.asarray(fit.ceiling * inverse(fit.paper_absorption + pile[0], scale=fit.scale))


def ground_block(fit: KitFit, over: Recipe) -> RecipeBlock:
    """Return what lies on the paper already, as a block of one."""
    paper, one = np.array(fit.paper.reflectance)[None], np.zeros(1, dtype=np.int64)
    media = frozenset(s.colorant.medium for s in over.steps if isinstance(s, Step))
    start = RecipeBlock(
        fit, one, one - 1, one, 1, 0, media, None, paper, paper, one[:, None][:, :0]
    )
    for run in runs(fit, over):
        start = _lain(start, run)
    return start


def _lain(below: RecipeBlock, run: Segment) -> RecipeBlock:
    """Lay a run of what lies there already on a block of one."""
    seen, share = run.over(below.reflectance), run.share
    if isinstance(run.fit, MarkerFit):
        absorptions = run.fit.absorption[[run.fit.index(c) for c in run.recipe.colorants]]
        usual = run.fit.usual(run.recipe)
        (dye, strength, amount), _ = pile_of(laid_steps(run.recipe), absorptions[None], usual)
        left = share * dye, share * strength, share * amount
        return replace(below, seen=seen, medium=Medium.MARKER, pile=left)
    layers, load = film_pile(run.fit, run.recipe)
    picked = np.zeros((1, len(layers)), dtype=np.int64)
    return replace(
        below,
        seen=seen,
        medium=run.fit.medium,
        base=below.reflectance,
        load=float(share * load[0, 0]),
        layers=laying.thinned(layers, share),
        picked=picked,
    )


def surface(fit: FilmFit) -> laying.FilmSurface:
    """Return what films of a fit lie in."""
    return laying.surface_of(fit.medium, fit.effects[None])


def film_grounds(
    block: RecipeBlock, tops: Tops
) -> tuple[FloatArray, tuple[laying.Layer, ...], Ints]:
    """Return what a film is laid on: a ground, shape (n or 1, 36), and layers of its own medium.

    And, as `RecipeBlock.picked`, which of these it is.
    """
    if block.medium is not tops.medium:
        return block.reflectance, (), block.picked[:, :0]
    layers, effects = block.layers, tops.shelf.fit.effects[None]
    if tops.medium is Medium.WASH:
        layers = laying.rewetted(layers, tops.laydown.coats, effects)
    return block.base, layers, block.picked


def films(block: RecipeBlock, tops: Tops) -> tuple[laying.Layer, float]:
    """Return what steps lay on recipes of a block, and the load of each [plain coats].

    K X and S X have shape (c, 36), thickness (1, z).
    """
    fit, laid = tops.shelf.fit, tops.laydown
    effects = fit.effects[None]
    load = laying.load_of(laid, fit.medium, effects, np.full((1, 1), _load(block, tops)))
    thick = load * laying.profile_of(laid, fit.medium, effects)
    return (thick, *tops.mixed(float(load[0, 0]))), float(load[0, 0])


def _load(block: RecipeBlock, tops: Tops) -> float:
    return block.load if block.medium is tops.medium else 0.0


def extend(block: RecipeBlock, tops: Tops, rows: Ints, picked: Ints, base: int) -> RecipeBlock:
    """Lay one more step on recipes of a block.

    `block`: what lies below. `tops`: what may be laid. `rows`, `picked`: shape (m,) each: which
    recipe of the block, and which step on it. `base`: how many digits a recipe's number has for a
    step.
    """
    below = block.rows(rows)
    made = replace(
        below,
        numbers=below.numbers + below.place * (tops.first + picked),
        last=tops.kind[picked],
        laid=below.laid + tops.coats[picked],
        place=below.place * base,
        steps=below.steps + tops.steps,
        media=block.media | {tops.medium},
        medium=tops.medium,
        seen=None,
    )
    lay = _with_marker if isinstance(tops.shelf.fit, MarkerFit) else _with_film
    return lay(made, below, tops, picked)


def _with_film(made: RecipeBlock, below: RecipeBlock, tops: Tops, picked: Ints) -> RecipeBlock:
    base, layers, lower = film_grounds(below, tops)
    film, load = films(below, tops)
    return replace(
        made,
        base=base,
        load=load + _load(below, tops),
        layers=(*layers, film),
        picked=np.column_stack([lower, picked]),
    )


def _with_marker(made: RecipeBlock, below: RecipeBlock, tops: Tops, picked: Ints) -> RecipeBlock:
    """Lay coats of markers; over a dry wash the dye goes through it, onto the paper below."""
    keep, add, own = _coats(below, tops, picked)
    laid = tops.shelf.k[tops.colorants[picked, 0]]
    laid *= add[:, None]
    pile = laid, add * own, add
    if below.pile is not None:
        a, strength, amount = below.pile
        laid += np.asarray(keep, dtype=laid.dtype)[:, None] * a
        pile = laid, keep * strength + add * own, keep * amount + add
    if below.medium is not Medium.WASH:
        return replace(made, pile=pile)
    assert isinstance(tops.shelf.fit, MarkerFit)
    return replace(made, medium=Medium.WASH, base=_dyed(tops.shelf.fit, pile), pile=pile)


def _coats(
    below: RecipeBlock, tops: Tops, picked: Ints
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return K and M of a step of markers on each pile, shape (m,), and its colorant's strength.

    A step of n coats is n steps of one: K and M of `laydown.media.marker.pile.step_numbers` are
    put together coat by coat, so that steps of different coats go side by side. A blender has no
    strength, so its K is that of any colorant without; its M is 0.
    """
    fit, places = tops.shelf.fit, tops.shelf.places[tops.colorants[picked, 0]]
    assert isinstance(fit, MarkerFit)
    own, lift, colored = fit.strength[places], fit.lifts[places], fit.blender[places] <= 0.0
    keep, add = np.ones(len(picked)), np.zeros(len(picked))
    _, strength, amount = below.pile or (keep, add, add)
    for coat in range(1, int(tops.coats[picked].max(initial=0)) + 1):
        share, more = step_numbers(
            keep * strength + add * own,
            keep * amount + add,
            strength=own,
            coats=1,
            later_coat=fit.later_coat,
            lift=lift,
        )
        laid = tops.coats[picked] >= coat
        keep, add = (
            np.where(laid, keep * share, keep),
            np.where(laid, add * share + more * colored, add),
        )
    return keep, add, own
