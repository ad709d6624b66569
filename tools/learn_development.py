"""Learn from half of the real photographs of charts what developments are usual.

Run: python tools/learn_development.py. It fits all 24 patches of the odd-numbered photographs in
tests/published/photographed_charts.csv, and writes the means in ``reference/development.csv``, the
deviations of which are chosen, and ``reference/development_alike.csv``: which parts of one go
together, so that grays, which show a curve alone, tell of colors too.
"""

import csv
from pathlib import Path

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.imaging.chart import chart_xyz
from laydown.imaging.development import (
    ALIKE,
    GAINS,
    TOGETHER,
    fit_development,
    usual_development,
)
from laydown.imaging.profiles import usual_profile
from laydown.reference.tables import load_table, numbers_of

ROOT = Path(__file__).parent.parent
TABLE = ROOT / "tests" / "published" / "photographed_charts.csv"
REFERENCE = ROOT / "src" / "laydown" / "reference"
WHITE = 18
WIDE = np.array([[0.5151, 0.2412, -0.0011], [0.2920, 0.6922, 0.0419], [0.1571, 0.0666, 0.7841]])
"""XYZ of the primaries of Display P3 under D50, as its profile carries them (from memory)."""
ON_LUMINANCE = 0.45
HALFWAY, TRUSTED = 0.5, 0.6
"""How far means and correlations of twenty photographs are trusted (chosen, by the other half)."""


def photographed() -> list[tuple[FloatArray, FloatArray]]:
    """Return the odd photographs' patches relative to the white one, and their primaries."""
    with TABLE.open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if int(row["photograph"]) % 2]
    every = [
        np.array([[float(row[f"{c}{i}"]) for c in "rgb"] for i in range(1, 25)]) for row in rows
    ]
    usual = usual_profile().matrix
    return [
        (signal / signal[WHITE], 100 * WIDE if row["primaries"] == "Display P3" else usual)
        for row, signal in zip(rows, every, strict=True)
    ]


def learned(mean: FloatArray) -> FloatArray:
    """Return the parameters of each photograph, shape (n, 23), where such a mean is expected."""
    variances = np.diag(np.diag(usual_development()[1]))
    return np.array(
        [
            fit_development(
                signal,
                chart_xyz(),
                noise=np.full(24, NOISE),
                white=np.linalg.solve(primaries.T, chart_xyz()[WHITE]),
                primaries=primaries,
                prior=(mean, variances),
            )[: GAINS.start]
            for signal, primaries in photographed()
        ]
    )


NOISE = 1.0
"""Of a chart's patches and their place in the light [CIELAB units per axis]."""


def main() -> None:
    """Write both tables: first what the curve's mean is, then what goes with it."""
    mean = np.zeros_like(usual_development()[0])
    mean[ALIKE] = HALFWAY * learned(mean)[:, ALIKE].mean(axis=0)
    mean[TOGETHER] = ON_LUMINANCE
    every = learned(mean)
    means = mean[: GAINS.start] + HALFWAY * (every.mean(axis=0) - mean[: GAINS.start])
    alike = TRUSTED * np.corrcoef(every.T) + (1 - TRUSTED) * np.eye(GAINS.start)
    table = load_table("development")
    with (REFERENCE / "development.csv").open("w", encoding="utf-8", newline="") as stream:
        print("parameter,mean,deviation", file=stream)
        words, deviations = table["parameter"], numbers_of(table, "deviation").ravel()
        for name, own, deviation in zip(words, means, deviations, strict=True):
            print(f"{name},{own:.3f},{deviation:g}", file=stream)
    with (REFERENCE / "development_alike.csv").open("w", encoding="utf-8", newline="") as stream:
        print(",".join(f"p{place}" for place in range(1, GAINS.start + 1)), file=stream)
        for row in alike:
            print(",".join(f"{share:.3f}" for share in row), file=stream)


if __name__ == "__main__":
    main()
