"""The colors of all that one further step makes of recipes, in parts of a few thousand.

Four ways to the same: coats of markers, laid and colored by a compiled loop in single precision;
films of pencil and of wash, by two others; markers over a dry wash, by the model itself.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, WHITE_D50
from laydown.match.search.blocks import RecipeBlock, extend, film_tops, grounds, surface
from laydown.match.search.compiling import compiled, compiled_in_place, quick_curve
from laydown.match.search.nearness import EVERYTHING, Single
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.shelves import Ints, Tops
from laydown.media.film.film import THICKEST, layer, ratio_of
from laydown.media.film.model import FilmFit
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import inverse
from laydown.media.recipe import Medium

BANDS = 36
LANES = 16
ROOM = 32_768
"""Colors of a part at most: what stays in a processor's cache."""
LOOKED_AT, WORTH = 4096, 0.5
"""Sixteens of markers are bounded while so many, or no more than this share, of them stay: the
boxes of many wanted colors leave nearly all."""
ROUNDING = 5e-6
"""What single precision may add to the error of f(X/Xn): see docs/decisions/search.md."""
WEIGHTS = np.ascontiguousarray((WEIGHTS_D50 / WHITE_D50).T)


class ColoredPart(NamedTuple):
    """Colors of recipes.

    `xyz`: shape (3, n or more), X/Xn, Y/Yn, Z/Zn. `numbers`: shape (n,), the recipes' numbers.
    `error`: how far f(X/Xn) and its fellows may be off.
    """

    xyz: Single
    numbers: NDArray[np.int64] | NDArray[np.uint32]
    error: float

    @property
    def size(self) -> int:
        """How many bytes it takes."""
        return int(self.xyz.nbytes + self.numbers.nbytes)


class MarkerColumns(NamedTuple):
    """Markers in single precision, one column a choice (colorant and coats).

    Parameters
    ----------
    absorption
        Shape (36, lanes): first what takes one coat, then two, each group filled up to whole lanes.
    palest, deepest
        Shape (36, lanes / 16), the least and most of that in each sixteen lanes, not below 0.
    strength, lift
        Shape (lanes,).
    places, digits
        Shape (lanes,), each column's colorant, and its digit in a number; -1 fills lanes up.
    ends
        Shape (coats + 1,), where the group of columns of so many coats ends; the first is 0.
    paper
        Shape (36,), the bare paper's absorption.
    curve
        The numbers of a `quick_curve`.
    weights
        Shape (3, 36), from reflectance to X/Xn, Y/Yn, Z/Zn.
    rises
        Shape (36,), how far a coat may lower the absorption of a band, at most.
    rules
        Shape (3,): later coat, the most that any colorant lifts, the least strength of any.
    """

    absorption: Single
    palest: Single
    deepest: Single
    strength: Single
    lift: Single
    places: Ints
    digits: Ints
    ends: Ints
    paper: Single
    curve: Single
    weights: Single
    rises: Single
    rules: Single


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
    box: FloatArray = field(default_factory=lambda: EVERYTHING)
    """Least and most X/Xn, Y/Yn, Z/Zn of interest; what is sure to be darker may be left out."""

    def within(self, box: FloatArray, spare: float = np.inf) -> "Coloring":
        """Leave out the markers that are too dark for a box, by number of coats, or too dear.

        A pile with a coat of a colorant on top is in every band at most as light as that coat alone
        on the paper, and a coat over color takes its amount whatever it lifts.

        `box`: least and most X/Xn, Y/Yn, Z/Zn of interest. `spare`: what effort a step may add.
        """
        if self.markers is None:
            return self
        (tops,) = (tops for tops in self.space.tops if tops.medium is Medium.MARKER)
        efforts = self.space.efforts_of(tops).reshape(self.lightest.shape[:2])
        enough = (self.lightest >= box[0::2]).all(axis=-1) & (efforts <= spare)
        columns = _spread(self.markers, np.cumprod(enough, axis=1).sum(axis=1))
        return replace(self, columns=columns, box=box)

    def by_coats(self, block: RecipeBlock) -> list[Ints]:
        """Return which of some recipes have as many coats, where markers alike are neighbors.

        What lies below the uppermost step is the same among neighbors, as far as it can be.
        """
        order = np.arange(len(block))
        if self.markers is not None and block.medium is Medium.MARKER and block.steps:
            below = block.numbers % (block.place // self.space.base)
            order = np.lexsort((np.argsort(self.markers.places)[block.last], below))
        return [order[block.laid[order] == laid] for laid in np.unique(block.laid)]


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
    rules = [fit.later_coat, fit.lifts[places].max(), fit.strength[places].min()]
    none = np.zeros((BANDS, 0), dtype=np.float32)
    markers = MarkerColumns(
        absorption=_with_blank(absorption).T,
        palest=none,
        deepest=none,
        strength=_with_blank(fit.strength[places]),
        lift=_with_blank(fit.lifts[places]),
        places=alike(absorption),
        digits=np.arange(len(places)),
        ends=np.zeros(coats + 1, dtype=np.int64),
        paper=fit.paper_absorption.astype(np.float32),
        curve=curve,
        weights=weights.astype(np.float32),
        rises=rises.astype(np.float32),
        rules=np.array(rules, dtype=np.float32),
    )
    lowered = space.budget * rises - np.minimum(0.0, ground)
    lightest = _lightest(fit, places, absorption, coats, lowered)
    error = 0.5 * off * max(1.0, float(weights.sum(axis=1).max())) + ROUNDING
    all_coats = np.full(len(places), coats)
    return Coloring(space, markers, lightest @ weights.T, _spread(markers, all_coats), error)


def alike(absorption: FloatArray) -> Ints:
    """Return an order of colorants (c, 36) in which those alike stand by sixteens, shape (c,).

    They are halved along the axis on which they differ most, again and again.
    """

    def halved(places: Ints) -> list[Ints]:
        if len(places) <= LANES:
            return [places]
        away = looks[places] - looks[places].mean(axis=0)
        along = away @ np.linalg.svd(away, full_matrices=False)[2][0]
        middle = LANES * max(1, round(len(places) / 2 / LANES))
        places = places[np.argsort(along, kind="stable")]
        return halved(places[:middle]) + halved(places[middle:])

    looks = np.exp(-np.maximum(absorption, 0.0)) * WEIGHTS.sum(axis=0)
    return np.concatenate(halved(np.arange(len(absorption))))


def _with_blank(values: FloatArray) -> Single:
    """Add one colorant without any color, at place -1, which fills up the lanes."""
    return np.concatenate([values, np.zeros((1, *values.shape[1:]))]).astype(np.float32)


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
    order, coats = markers.places, len(markers.ends) - 1
    order = order[np.argsort(-deepest[order], kind="stable")]
    groups, digits, ends = [], [], [0]
    for coat in range(1, coats + 1):
        group = order[: int(np.sum(deepest >= coat))]
        filled = np.full(-(-len(group) // LANES) * LANES, -1, dtype=np.int64)
        filled[: len(group)] = group
        groups.append(filled)
        digits.append(filled * coats + coat)
        ends.append(ends[-1] + len(filled))
    places = np.concatenate(groups)
    absorption = np.ascontiguousarray(markers.absorption[:, places])
    by_sixteen = np.maximum(0.0, absorption).reshape(BANDS, -1, LANES)
    blank = places.reshape(-1, LANES) < 0
    least = float(np.min(markers.strength[:-1][deepest > 0], initial=np.inf))
    return markers._replace(
        absorption=absorption,
        palest=np.where(blank, np.inf, by_sixteen).min(axis=2, initial=np.inf).astype(np.float32),
        deepest=by_sixteen.max(axis=2, initial=0.0),
        strength=markers.strength[places],
        lift=markers.lift[places],
        places=places,
        digits=np.concatenate(digits),
        ends=np.array(ends, dtype=np.int64),
        rules=np.array([*markers.rules[:2], least], dtype=np.float32),
    )


def colors(ready: Coloring, block: RecipeBlock, tops: Tops) -> Iterator[ColoredPart]:
    """Color what one step makes of recipes.

    `ready`: of the kit. `block`: the recipes; for a step of markers, all of as many coats, see
    `Coloring.by_coats`. `tops`: the step.
    """
    if tops.medium is not Medium.MARKER:
        yield from _film_colors(ready.space, block, tops)
    elif block.medium is Medium.WASH:
        yield _over_wash(ready.space, block, tops)
    else:
        yield from _marker_colors(ready, block)


def _over_wash(space: RecipeSpace, block: RecipeBlock, tops: Tops) -> ColoredPart:
    rows, picked = np.nonzero(space.allowed(block, tops))
    made = extend(block, tops, rows, picked, space.base)
    xyz = (WEIGHTS @ made.reflectance.T).astype(np.float32)
    return ColoredPart(np.ascontiguousarray(xyz), made.numbers, ROUNDING)


def _film_colors(space: RecipeSpace, block: RecipeBlock, tops: Tops) -> Iterator[ColoredPart]:
    absorbing, scattering = film_tops(block, tops)
    color = _coloring_films(tops, absorbing, scattering)
    below, allowed = grounds(block, tops), space.allowed(block, tops)
    below = np.array(np.broadcast_to(below, (len(block), *below.shape[1:])), order="C")
    added = block.place * (tops.first + np.arange(len(tops)))
    at_once = max(1, ROOM // len(tops))
    for start in range(0, len(block), at_once):
        part = slice(start, start + at_once)
        fine = allowed[part].ravel()
        xyz = np.empty((3, len(fine)), dtype=np.float32)
        color(below[part], xyz)
        numbers = (block.numbers[part, None] + added).ravel()
        if not fine.all():
            xyz, numbers = np.ascontiguousarray(xyz[:, fine]), numbers[fine]
        yield ColoredPart(xyz, numbers, ROUNDING)


def _coloring_films(
    tops: Tops, absorbing: FloatArray, scattering: FloatArray
) -> Callable[[FloatArray, Single], None]:
    """Return what colors films on grounds, whose K X and S X have shape (c, z, 36).

    A film that lies on its ground passes as much light on any; one that sinks in doesn't.
    """
    assert isinstance(tops.shelf.fit, FilmFit)
    if tops.medium is Medium.PENCIL:
        reflected, passed = layer(absorbing, scattering)
        squared = passed**2
        return lambda below, xyz: color_films(below, reflected, squared, WEIGHTS, xyz)
    within = surface(tops.shelf.fit)
    sunk, glare = float(within.scattering[0, 0]), float(within.glare[0, 0])

    def color(below: FloatArray, xyz: Single) -> None:
        own = sunk * ratio_of(np.minimum(below, 1.0))
        color_sunk_films(below, own, absorbing, sunk + scattering, (1.0 - glare) * WEIGHTS, xyz)
        xyz += (glare * WEIGHTS.sum(axis=1)).astype(np.float32)[:, None]

    return color


def _marker_colors(ready: Coloring, block: RecipeBlock) -> Iterator[ColoredPart]:
    columns = ready.columns
    assert columns is not None
    (laid,) = np.unique(block.laid).tolist()
    left = max(0, min(ready.space.limits.coats, ready.space.budget - laid))
    lanes = int(columns.ends[left])
    piles, tips = np.zeros((len(block), BANDS), dtype=np.float32), np.zeros((len(block), 2))
    if block.pile is not None:
        piles[:], tips[:, 0], tips[:, 1] = block.pile
    room = min(max(ROOM, LANES * lanes), len(block) * lanes)
    xyz, numbers, row = np.empty((3, room), dtype=np.float32), np.empty(room, dtype=np.int64), 0
    while row < len(block) and lanes:
        row, count = color_markers(
            row, piles, tips, left, block.last, block.numbers, block.place, columns, ready.box,
            xyz, numbers,
        )  # fmt: skip
        yield ColoredPart(xyz, numbers[:count], ready.error)


# Compiled because a large kit has millions of rows, each of thousands of colors. Right because what
# is passed over lies outside the box even at its lightest or its darkest (docs/decisions/search.md,
# point 5); the others are colored within the stated error.
@compiled
def color_markers(  # noqa: PLR0917  a compiled loop, called in one place
    row: int,
    piles: Single,
    tips: FloatArray,
    left: int,
    last: Ints,
    below: Ints,
    place: int,
    columns: MarkerColumns,
    box: FloatArray,
    xyz: Single,
    numbers: Ints,
) -> tuple[int, int]:
    """Color what one step of markers makes of piles, until all are done or the room is full.

    Parameters
    ----------
    row
        The first pile.
    piles, tips
        Shapes (p, 36) and (p, 2): absorption; strength and amount. Those alike are neighbors.
    left
        The coats left on all of them.
    last, below, place
        Shape (p,): the colorant of the last step, -1 for none; the number of the recipe so far;
        and what a further digit counts.
    columns, box
        The markers, and least and most X/Xn, Y/Yn, Z/Zn.
    xyz, numbers
        Shapes (3, room) and (room,), written.

    Returns
    -------
    tuple
        The next pile, and how many colors were written.
    """
    lanes = columns.ends[left]
    scratch = np.empty((7, lanes), dtype=np.float32)
    spans = np.empty((2, 7, lanes // LANES), dtype=np.float32)
    absorbed = np.empty((2, BANDS, lanes // LANES), dtype=np.float32)
    rows, met = np.empty(LANES, dtype=np.int64), np.empty((2, lanes // LANES), dtype=np.int64)
    count, seen, passed, bounded = 0, 0, 0, box[0] > -np.inf
    at_once = LANES if columns.rules[2] >= 0.0 else 1
    while row < len(piles) and count + min(at_once, len(piles) - row) * lanes <= len(numbers):
        row, taken = light_rows(row, rows[:at_once], piles, tips, left, columns, box)
        near = lanes // LANES
        for g in range(near):
            met[0, g] = met[1, g] = g
        if bounded and taken > 1:
            span_rows(near, rows[:taken], piles, tips, left, spans, columns)
            near = those_met(near, met[0], met[0], spans, box)
        if bounded:
            absorbed[0, :, :near] = columns.palest[:, met[0, :near]]
            absorbed[1, :, :near] = columns.deepest[:, met[0, :near]]
        for r in rows[:taken]:
            lay_row(near, met[0], tips[r, 0], tips[r, 1], scratch, spans, columns)
            wanted, pile = near, piles[r]
            if bounded:
                color_spans(near, pile, pile, left, spans, absorbed[0], absorbed[1], columns)
                wanted = those_met(near, met[0], met[1], spans, box)
            first = count
            count = color_met(
                met[1, :wanted], last[r], piles[r], scratch, columns, box, xyz, numbers, first
            )
            for i in range(first, count):
                numbers[i] = below[r] + place * columns.digits[numbers[i]]
            seen += LANES * wanted
        passed += lanes * taken
        bounded = bounded and seen < LOOKED_AT + WORTH * passed
    return row, count


# Compiled into the loop above, which it spares most of its work. Right because reflectance falls as
# absorption rises, and each coat lifts at most what the weakest colorant would, did it lift as the
# one that lifts most, from the pile as it is, and lightens a band by what any colorant does there.
@compiled_in_place
def light_rows(  # noqa: PLR0917  a compiled loop, called in one place
    row: int,
    rows: Ints,
    piles: Single,
    tips: FloatArray,
    left: int,
    columns: MarkerColumns,
    box: FloatArray,
) -> Any:
    """Fill `rows` with the next piles that aren't too dark; return the next, and how many.

    A pile is too dark where the lightest that any row on it can be lies below the box.
    """
    least, p, taken, coats = columns.rules[2], columns.curve, 0, np.float32(left)
    weights, squarings, none = columns.weights, int(p[3]), np.float32(0.0)
    while row < len(piles) and taken < len(rows):
        strength, amount, keep = tips[row, 0], tips[row, 1], 1.0
        if amount > 0.0 and strength > least * amount:
            lifted = max(0.0, 1.0 - columns.rules[1] * (1.0 - least * amount / strength))
            for _ in range(left):  # a power would take ten times as long as all the rest
                keep *= lifted
        kept, x, y, z = np.float32(keep), none, none, none
        for b in range(BANDS):
            a = min(piles[row, b], kept * piles[row, b]) - coats * columns.rises[b]
            t = np.sqrt(max(columns.paper[b] + a + p[0], p[0]))
            r = np.float32(1.0) / polynomial((t - p[1]) * p[2], p)
            if squarings > 0:
                r *= r
            if squarings > 1:
                r *= r
                r *= r
            x, y, z = x + weights[0, b] * r, y + weights[1, b] * r, z + weights[2, b] * r
        # of a pile lighter than the paper no bound is attempted
        light = x >= box[0] and y >= box[2] and z >= box[4]
        rows[taken] = row
        taken += light or (amount > 0.0 and strength <= 0.0)
        row += 1
    return row, taken


# Compiled into the loop above: a plain function can't be called there. Right by its definition.
@compiled_in_place
def color_met(  # noqa: PLR0917  a compiled loop, called in one place
    met: Ints,
    last: int,
    pile: Single,
    scratch: Single,
    columns: MarkerColumns,
    box: FloatArray,
    xyz: Single,
    lanes: Ints,
    count: int,
) -> Any:
    """Color some sixteens, those side by side together; write down what lies in the box."""
    begin = 0
    for j in range(len(met)):
        if j + 1 < len(met) and met[j + 1] == met[j] + 1:
            continue
        first, end, begin = LANES * met[begin], LANES * (met[j] + 1), j + 1
        color_row(
            first, end, pile, columns.paper, scratch,
            columns.absorption, columns.curve, columns.weights,
        )  # fmt: skip
        for lane in range(first, end):
            c, x, y, z = columns.places[lane], scratch[4, lane], scratch[5, lane], scratch[6, lane]
            inside = y >= box[2] and y <= box[3] and x >= box[0] and x <= box[1]
            if c >= 0 and c != last and inside and z >= box[4] and z <= box[5]:
                for axis in range(3):
                    xyz[axis, count] = scratch[4 + axis, lane]
                lanes[count] = lane
                count += 1
    return count


# Compiled into the loop above: sixteen colorants side by side, where numpy would go through memory
# for each operation. Right because it follows `laydown.media.marker.pile.step_numbers` coat by
# coat; a blender is counted as laying its amount, too: it has no color and no strength, so nothing
# follows.
@compiled_in_place
def lay_row(  # noqa: PLR0917  a compiled loop, called in one place
    near: int,
    met: Ints,
    strength: float,
    amount: float,
    scratch: Single,
    spans: Single,
    columns: MarkerColumns,
) -> None:
    """Lay the first `near` of the sixteens `met` on a pile: K and M go into rows 2 and 3.

    The amount is K·T + M and the strength K·S + M·s. The least K and M of each sixteen go into the
    same rows of the first of `spans`, the most into those of the second.
    """
    later, one, none = columns.rules[0], np.float32(1.0), np.float32(0.0)
    below, thick = np.float32(strength), np.float32(amount)
    coats = 1
    for j in range(near):
        first, last = LANES * met[j], LANES * (met[j] + 1)
        keep, add = scratch[2, first:last], scratch[3, first:last]
        own, lift = columns.strength[first:last], columns.lift[first:last]
        while first >= columns.ends[coats]:
            coats += 1
        for c in range(LANES):
            keep[c], add[c] = one, none
        for _ in range(coats):
            for c in range(LANES):
                laid = keep[c] * thick + add[c]
                there = keep[c] * below + add[c] * own[c]
                lifts = (laid > none) & (there > own[c] * laid)
                ratio = own[c] * laid / there if lifts else one
                kept = one - lift[c] * (one - ratio)
                more = later if kept * laid > none else one
                keep[c] *= kept
                add[c] = add[c] * kept + more
        keep_1, keep_2, add_1, add_2 = keep[0], keep[0], add[0], add[0]
        for c in range(1, LANES):
            keep_1, keep_2 = min(keep[c], keep_1), max(keep[c], keep_2)
            add_1, add_2 = min(add[c], add_1), max(add[c], add_2)
        spans[0, 2, j], spans[0, 3, j] = keep_1, add_1
        spans[1, 2, j], spans[1, 3, j] = keep_2, add_2


# Compiled into the loop above, which it spares most of its work for a sixteenth of that. Right
# since all that `lay_row` adds, multiplies and divides by is never below 0 (but for the strength of
# a pile, of which both ends are tried), so that the least that goes in gives the least.
@compiled_in_place
def span_rows(  # noqa: PLR0917  a compiled loop, called in one place
    sixteens: int,
    rows: Ints,
    piles: Single,
    tips: FloatArray,
    left: int,
    spans: Single,
    columns: MarkerColumns,
) -> None:
    """Put what sixteen columns each are on any of some piles into `spans`, (2, 7, sixteens).

    Rows as in `scratch`: the least K and M and the most X/Xn, Y/Yn, Z/Zn, then the most K and M and
    the least X/Xn, Y/Yn, Z/Zn.
    """
    palest, deepest = piles[rows[0]].copy(), piles[rows[0]].copy()
    s_1, t_1 = np.float32(tips[rows[0], 0]), np.float32(tips[rows[0], 1])
    s_2, t_2 = s_1, t_1
    for r in rows[1:]:
        s, t = np.float32(tips[r, 0]), np.float32(tips[r, 1])
        s_1, s_2, t_1, t_2 = min(s_1, s), max(s_2, s), min(t_1, t), max(t_2, t)
        for b in range(BANDS):
            palest[b], deepest[b] = min(palest[b], piles[r, b]), max(deepest[b], piles[r, b])
    later, one, none = columns.rules[0], np.float32(1.0), np.float32(0.0)
    ends, coats = np.empty((4, LANES), dtype=np.float32), 1
    keep_1, keep_2, add_1, add_2 = ends[0], ends[1], ends[2], ends[3]
    for g in range(sixteens):
        own = columns.strength[LANES * g : LANES * (g + 1)]
        lift = columns.lift[LANES * g : LANES * (g + 1)]
        while LANES * g >= columns.ends[coats]:
            coats += 1
        ends[:2], ends[2:] = one, none
        for _ in range(coats):
            for c in range(LANES):
                laid_1, laid_2 = keep_1[c] * t_1 + add_1[c], keep_2[c] * t_2 + add_2[c]
                there_1 = min(keep_1[c] * s_1, keep_2[c] * s_1) + add_1[c] * own[c]
                there_2 = max(keep_1[c] * s_2, keep_2[c] * s_2) + add_2[c] * own[c]
                may, must = laid_2 > none and there_2 > own[c] * laid_1, laid_1 > none
                ratio_1 = own[c] * laid_1 / there_2 if may else one
                sure = must and there_1 > own[c] * laid_2
                ratio_2 = own[c] * laid_2 / there_1 if sure else one
                kept_1, kept_2 = one - lift[c] * (one - ratio_1), one - lift[c] * (one - ratio_2)
                wet, dry = kept_1 * laid_1 > none, kept_2 * laid_2 <= none
                keep_1[c], keep_2[c] = keep_1[c] * kept_1, keep_2[c] * kept_2
                add_1[c] = add_1[c] * kept_1 + (later if wet else one if dry else min(later, one))
                add_2[c] = add_2[c] * kept_2 + (later if wet else one if dry else max(later, one))
        spans[0, 2, g], spans[0, 3, g] = keep_1.min(), add_1.min()
        spans[1, 2, g], spans[1, 3, g] = keep_2.max(), add_2.max()
    color_spans(sixteens, palest, deepest, left, spans, columns.palest, columns.deepest, columns)


# Compiled into the loops above, which it spares most of their work for an eighth of that. Right
# since reflectance falls as absorption rises, and that of
# a pile with a marker on it lies, band by band, between what the least and the most come to.
@compiled_in_place
def color_spans(  # noqa: PLR0917  a compiled loop, called in two places
    sixteens: int,
    palest: Single,
    deepest: Single,
    left: int,
    spans: Single,
    least: Single,
    most: Single,
    columns: MarkerColumns,
) -> None:
    """Color spans by their K and M: of piles, the palest and the deepest; of columns, alike."""
    ground = np.empty(BANDS, dtype=np.float32)
    raised = np.empty((2, BANDS), dtype=np.float32)
    for b in range(BANDS):
        raised[0, b] = max(palest[b], np.float32(0.0))
        raised[1, b] = max(deepest[b], np.float32(0.0))
        ground[b] = columns.paper[b] + min(palest[b], np.float32(0.0)) - left * columns.rises[b]
    color_row(0, sixteens, raised[0], ground, spans[0], least, columns.curve, columns.weights)
    color_row(0, sixteens, raised[1], columns.paper, spans[1], most, columns.curve, columns.weights)


# Compiled into the loop above: a plain function can't be called there. Right by its definition.
@compiled_in_place
def those_met(near: int, of: Ints, met: Ints, spans: Single, box: FloatArray) -> Any:
    """Put into `met` which of the first `near` sixteens may have a color in a box; say how many."""
    count = 0
    for j in range(near):
        inside = True
        for axis in range(3):
            most, least = spans[0, 4 + axis, j], spans[1, 4 + axis, j]
            inside &= most >= box[2 * axis] and least <= box[2 * axis + 1]
        met[count] = of[j]
        count += inside
    return count


# Compiled because its inner loop is nearly all the time of a table. Right because the error of the
# polynomial is measured (`quick_curve`) and goes into bounds. Four bands at a
# time share a division, the slowest step: 1/a is b c d over the product of all.
@compiled
def color_row(  # noqa: PLR0917  a compiled loop, called from two others
    first: int,
    last: int,
    pile: Single,
    paper: Single,
    scratch: Single,
    k: Single,
    p: Single,
    w: Single,
) -> None:
    """Put X/Xn, Y/Yn, Z/Zn of columns of a row, from the first to before the last, into 4 to 6.

    Rows 2 and 3 are their K and M, `k` (36, columns) their absorption.
    """
    keeps, adds = scratch[2, first:last], scratch[3, first:last]
    x, y, z = scratch[4, first:last], scratch[5, first:last], scratch[6, first:last]
    one = np.float32(1.0)
    for c in range(len(keeps)):
        x[c], y[c], z[c] = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    squarings, scale, start = int(p[3]), p[2], -p[1] * p[2]
    for b in range(0, BANDS, 4):
        a_1, a_2, a_3, a_4 = pile[b], pile[b + 1], pile[b + 2], pile[b + 3]
        g_1, g_2 = paper[b] + p[0], paper[b + 1] + p[0]
        g_3, g_4 = paper[b + 2] + p[0], paper[b + 3] + p[0]
        k_1, k_2, k_3, k_4 = (
            k[b, first:last],
            k[b + 1, first:last],
            k[b + 2, first:last],
            k[b + 3, first:last],
        )
        for c in range(len(keeps)):
            keep, add = keeps[c], adds[c]
            t_1 = np.sqrt(max(g_1 + keep * a_1 + add * k_1[c], p[0]))
            t_2 = np.sqrt(max(g_2 + keep * a_2 + add * k_2[c], p[0]))
            t_3 = np.sqrt(max(g_3 + keep * a_3 + add * k_3[c], p[0]))
            t_4 = np.sqrt(max(g_4 + keep * a_4 + add * k_4[c], p[0]))
            q_1, q_2 = polynomial(t_1 * scale + start, p), polynomial(t_2 * scale + start, p)
            q_3, q_4 = polynomial(t_3 * scale + start, p), polynomial(t_4 * scale + start, p)
            q_12, q_34 = q_1 * q_2, q_3 * q_4
            shared = one / (q_12 * q_34)
            r_12, r_34 = shared * q_34, shared * q_12
            r_1, r_2, r_3, r_4 = r_12 * q_2, r_12 * q_1, r_34 * q_4, r_34 * q_3
            if squarings > 0:
                r_1, r_2, r_3, r_4 = r_1 * r_1, r_2 * r_2, r_3 * r_3, r_4 * r_4
            if squarings > 1:
                r_1, r_2, r_3, r_4 = r_1 * r_1, r_2 * r_2, r_3 * r_3, r_4 * r_4
                r_1, r_2, r_3, r_4 = r_1 * r_1, r_2 * r_2, r_3 * r_3, r_4 * r_4
            x[c] += w[0, b] * r_1 + w[0, b + 1] * r_2 + w[0, b + 2] * r_3 + w[0, b + 3] * r_4
            y[c] += w[1, b] * r_1 + w[1, b + 1] * r_2 + w[1, b + 2] * r_3 + w[1, b + 3] * r_4
            z[c] += w[2, b] * r_1 + w[2, b + 1] * r_2 + w[2, b + 2] * r_3 + w[2, b + 3] * r_4


# Compiled into the loops above: a plain function can't be called there. Right by its definition.
@compiled_in_place
def polynomial(t: Any, p: Single) -> Any:
    """Return q of a `quick_curve`."""
    q = p[10] + t * (p[11] + t * (p[12] + t * (p[13] + t * p[14])))
    return p[4] + t * (p[5] + t * (p[6] + t * (p[7] + t * (p[8] + t * (p[9] + t * q)))))


# Compiled because every film lies on every ground, band by band and zone by zone: numpy would write
# all of these spectra to memory. Right because it is `laydown.media.film.film.laid_on` and a mean
# over zones, in double precision but for the result.
@compiled
def color_films(
    below: FloatArray, reflected: FloatArray, squared: FloatArray, weights: FloatArray, xyz: Single
) -> None:
    """Put into `xyz` (3, n c) the X/Xn, Y/Yn, Z/Zn of each film on each ground.

    `below`: shape (n, z, 36), or (n, 1, 36) where all zones are alike. `reflected`, `squared`:
    shape (c, z, 36): R₀ and T² of each film in each zone. `weights`: shape (3, 36): reflectance to
    X/Xn, Y/Yn, Z/Zn. `xyz`: written.
    """
    films, zones = reflected.shape[0], reflected.shape[1]
    for row in range(below.shape[0]):
        for top in range(films):
            x, y, z = 0.0, 0.0, 0.0
            for zone in range(zones):
                ground = below[row, zone if below.shape[1] > 1 else 0]
                r, t = reflected[top, zone], squared[top, zone]
                for b in range(BANDS):
                    seen = r[b] + t[b] * ground[b] / (1.0 - r[b] * ground[b])
                    x += seen * weights[0, b]
                    y += seen * weights[1, b]
                    z += seen * weights[2, b]
            at = row * films + top
            xyz[0, at], xyz[1, at], xyz[2, at] = x / zones, y / zones, z / zones


# Compiled because the layer that a wash sinks into is another one on every ground, so that no film
# can be worked out beforehand. Right because it is `laydown.media.film.film.sunk` and a mean over
# zones, with t = tanh(g)/g to about 1e-9 (exp of a library would keep bands from going side by
# side; exp(−u) is that of u/64, a Taylor series of which no term is missed, squared six times):
# Kubelka's R = (G + t (s − (k + s) G)) / (1 + t (k + s − s G)), and what
# lets nothing through looks as `layer` has it.
@compiled
def color_sunk_films(  # noqa: PLR0917  a compiled loop, called in one place
    below: FloatArray,
    own: FloatArray,
    absorbing: FloatArray,
    scattering: FloatArray,
    weights: FloatArray,
    xyz: Single,
) -> None:
    """Put into `xyz` (3, n c) the X/Xn, Y/Yn, Z/Zn of each film in the surface of each ground.

    `below`, `own`: shape (n, z, 36), or (n, 1, 36) where all zones are alike: what a ground
    reflects, and what the surface of it that a film sinks into absorbs. `absorbing`, `scattering`:
    shape (c, z, 36): k of each film in each zone, and its s with the surface's. `weights`: shape
    (3, 36): reflectance to X/Xn, Y/Yn, Z/Zn. `xyz`: written.
    """
    films, zones = absorbing.shape[0], absorbing.shape[1]
    for row in range(below.shape[0]):
        for top in range(films):
            x, y, z = 0.0, 0.0, 0.0
            for zone in range(zones):
                place = zone if below.shape[1] > 1 else 0
                ground, paper = below[row, place], own[row, place]
                for b in range(BANDS):
                    k, s, r = (
                        paper[b] + absorbing[top, zone, b],
                        scattering[top, zone, b],
                        ground[b],
                    )
                    square = k * (k + 2.0 * s)
                    g = np.sqrt(max(square, 1e-8))
                    u = -2.0 * min(g, 20.0) / 64.0
                    e = 1.0 + u / 5.0 * (1.0 + u / 6.0 * (1.0 + u / 7.0 * (1.0 + u / 8.0)))
                    e = (1.0 + u * (1.0 + u / 2.0 * (1.0 + u / 3.0 * (1.0 + u / 4.0 * e)))) ** 64
                    t = (1.0 - e) / (1.0 + e) / g
                    seen = (r + t * (s - (k + s) * r)) / (1.0 + t * (k + s - s * r))
                    if square > THICKEST * THICKEST:
                        seen = s / (k + s + THICKEST)
                    x += seen * weights[0, b]
                    y += seen * weights[1, b]
                    z += seen * weights[2, b]
            at = row * films + top
            xyz[0, at], xyz[1, at], xyz[2, at] = x / zones, y / zones, z / zones
