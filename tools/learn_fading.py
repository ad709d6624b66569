"""Print how steep measured fading curves are, for the exponents in ``reference/fading.csv``.

The curves are those of the package microfading (GPL-3), read in place and never copied: color
difference against dose for blue wools 1 to 3 and dyed papers. It is not a dependency: install it
with ``python tools/prepare_tests.py``.
"""

import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

SPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
SHEET = "CIELAB"
ENOUGH = 0.8
"""Curves that stay below this (CIEDE2000) show more noise than fading."""


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A measured curve: its file's name, dose [Mlx·h] and difference (CIEDE2000) from the start."""

    name: str
    dose: NDArray[np.float64]
    difference: NDArray[np.float64]


def data_folder() -> Path | None:
    """Return where the package keeps its curves; None where it isn't installed."""
    spec = find_spec("microfading")
    if spec is None or spec.origin is None:
        return None
    return Path(spec.origin).parent / "datasets"


def curves(folder: Path) -> tuple[Curve, ...]:
    """Read all curves of the package, by name."""
    return tuple(_curve(path) for path in sorted(folder.glob("*.xlsx")))


def _curve(path: Path) -> Curve:
    header, *rows = _rows(path)
    columns = {name: column for column, name in header.items()}
    numbers = [row for row in rows if _is_number(row.get("A", ""))]

    def column(name: str) -> NDArray[np.float64]:
        return np.array([float(row[columns[name]]) for row in numbers])

    return Curve(path.stem, column("Hv_Mlxh"), column("dE00"))


def _is_number(text: str) -> bool:
    return re.fullmatch(r"-?[\d.]+(e-?\d+)?", text, re.IGNORECASE) is not None


def _rows(path: Path) -> Iterator[dict[str, str]]:
    """Yield the rows of the sheet of colors, cells by column letter."""
    with zipfile.ZipFile(path) as book:
        words = _words(book)
        names = [s.get("name") for s in _tree(book, "xl/workbook.xml").iter(f"{SPACE}sheet")]
        sheet = _tree(book, f"xl/worksheets/sheet{names.index(SHEET) + 1}.xml")
    for row in sheet.iter(f"{SPACE}row"):
        yield {_letters(cell): text for cell in row if (text := _text(cell, words))}


def _tree(book: zipfile.ZipFile, name: str) -> ElementTree.Element:
    return ElementTree.fromstring(book.read(name))


def _words(book: zipfile.ZipFile) -> list[str]:
    if "xl/sharedStrings.xml" not in book.namelist():
        return []
    items = _tree(book, "xl/sharedStrings.xml").iter(f"{SPACE}si")
    return ["".join(part.text or "" for part in item.iter(f"{SPACE}t")) for item in items]


def _letters(cell: ElementTree.Element) -> str:
    return re.sub(r"\d", "", cell.get("r", ""))


def _text(cell: ElementTree.Element, words: list[str]) -> str:
    if cell.get("t") == "inlineStr":
        return "".join(part.text or "" for part in cell.iter(f"{SPACE}t"))
    value = cell.findtext(f"{SPACE}v") or ""
    return words[int(value)] if cell.get("t") == "s" and value else value


def exponent(curve: Curve) -> float:
    """Return the slope of a whole curve in logarithms."""
    seen = (curve.dose > 0) & (curve.difference > 0)
    return float(np.polyfit(np.log(curve.dose[seen]), np.log(curve.difference[seen]), 1)[0])


def main() -> None:
    """Print each curve's exponent, and what they come to."""
    folder = data_folder()
    if folder is None:
        print("The package microfading isn't here: run python tools/prepare_tests.py first.")
        return
    strong = [curve for curve in curves(folder) if curve.difference[-1] >= ENOUGH]
    found = np.array([exponent(curve) for curve in strong])
    for curve, slope in zip(strong, found, strict=True):
        print(f"{slope:.2f}  {curve.name}")
    print(f"{len(found)} curves: {found.min():.2f} to {found.max():.2f}, mean {found.mean():.2f},")
    print(f"standard deviation {found.std(ddof=1):.2f}")


if __name__ == "__main__":
    main()
