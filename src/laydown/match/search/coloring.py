"""The colors of all that one further step makes of recipes, in parts of a few thousand.

Coats of markers are laid and colored by a compiled loop in single precision, films of pencil and of
wash, and washes with a marker's dye below them, by another.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, WHITE_D50
from laydown.match.search.blocks import RecipeBlock, extend, film_grounds, films, surface
from laydown.match.search.compiling import compiled, compiled_in_place, quick_curve
from laydown.match.search.nearness import EVERYTHING, Single
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.shelves import Ints, Tops
from laydown.media.film.film import DARKEST, THICKEST, layer
from laydown.media.film.laying import FilmSurface, Layer
from laydown.media.film.model import FilmFit
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import inverse
from laydown.media.recipe import Medium

BANDS = 36
STRENGTH, AMOUNT = BANDS, BANDS + 1
"""Where a pile's strength and amount stand, behind its bands."""
FAN, DEPTH = 4, 5
"""Piles are bounded by fours, by fours of those, and so on, so many times (measured)."""
TOGETHER = FAN**DEPTH
CROWDED = 0.6
"""Single fours are bounded while no more than this share of them stay: the boxes of many wanted
colors leave nearly all."""
AXES, FINENESS = 4, 8
"""Piles alike are neighbors along so many axes, each cut so many times in two (measured)."""
ROOM = 32_768
"""Colors of a part at most: what stays in a processor's cache."""
ROUNDING = 5e-6
"""What single precision may add to the error of f(X/Xn): see docs/decisions/search.md."""
WEIGHTS = np.ascontiguousarray((WEIGHTS_D50 / WHITE_D50).T)
NONE, ONE, FOUR, LEAST = np.float32(0.0), np.float32(1.0), np.float32(4.0), np.float32(DARKEST)
SHARE, MOST = np.float32(1 / 64), np.float32(THICKEST**2 / 64)
"""What g² is multiplied by where g is taken by eighths, and what it is then at most."""
ABOVE, BELOW = np.float32(1 / 15), np.float32(2 / 5)
"""tanh(h)/h ≈ (1 + h²/15) / (1 + 2 h²/5), the third of Lambert's fractions."""


Integers: TypeAlias = NDArray[np.integer[Any]]


class ColoredPart(NamedTuple):
    """Colors of recipes.

    `xyz`: shape (3, n or more), X/Xn, Y/Yn, Z/Zn. `numbers`: shape (n,), the recipes' numbers.
    `error`: how far f(X/Xn) and its fellows may be off.
    """

    xyz: Single
    numbers: Integers
    error: float

    @property
    def size(self) -> int:
        """How many bytes it takes."""
        return int(self.xyz.nbytes + self.numbers.nbytes)


class MarkerColumns(NamedTuple):
    """Markers in single precision, one row a choice (colorant and coats).

    `absorption`, `depth`: shape (rows, 36): first what takes one coat, then two; and the same, not
    below 0. `strength`, `lift`: shape (rows,). `places`, `digits`: shape (rows,), each one's
    colorant, and its digit in a number. `ends`: shape (coats + 1,), where the group of rows of so
    many coats ends; the first is 0. `paper`: shape (36,), the bare paper's absorption. `curve`: the
    numbers of a `quick_curve`. `weights`: shape (3, 36), from reflectance to X/Xn, Y/Yn, Z/Zn.
    `rises`: shape (36,), how far a coat may lower the absorption of a band, at most. `later`: what
    a later coat takes of a first one.
    """

    absorption: Single
    depth: Single
    strength: Single
    lift: Single
    places: Ints
    digits: Ints
    ends: Ints
    paper: Single
    curve: Single
    weights: Single
    rises: Single
    later: np.float32


class Films(NamedTuple):
    """Films in single precision, and piles that some are laid on. Lanes are bands, zone by zone.

    Parameters
    ----------
    films
        Shape (films, 2, lanes), K X of each, and S X with that of the surface that it sinks into.
        Of the last, which are laid on all piles, R₀ and T² instead, where films lie on top.
    below
        Shape (n, layers), which of these each pile is, the lowest first.
    above
        How many are laid on all piles.
    grounds
        Shape (n or 1, lanes), what each pile lies on, below the surface.
    surface
        S X of the surface that films sink into, 0 where they lie on top.
    weights
        Shape (3, lanes), from reflectance to X/Xn, Y/Yn, Z/Zn.
    glare
        Shape (3,), what of these the surface throws back.
    """

    films: Single
    below: Ints
    above: int
    grounds: Single
    surface: np.float32
    weights: Single
    glare: Single


class PileTree(NamedTuple):
    """Piles of markers that one more step is laid on, bounded by fours, fours of fours, and so on.

    `piles`: shape (p, 38), absorption by bands, strength, amount. Those alike are neighbors.
    `ends`: shape (2, nodes, 38), the least and the most of each four, of each four of those, and so
    on. `starts`: shape (`DEPTH` + 2,), where in this each of these begins; the first place is
    empty. `last`, `numbers`: shape (p,): the colorant of the last step, -1 for none; the number of
    the recipe so far. `place`: what a further digit counts.
    """

    piles: Single
    ends: Single
    starts: Ints
    last: Ints
    numbers: Ints
    place: int


@dataclass(frozen=True, slots=True, eq=False)
class Coloring:
    """What a kit's recipes are colored with."""

    space: RecipeSpace
    """The recipes."""
    markers: MarkerColumns | None
    """The columns of its markers, each colorant one, if it has any."""
    lightest: FloatArray
    """Shape (colorants, coats, 3): X/Xn, Y/Yn, Z/Zn that no pile with so many first coats of a
    marker on top is lighter than."""
    columns: MarkerColumns | None
    """The columns that are laid, one a choice."""
    error: float
    """How far f(X/Xn) and its fellows may be off, of markers."""
    axes: FloatArray = field(default_factory=lambda: np.zeros((BANDS, 0)))
    """Shape (36, axes), along what the looks of its markers differ."""
    boxes: FloatArray = field(default_factory=lambda: EVERYTHING[None])
    """Shape (n, 6), least and most X/Xn, Y/Yn, Z/Zn of interest, first of all, then one by one;
    what is sure to lie outside may be left out."""

    def within(self, boxes: FloatArray, spare: float = np.inf) -> "Coloring":
        """Leave out the markers that are too dark for all boxes, by number of coats, or too dear.

        A pile with a coat of a colorant on top is in every band at most as light as that coat alone
        on the paper, and a coat over color takes its amount whatever it lifts.

        `boxes`: as it has them. `spare`: what effort a step may add.
        """
        if self.markers is None:
            return self
        (tops,) = (tops for tops in self.space.tops if tops.medium is Medium.MARKER)
        efforts = self.space.efforts_of(tops).reshape(self.lightest.shape[:2])
        enough = (self.lightest >= boxes[0, 0::2]).all(axis=-1) & (efforts <= spare)
        columns = _spread(self.markers, np.cumprod(enough, axis=1).sum(axis=1))
        return replace(self, columns=columns, boxes=boxes)

    def by_coats(self, block: RecipeBlock) -> list[Ints]:
        """Return which of some recipes have as many coats, where those that look alike are near."""
        groups = [np.flatnonzero(block.laid == laid) for laid in np.unique(block.laid)]
        if self.markers is None or block.pile is None:
            return groups
        return [rows[alike(block.pile[0][rows], self.axes)] for rows in groups]


def coloring_of(space: RecipeSpace) -> Coloring:
    """Make ready what recipes are colored with, which takes some milliseconds."""
    fit, coats = space.ground.fit.markers, space.limits.coats
    tops = [tops for tops in space.tops if tops.medium is Medium.MARKER]
    if fit is None or not tops:
        return Coloring(space, None, np.zeros((0, coats, 3)), None, ROUNDING)
    places, absorption = tops[0].shelf.places, tops[0].shelf.k
    ground = np.zeros(BANDS) if space.ground.pile is None else space.ground.pile[0][0]
    most = max(1.0, fit.later_coat)
    darkest = float((fit.paper_absorption + ground).max()) + 0.1
    darkest = max(0.0, darkest) + space.budget * most * max(0.0, float(absorption.max()))
    curve, off = quick_curve(partial(inverse, scale=fit.scale), scale=fit.scale, most=darkest)
    weights = np.ascontiguousarray((fit.ceiling[:, None] * WEIGHTS_D50 / WHITE_D50).T)
    rises = np.maximum(0.0, -absorption.min(axis=0)) * most
    markers = MarkerColumns(
        absorption=absorption.astype(np.float32),
        depth=np.maximum(absorption, 0.0).astype(np.float32),
        strength=fit.strength[places].astype(np.float32),
        lift=fit.lifts[places].astype(np.float32),
        places=np.arange(len(places)),
        digits=np.arange(len(places)),
        ends=np.zeros(coats + 1, dtype=np.int64),
        paper=fit.paper_absorption.astype(np.float32),
        curve=curve,
        weights=weights.astype(np.float32),
        rises=rises.astype(np.float32),
        later=np.float32(fit.later_coat),
    )
    lowered = space.budget * rises - np.minimum(0.0, ground)
    lightest = _lightest(fit, places, absorption, coats, lowered)
    error = 0.5 * off * max(1.0, float(weights.sum(axis=1).max())) + ROUNDING
    all_coats = np.full(len(places), coats)
    light, columns = lightest @ weights.T, _spread(markers, all_coats)
    return Coloring(space, markers, light, columns, error, axes=_axes(absorption))


def _axes(absorption: FloatArray) -> FloatArray:
    """Return along what single coats, shape (c, 36), differ most, shape (36, axes)."""
    looks = _looks(absorption)
    return np.asarray(np.linalg.svd(looks - looks.mean(axis=0), full_matrices=False)[2][:AXES].T)


def _looks(absorption: FloatArray) -> Single:
    deep = np.maximum(absorption, 0.0, dtype=np.float32)
    return np.asarray(np.exp(-deep) * WEIGHTS.sum(axis=0), dtype=np.float32)


def alike(absorption: FloatArray, axes: FloatArray) -> Ints:
    """Return an order of piles, shape (n,), in which those that look alike are near.

    Each axis is cut into cells, all of one size, and cells are gone through by their halves along
    each axis in turn, halves of halves, and so on.

    `absorption`: shape (n, 36). `axes`: shape (36, axes).
    """
    along = _looks(absorption) @ axes
    along -= along.min(axis=0)
    most = 2**FINENESS
    cells = (along * ((most - 1) / max(1e-12, float(along.max())))).astype(np.int64)
    bits = np.arange(most)[:, None] >> np.arange(FINENESS) & 1
    apart = (bits << axes.shape[1] * np.arange(FINENESS)).sum(axis=1)
    return np.argsort((apart[cells] << np.arange(axes.shape[1])[::-1]).sum(axis=1), kind="stable")


def _lightest(
    fit: MarkerFit, places: Ints, absorption: FloatArray, coats: int, lowered: FloatArray
) -> FloatArray:
    """Return the reflectance (c, coats, 36) that no pile with such coats on top is lighter than."""
    fresh = min(1.0, fit.later_coat)
    kept = (1.0 - fit.lifts[places][:, None]) ** np.arange(coats)
    laid = np.maximum(absorption, 0.0)[:, None] * (fresh * np.cumsum(kept, axis=1))[..., None]
    return inverse(fit.paper_absorption + laid - lowered, scale=fit.scale)


def _spread(markers: MarkerColumns, deepest: Ints) -> MarkerColumns:
    """Spread one column a colorant into one for each of its first coats.

    Colorants that keep more coats come first, so that every group is the head of the one before.
    """
    order, coats = np.argsort(-deepest, kind="stable"), len(markers.ends) - 1
    groups = [order[: int(np.sum(deepest >= coat))] for coat in range(1, coats + 1)]
    places, many = np.concatenate(groups), [len(group) for group in groups]
    return markers._replace(
        absorption=markers.absorption[places],
        depth=markers.depth[places],
        strength=markers.strength[places],
        lift=markers.lift[places],
        places=places,
        digits=places * coats + np.repeat(np.arange(1, coats + 1), many),
        ends=np.cumsum([0, *many]),
    )


def colors(
    ready: Coloring, block: RecipeBlock, tops: Tops, tree: PileTree | None = None
) -> Iterator[ColoredPart]:
    """Color what one step makes of recipes.

    `ready`: of the kit. `block`: the recipes; for a step of markers, all of as many coats, see
    `Coloring.by_coats`. `tops`: the step. `tree`: of the recipes, if it is known.
    """
    if tops.medium is not Medium.MARKER:
        yield from _film_colors(ready.space, block, tops)
    elif block.medium is Medium.WASH:
        yield _over_wash(ready.space, block, tops)
    else:
        yield from _marker_colors(ready, block, tree or pile_tree(block))


def _over_wash(space: RecipeSpace, block: RecipeBlock, tops: Tops) -> ColoredPart:
    rows, picked = np.nonzero(space.allowed(block, tops))
    made = extend(block, tops, rows, picked, space.base)
    assert made.fit.washes is not None
    nothing = np.zeros((1, BANDS))
    clear = np.ones_like(made.layers[0][0]), nothing, nothing
    laid = _films(surface(made.fit.washes), made.base, made.layers, made.picked, clear)
    xyz = np.empty((3, len(made)), dtype=np.float32)
    color_films(0, laid, xyz)
    return ColoredPart(xyz, made.numbers, ROUNDING)


def _film_colors(space: RecipeSpace, block: RecipeBlock, tops: Tops) -> Iterator[ColoredPart]:
    assert isinstance(tops.shelf.fit, FilmFit)
    above, _ = films(block, tops)
    laid = _films(surface(tops.shelf.fit), *film_grounds(block, tops), above)
    allowed, added = space.allowed(block, tops), block.place * (tops.first + np.arange(len(tops)))
    at_once = max(1, ROOM // len(tops))
    for start in range(0, len(block), at_once):
        part = slice(start, start + at_once)
        fine = allowed[part].ravel()
        xyz = np.empty((3, len(fine)), dtype=np.float32)
        color_films(start, laid, xyz)
        numbers = (block.numbers[part, None] + added).ravel()
        if not fine.all():
            xyz, numbers = np.ascontiguousarray(xyz[:, fine]), numbers[fine]
        yield ColoredPart(xyz, numbers, ROUNDING)


def _films(
    within: FilmSurface, ground: FloatArray, layers: tuple[Layer, ...], picked: Ints, above: Layer
) -> Films:
    """Return films to be laid on piles, which are as `RecipeBlock` has them."""
    every, zones = [_in_zones(within, film) for film in (*layers, above)], above[0].shape[1]
    starts = np.cumsum([0, *map(len, every)])
    if not within.scattering:
        reflected, passed = layer(*every[-1].swapaxes(0, 1))
        every[-1] = np.stack([reflected, passed**2], axis=1)
    weights = np.tile((1.0 - within.glare[0, 0]) / zones * WEIGHTS, zones)
    return Films(
        np.concatenate(every).astype(np.float32),
        picked + starts[:-2],
        len(every[-1]),
        np.tile(within.within(ground).astype(np.float32), zones),
        np.float32(within.scattering[0, 0]),
        weights.astype(np.float32),
        (within.glare[0, 0] * WEIGHTS.sum(axis=1)).astype(np.float32),
    )


def _in_zones(within: FilmSurface, film: Layer) -> FloatArray:
    """Return K X of films, and S X with that of the surface, shape (c, 2, zones times bands)."""
    thickness, k, s = (part[:, None] for part in film)
    thick = thickness.swapaxes(1, 2)
    both = thick * k, within.scattering + thick**within.packing * s
    return np.stack(both, axis=1).reshape(len(k), 2, -1)


def _marker_colors(ready: Coloring, block: RecipeBlock, tree: PileTree) -> Iterator[ColoredPart]:
    columns = ready.columns
    assert columns is not None
    (laid,) = np.unique(block.laid).tolist()
    left = max(0, min(ready.space.limits.coats, ready.space.budget - laid))
    lanes = int(columns.ends[left])
    room = min(max(ROOM, TOGETHER), len(block) * lanes)
    xyz, numbers = np.empty((3, room), dtype=np.float32), np.empty(room, dtype=np.int64)
    row, column = 0, 0
    while row < len(block) and lanes:
        row, column, count = color_markers(
            row, column, left, tree, columns, ready.boxes, xyz, numbers
        )
        yield ColoredPart(xyz, numbers[:count], ready.error)


def pile_tree(block: RecipeBlock) -> PileTree:
    """Bound piles of markers by fours, fours of fours, and so on."""
    piles, levels = np.zeros((len(block), BANDS + 2), dtype=np.float32), list[Single]()
    if block.pile is not None:
        piles[:, :BANDS], piles[:, STRENGTH], piles[:, AMOUNT] = block.pile
    low = high = piles
    for _ in range(DEPTH):
        both = np.empty((2, -(-len(low) // FAN), low.shape[1]), dtype=np.float32)
        for of, (side, extreme) in enumerate([(low, np.minimum), (high, np.maximum)]):
            full = np.concatenate([side, np.repeat(side[-1:], -len(side) % FAN, axis=0)])
            a, b, c, d = (full[i::FAN] for i in range(FAN))
            extreme(extreme(a, b), extreme(c, d), out=both[of])
        low, high = both
        levels.append(both)
    starts = np.cumsum([0, 0, *(level.shape[1] for level in levels)])
    ends = np.concatenate(levels, axis=1)
    return PileTree(piles, ends, starts, block.last, block.numbers, block.place)


# Compiled because a large kit has millions of recipes. Right because what is passed over lies
# outside the box even at its lightest or its darkest (docs/decisions/search.md, point 5); the
# others are colored within the stated error.
@compiled
def color_markers(  # noqa: PLR0917  a compiled loop, called in one place
    row: int,
    column: int,
    left: int,
    tree: PileTree,
    columns: MarkerColumns,
    boxes: FloatArray,
    xyz: Single,
    numbers: Ints,
) -> tuple[int, int, int]:
    """Color what one step of markers makes of piles, until all are done or the room is full.

    `row`, `column`: the first pile, a multiple of `TOGETHER`, and the first choice on it. `left`:
    the coats left on all of them. `boxes`: of `Coloring`. `xyz`, `numbers`: shapes (3, room) and
    (room,), written. Returns the next pile and choice, and how many colors were written.
    """
    lanes, count, p = columns.ends[left], 0, len(tree.piles)
    box = boxes[0]
    bounded, tally = box[0] > -np.inf, np.zeros(2, dtype=np.int64)
    ground, laid = np.empty(BANDS, dtype=np.float32), np.empty((2, TOGETHER), dtype=np.float32)
    fours = np.empty((2, TOGETHER // FAN), dtype=np.int64)
    while row < p:
        end, at = min(row + TOGETHER, p), tree.starts[DEPTH] + row // TOGETHER
        for b in range(BANDS):  # what lies below at its lightest
            lighter = min(tree.ends[0, at, b], np.float32(0.0))
            ground[b] = columns.paper[b] + lighter - left * columns.rises[b]
        while column < lanes:
            if count + end - row > len(numbers):
                return row, column, count
            if bounded and columns.strength[column] >= 0.0:
                met = meet(row // TOGETHER, column, tree, columns, boxes, ground, tally, fours)
            else:
                met = -(-(end - row) // FAN)
                for j in range(met):
                    fours[1, j] = row // FAN + j
            count = color_fours(
                fours[1, :met], column, tree, columns, box, laid, xyz, numbers, count
            )
            column += 1
        row, column = end, 0
    return row, 0, count


# Compiled into the loop above, which it spares most of its work. Right since reflectance falls as
# absorption rises, and that of a marker on piles lies, band by band, between what the least and the
# most of them come to.
@compiled_in_place
def meet(  # noqa: PLR0917  a compiled loop, called in one place
    top: int,
    column: int,
    tree: PileTree,
    columns: MarkerColumns,
    boxes: FloatArray,
    ground: Single,
    tally: Ints,
    fours: Ints,
) -> Any:
    """Put into `fours[1]` which fours of piles may have a color in a box; return how many."""
    box = boxes[0]
    coats, at, many, met, p, w = 1, tree.starts[DEPTH] + top, 1, 0, columns.curve, columns.weights
    while column >= columns.ends[coats]:
        coats += 1
    own, lift, depth = columns.strength[column], columns.lift[column], columns.depth[column]
    light, dark, none = tree.ends[0, at], tree.ends[1, at], np.float32(0.0)
    keep_1, keep_2, add_1, add_2 = span(light, dark, own, lift, coats, columns.later)
    fours[0, 0] = top
    for level in range(DEPTH, 0, -1):
        met = 0
        for j in range(many):
            at, crowded = tree.starts[level] + fours[0, j], tally[1] > CROWDED * tally[0] + TOGETHER
            fours[1, met], inside = fours[0, j], level == 1 and crowded
            if not inside:
                most = color(keep_1, add_1, none, tree.ends[0, at], ground, depth, p, w)
                inside = most[0] >= box[0] and most[1] >= box[2] and most[2] >= box[4]
                if inside:
                    least = color(keep_2, add_2, none, tree.ends[1, at], columns.paper, depth, p, w)
                    inside = meets(least, most, boxes)
                tally[0] += level == 1
                tally[1] += level == 1 and inside
            met += inside
        many, beyond = 0, tree.starts[level] - tree.starts[level - 1]
        for j in range(met):
            for child in range(FAN * fours[1, j], min(FAN * fours[1, j] + FAN, beyond)):
                fours[0, many] = child
                many += 1
    return met


# Compiled into the loop above: a plain function can't be called there. Right by its definition.
@compiled_in_place
def meets(least: Any, most: Any, boxes: FloatArray) -> Any:
    """Whether colors between two may lie in the first box and, if there are more, in another."""
    x_1, y_1, z_1 = least
    x_2, y_2, z_2 = most
    for n in range(len(boxes)):
        box = boxes[n]
        inside = y_1 <= box[3] and y_2 >= box[2] and x_1 <= box[1] and x_2 >= box[0]
        inside = inside and z_1 <= box[5] and z_2 >= box[4]
        if inside == (n > 0) or len(boxes) == 1:
            return inside
    return False


# Compiled into the loop above: a plain function can't be called there. Right by its definition.
@compiled_in_place
def color_fours(  # noqa: PLR0917  a compiled loop, called in one place
    fours: Ints,
    column: int,
    tree: PileTree,
    columns: MarkerColumns,
    box: FloatArray,
    laid: Single,
    xyz: Single,
    numbers: Ints,
    count: int,
) -> Any:
    """Color a choice on fours of piles; write down what lies in the box."""
    coats, none_below, begin = 1, np.float32(-np.inf), 0
    while column >= columns.ends[coats]:
        coats += 1
    own, lift, later = columns.strength[column], columns.lift[column], columns.later
    number = tree.place * columns.digits[column]
    for j in range(len(fours)):
        if j + 1 < len(fours) and fours[j + 1] == fours[j] + 1:
            continue
        first, end = FAN * fours[begin], min(FAN * fours[j] + FAN, len(tree.piles))
        begin = j + 1
        lay(tree.piles[first:end], own, lift, coats, later, laid)
        for i in range(first, end):
            x, y, z = color(
                laid[0, i - first], laid[1, i - first], none_below, tree.piles[i], columns.paper,
                columns.absorption[column], columns.curve, columns.weights,
            )  # fmt: skip
            inside = y >= box[2] and y <= box[3] and x >= box[0] and x <= box[1]
            if inside and z >= box[4] and z <= box[5] and tree.last[i] != columns.places[column]:
                xyz[0, count], xyz[1, count], xyz[2, count] = x, y, z
                numbers[count] = tree.numbers[i] + number
                count += 1
    return count


# Compiled into the loop above, side by side, where numpy would go through memory for each
# operation. Right because it follows `laydown.media.marker.pile.step_numbers` coat by coat; a
# blender is counted as laying its amount, too: it has no color and no strength, so nothing follows.
@compiled_in_place
def lay(  # noqa: PLR0917  a compiled loop, called in one place
    piles: Single, own: Any, lift: Any, coats: int, later: Any, laid: Single
) -> None:
    """Put K and M of coats of a marker on piles into `laid`: A becomes K A + M a."""
    one, none = np.float32(1.0), np.float32(0.0)
    keep, add = laid[0], laid[1]
    for i in range(len(piles)):
        keep[i], add[i] = one, none
    for _ in range(coats):
        for i in range(len(piles)):
            amount = keep[i] * piles[i, AMOUNT] + add[i]
            there = keep[i] * piles[i, STRENGTH] + add[i] * own
            lifts = (amount > none) & (there > own * amount)
            ratio = own * amount / there if lifts else one
            kept = one - lift * (one - ratio)
            more = later if kept * amount > none else one
            keep[i] *= kept
            add[i] = add[i] * kept + more


# Compiled into the loop above. Right since all that `lay` adds, multiplies and divides by is never
# below 0 (but for the strength of a pile, of which both ends are tried), so that the least that
# goes in gives the least.
@compiled_in_place
def span(  # noqa: PLR0917  a compiled function, called in two places
    light: Single, dark: Single, own: Any, lift: Any, coats: int, later: Any
) -> Any:
    """Return the least and most K, the least and most M that `lay` has on piles between two."""
    one: Any = np.float32(1.0)
    none: Any = np.float32(0.0)
    s_1, s_2, t_1, t_2 = light[STRENGTH], dark[STRENGTH], light[AMOUNT], dark[AMOUNT]
    keep_1, keep_2, add_1, add_2 = one, one, none, none
    for _ in range(coats):
        laid_1, laid_2 = keep_1 * t_1 + add_1, keep_2 * t_2 + add_2
        there_1 = min(keep_1 * s_1, keep_2 * s_1) + add_1 * own
        there_2 = max(keep_1 * s_2, keep_2 * s_2) + add_2 * own
        may, must = laid_2 > none and there_2 > own * laid_1, laid_1 > none
        ratio_1 = own * laid_1 / there_2 if may else one
        sure = must and there_1 > own * laid_2
        ratio_2 = own * laid_2 / there_1 if sure else one
        kept_1, kept_2 = one - lift * (one - ratio_1), one - lift * (one - ratio_2)
        wet, dry = kept_1 * laid_1 > none, kept_2 * laid_2 <= none
        keep_1, keep_2 = keep_1 * kept_1, keep_2 * kept_2
        add_1 = add_1 * kept_1 + (later if wet else one if dry else min(later, one))
        add_2 = add_2 * kept_2 + (later if wet else one if dry else max(later, one))
    return keep_1, keep_2, add_1, add_2


# Compiled into the loop above; bands go through the processor side by side. Right because the error
# of the polynomial is measured (`quick_curve`) and goes into bounds.
@compiled_in_place
def color(  # noqa: PLR0917  a compiled function, called in one loop
    keep: Any,
    add: Any,
    floor: Any,
    pile: Single,
    paper: Single,
    absorption: Single,
    p: Single,
    w: Single,
) -> Any:
    """Return X/Xn, Y/Yn, Z/Zn of a marker on a pile, whose absorption counts from `floor` up."""
    x, y, z = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    squarings, scale, start = int(p[3]), p[2], -p[1] * p[2]
    for b in range(BANDS):
        a = paper[b] + keep * max(pile[b], floor) + add * absorption[b]
        t = np.sqrt(max(a + p[0], p[0])) * scale + start
        q = p[10] + t * (p[11] + t * (p[12] + t * (p[13] + t * p[14])))
        q = p[4] + t * (p[5] + t * (p[6] + t * (p[7] + t * (p[8] + t * (p[9] + t * q)))))
        r = np.float32(1.0) / q
        if squarings > 0:
            r *= r
        if squarings > 1:
            r *= r
            r *= r
        x, y, z = x + w[0, b] * r, y + w[1, b] * r, z + w[2, b] * r
    return x, y, z


# Compiled because every film lies on every ground, band by band and zone by zone: numpy would write
# all of these spectra to memory. Right because it is `laydown.media.film.film.sunk` and a mean over
# zones; a film that lies on top passes as much light on any ground.
@compiled
def color_films(first: int, laid: Films, xyz: Single) -> None:
    """Put into `xyz` (3, n c) the X/Xn, Y/Yn, Z/Zn of c films on each of n piles from the first."""
    films, surface, w = laid.films[len(laid.films) - laid.above :], laid.surface, laid.weights
    lanes = w.shape[1]
    ground, own = np.empty((2, lanes), dtype=np.float32)
    for row in range(xyz.shape[1] // laid.above):
        ground[:] = laid.grounds[(first + row) % len(laid.grounds)]
        for place in laid.below[first + row]:
            film = laid.films[place]
            for b in range(lanes):
                g = max(ground[b], LEAST)
                gray = ONE - min(g, ONE)
                k = film[0, b] + surface * gray * gray / (g + g)
                ground[b] = sink(k, film[1, b], g)
        for b in range(lanes):
            ground[b] = max(ground[b], LEAST)
            gray = ONE - min(ground[b], ONE)
            own[b] = surface * gray * gray / (ground[b] + ground[b])
        for top in range(laid.above):
            x, y, z = laid.glare
            for b in range(lanes):
                one, two, g = films[top, 0, b], films[top, 1, b], ground[b]
                light = sink(one + own[b], two, g) if surface else one + two * g / (ONE - one * g)
                x, y, z = x + w[0, b] * light, y + w[1, b] * light, z + w[2, b] * light
            at = row * laid.above + top
            xyz[0, at], xyz[1, at], xyz[2, at] = x, y, z


# Compiled into the loop above. Right because it is Kubelka's
# R = (G + t (s − (k + s) G)) / (1 + t (k + s − s G)), with t = tanh(g)/g = p/q by a fraction of
# g/8, doubled three times, which is off by 6e-8; no root and no exponential keeps bands from going
# side by side. What lets nothing through looks as `layer` has it: as on black, with g at its end.
@compiled_in_place
def sink(k: np.float32, s: np.float32, ground: np.float32) -> Any:
    """Return what a ground looks like in whose surface a film lies; k and s are of both."""
    u = k * (k + s + s) * SHARE
    r, u = ground if u <= MOST else NONE, min(u, MOST)
    p, q = ONE + u * ABOVE, ONE + u * BELOW
    for _ in range(3):
        p, q, u = p * q, q * q + u * p * p, FOUR * u
    return (r * q + p * (s - (k + s) * r)) / (q + p * (k + s - s * r))
