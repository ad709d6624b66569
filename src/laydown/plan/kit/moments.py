"""How good the best N can be: bounds by how often kits hold a colorant, and two of them together.

Of all kits of so many colorants, mixed in any shares, let x be how often each colorant is held and
Y how often two of them are. Y, with a border of 1 and x, is positive semidefinite, its diagonal is
x, and each row sums to as many times x as a kit has colorants. A color is made by a way no more
often than any two colorants of the way are held together; by all ways with a colorant no more often
than that is held; and by all ways with any of some colorants no more often than one of these is
held: at most the sum of their x less the Y along any tree between them (Hunter 1976, J. Appl.
Prob. 13). The least cost of such shares bounds every kit.

The program is solved by the primal-dual method of Chambolle and Pock (2011, J. Math. Imaging
Vis. 40) with the diagonal steps of Pock and Chambolle (2011, ICCV). Wherever it stands, its
multipliers give a true bound: the least of a Lagrangian that falls apart into colors, x and Y.
"""

from dataclasses import dataclass, replace
from itertools import combinations
from math import isqrt

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, vstack

from laydown.color.arrays import FloatArray
from laydown.match.search.compiling import compiled
from laydown.plan.kit.problem import KitProblem, Places

WEIGHT = 15.0
"""Steps of shares are so many times those of multipliers, over what a missed color costs (chosen:
from 5 to 40 it takes about as long)."""
STEP, LOOKS = 0.95, 12
"""Of the longest steps that are sure to converge so much is taken; and how often the power method
is asked how long that is."""
STARTS, CENTERS, CUTS_EACH = 8, 8, 4
"""Trees are grown from so many colorants of each color, to so many colorants, and so many kept."""
BROKEN, RARE = 2e-3, 1e-5
"""Only what is broken by so much of a color is cut off; what is made more rarely breaks nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """The program of n colorants of which k are to be bought.

    Its unknowns stand in one row: the share of each way, then x, then the bordered Y row by row.
    """

    colorants: Places
    """Shape (n,), their places in the problem."""
    bought: tuple[int, ...]
    """Places of those that are bought in any case, besides what the problem has at hand."""
    most: int
    """k, above 0 and below n where there is something to solve."""
    missed: FloatArray
    """Shape (colors,), what each costs with what is settled."""
    color: Places
    members: Places
    """Shapes (ways,) and (ways, s): places in `colorants`, -1 for none."""
    cost: FloatArray
    """Shape (ways,)."""
    rows: csr_matrix
    limits: FloatArray
    """What stays at or below a limit; shape (rows,)."""
    equal: NDArray[np.bool_]
    cuts: NDArray[np.bool_]
    """Shapes (rows,), which ones reach their limit always, and which may be dropped."""

    def held(self, standing: "Standing") -> FloatArray:
        """Return x, shape (n,)."""
        first, last = self.parts
        return standing.shares[first:last]

    @property
    def parts(self) -> tuple[int, int]:
        """Where x and Y begin."""
        return len(self.cost), len(self.cost) + len(self.colorants)


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Where the solver stands."""

    shares: FloatArray
    unmade: FloatArray
    """Shape (colors,), how often each color is made by none of its ways."""
    multipliers: FloatArray
    """Shape (rows,)."""


def moments_of(problem: KitProblem) -> tuple[Moments, Standing]:
    """Return the program of a reduced problem, and a start: its colorants are bought one by one."""
    missed = np.full(problem.targets, problem.missed)
    free = (problem.ways.members < 0).all(axis=1)
    np.minimum.at(missed, problem.ways.target[free], problem.ways.cost[free])
    ways = problem.ways.only(~free & (problem.ways.cost < missed[problem.ways.target]))
    used = ways.members >= 0
    colorants = np.unique(ways.members[used])
    n, most = len(colorants), (problem.most or 0) - len(problem.must)
    members = np.where(used, np.searchsorted(colorants, ways.members), -1)
    rows, equal = _rows(ways.target, members, problem.targets, n, most)
    size = rows.shape[0]
    made = Moments(
        colorants,
        (),
        most,
        missed,
        ways.target,
        members,
        ways.cost,
        rows,
        np.eye(1, size)[0],
        equal,
        np.zeros(size, dtype=np.bool_),
    )
    x = np.full(n, most / n)
    together = np.full((n + 1, n + 1), most * (most - 1) / (n * max(1, n - 1)))
    together[0, 1:], together[1:, 0] = x, x
    np.fill_diagonal(together, np.append(1.0, x))
    shares = np.concatenate([np.zeros(len(ways)), x, together.reshape(-1)])
    return made, Standing(shares, np.ones(problem.targets), np.zeros(size))


def _rows(
    color: Places, members: Places, colors: int, n: int, most: int
) -> tuple[csr_matrix, NDArray[np.bool_]]:
    """Write the rows of the program but its cuts, and say which are equations.

    The first says that the corner of Y is 1.
    """
    count = len(color)
    x, bordered = count + np.arange(n), count + n + np.arange((n + 1) ** 2).reshape(n + 1, n + 1)
    Y = bordered[1:, 1:]
    blocks = list[tuple[csr_matrix, bool]]()

    def add(many: int, *terms: tuple[Places, Places, float], equal: bool = False) -> None:
        at = [np.broadcast_arrays(row, column) for row, column, _ in terms]
        values = [np.full(row.size, f) for (row, _), (*_, f) in zip(at, terms, strict=True)]
        row, column = (np.concatenate([one[i].ravel() for one in at]) for i in (0, 1))
        wide = count + n + bordered.size
        blocks.append((csr_matrix((np.concatenate(values), (row, column)), (many, wide)), equal))

    add(1, (np.zeros(1, dtype=np.int64), bordered[:1, 0], 1.0), equal=True)
    for one, other in combinations(range(members.shape[1]), 2):
        some = np.flatnonzero((members[:, one] >= 0) & (members[:, other] >= 0))
        each = np.arange(len(some))
        both = Y[members[some, one], members[some, other]]
        add(len(some), (each, some, 1.0), (each, both, -1.0))
    way, place = np.nonzero(members >= 0)
    stars, star = np.unique(color[way] * n + members[way, place], return_inverse=True)
    add(len(stars), (star, way, 1.0), (np.arange(len(stars)), x[stars % n], -1.0))
    each, (i, j) = np.arange(n), np.nonzero(~np.eye(n, dtype=np.bool_))
    for same in (Y[each, each], bordered[0, 1:]):
        add(n, (each, same, 1.0), (each, x, -1.0), equal=True)
    add(n, (i, Y[i, j], 1.0), (each, x, 1.0 - most), equal=True)
    add(len(i), (np.arange(len(i)), Y[i, j], -1.0))
    equal = np.concatenate([np.full(rows.shape[0], same) for rows, same in blocks])
    return vstack([rows for rows, _ in blocks], format="csr"), equal


@dataclass(frozen=True, slots=True, eq=False)
class Proven:
    """What multipliers prove of all kits."""

    bound: float
    costs: FloatArray
    """Shape (colors,), what each color then costs."""
    least: float
    """The least eigenvalue of the prices of Y."""


def bounded(program: Moments, multipliers: FloatArray) -> Proven:
    """Return what multipliers prove.

    The least over x is at its k smallest prices; over the bordered Y, whose trace is k + 1, at so
    many times the least eigenvalue of its prices (Rayleigh).
    """
    first, last = program.parts
    prices = program.rows.T @ multipliers
    costs = program.missed.copy()
    np.minimum.at(costs, program.color, program.cost + prices[:first])
    held = np.partition(prices[first:last], program.most - 1)[: program.most].sum()
    least = float(np.linalg.eigvalsh(_symmetric(prices[last:]))[0])
    bound = costs.sum() + held + (program.most + 1) * least - program.limits @ multipliers
    return Proven(float(bound), costs, least)


def _symmetric(values: FloatArray) -> FloatArray:
    size = isqrt(len(values))
    square = values.reshape(size, size)
    return (square + square.T) / 2.0


def solved_on(program: Moments, standing: Standing, turns: int) -> Standing:
    """Go so many steps on towards the best shares and multipliers."""
    rows, columns = program.rows, program.rows.T.tocsr()
    (first, last), most = program.parts, program.most
    up, down, by_color = _steps(program)
    starts = np.searchsorted(program.color, np.arange(len(program.missed) + 1))
    shares, unmade, multipliers = standing.shares, standing.unmade, standing.multipliers
    for _ in range(turns):
        moved = shares - down * (columns @ multipliers)
        moved[:first] -= down[:first] * program.cost
        unmade = unmade - by_color * program.missed
        _project_colors(starts, moved, unmade)
        moved[first:last] = _project_held(moved[first:last], most)
        moved[last:] = _project_together(_symmetric(moved[last:]), most + 1).reshape(-1)
        ahead = multipliers + up * (rows @ (2.0 * moved - shares) - program.limits)
        multipliers = np.where(program.equal, ahead, np.maximum(0.0, ahead))
        shares = moved
    return Standing(shares, unmade, multipliers)


def _steps(program: Moments) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return steps of multipliers, of shares, and of what is unmade of each color.

    Ways of one color have one step, and so have x and Y: else to project them would be no plain
    matter.
    """
    (first, last), size = program.parts, abs(program.rows)
    up = 1.0 / np.maximum(1.0, np.asarray(size.sum(axis=1)).reshape(-1))
    weight = np.asarray(size.sum(axis=0)).reshape(-1)
    each = np.ones(len(program.missed))
    np.maximum.at(each, program.color, weight[:first])
    held, together = weight[first:last].max(), _symmetric(weight[last:]).max()
    down = 1.0 / np.concatenate(
        [
            each[program.color],
            np.full(last - first, held),
            np.full(len(weight) - last, together),
        ]
    )
    ratio = WEIGHT / max(program.missed.max(), BROKEN)
    longest = STEP / np.sqrt(_norm(program.rows, up, down))
    return longest * up / ratio, longest * ratio * down, longest * ratio / each


def _norm(rows: csr_matrix, up: FloatArray, down: FloatArray) -> float:
    """Estimate the square of the norm of the rows as the steps scale them, from below."""
    vector, norm = np.sqrt(down), 1.0
    for _ in range(LOOKS):
        vector = vector / np.linalg.norm(vector)
        vector = np.sqrt(down) * (rows.T @ (up * (rows @ (np.sqrt(down) * vector))))
        norm = float(np.linalg.norm(vector))
    return norm


def _project_held(x: FloatArray, most: int) -> FloatArray:
    """Return the nearest shares of 0 to 1 that sum to `most`."""
    low, high = x.min() - 1.0, x.max()
    for _ in range(50):  # to the last digits of a double
        middle = (low + high) / 2.0
        low, high = (middle, high) if np.clip(x - middle, 0.0, 1.0).sum() > most else (low, middle)
    return np.asarray(np.clip(x - high, 0.0, 1.0))


def _project_together(Y: FloatArray, most: int) -> FloatArray:
    """Return the nearest positive semidefinite matrix of this trace."""
    values, vectors = np.linalg.eigh(Y)
    excess = (np.cumsum(values[::-1]) - most) / np.arange(1, len(values) + 1)
    values = np.maximum(0.0, values - excess[np.flatnonzero(values[::-1] > excess)[-1]])
    vectors = vectors[:, values > 0.0]
    return np.asarray((vectors * values[values > 0.0]) @ vectors.T)


@compiled
def _project_colors(starts: Places, shares: FloatArray, unmade: FloatArray) -> None:
    """Put in place of each color's shares the nearest of 0 and more that sum to one.

    Compiled, since colors have different numbers of ways.
    """
    for color in range(len(unmade)):
        first, last = starts[color], starts[color + 1]
        values = np.empty(last - first + 1)
        values[:-1], values[-1] = shares[first:last], unmade[color]
        values = np.sort(values)[::-1]
        total, excess = 0.0, 0.0
        for place in range(len(values)):
            total += values[place]
            if values[place] * (place + 1) > total - 1.0:
                excess = (total - 1.0) / (place + 1)
        for place in range(first, last):
            shares[place] = max(0.0, shares[place] - excess)
        unmade[color] = max(0.0, unmade[color] - excess)


def cut_off(program: Moments, standing: Standing) -> tuple[Moments, Standing]:
    """Drop cuts that hold nothing up, and add those that these shares break most."""
    keep = ~program.cuts | (standing.multipliers > 0.0)
    rows = program.rows[keep]
    known = {
        rows.indices[rows.indptr[at] : rows.indptr[at + 1]].tobytes()
        for at in np.flatnonzero(program.cuts[keep]).tolist()
    }
    added = _trees(program, standing.shares, known)
    zeros = np.zeros(added.shape[0])
    program = replace(
        program,
        rows=vstack([rows, added], format="csr"),
        limits=np.concatenate([program.limits[keep], zeros]),
        equal=np.concatenate([program.equal[keep], zeros > 0]),
        cuts=np.concatenate([program.cuts[keep], zeros == 0]),
    )
    return program, replace(
        standing, multipliers=np.concatenate([standing.multipliers[keep], zeros])
    )


def _trees(program: Moments, shares: FloatArray, known: set[bytes]) -> csr_matrix:
    """Write a row for each tree of colorants whose ways make a color more often than it can be."""
    (first, last), size = program.parts, len(program.colorants) + 1
    together = np.ascontiguousarray(_symmetric(shares[last:])[1:, 1:])
    starts = np.searchsorted(program.color, np.arange(len(program.missed) + 1))
    broken, centers, parents = _grown(
        starts, program.members, shares[:first], shares[first:last], together
    )
    factors, columns, ends = [np.zeros(0)], [np.zeros(0, dtype=np.int32)], [0]
    order = np.argsort(-broken, axis=1)[:, :CUTS_EACH]
    for color, at in zip(*np.nonzero(np.take_along_axis(broken, order, 1) > BROKEN), strict=True):
        tree = order[color, at]
        middle = centers[color, tree]
        middle, parent = middle[middle >= 0], parents[color, tree][middle >= 0]
        ways = np.arange(starts[color], starts[color + 1])
        is_center = np.zeros(size, dtype=np.bool_)
        is_center[middle] = True
        ways = ways[is_center[program.members[ways]].any(axis=1)]  # the last stands for none
        edges = last + ((middle + 1) * size + parent + 1)[parent >= 0]
        column = np.concatenate([ways, first + middle, edges]).astype(np.int32)
        place = np.argsort(column)
        if column[place].tobytes() not in known:
            known.add(column[place].tobytes())
            factor = np.repeat([1.0, -1.0, 1.0], [len(ways), len(middle), len(edges)])
            factors.append(factor[place])
            columns.append(column[place])
            ends.append(ends[-1] + len(column))
    shape = (len(ends) - 1, len(shares))
    return csr_matrix((np.concatenate(factors), np.concatenate(columns), np.array(ends)), shape)


@compiled
def _grown(
    starts: Places, members: Places, shares: FloatArray, held: FloatArray, together: FloatArray
) -> tuple[FloatArray, Places, Places]:
    """Grow trees of colorants for each color.

    Compiled: some ten thousand trees are grown each time. Returns shape (colors, STARTS), by how
    much each breaks its limit, and shapes (colors, STARTS, CENTERS), its colorants and what each
    hangs on.
    """
    colors = len(starts) - 1
    broken = np.zeros((colors, STARTS))
    centers = np.full((colors, STARTS, CENTERS), -1)
    parents = np.full((colors, STARTS, CENTERS), -1)
    for color in range(colors):
        ways = np.arange(starts[color], starts[color + 1])
        ways = ways[shares[ways] > RARE]
        stars = np.zeros(len(held))
        for way in ways:
            _count(stars, members[way], shares[way])
        order = np.argsort(-stars)
        for at in range(min(STARTS, len(held))):
            broken[color, at] = _grow(
                order[at],
                (ways, members, shares),
                stars.copy(),
                held,
                together,
                centers[color, at],
                parents[color, at],
            )
    return broken, centers, parents


@compiled
def _grow(  # noqa: PLR0917  a compiled loop, called in one place
    place: int,
    made: tuple[Places, Places, FloatArray],
    gain: FloatArray,
    held: FloatArray,
    together: FloatArray,
    centers: Places,
    parents: Places,
) -> float:
    """Grow a tree from a colorant, always by the one that breaks the limit most; return how much.

    What doesn't break it more in the end is left off.
    """
    ways, members, shares = made
    is_open = np.ones(len(ways), dtype=np.bool_)
    link, on = np.zeros(len(held)), np.full(len(held), -1)
    total, most, best = 0.0, 0.0, 0
    for size in range(CENTERS):
        if gain[place] < RARE:
            break
        total += gain[place] - held[place] + link[place]
        centers[size], parents[size] = place, on[place]
        if size > 0 and total > most + BROKEN / 1000:
            most, best = total, size + 1
        for at in range(len(ways)):
            if is_open[at] and (members[ways[at]] == place).any():
                is_open[at] = False
                _count(gain, members[ways[at]], -shares[ways[at]])
        gain[place] = -1.0
        on[together[place] > link] = place
        link = np.maximum(link, together[place])
        place = int(np.argmax(gain - held + link))
    centers[best:] = -1
    parents[best:] = -1
    return most


@compiled
def _count(sums: FloatArray, members: Places, share: float) -> None:
    for place in members:
        if place >= 0:
            sums[place] += share


def settled(
    program: Moments, standing: Standing, place: int, *, into: bool
) -> tuple[Moments, Standing]:
    """Return the program of those kits that hold a colorant, or of those that don't.

    Its multipliers are the same ones, so that it begins with what they prove already: what is held
    becomes one with the border, whose corner then counts once for both.
    """
    (first, last), n = program.parts, len(program.colorants)
    rest = np.delete(np.arange(n), place)
    has = program.members == place
    members = np.where(has, -1, program.members)
    members = np.where(members > place, members - 1, members)
    missed, done = program.missed.copy(), (members < 0).all(axis=1)
    if into:
        np.minimum.at(missed, program.color[done], program.cost[done])
    stays = ~done if into else ~has.any(axis=1)
    ways = np.flatnonzero(stays & (program.cost < missed[program.color]))
    to = np.insert(np.arange(n), place + 1, 0 if into else -1)
    one, other = np.nonzero((to[:, None] >= 0) & (to >= 0))
    old = np.concatenate([ways, first + rest, last + one * (n + 1) + other])
    new = len(ways) + n - 1 + to[one] * n + to[other]
    new = np.concatenate([np.arange(len(ways) + n - 1), new])
    shape = program.rows.shape[1], len(ways) + n - 1 + n * n
    rows = program.rows @ csr_matrix((np.ones(len(old)), (old, new)), shape)
    rows.eliminate_zeros()
    rows.sort_indices()
    multipliers, limits = standing.multipliers.copy(), program.limits
    if into:
        limits = limits - program.rows[:, [first + place]].toarray()[:, 0]
        multipliers[0] -= bounded(program, multipliers).least
    some = np.diff(rows.indptr) > 0
    some[0] = True
    child = replace(
        program,
        colorants=program.colorants[rest],
        bought=(*program.bought, int(program.colorants[place])) if into else program.bought,
        most=program.most - into,
        missed=missed,
        color=program.color[ways],
        members=members[ways],
        cost=program.cost[ways],
        rows=rows[some],
        limits=limits[some],
        equal=program.equal[some],
        cuts=program.cuts[some],
    )
    stay = np.delete(np.arange(n + 1), place + 1)
    together = standing.shares[last:].reshape(n + 1, n + 1)[np.ix_(stay, stay)]
    shares = [standing.shares[ways], standing.shares[first + rest], together.reshape(-1)]
    return child, Standing(np.concatenate(shares), standing.unmade, multipliers[some])


def worth_splitting_by(program: Moments, standing: Standing, costs: FloatArray) -> FloatArray:
    """Return shape (n,), how far both halves are likely to be bounded higher, by colorant.

    A colorant counts by what is saved by ways that need it, over what their colors cost at the
    multipliers: about as much is lost where it is left or, in place of others, bought.
    """
    way, held = np.nonzero(program.members >= 0), program.held(standing)
    saved = standing.shares[: len(program.cost)] * (costs[program.color] - program.cost)
    each = np.bincount(program.members[way], saved[way[0]], minlength=len(held))
    return np.asarray(each**2 * held * (1.0 - held))
