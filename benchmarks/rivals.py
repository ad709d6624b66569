"""What the exact search is measured against: three other ways to the same question."""

from collections.abc import Iterator
from math import atan2, cos, exp, hypot, sin, sqrt
from time import perf_counter

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.match.search.coloring import BANDS, ColoredPart, coloring_of
from laydown.match.search.nearness import EVERYTHING
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.search import pass_over
from laydown.match.search.tables import make_table
from laydown.media.marker.pile import inverse

Single = NDArray[np.float32]
Ints = NDArray[np.int64]
FAST = {"reassoc", "contract", "nsz", "arcp"}
F = np.float32
PI, TURN = F(np.pi), F(2 * np.pi)


@njit(nogil=True, fastmath=FAST, cache=True, error_model="numpy")
def difference_32(target: Single, light: F, a: F, b: F, k_l: F) -> F:
    """Return CIEDE2000 in single precision, written out for speed."""
    c_mean = F(0.5) * (target[3] + sqrt(a * a + b * b))
    power = c_mean * c_mean * c_mean
    power = power * power * c_mean
    stretch = F(1.5) - F(0.5) * sqrt(power / (power + F(6103515625.0)))
    a_1, a_2 = stretch * target[1], stretch * a
    c_1, c_2 = sqrt(a_1 * a_1 + target[2] * target[2]), sqrt(a_2 * a_2 + b * b)
    h_1, h_2 = atan2(target[2], a_1), atan2(b, a_2)
    turn = h_2 - h_1
    if turn > PI:
        turn -= TURN
    elif turn < -PI:
        turn += TURN
    mean = h_1 + F(0.5) * turn
    c_mean = F(0.5) * (c_1 + c_2)
    weight = (
        F(1.0)
        - F(0.17) * cos(mean - F(0.5235988))
        + F(0.24) * cos(F(2.0) * mean)
        + F(0.32) * cos(F(3.0) * mean + F(0.10471976))
        - F(0.20) * cos(F(4.0) * mean - F(1.0995574))
    )
    middle = F(0.5) * (target[0] + light) - F(50.0)
    s_l = F(1.0) + F(0.015) * middle * middle / sqrt(F(20.0) + middle * middle)
    d_l = (light - target[0]) / (k_l * s_l)
    d_c = (c_2 - c_1) / (F(1.0) + F(0.045) * c_mean)
    d_h = F(2.0) * sqrt(c_1 * c_2) * sin(F(0.5) * turn) / (F(1.0) + F(0.015) * c_mean * weight)
    degrees = mean * F(57.29578)
    if degrees < F(0.0):
        degrees += F(360.0)
    angle = (degrees - F(275.0)) / F(25.0)
    power = c_mean * c_mean * c_mean
    power = power * power * c_mean
    rotation = F(-2.0) * sqrt(power / (power + F(6103515625.0)))
    rotation *= sin(F(1.0471976) * exp(-angle * angle))
    return sqrt(max(F(0.0), d_l * d_l + d_c * d_c + d_h * d_h + rotation * d_c * d_h))


@njit(nogil=True, fastmath=FAST, cache=True, error_model="numpy")
def score(  # noqa: PLR0917  a compiled loop, called in one place
    xyz: Single, recipes: Ints, target: Single, k_l: F, costs: Single, numbers: Ints
) -> None:
    """Score every recipe of a part and keep the best."""
    top = len(costs)
    for i in range(len(recipes)):
        f_x = max(xyz[0, i], F(1e-9)) ** F(1.0 / 3.0)
        f_y = max(xyz[1, i], F(1e-9)) ** F(1.0 / 3.0)
        f_z = max(xyz[2, i], F(1e-9)) ** F(1.0 / 3.0)
        cost = difference_32(
            target, F(116.0) * f_y - F(16.0), F(500.0) * (f_x - f_y), F(200.0) * (f_y - f_z), k_l
        )
        if cost < costs[top - 1]:
            at = top - 1
            while at > 0 and costs[at - 1] > cost:
                costs[at], numbers[at] = costs[at - 1], numbers[at - 1]
                at -= 1
            costs[at], numbers[at] = cost, recipes[i]


def brute_in_single_precision(
    space: RecipeSpace, lab: NDArray[np.float64], k_l: float, top: int = 10
) -> tuple[Single, Ints]:
    """Run (b): brute force in float32 on two threads; piles are laid once and shared."""
    target = np.array([*lab, hypot(lab[1], lab[2])], dtype=np.float32)

    def look(parts: Iterator[ColoredPart]) -> tuple[Single, Ints]:
        costs, numbers = np.full(top, np.inf, dtype=np.float32), np.zeros(top, dtype=np.int64)
        for part in parts:
            score(part.xyz, part.numbers, target, F(k_l), costs, numbers)
        return costs, numbers

    batches = list(
        pass_over(coloring_of(space), look, lambda _: EVERYTHING[None], watch=None, threads=2)
    )
    best = [share for batch in batches for share in batch]
    costs = np.concatenate([c for c, _ in best])
    numbers = np.concatenate([n for _, n in best])
    order = np.argsort(costs)[:top]
    return costs[order], numbers[order]


def plain_products(rows: int = 400_000) -> float:
    """Return how many million reflectances a second plain BLAS turns into XYZ."""
    spectra = np.random.default_rng(0).random((rows, BANDS)).astype(np.float32)
    weights = np.ones((BANDS, 3), dtype=np.float32)
    start = perf_counter()
    for _ in range(5):
        spectra @ weights
    return 5 * rows / (perf_counter() - start) / 1e6


def plain_numpy(space: RecipeSpace, lab: NDArray[np.float64], rows: int = 300_000) -> float:
    """Return how many million recipes a second (a) scores: whole arrays, no loop of ours."""
    fit, rng = space.ground.fit.markers, np.random.default_rng(0)
    a, b, c = (fit.absorption[rng.integers(0, len(fit.absorption), rows)] for _ in range(3))
    start = perf_counter()
    reflected = inverse(fit.paper_absorption + a + fit.later_coat * (b + c), scale=fit.scale)
    labs = lab_from_reflectance(fit.ceiling * reflected)
    np.partition(ciede2000(lab, labs, k_L=0.5), 10)
    return rows / (perf_counter() - start) / 1e6


def tree_misses(
    space: RecipeSpace, labs: NDArray[np.float64], taken: int, top: int = 10
) -> tuple[int, int]:
    """Return how often (c) misses the best recipe and how often one of the ten best."""
    numbers = make_table(space).numbers.astype(np.int64)
    parts = np.array_split(numbers, max(1, len(numbers) // 100_000))
    made = np.concatenate([space.lab(part) for part in parts])
    tree = cKDTree(made)
    best = ten = 0
    for lab in labs:
        near = np.atleast_1d(tree.query(lab, k=taken)[1])
        got = np.sort(ciede2000(lab, made[near], k_L=0.5))[:top]
        true = np.partition(ciede2000(lab, made, k_L=0.5), top)[:top]
        best += int(got[0] > true.min() + 1e-9)
        ten += int(got[-1] > true.max() + 1e-9)
    return best, ten
