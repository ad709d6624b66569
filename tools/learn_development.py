"""Print what half of the real photographs of charts teach of development.

Run: python tools/learn_development.py. It fits all 24 patches of the odd-numbered photographs in
tests/published/photographed_charts.csv with the present prior, about no curve at all, and prints
mean and standard deviation of the curve alike in all channels, for ``reference/development.csv``.
The table takes half of the mean (as good on those photographs, and less harm to pictures that are
hardly developed) and one and a half times the deviation, for these photographs are few. Its other
deviations are chosen; `docs/decisions/sheets.md` says by what.
"""

import csv
from pathlib import Path

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.imaging.camera import signal_of
from laydown.imaging.chart import chart_xyz
from laydown.imaging.development import (
    ALIKE,
    DevelopmentPrior,
    fit_development,
    usual_development,
)
from laydown.imaging.profiles import usual_profile

TABLE = Path(__file__).parent.parent / "tests" / "published" / "photographed_charts.csv"
WHITE = 18


def signals() -> list[FloatArray]:
    """Return the odd photographs' patches relative to the white one."""
    with TABLE.open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if int(row["photograph"]) % 2]
    every = [
        np.array([[float(row[f"{c}{i}"]) for c in "rgb"] for i in range(1, 25)]) for row in rows
    ]
    return [signal / signal[WHITE] for signal in every]


def main() -> None:
    """Fit each photograph and print what they have in common."""
    usual, profile = usual_development(), usual_profile()
    prior = DevelopmentPrior(np.zeros_like(usual.mean), usual.covariance)
    curves = np.array(
        [
            fit_development(
                signal,
                chart_xyz(),
                noise=np.zeros(24),
                white=signal_of(profile, chart_xyz()[WHITE]),
                primaries=profile.matrix,
                prior=prior,
            ).parameters[ALIKE]
            for signal in signals()
        ]
    )
    for shape, (mean, deviation) in enumerate(
        zip(curves.mean(axis=0), curves.std(axis=0), strict=True), start=1
    ):
        print(f"curve {shape}: mean {mean:.3f}, deviation {deviation:.3f}")


if __name__ == "__main__":
    main()
