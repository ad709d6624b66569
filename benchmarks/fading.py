"""How often a window test's range holds the true dose: `python benchmarks/fading.py`.

Simulated tests by hand as in the tests, of one to six readings, on seeds that nothing was tried on.
Rewrites ``fading.csv`` beside this file.
"""

import csv
import runpy
from pathlib import Path

HERE = Path(__file__).parent
SEEDS, TESTS = (201, 202), 60


def main() -> None:
    """Run all and write the table."""
    tests = HERE.parent / "tests" / "media" / "test_window_test.py"
    held_of = runpy.run_path(str(tests))["held_of"]
    rows = []
    for readings in range(1, 7):
        held = [held_of(seed, readings, TESTS).mean() for seed in SEEDS]
        rows.append([str(readings), f"{sum(held) / len(held):.2f}"])
        print(*rows[-1], sep="  ", flush=True)
    with (HERE / "fading.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["readings", "held of 80 %"])
        writer.writerows(rows)


if __name__ == "__main__":
    main()
