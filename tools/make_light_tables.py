"""Write the tables of lights, the standard observer and the D50 weights from colour-science.

Run with the development dependencies installed: ``python tools/make_light_tables.py``.
"""

import csv
import warnings
from collections.abc import Iterable
from pathlib import Path

import numpy as np

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # colour-science remarks on import that it can't plot
    from colour import MSDS_CMFS, SDS_ILLUMINANTS

REFERENCE = Path(__file__).parent.parent / "src" / "laydown" / "reference"
LIGHTS = ("D50", "D65", "C", "A", "FL2", "FL11", "LED-B1", "LED-B3", "LED-B5", "LED-V1")


def write(name: str, header: Iterable[str], rows: Iterable[Iterable[str]]) -> None:
    """Write one table into the folder of reference tables."""
    with (REFERENCE / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([header, *rows])


def observer() -> None:
    """Write the CIE 1931 observer, 360 to 780 nm by 1 nm."""
    functions = MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    rows = [
        [str(int(nm)), *(f"{v:.12g}" for v in xyz)]
        for nm, xyz in zip(functions.wavelengths, functions.values, strict=True)
        if nm <= 780
    ]
    write("observer_1931", ["wavelength", "x", "y", "z"], rows)


def lights() -> None:
    """Write the lights, 360 to 780 nm by 5 nm; where one is tabled from 380 nm it is 0 below."""
    grid = np.arange(360, 781, 5)
    columns = []
    for name in LIGHTS:
        table = dict(
            zip(
                SDS_ILLUMINANTS[name].wavelengths.astype(int),
                SDS_ILLUMINANTS[name].values,
                strict=True,
            )
        )
        columns.append([f"{table.get(nm, 0.0):.8g}" for nm in grid])
    rows = zip([str(nm) for nm in grid], *columns, strict=True)
    write("lights", ["wavelength", *LIGHTS], rows)


def weights_d50() -> None:
    """Write the weights of D50 for 36 bands, computed by laydown from the two tables above."""
    from laydown.color.light import light, weights  # noqa: PLC0415 reads what was just written

    rows = [
        [str(380 + 10 * i), *(f"{v:.9f}" for v in xyz)]
        for i, xyz in enumerate(weights(light("D50")))
    ]
    write("weights_d50", ["wavelength", "X", "Y", "Z"], rows)


if __name__ == "__main__":
    observer()
    lights()
    weights_d50()
