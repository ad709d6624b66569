"""A price list as a CSV file: what can be bought singly and in sets, and what is needed besides.

Columns: ``kind`` (single, set, or extra for solvent and paper), ``name``, ``contents`` (what a set
holds, parted by semicolons), ``price``. One currency for all, in a column ``currency``. A single
is a colorant, or a range whose colorants cost the same each.
"""

import re
from dataclasses import dataclass

from laydown import allowed_sizes
from laydown.documents.files.csv import read_csv
from laydown.documents.files.table import Line, Table
from laydown.errors import BadFileError

COLUMNS = ("kind", "name", "contents", "price", "currency")
KINDS = ("single", "set", "extra")
MOST_PRICES = 5_000
"""Two thousand colorants, and all the sets of them."""
MOST_CONTENTS = 50_000
"""Of all sets of a list."""


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
    table = read_csv(
        data, source, COLUMNS, needed=["kind", "name", "price"], most=allowed_sizes.LIST
    )
    rows = tuple(_row(table, line) for line in table.lines)
    if len(rows) > MOST_PRICES:
        raise BadFileError(
            f"{source} has {len(rows):,} prices: allowed are {MOST_PRICES:,}.",
            hint="Leave out ranges that nobody wants.",
        )
    if sum(len(row.contents) for row in rows) > MOST_CONTENTS:
        raise BadFileError(
            f"{source}: its sets hold more than {MOST_CONTENTS:,} colorants in all.",
            hint="Leave out sets of other ranges.",
        )
    currencies = {row.currency for row in rows if row.currency}
    if len(currencies) > 1:
        raise BadFileError(
            f"{source}: prices in {' and '.join(sorted(currencies))}.", hint="Use one currency."
        )
    return rows


def _row(table: Table, line: Line) -> PriceRow:
    kind = line["kind"].casefold() or "single"
    if kind not in KINDS:
        raise table.bad_cell(line, "kind", f"“{kind}”.", f"It is {', '.join(KINDS)}.")
    if not line["name"]:
        raise table.bad_cell(line, "name", "it is empty.", "Name it.")
    contents = tuple(p.strip() for p in line["contents"].split(";") if p.strip())
    if (kind == "set") != bool(contents):
        raise table.bad_cell(
            line,
            "contents",
            f"a {kind} with {len(contents)} in it.",
            "A set lists its colorants parted by semicolons; nothing else has contents.",
        )
    return PriceRow(
        line.number, kind, line["name"], contents, _cents(table, line), line["currency"]
    )


def _cents(table: Table, line: Line) -> int:
    price = line["price"].replace(",", ".") if table.decimal_comma else line["price"]
    if not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,2})?", price):
        raise table.bad_cell(
            line, "price", f"“{line['price']}” is no price.", "Write it like 2.50, with a point."
        )
    whole, _, part = price.partition(".")
    return int(whole) * 100 + int(part.ljust(2, "0") or 0)
