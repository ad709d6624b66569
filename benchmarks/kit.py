"""Choosing a kit: our search beside the plain program by HiGHS, on ten committed instances.

Run it as ``python benchmarks/kit.py [--seconds S] [NAME…]``; results go to standard output as CSV
and are committed as ``benchmarks/kit_results.csv``. An instance is made anew from its row in
``benchmarks/kit_instances.csv`` and held to the hash that stands there. Ours is given S seconds of
processor time, since other work may share the machine; the plain program S seconds of the clock.
"""

import argparse
import csv
import hashlib
import sys
import time
from pathlib import Path
from typing import Any

import highspy
import numpy as np

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.color.spectra import WAVELENGTHS
from laydown.plan.kit.branch import SHORT_WALK, solved
from laydown.plan.kit.problem import Aim, KitProblem, Offer, Ways, reduced
from laydown.plan.kit.swaps import swapped

HERE = Path(__file__).parent
PAPER = 0.02
LATER = 0.8
MISSED = 12.0


def dyes(rng: np.random.Generator, count: int) -> np.ndarray:
    """Invent dyes of one to three broad bands, K/S of one coat, shape (count, 36)."""
    made = []
    for _ in range(count):
        depth = 2.0 * np.exp(rng.normal(-0.6, 0.9))
        bands = np.zeros(36)
        for _ in range(rng.integers(1, 4)):
            middle, breadth = rng.uniform(400, 680), rng.uniform(30, 70)
            bands += rng.uniform(0.2, 1) * np.exp(-(((WAVELENGTHS - middle) / breadth) ** 2))
        bands += rng.uniform(0, 0.15)
        made.append(depth * bands / bands.max())
    return np.array(made)


def seen(absorption: np.ndarray) -> np.ndarray:
    """Return the Lab of piles of dye in the fibre."""
    k = absorption + PAPER
    return np.asarray(lab_from_reflectance(1 + k - np.sqrt(k * k + 2 * k)))


def recipes(kit: np.ndarray, coats: int, steps: int) -> tuple[np.ndarray, np.ndarray]:
    """Lay every recipe of so many steps and coats; return members (m, 2) and Lab (m, 3)."""
    n = len(kit)
    members, piles = [], []
    for c in range(1, coats + 1):
        members.append(np.column_stack([np.arange(n), np.full(n, -1)]))
        piles.append((1 + LATER * (c - 1)) * kit)
    below, above = np.nonzero(~np.eye(n, dtype=bool))
    for c in range(1, coats + 1) if steps > 1 else ():
        for d in range(1, coats + 1):
            members.append(np.column_stack([below, above]))
            piles.append((1 + LATER * (c - 1)) * kit[below] + LATER * d * kit[above])
    return np.concatenate(members), seen(np.concatenate(piles))


def instance(row: dict[str, str]) -> tuple[KitProblem, str]:
    """Make an instance and the hash of its ways."""
    rng = np.random.default_rng(int(row["seed"]))
    n, m, steps = int(row["colorants"]), int(row["colors"]), int(row["steps"])
    kit, teacher = dyes(rng, n), dyes(rng, 60)
    members, lab = recipes(kit, int(row["coats"]), steps)
    piles = [teacher[rng.choice(60, rng.integers(1, 3), replace=False)].sum(0) for _ in range(m)]
    wanted = seen(np.array(piles))
    aim = Aim(row["aim"])
    reach = float(row["tolerance"])
    target, rows, costs = [], [], []
    for t in range(m):
        near = np.flatnonzero(np.sum((lab - wanted[t]) ** 2, axis=1) < (5 * reach) ** 2)
        off = ciede2000(wanted[t], lab[near])
        inside = off <= reach
        target.append(np.full(inside.sum(), t))
        rows.append(members[near[inside]])
        costs.append(np.round(off[inside], 6))
    ways = Ways(np.concatenate(target), np.concatenate(rows), np.concatenate(costs))
    offers = tuple(Offer(f"dye {i}", (i,)) for i in range(n))
    most = int(row["most"]) if row["most"] else None
    made = KitProblem(n, m, ways, offers, aim, most=most, missed=MISSED)
    digest = hashlib.sha256(ways.target.tobytes() + ways.members.tobytes()).hexdigest()[:16]
    return made, digest


def plain(problem: KitProblem, seconds: float) -> tuple[float, float]:
    """Solve the plain program: a column a way, no larger than any colorant it needs."""
    h = highspy.Highs()
    for name, value in (("output_flag", False), ("threads", 1), ("time_limit", seconds)):
        h.setOptionValue(name, value)
    n, ways = problem.colorants, problem.ways
    best = problem.aim is Aim.BEST
    heavy = problem.missed if best else float(n + 1)
    lp = highspy.HighsLp()
    costs = [np.full(n, 0.0 if best else 1.0), np.full(problem.targets, heavy)]
    costs.append(ways.cost if best else np.zeros(len(ways)))
    lp.num_col_ = n + problem.targets + len(ways)
    lp.col_cost_, lp.col_lower_ = np.concatenate(costs), np.zeros(lp.num_col_)
    lp.col_upper_ = np.ones(lp.num_col_)
    starts, places, factors, least, most = [0], [], [], [], []

    def row(p: list[int], f: list[float], low: float, high: float) -> None:
        places.extend(p)
        factors.extend(f)
        starts.append(len(places))
        least.append(low)
        most.append(high)

    by_target: dict[int, list[int]] = {}
    for w, t in enumerate(ways.target.tolist()):
        by_target.setdefault(t, []).append(n + problem.targets + w)
        for i in {i for i in ways.members[w].tolist() if i >= 0}:
            row([n + problem.targets + w, i], [1.0, -1.0], -highspy.kHighsInf, 0.0)
    for t in range(problem.targets):
        columns = [n + t, *by_target.get(t, [])]
        row(columns, [1.0] * len(columns), 1.0, 1.0)
    if problem.most is not None:
        row(list(range(n)), [1.0] * n, 0.0, float(problem.most))
    lp.num_row_ = len(least)
    lp.row_lower_, lp.row_upper_ = np.array(least), np.array(most)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_ = np.array(starts), np.array(places)
    lp.a_matrix_.value_ = np.array(factors)
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger] * n + [kinds.kContinuous] * (lp.num_col_ - n)
    h.passModel(lp)
    h.run()
    info: Any = h.getInfo()
    unmade = 0 if best else problem.targets - len(by_target)
    return info.objective_function_value - heavy * unmade, info.mip_dual_bound - heavy * unmade


def report(row: dict[str, str], seconds: float, also_plain: bool) -> None:
    """Solve one instance both ways and write a line."""
    problem, digest = instance(row)
    if row["hash"] and row["hash"] != digest:
        raise SystemExit(f"{row['name']} is not the instance it was: {digest}")
    begin, used = time.perf_counter(), time.process_time()
    small = reduced(problem)
    start = swapped(small, turns=SHORT_WALK)
    walked = time.perf_counter() - begin
    choice, bound, proven = solved(small, seconds=seconds, clock=time.process_time)
    took, busy = time.perf_counter() - begin, time.process_time() - used
    cells: list[object] = [
        *(row[k] for k in ("name", "aim", "colors", "colorants", "most")),
        *(len(problem.ways), len(small.ways), choice.missed),
        *(f"{start.value:.3f}", f"{walked:.1f}", f"{choice.value:.3f}"),
        *(
            f"{bound:.3f}",
            f"{100 * (1 - bound / choice.value) if choice.value and not proven else 0:.1f}",
            proven,
            f"{took:.1f}",
            f"{busy:.1f}",
        ),
    ]
    if also_plain:
        begin = time.perf_counter()
        value, bound = plain(problem, seconds)
        gap = 100 * (value - bound) / value if np.isfinite(value) and value > 0 else np.inf
        cells += [f"{value:.3f}", f"{bound:.3f}", f"{gap:.1f}"]
        cells += [f"{time.perf_counter() - begin:.1f}"]
    csv.writer(sys.stdout).writerow([*cells, digest])
    sys.stdout.flush()


HEADER = (
    *("name", "aim", "colors", "colorants", "most", "ways", "ways left", "missed"),
    *("walk", "walk s", "value", "bound", "gap %", "proven", "s", "cpu s"),
    *("plain value", "plain bound", "plain gap %", "plain s", "hash"),
)


def main() -> None:
    """Run the benchmark."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("names", nargs="*")
    ask.add_argument("--seconds", type=float, default=600.0)
    ask.add_argument("--no-plain", action="store_true")
    told = ask.parse_args()
    with (HERE / "kit_instances.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    csv.writer(sys.stdout).writerow(HEADER)
    for row in rows:
        if not told.names or row["name"] in told.names:
            report(row, told.seconds, not told.no_plain)


if __name__ == "__main__":
    main()
