"""Make the demo's classes of lightfastness: invented, like the markers they are stated of.

``python tools/make_demo_lightfastness.py`` rewrites ``lightfastness.csv`` in the demo's data; the
same seed gives the same bytes. `demo_wools.csv` says about which blue wool each family fades with;
chance moves a marker up or down by one. Of one marker the invented maker says nothing.
"""

import csv
import io
from pathlib import Path

import numpy as np

SEED = 50221
HERE = Path(__file__).parent
FILE = HERE.parent / "src" / "laydown" / "demo" / "data" / "lightfastness.csv"
UNSTATED = ("Orchard", "Dovecote")
STEPS, CHANCES = (-1, 0, 1), (0.2, 0.6, 0.2)
SOURCE = "invented for the demo"


def make() -> str:
    """Return the file's text."""
    wools = {row["family"]: int(row["wool"]) for row in _rows("demo_wools.csv")}
    rng = np.random.default_rng(SEED)
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["range", "color", "class", "source"])
    for row in _rows("demo_colorants.csv"):
        moved = int(rng.choice(STEPS, p=CHANCES))
        if row["family"] in wools and (row["range"], row["color"]) != UNSTATED:
            wool = max(1, wools[row["family"]] + moved)
            writer.writerow([row["range"], row["color"], wool, SOURCE])
    return out.getvalue()


def _rows(name: str) -> list[dict[str, str]]:
    text = (HERE / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


if __name__ == "__main__":
    FILE.write_text(make(), encoding="utf-8")
    print(f"Written: {FILE.name}")
