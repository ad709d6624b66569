"""Thirty simulated seasons: what honest trials, and one false one, do to a kit's own colors.

Run: ``python benchmarks/seasons.py``. Results go to ``benchmarks/results/seasons.csv``. Developed
on seeds 500 to 502, judged on 2051.
"""

import csv
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))
from simulated.people import swatched_range
from simulated.seasons import STAGES, answered_by_themselves, season

RESULTS = Path(__file__).parent / "results" / "seasons.csv"
RANGES = (7, 8)
COLORANTS = 12
SEASONS = 30
SEED = 2051


def main(seasons: int = SEASONS) -> None:
    """Run all and write the table."""
    ranges = [swatched_range(seed, colorants=COLORANTS) for seed in RANGES]
    made = [(ranges[n % 2], season(ranges[n % 2], [SEED, n])) for n in range(seasons)]
    rows = []
    for place, count in enumerate((0, *STAGES)):
        own = np.mean([answered_by_themselves(known, one.answers[place]) for known, one in made])
        off = np.mean([one.errors[place] for _, one in made])
        growth = max(one.errors[place] - one.errors[0] for _, one in made)
        rows += [
            (f"own colors answered by themselves after {count}", f"{own:.3f}", "at least 0.98"),
            (f"mean CIEDE2000 after {count}", f"{off:.3f}", "none"),
            (f"worst growth of a season's after {count}", f"{growth:.3f}", "at most 0.1"),
        ]
    pairs = [p for _, one in made for p in zip(one.answers[0], one.after_slip, strict=True)]
    changed = sum(a.verdict is not b.verdict for a, b in pairs)
    rows.append((f"verdicts of {len(pairs)} changed by one false trial", str(changed), "0"))
    widest = max(one.wider for _, one in made)
    rows.append(("one honest trial widens a prediction at most by", f"{widest:.3f}", "1.02"))
    with RESULTS.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows([("what", "found", "bar"), *rows])
    for row in rows:
        print(*row, sep=" | ")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
