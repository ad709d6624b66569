"""Fifty simulated people and two hundred mishaps: what the notebook learns and how it explains.

Run: ``python benchmarks/learning.py``. Results go to ``benchmarks/results/learning.csv``.
"""

import csv
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from laydown.match.diagnosis import explain

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))
from simulated.learning_bench import (
    PersonScored,
    excess_against_amount_only,
    fall,
    flagged_shares,
    inside,
    log_scores,
    mean_off,
    score_person,
    suggested_against_random,
)
from simulated.mishaps import KINDS, mishap, place
from simulated.people import SwatchedRange, swatched_range

RESULTS = Path(__file__).parent / "results" / "learning.csv"
RANGES = (7, 8)
PEOPLE = 50
COLORANTS = 12
MISHAPS = 200
Row = tuple[str, str, str]


def main(people: int = PEOPLE) -> None:
    """Run all and write the table."""
    began = time.process_time()
    ranges = [swatched_range(seed, colorants=COLORANTS) for seed in RANGES]
    scored = []
    for number in range(people):
        scored.append(score_person(ranges[number % len(ranges)], [2036, number]))
        print(f"person {number + 1} of {people}", file=sys.stderr)
    rows = [*_people(scored), *_suggestions(ranges, people), *_mishaps(ranges[0])]
    rows.append(("seconds of processor time", f"{time.process_time() - began:.0f}", "none"))
    with RESULTS.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows([("what", "found", "bar"), *rows])
    for row in rows:
        print(*row, sep=" | ")


def _people(scored: list[PersonScored]) -> Iterator[Row]:
    yield "people", str(len(scored)), "50"
    for way in ("before", "10", "30", "30, amount only", "floor"):
        yield f"mean CIEDE2000: {way}", f"{mean_off(scored, way):.2f}", "none"
    yield "excess over the floor falls after 10", f"{fall(scored, '10'):.3f}", "at least 0.70"
    yield "excess over the floor falls after 30", f"{fall(scored, '30'):.3f}", "at least 0.80"
    share = excess_against_amount_only(scored)
    yield "excess at 30 against amount only", f"{share:.3f}", "at most 0.667"
    bars = {50: "45 to 55", 80: "75 to 85", 95: "92 to 98"}
    for way in ("10", "30"):
        for region, held in inside(scored, way).items():
            yield f"{region} % regions hold, after {way}", f"{held:.1f}", bars[region]
        own, constant = log_scores(scored, way)
        yield f"mean log score, after {way}", f"{own:.2f}", "above the next"
        yield f"the same with a constant covariance, after {way}", f"{constant:.2f}", "none"
    count, found, false = flagged_shares(scored)
    yield f"slips over three standard errors ({count}) flagged", f"{found:.3f}", "at least 0.90"
    yield "false flags", f"{false:.4f}", "at most 0.03"


def _suggestions(ranges: list[SwatchedRange], people: int) -> Iterator[Row]:
    pairs = np.array([
        suggested_against_random(ranges[n % len(ranges)], [4077, n]) for n in range(people)
    ])  # fmt: skip
    suggested, random = pairs.mean(axis=0)
    yield "lesson's CIEDE2000 after 6 suggested trials", f"{suggested:.2f}", "below the next"
    yield "the same after 6 random ones of the same kind", f"{random:.2f}", "none"
    better = float(np.mean(pairs[:, 0] < pairs[:, 1]))
    yield "share of people whom the suggested served better", f"{better:.2f}", "none"


def _mishaps(known: SwatchedRange) -> Iterator[Row]:
    where = place(known)
    first = in_tie = ties = 0
    for number in range(MISHAPS):
        rng = np.random.default_rng([5, number])
        one = mishap(where, KINDS[number % len(KINDS)], rng)
        found = explain(known.fit, one.recipe, one.lab, wanted=one.wanted, papers=where.papers)
        tied = [cause.kind for cause in found.causes[: found.tied]]
        first += tied[0] is one.kind
        in_tie += one.kind in tied
        ties += found.tied
    yield "mishaps: cause first or in the stated tie", f"{in_tie / MISHAPS:.3f}", "at least 0.85"
    yield "mishaps: cause first", f"{first / MISHAPS:.3f}", "none"
    yield "mishaps: causes in a tie, on average", f"{ties / MISHAPS:.2f}", "none"


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
