"""How the error of carried colors falls with the number of anchors: `python benchmarks/carry.py`.

Four pairs of simulated papers, the 59 colored markers of the demo's larger range, one coat each,
CIEDE2000 from the simulated truth, mean of three hands. The rival is the same number of anchors
taken from the palest on. Rewrites ``carry.csv`` beside this file.
"""

import csv
import json
from pathlib import Path

import numpy as np

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.files import read_bytes, read_rows
from laydown.demo.oracle import (
    HAND,
    Dye,
    Effects,
    SimulatedBench,
    Slab,
    set_up,
    swatch,
    truth,
    truths,
)
from laydown.media.kit.carrying import carry_markers, choose_anchors
from laydown.media.marker.design import minimum_design
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Paper, Recipe, Step

COUNTS = (0, 1, 2, 3, 5, 8, 12, 20)
SEEDS = (1, 2, 3)


def main() -> None:
    """Run all pairs and write the table."""
    dyes = inks()
    benches = [set_up(slab, dyes, effects) for slab, effects in papers()]
    rows = []
    for old, new in ((0, 1), (1, 0), (0, 2), (0, 3)):
        fit = fitted(benches[old], dyes)
        for count in COUNTS:
            chosen, palest = (np.mean(run, axis=0) for run in trials(fit, benches[new], count))
            row = [benches[old].paper, benches[new].paper, count]
            rows.append([*row, *(f"{x:.2f}" for x in (*chosen, palest[0]))])
            print(*rows[-1], sep="  ")
    with (Path(__file__).parent / "carry.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["from", "to", "anchors", "mean", "largest", "mean with the palest"])
        writer.writerows(rows)


def inks() -> dict[Colorant, Dye]:
    """Return the dyes of the larger range."""
    rows = [row for row in read_rows("truth_dyes.csv") if row["range"] == "Estuary"]
    dyes = {
        Colorant(row["color"], row["range"]): Dye(
            np.array([float(v) for k, v in row.items() if k[1:].isdecimal()]),
            float(row["solvent"]),
        )
        for row in rows
    }
    return {colorant: dye for colorant, dye in dyes.items() if not dye.colorless}


def papers() -> list[tuple[Slab, Effects]]:
    """Return the demo's two papers, one with the dye as a film, one with it all through."""
    entries = json.loads(read_bytes("truth.json"))["papers"][:2]
    slabs = [
        Slab(e["name"], np.array(e["absorption"]), e["scattering"], e["share"]) for e in entries
    ]
    film = Slab("Film", 2 * slabs[0].absorption, 30.0, 0.0)
    deep = Slab("Deep", slabs[1].absorption, 30.0, 1.0)
    return [
        *((s, Effects(**e["effects"])) for s, e in zip(slabs, entries, strict=True)),
        (film, Effects(0.3, 0.4)),
        (deep, Effects(0.3, 0.4)),
    ]


def one(colorant: Colorant) -> Recipe:
    """Return one coat."""
    return Recipe((Step(colorant),))


def fitted(bench: SimulatedBench, dyes: dict[Colorant, Dye]) -> MarkerFit:
    """Fit the minimum design on the old paper."""
    rng = np.random.default_rng(20)
    depth = [-truth(bench, one(c)).mean() for c in dyes]
    swatches = [swatch(bench, r, HAND, rng) for r in minimum_design(list(dyes), depth)[1:]]
    paper = Paper(bench.paper, truth(bench, Recipe()))
    return fit_markers(swatches, paper, colorants=list(dyes))


def trials(
    fit: MarkerFit, bench: SimulatedBench, count: int
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Return mean and largest error with chosen anchors and with the palest, by hand."""
    paper = Paper(bench.paper, truth(bench, Recipe()))
    seen = lab_from_reflectance(truths(bench, [one(c) for c in fit.colorants]))
    palest = [fit.colorants[i] for i in np.argsort(fit.strength)[:count]]
    both: list[list[tuple[float, float]]] = []
    for anchors in (choose_anchors(fit, count), palest):
        runs = []
        for seed in SEEDS:
            rng = np.random.default_rng(seed)
            made = carry_markers(fit, paper, [swatch(bench, one(c), HAND, rng) for c in anchors])
            off = ciede2000(seen, lab_from_reflectance(made.one_coat))
            runs.append((float(off.mean()), float(off.max())))
        both.append(runs)
    return both[0], both[1]


if __name__ == "__main__":
    main()
