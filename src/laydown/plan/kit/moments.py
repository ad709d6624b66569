"""How good the best N can be: bounds by how often kits hold a colorant, and two of them together.

Of all kits of so many colorants, mixed in any shares, let x be how often each colorant is held and
Y how often two of them are. Y, with a border of 1 and x, is positive semidefinite, its diagonal is
x, and each row sums to as many times x as a kit has colorants. A color is made by a way no more
often than any two colorants of the way are held together; by all ways with a colorant no more often
than that is held; and by all ways with any of some colorants no more often than one of these is
held: at most the sum of their x less the Y along any tree between them (Hunter 1976, J. Appl.
Prob. 13). The least cost of such shares bounds every kit.

The program is solved by the primal-dual method of Chambolle and Pock (2011, J. Math. Imaging
Vis. 40) with the diagonal steps of Pock and Chambolle (2011, ICCV), each step gone further by the
same share (Condat 2013, J. Optim. Theory Appl. 158). Wherever it stands, its multipliers give a
true bound: the least of a Lagrangian that falls apart into colors, x and Y.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import isqrt

import numpy as np
from scipy.sparse import csr_matrix, vstack

from laydown.color.arrays import FloatArray
from laydown.plan.kit.problem import KitProblem, Places

WEIGHT = 15.0
"""Steps of shares are so many times those of multipliers, over what a missed color costs (chosen:
from 8 to 30 it takes as long)."""
STEP, LOOKS, FURTHER = 0.95, 12, 1.8
"""Of the longest steps that are sure to converge so much is taken; how often the power method is
asked how long that is; and how much further each step goes (below 2 it converges)."""
NEAR = 0.2
"""Ways that make a color for so much more than it costs are left alone for a while (chosen: .15 to
.6 prove as much; with all ways a step takes twice as long, and proves less)."""
STARTS, CENTERS, CUTS_EACH, AMONG = 8, 8, 4, 16
"""Trees are grown from so many colorants of each color, to so many colorants, and so many kept; of
the colorants that make a color most often so many may be in them."""
BROKEN, RARE = 2e-3, 1e-5
"""Only what is broken by so much of a color is cut off; what is made more rarely breaks nothing."""
NEWTON, HIGHEST, EVEN = 30, 0.999, 1e-9
"""Newton's steps at most (three or four do), where they begin at most so that some share is left,
and how near to one shares must sum."""
ROUNDING = 1e-11
"""So much of the terms of a bound is taken off it: a thousand times what doubles may be off."""


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Where the solver stands in a part of all kits: those with some colorants, without others."""

    settled: Places
    """Shape (n,), 1 for what all kits of the part hold, -1 for what none does, 0 for the rest."""
    shares: FloatArray
    cuts: csr_matrix
    """Rows besides those of the program; 0 is their limit."""
    multipliers: FloatArray
    """Shape (rows and cuts,)."""


class Moments:
    """The program of n colorants of which k are to be bought.

    Its unknowns stand in one row: the share of each way, then x, then the bordered Y row by row.
    What makes a color without any colorant, be it at hand or missed, is a way as well.

    `problem`: a reduced problem whose colorants are bought one by one.
    """

    def __init__(self, problem: KitProblem) -> None:
        missed = np.full(problem.targets, problem.missed)
        free = (problem.ways.members < 0).all(axis=1)
        np.minimum.at(missed, problem.ways.target[free], problem.ways.cost[free])
        ways = problem.ways.only(~free & (problem.ways.cost < missed[problem.ways.target]))
        used = ways.members >= 0
        self.colorants = np.unique(ways.members[used])
        """Shape (n,), their places in the problem."""
        self.most = (problem.most or 0) - len(problem.must)
        """k; there is something to solve where it is above 0 and below n."""
        members = np.where(used, np.searchsorted(self.colorants, ways.members), -1)
        color = np.append(ways.target, np.arange(problem.targets))
        order = np.argsort(color, kind="stable")
        self.color = color[order]
        self.cost = np.append(ways.cost, missed)[order]
        """Shapes (ways,)."""
        nothing = np.full((problem.targets, members.shape[1]), -1)
        self.members = np.concatenate([members, nothing])[order]
        """Shape (ways, s): places in `colorants`, -1 for none."""
        self.starts = np.searchsorted(self.color, np.arange(problem.targets))
        """Shape (colors,), where the ways of each begin."""
        self.missed = problem.missed
        self.parts = len(self.cost), len(self.cost) + len(self.colorants)
        """Where x and Y begin."""
        blocks = list(self._blocks())
        self.rows = vstack([rows for rows, _ in blocks], format="csr")
        """All at or below 0, but the first: it says that the corner of Y is 1."""
        self.equal = np.repeat([same for _, same in blocks], [rows.shape[0] for rows, _ in blocks])
        """Shape (rows,), which are equations."""

    def _blocks(self) -> list[tuple[csr_matrix, bool]]:
        """Write the rows by their kinds, and say which are equations."""
        (first, last), n = self.parts, len(self.colorants)
        x, bordered = first + np.arange(n), last + np.arange((n + 1) ** 2).reshape(n + 1, n + 1)
        Y, members, each = bordered[1:, 1:], self.members, np.arange(n)
        (i, j), (above, below) = np.nonzero(~np.eye(n, dtype=np.bool_)), np.triu_indices(n, 1)
        way, place = np.nonzero(members >= 0)
        stars, star = np.unique(self.color[way] * n + members[way, place], return_inverse=True)
        some, one, other = self._pairs()
        # Terms of rows, columns and a factor, kind by kind.
        kinds = (
            (True, (np.arange(1), bordered[0, :1], 1.0)),
            (False, (np.arange(len(above)), Y[above, below], -1.0)),
            (False, (np.arange(len(some)), some, 1.0), (np.arange(len(some)), Y[one, other], -1.0)),
            (False, (star, way, 1.0), (np.arange(len(stars)), x[stars % n], -1.0)),
            (True, (each, Y[each, each], 1.0), (each, x, -1.0)),
            (True, (each, bordered[0, 1:], 1.0), (each, x, -1.0)),
            (True, (i, Y[i, j], 1.0), (each, x, 1.0 - self.most)),
        )
        return [(_block(terms, bordered[-1, -1] + 1), same) for same, *terms in kinds]

    def _pairs(self) -> Places:
        """Return shape (3, pairs), each way with each two of its colorants."""
        columns = combinations(range(self.members.shape[1]), 2)
        pairs = [self.members[:, list(two)].T for two in columns]
        way = np.tile(np.arange(len(self.cost)), len(pairs))
        both = np.concatenate([*pairs, np.zeros((2, 0), np.int64)], axis=1)
        return np.vstack([way, both])[:, (both >= 0).all(axis=0)]

    def start(self) -> Standing:
        """Return where the solver begins: all kits, each as often as any other."""
        n, most, rows = len(self.colorants), self.most, self.rows
        x = np.full(n, most / max(1, n))
        together = np.full((n + 1, n + 1), most * (most - 1) / max(1, n * (n - 1)))
        together[0, 1:], together[1:, 0] = x, x
        np.fill_diagonal(together, np.append(1.0, x))
        unmade = (self.members < 0).all(axis=1).astype(np.float64)
        shares = np.concatenate([unmade, x, together.reshape(-1)])
        return Standing(np.zeros(n, np.int64), shares, rows[:0], np.zeros(rows.shape[0]))

    def held(self, standing: Standing) -> FloatArray:
        """Return x, shape (n,)."""
        first, last = self.parts
        return standing.shares[first:last]

    def bounded(self, standing: Standing) -> tuple[float, FloatArray, FloatArray]:
        """Return what multipliers prove of all kits of a part.

        The least over x is at what is settled and the smallest prices of the rest, k in all; over
        the bordered Y, whose trace is k + 1, at so many times the least eigenvalue of its prices
        (Rayleigh). What is held always has one row with the border.

        Returns the bound; shape (colors,), what each color then costs; and shape (ways,), how much
        more it would cost by each way.
        """
        (first, last), count = self.parts, self.rows.shape[0]
        multipliers, settled = standing.multipliers, standing.settled
        prices = self.rows.T @ multipliers[:count] + standing.cuts.T @ multipliers[count:]
        out = np.append(settled < 0, False)[self.members].any(axis=1)
        each = np.where(out, np.inf, self.cost + prices[:first])
        costs = np.minimum.reduceat(each, self.starts)
        x = np.append(prices[first:last][settled > 0], np.sort(prices[first:last][settled == 0]))
        basis = _basis(settled)
        folded = basis.T @ _symmetric(prices[last:]) @ basis
        least = float(np.linalg.eigvalsh(folded)[0])
        terms = costs.sum(), x[: self.most].sum(), (self.most + 1) * least, -multipliers[0]
        size = abs(x[: self.most]).sum() + (self.most + 1) * np.linalg.norm(folded)
        off = ROUNDING * (abs(costs).sum() + size + abs(multipliers[0]))
        return float(sum(terms) - off), costs, each - costs[self.color]

    def solved_on(self, standing: Standing, turns: int, over: FloatArray | None = None) -> Standing:
        """Go so many steps on towards the best shares and multipliers.

        `standing`: where it stands. `turns`: how many steps. `over`: shape (ways,), how much more
        its color would cost by each way, of the last bound; only ways that are near enough are
        looked at. Without it all are.
        """
        seen = self._seen(standing, over)
        rows, keep = self._seen_rows(standing, seen)
        columns, size = rows.T.tocsr(), standing.shares.size
        settled, basis = standing.settled, _basis(standing.settled)
        equal = np.append(self.equal, np.zeros(standing.cuts.shape[0], np.bool_))[keep]
        first, last = (len(seen) - (size - part) for part in self.parts)
        color = self.color[seen[:first]]
        starts = np.searchsorted(color, np.arange(len(self.starts)))
        up, down = self._steps(rows, starts, color)
        prices = np.append(self.cost[seen[:first]], np.zeros(len(seen) - first))
        limits, floor = (keep == 0).astype(np.float64), np.where(equal, -np.inf, 0.0)
        shares, multipliers, excess = standing.shares[seen], standing.multipliers[keep], None
        for _ in range(turns):
            moved = columns @ multipliers
            moved += prices
            moved *= -down
            moved += shares
            moved[:first], excess = _project_colors(starts, color, moved[:first], excess)
            moved[first:last] = _project_held(moved[first:last], settled, self.most)
            moved[last:] = _project_together(moved[last:], basis, self.most + 1)
            ahead = rows @ (2.0 * moved - shares)
            ahead -= limits
            ahead *= up
            ahead += multipliers
            np.maximum(ahead, floor, out=ahead)
            shares += FURTHER * (moved - shares)
            multipliers += FURTHER * (ahead - multipliers)
        whole, known = np.zeros(size), np.zeros(len(standing.multipliers))
        whole[seen], known[keep] = moved, ahead
        return replace(standing, shares=whole, multipliers=known)

    def _seen(self, standing: Standing, over: FloatArray | None) -> Places:
        """Return which unknowns are looked at: all but some ways."""
        first, _ = self.parts
        ways = np.ones(first, np.bool_)
        if over is not None:
            used = (standing.shares[:first] > 0.0) & (over < np.inf)
            ways = (over < NEAR) | used | (self.members < 0).all(axis=1)
        return np.append(np.flatnonzero(ways), np.arange(first, standing.shares.size))

    def _seen_rows(self, standing: Standing, seen: Places) -> tuple[csr_matrix, Places]:
        """Return the rows that say anything of some unknowns, and their places."""
        rows = vstack([self.rows, standing.cuts], format="csr")[:, seen]
        n = len(self.colorants)
        # Of ways that aren't looked at rows of pairs say that Y is 0 or more, as others do.
        says = (np.diff(rows.indptr) > 1) | (standing.multipliers > 0.0)
        says[: 1 + n * (n - 1) // 2] = True
        keep = np.flatnonzero(says)
        return rows[keep], keep

    def _steps(
        self, rows: csr_matrix, starts: Places, color: Places
    ) -> tuple[FloatArray, FloatArray]:
        """Return steps of multipliers and of shares.

        Ways of one color have one step, and so have x and Y: else to project them would be no plain
        matter.
        """
        first, n, size = len(color), len(self.colorants), abs(rows)
        up = 1.0 / np.maximum(1.0, np.asarray(size.sum(axis=1)).reshape(-1))
        weight = np.asarray(size.sum(axis=0)).reshape(-1)
        down = np.ones(len(weight))
        down[:first] = 1.0 / np.maximum(1.0, np.maximum.reduceat(weight[:first], starts))[color]
        down[first : first + n] = 1.0 / weight[first : first + n].max()
        down[first + n :] = 1.0 / _symmetric(weight[first + n :]).max()
        ratio = WEIGHT / max(self.missed, BROKEN)
        longest = STEP / np.sqrt(_norm(rows, up, down))
        return longest * up / ratio, longest * ratio * down

    def settled(self, standing: Standing, place: int, *, into: bool) -> Standing:
        """Return where to begin with those kits that hold a colorant, or with those that don't."""
        settled = standing.settled.copy()
        settled[place] = 1 if into else -1
        return replace(standing, settled=settled)

    def worth_splitting_by(self, standing: Standing, costs: FloatArray) -> FloatArray:
        """Return shape (n,), how far both halves are likely to be bounded higher, by colorant.

        A colorant counts by what is saved by ways that need it, over what their colors cost at the
        multipliers: about as much is lost where it is left or, in place of others, bought.
        """
        way, held = np.nonzero(self.members >= 0), self.held(standing)
        saved = standing.shares[: len(self.cost)] * (costs[self.color] - self.cost)
        each = np.bincount(self.members[way], saved[way[0]], minlength=len(held))
        return np.where(standing.settled == 0, each**2 * held * (1.0 - held), -1.0)

    def cut_off(self, standing: Standing) -> Standing:
        """Drop cuts that hold nothing up, and add those that these shares break most."""
        count = self.rows.shape[0]
        holds = standing.multipliers[count:] > 0.0
        cuts, added = standing.cuts[np.flatnonzero(holds)], self._trees(standing)
        known = {_columns(cuts, row) for row in range(cuts.shape[0])}
        new = [row for row in range(added.shape[0]) if _columns(added, row) not in known]
        stay = np.append(np.ones(count, np.bool_), holds)
        multipliers = np.append(standing.multipliers[stay], np.zeros(len(new)))
        cuts = vstack([cuts, added[new]], format="csr")
        return replace(standing, cuts=cuts, multipliers=multipliers)

    def _trees(self, standing: Standing) -> csr_matrix:
        """Write a row for each tree of colorants whose ways make a color oftener than can be."""
        (first, last), size = self.parts, len(self.colorants) + 1
        color, centers, parents = self._grown(standing)
        trees = np.arange(len(color))
        is_center = np.zeros((len(color), size), np.bool_)
        is_center[trees[:, None], centers] = True
        is_center[:, -1] = False  # the last stands for none
        counts = np.diff(np.append(self.starts, len(self.color)))[color]
        tree = np.repeat(trees, counts)
        way = np.arange(len(tree)) - np.repeat(
            np.cumsum(counts) - counts - self.starts[color], counts
        )
        made = is_center[tree[:, None], self.members[way]].any(axis=1)
        own, middle = np.nonzero(centers >= 0)
        hung, edge = np.nonzero(parents >= 0)
        edges = last + (centers[hung, edge] + 1) * size + parents[hung, edge] + 1
        terms = (
            (tree[made], way[made], 1.0),
            (own, first + centers[own, middle], -1.0),
            (hung, edges, 1.0),
        )
        return _block(terms, standing.shares.size)

    def _grown(self, standing: Standing) -> tuple[Places, Places, Places]:
        """Grow trees of colorants for each color, always by the one that breaks the limit most.

        All side by side, since some thousand are grown each time. Returns shape (trees,), the color
        of each that breaks it, and twice shape (trees, CENTERS), its colorants and what each hangs
        on, -1 for none. What doesn't break it more in the end is left off.
        """
        forest = _Forest(self, standing)
        for size in range(CENTERS):
            if not forest.grow(size):
                break
        return forest.kept()


class _Forest:
    """Trees that grow: STARTS of each color, each by the places of its color's colorants."""

    def __init__(self, program: Moments, standing: Standing) -> None:
        (first, last), n = program.parts, len(program.colorants)
        shares, members = standing.shares[:first], program.members
        some = np.flatnonzero((shares > RARE) & (members >= 0).any(axis=1))
        color, members, colors = program.color[some], members[some], len(program.starts)
        stars = np.zeros((colors, n + 1))
        np.add.at(stars, (color[:, None], members), shares[some][:, None])
        stars[:, n] = -1.0  # stands for none
        many = min(AMONG, n)
        # Of each color the colorants that make it most often, and behind them one that none is.
        self.local = np.column_stack(
            [np.argsort(-stars, axis=1, kind="stable")[:, :many], np.full(colors, n)]
        )
        where = np.full((colors, n + 1), many)
        np.put_along_axis(where, self.local, np.arange(many + 1)[None], axis=1)
        starts = min(STARTS, many)
        self.color = np.repeat(np.arange(colors), starts)
        self.trees = np.arange(len(self.color))
        held = np.append(program.held(standing), np.inf)[self.local]
        together = np.zeros((n + 1, n + 1))
        together[:n, :n] = _symmetric(standing.shares[last:])[1:, 1:]
        self.together = together[self.local[:, :, None], self.local[:, None]]
        self.held = held[self.color]
        self.gain = np.take_along_axis(stars, self.local, axis=1)[self.color]
        self.place = np.tile(np.arange(starts), colors)
        self.link = np.zeros(self.gain.shape)
        self.on = np.full(self.gain.shape, -1)
        self.total, self.most = np.zeros(len(self.color)), np.zeros(len(self.color))
        self.best = np.zeros(len(self.color), np.int64)
        self.lives = np.ones(len(self.color), np.bool_)
        self.centers, self.parents = np.full((2, len(self.color), CENTERS), -1)
        self.tree = (color[:, None] * starts + np.arange(starts)).reshape(-1)
        self.share = np.repeat(shares[some], starts)
        self.member = np.repeat(where[color[:, None], members], starts, axis=0)
        self.is_open = np.ones(len(self.tree), np.bool_)

    def grow(self, size: int) -> bool:
        """Add a colorant to each tree that still grows; return whether any did."""
        trees, place = self.trees, self.place
        self.lives &= self.gain[trees, place] >= RARE
        more = self.gain[trees, place] - self.held[trees, place] + self.link[trees, place]
        self.total = np.where(self.lives, self.total + more, self.total)
        self.centers[:, size] = np.where(self.lives, place, -1)
        self.parents[:, size] = np.where(self.lives, self.on[trees, place], -1)
        if size > 0:
            further = self.lives & (self.total > self.most + BROKEN / 1000)
            self.most = np.where(further, self.total, self.most)
            self.best = np.where(further, size + 1, self.best)
        self._close()
        self.gain[trees, place] = -1.0
        together = self.together[self.color, place]
        self.on = np.where(together > self.link, place[:, None], self.on)
        self.link = np.maximum(self.link, together)
        self.place = np.argmax(self.gain - self.held + self.link, axis=1)
        return bool(self.lives.any())

    def _close(self) -> None:
        """Count no way twice: those with the colorants that were added are made by them."""
        tree = self.tree
        hit = (
            self.is_open & self.lives[tree] & (self.member == self.place[tree][:, None]).any(axis=1)
        )
        self.is_open &= ~hit
        at = tree[hit][:, None] * self.gain.shape[1] + self.member[hit]
        share = np.repeat(self.share[hit], self.member.shape[1])
        self.gain -= np.bincount(at.reshape(-1), share, self.gain.size).reshape(self.gain.shape)

    def kept(self) -> tuple[Places, Places, Places]:
        """Return the trees that break their limit most, CUTS_EACH of a color."""
        by_color = self.most.reshape(-1, len(self.color) // max(1, self.color.max(initial=0) + 1))
        order = np.argsort(-by_color, axis=1, kind="stable")[:, :CUTS_EACH]
        trees = (order + np.arange(len(by_color))[:, None] * by_color.shape[1]).reshape(-1)
        trees = trees[self.most[trees] > BROKEN]
        color, is_off = self.color[trees], np.arange(CENTERS) >= self.best[trees][:, None]
        both = [
            np.where(is_off | (at[trees] < 0), -1, self.local[color[:, None], at[trees]])
            for at in (self.centers, self.parents)
        ]
        return color, both[0], both[1]


def _block(terms: Sequence[tuple[Places, Places, float]], wide: int) -> csr_matrix:
    """Write rows by terms: rows, columns, and the factor of all of them."""
    row, column = (np.concatenate([term[at] for term in terms]) for at in (0, 1))
    factors = np.concatenate([np.full(len(row), factor) for row, _, factor in terms])
    block = csr_matrix((factors, (row, column)), (int(row.max(initial=-1)) + 1, int(wide)))
    block.sort_indices()
    return block


def _columns(rows: csr_matrix, row: int) -> bytes:
    """Return which unknowns stand in a row, as something to know it by."""
    columns: bytes = rows.indices[rows.indptr[row] : rows.indptr[row + 1]].tobytes()
    return columns


def _symmetric(values: FloatArray) -> FloatArray:
    size = isqrt(len(values))
    square = values.reshape(size, size)
    return (square + square.T) / 2.0


def _norm(rows: csr_matrix, up: FloatArray, down: FloatArray) -> float:
    """Estimate the square of the norm of the rows as the steps scale them, from below."""
    vector, norm = np.sqrt(down), 1.0
    for _ in range(LOOKS):
        vector = vector / np.linalg.norm(vector)
        vector = np.sqrt(down) * (rows.T @ (up * (rows @ (np.sqrt(down) * vector))))
        norm = float(np.linalg.norm(vector))
    return norm


def _project_colors(
    starts: Places, color: Places, shares: FloatArray, excess: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    """Return the nearest shares of 0 and more that sum to one in each color, and what they lose.

    What all shares of a color lose alike is found by Newton's steps, from what they lost last.
    """
    least = np.maximum.reduceat(shares, starts) - 1.0
    excess = least if excess is None else np.clip(excess, least, least + HIGHEST)
    for _ in range(NEWTON):
        left = shares - excess[color]
        some = left > 0.0
        left = np.maximum(0.0, left)
        off = np.add.reduceat(left, starts) - 1.0
        if np.abs(off).max() < EVEN:
            break
        excess = excess + off / np.add.reduceat(some, starts, dtype=np.float64)
    return left, excess


def _project_held(x: FloatArray, settled: Places, most: int) -> FloatArray:
    """Return the nearest shares of 0 to 1 that sum to `most`, those settled at 1 or 0."""
    held, rest = (settled > 0).astype(np.float64), x[settled == 0]
    breaks = np.sort(np.append(rest - 1.0, rest))
    sums = np.clip(rest - breaks[:, None], 0.0, 1.0).sum(axis=1)
    excess = np.interp(most - held.sum(), sums[::-1], breaks[::-1])
    held[settled == 0] = np.clip(rest - excess, 0.0, 1.0)
    return held


def _project_together(values: FloatArray, basis: FloatArray, most: int) -> FloatArray:
    """Return the nearest positive semidefinite matrix on a basis of this trace, as a row."""
    values, vectors = np.linalg.eigh(basis.T @ _symmetric(values) @ basis)
    excess = (np.cumsum(values[::-1]) - most) / np.arange(1, len(values) + 1)
    values = np.maximum(0.0, values - excess[np.flatnonzero(values[::-1] > excess)[-1]])
    vectors = basis @ vectors[:, values > 0.0]
    return np.asarray(((vectors * values[values > 0.0]) @ vectors.T).reshape(-1))


def _basis(settled: Places) -> FloatArray:
    """Return an orthonormal basis, shape (n + 1, m), of the bordered Y of a part of all kits.

    A colorant that all kits hold is one with the border, and one that none does isn't there. So the
    nearest of them stays the nearest, and no eigenvalue of prices is less than of all kits.
    """
    rest, one = 1 + np.flatnonzero(settled == 0), np.append(0, 1 + np.flatnonzero(settled > 0))
    basis = np.zeros((len(settled) + 1, len(rest) + 1))
    basis[one, 0] = 1.0 / np.sqrt(len(one))
    basis[rest, 1 + np.arange(len(rest))] = 1.0
    return basis
