"""What the exact search is measured against: three other ways to the same question."""

from concurrent.futures import ThreadPoolExecutor
from math import atan2, cos, exp, hypot, sin, sqrt
from time import perf_counter

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_xyz
from laydown.color.tristimulus import WHITE_D50
from laydown.match.search.exact import Worker
from laydown.match.search.loops import BANDS, put_on
from laydown.match.search.prepared import Prepared
from laydown.match.search.tables import make_table
from laydown.match.search.wide import color_row, lay_row
from laydown.media.marker.absorption import inverse

Single = NDArray[np.float32]
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
def score_row(  # noqa: PLR0917  a compiled loop, called in one place
    xyz, number, place, last, wide_kit, coats, target, k_l, costs, numbers
):
    """Score every recipe of a row and keep the best."""
    top, coat = len(costs), 1
    for lane in range(wide_kit.ends[coats]):
        if lane == wide_kit.ends[coat]:
            coat += 1
        c = wide_kit.places[lane]
        if c == last or c < 0:
            continue
        f_x = max(xyz[0, lane], F(1e-9)) ** F(1.0 / 3.0)
        f_y = max(xyz[1, lane], F(1e-9)) ** F(1.0 / 3.0)
        f_z = max(xyz[2, lane], F(1e-9)) ** F(1.0 / 3.0)
        cost = difference_32(
            target, F(116.0) * f_y - F(16.0), F(500.0) * (f_x - f_y), F(200.0) * (f_y - f_z), k_l
        )
        if cost < costs[top - 1]:
            at = top - 1
            while at > 0 and costs[at - 1] > cost:
                costs[at], numbers[at] = costs[at - 1], numbers[at - 1]
                at -= 1
            costs[at], numbers[at] = cost, number + place * (c * coats + coat)


@njit(nogil=True, fastmath=FAST, cache=True, error_model="numpy")
def brute_32(  # noqa: PLR0917  a compiled loop, called in one place
    first, last, coats, room, wide_kit, kit, target, k_l, costs, numbers
):
    """Score all recipes of two and three steps whose bottom choice is in a range.

    The piles of the first two steps are laid once and shared by all third steps.
    """
    n, piles = len(kit.strength), room.piles
    base = n * coats + 1.0
    for one in range(first, last):
        put_on(piles[1], piles[0], one // coats, one % coats + 1, kit)
        for two in range(-1, n * coats):
            if two >= 0 and two // coats == one // coats:
                continue
            pile, number, place, top = piles[1], one + 1.0, base, one // coats
            if two >= 0:
                put_on(piles[2], piles[1], two // coats, two % coats + 1, kit)
                pile, number, place = piles[2], number + base * (two + 1), base * base
                top = two // coats
            room.below[:] = pile[:BANDS]
            lanes = wide_kit.ends[coats]
            lay_row(coats, pile, room.state, room.wide, wide_kit)
            color_row(lanes, room.below, room.wide, room.xyz, wide_kit)
            score_row(room.xyz, number, place, top, wide_kit, coats, target, k_l, costs, numbers)


def brute_in_single_precision(
    prepared: Prepared, lab: NDArray[np.float64], k_l: float, top: int = 10
) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """Run (b): brute force in float32 on two threads, two- and three-step recipes."""
    choices = len(prepared.kit.colorants) * prepared.kit.limits.coats
    target = np.array([*lab, hypot(lab[1], lab[2])], dtype=np.float32)

    def half(first: int, last: int) -> tuple[Single, NDArray[np.float64]]:
        worker = Worker(prepared, lab[None], top, 0.0)
        costs, numbers = np.full(top, np.inf, dtype=np.float32), np.zeros(top)
        parts = worker.room, prepared.wide, prepared.kit.numbers, target, F(k_l), costs, numbers
        brute_32(first, last, prepared.kit.limits.coats, *parts)
        return costs, numbers

    with ThreadPoolExecutor(2) as pool:
        both = list(pool.map(half, (0, choices // 2), (choices // 2, choices)))
    costs = np.concatenate([c for c, _ in both])
    numbers = np.concatenate([n for _, n in both])
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


def all_labs(prepared: Prepared, numbers: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the Lab of recipes by their numbers, in parts that fit into memory."""
    parts = np.array_split(numbers, max(1, len(numbers) // 100_000))
    return np.concatenate([prepared.kit.lab(part) for part in parts])


def plain_numpy(prepared: Prepared, lab: NDArray[np.float64], rows: int = 300_000) -> float:
    """Return how many million recipes a second (a) scores: whole arrays, no loop of ours."""
    kit, rng = prepared.kit.numbers, np.random.default_rng(0)
    a, b, c = (kit.absorption[rng.integers(0, len(kit.strength), rows)] for _ in range(3))
    start = perf_counter()
    reflected = inverse(kit.paper + a + kit.later_coat * (b + c), scale=prepared.kit.scale)
    labs = lab_from_xyz(reflected @ kit.weights.T * WHITE_D50)
    np.partition(ciede2000(lab, labs, k_L=0.5), 10)
    return rows / (perf_counter() - start) / 1e6


def tree_misses(
    prepared: Prepared, labs: NDArray[np.float64], taken: int, top: int = 10
) -> tuple[int, int]:
    """Return how often (c) misses the best recipe and how often one of the ten best."""
    numbers = make_table(prepared).numbers.astype(np.float64)
    made = all_labs(prepared, numbers)
    tree = cKDTree(made)
    best = ten = 0
    for lab in labs:
        near = np.atleast_1d(tree.query(lab, k=taken)[1])
        got = np.sort(ciede2000(lab, made[near], k_L=0.5))[:top]
        true = np.partition(ciede2000(lab, made, k_L=0.5), top)[:top]
        best += int(got[0] > true.min() + 1e-9)
        ten += int(got[-1] > true.max() + 1e-9)
    return best, ten
