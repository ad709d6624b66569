"""Write the renotation data behind D1535 notations from colour-science.

Run with the development dependencies installed: ``python tools/make_renotation_table.py``.
"""

import csv
import re
import warnings
from pathlib import Path

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # colour-science remarks on import that it can't plot
    from colour import MUNSELL_COLOURS

TABLE = Path(__file__).parent.parent / "src" / "laydown" / "reference" / "renotation.csv"
FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")


def place(chip: tuple[str, float, float]) -> tuple[float, float, float]:
    """Order by value, then round the hue circle, then by chroma."""
    found = re.fullmatch(r"([\d.]+)([A-Z]+)", chip[0])
    if found is None:
        message = f"{chip[0]} is no hue"
        raise ValueError(message)
    return chip[1], 10.0 * FAMILIES.index(found[2]) + float(found[1]), chip[2]


def main() -> None:
    """Write hue, value, chroma and chromaticity under light C; no light has those left out."""
    chips = {
        tuple(chip): (x, y)
        for chip, (x, y, _) in MUNSELL_COLOURS["Munsell Colours All"]
        if x > 0.0 and y > 0.0 and x + y < 1.0
    }
    rows = [
        [chip[0], f"{chip[1]:g}", f"{chip[2]:g}", f"{chips[chip][0]:g}", f"{chips[chip][1]:g}"]
        for chip in sorted(chips, key=place)
    ]
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerows([["hue", "value", "chroma", "x", "y"], *rows])


if __name__ == "__main__":
    main()
