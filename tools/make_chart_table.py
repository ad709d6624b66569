"""Write reference/chart_24.csv: the spectra of the 24-patch reference chart, as measured.

Run: python tools/make_chart_table.py (needs the package colour-science)
"""

from pathlib import Path
from typing import Any

import colour
import numpy as np

TABLE = Path(__file__).parent.parent / "src" / "laydown" / "reference" / "chart_24.csv"
BANDS = range(380, 740, 10)


def tuple_of(name: str) -> tuple[Any, ...]:
    """Return a set's spectra."""
    return tuple(colour.SDS_COLOURCHECKERS[name].values())


def spans_bands(spectrum: Any) -> bool:
    """Whether a spectrum was measured at our own bands: that set is the mean of many charts."""
    shape = spectrum.shape
    return bool((shape.start, shape.end, shape.interval) == (380, 730, 10))


def lines() -> list[str]:
    """Return one line per patch, row by row: its number and 36 reflectances."""
    patches = next(s for s in map(tuple_of, colour.SDS_COLOURCHECKERS) if spans_bands(s[0]))
    table = ["patch," + ",".join(f"r{band}" for band in BANDS)]
    for number, spectrum in enumerate(patches, start=1):
        values = [float(np.asarray(spectrum[band])) for band in BANDS]
        table.append(f"{number}," + ",".join(f"{value:.4g}" for value in values))
    return table


def main() -> None:
    """Write the table."""
    TABLE.write_text("\n".join(lines()) + "\n", encoding="utf-8", newline="\n")
    print(f"{TABLE.name}: {len(lines()) - 1} patches")


if __name__ == "__main__":
    main()
