"""A price list as a CSV file: what can be bought singly and in sets, and what is needed besides.

Columns: ``kind`` (single, set, or extra for solvent and paper), ``name``, ``contents`` (what a set
holds, parted by semicolons), ``price``. One currency for all, in a column ``currency``. A single
is a colorant, or a range whose colorants cost the same each.
"""

import csv
import io
import re
from dataclasses import dataclass

from laydown.documents.text_files import text_of
from laydown.errors import BadFileError

COLUMNS = ("kind", "name", "contents", "price", "currency")
KINDS = ("single", "set", "extra")


@dataclass(frozen=True, slots=True)
class PriceRow:
    """One line of a price list; the price in minor units (cents)."""

    line: int
    kind: str
    name: str
    contents: tuple[str, ...]
    price: int
    currency: str


def read_prices(data: bytes, *, source: str) -> tuple[PriceRow, ...]:
    r"""Read a price list.

    Raises
    ------
    BadFileError
        Names the line, the column, and what is allowed.

    Examples
    --------
    >>> text = b"kind,name,contents,price\nset,Box,Kelp; Dune,12.50\n"
    >>> read_prices(text, source="prices.csv")[0].price
    1250
    """
    lines = csv.reader(io.StringIO(text_of(data, source), newline=""))
    header = [cell.strip().casefold() for cell in next(lines, [])]
    unknown = [name for name in header if name not in COLUMNS]
    if unknown or not {"kind", "name", "price"} <= set(header):
        raise BadFileError(
            f"{source}, line 1: the columns are {', '.join(header)}.",
            hint=f"A price list has {', '.join(COLUMNS)}; kind, name and price must be there.",
        )
    rows = []
    for cells in lines:
        if any(cell.strip() for cell in cells):
            told = dict(zip(header, (cell.strip() for cell in cells), strict=False))
            rows.append(_row(told, line=lines.line_num, source=source))
    currencies = {row.currency for row in rows if row.currency}
    if len(currencies) > 1:
        raise BadFileError(
            f"{source}: prices in {' and '.join(sorted(currencies))}.", hint="Use one currency."
        )
    return tuple(rows)


def _row(told: dict[str, str], *, line: int, source: str) -> PriceRow:
    kind = told["kind"].casefold() or "single"
    if kind not in KINDS:
        raise BadFileError(
            f"{source}, line {line}, column kind: “{kind}”.", hint=f"It is {', '.join(KINDS)}."
        )
    if not told.get("name"):
        raise BadFileError(f"{source}, line {line}, column name: it is empty.", hint="Name it.")
    contents = tuple(p.strip() for p in told.get("contents", "").split(";") if p.strip())
    if (kind == "set") != bool(contents):
        raise BadFileError(
            f"{source}, line {line}, column contents: a {kind} with {len(contents)} in it.",
            hint="A set lists its colorants parted by semicolons; nothing else has contents.",
        )
    price = told.get("price", "")
    if not re.fullmatch(r"\d{1,7}(\.\d{1,2})?", price):
        raise BadFileError(
            f"{source}, line {line}, column price: “{price}” is no price.",
            hint="Write it like 2.50, with a point.",
        )
    whole, _, part = price.partition(".")
    cents = int(whole) * 100 + int(part.ljust(2, "0") or 0)
    return PriceRow(line, kind, told["name"], contents, cents, told.get("currency", ""))
