"""Lists as CSV files: wanted colors, prices, and lightfastness.

Columns are found by their names, in any order; lines with nothing in them are passed over.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from laydown import allowed_sizes
from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import inside_object_solid
from laydown.documents.files.csv import Line, read_csv, write_csv
from laydown.errors import BadFileError, LightfastnessError
from laydown.media.light.exposure import parse_span, span_text
from laydown.media.light.fading import Lightfastness, parse_class
from laydown.media.light.window_test import WindowReading

TARGET_COLUMNS = ("passage", "role", "name", "color", "note")
MOST_TARGETS = 5000
"""A longer list is some other file, or work for a night."""


@dataclass(frozen=True, slots=True)
class TargetRow:
    """A wanted color as a file states it, and the line where it stands."""

    line: int
    color: str
    name: str = ""
    passage: str = ""
    role: str = ""
    note: str = ""


def read_targets(data: bytes, *, source: str) -> tuple[TargetRow, ...]:
    r"""Read wanted colors: a lesson, or whatever someone wants converted.

    ``color`` says what is wanted, in any form that a single target takes; ``name``, ``passage``,
    ``role`` and ``note`` may be there. Raises `BadFileError`, which names the line and the column,
    and what is allowed.

    >>> read_targets(b"color,passage\nKelp,weeds\n", source="a list")[0].passage
    'weeds'
    """
    table = read_csv(data, source, TARGET_COLUMNS, needed=["color"], most=allowed_sizes.LIST)
    rows = tuple(_target(line) for line in table.lines)
    if not rows:
        raise BadFileError(f"{source} names no color.", hint="Write one wanted color a line.")
    if len(rows) > MOST_TARGETS:
        raise BadFileError(
            f"{source} names {len(rows):,} colors: allowed are {MOST_TARGETS:,}.",
            hint="Split it into several lists.",
        )
    return rows


def _target(line: Line) -> TargetRow:
    if not line["color"]:
        raise line.bad(
            "color", "it is empty.", "Write a colorant's name, a recipe, lab:L,a,b or #rrggbb."
        )
    return TargetRow(line.number, **line.cells)


PRICE_COLUMNS = ("kind", "name", "contents", "price", "currency")
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
    r"""Read what can be bought singly and in sets, and what is needed besides.

    Columns: ``kind`` (single, set, or extra for solvent and paper), ``name``, ``contents`` (what a
    set holds, parted by semicolons), ``price``. One currency for all, in a column ``currency``. A
    single is a colorant, or a range whose colorants cost the same each.

    Raises `BadFileError`, which names the line, the column, and what is allowed.

    >>> text = b"kind,name,contents,price\nset,Box,Kelp; Dune,12.50\n"
    >>> read_prices(text, source="prices.csv")[0].price
    1250
    """
    table = read_csv(
        data, source, PRICE_COLUMNS, needed=["kind", "name", "price"], most=allowed_sizes.LIST
    )
    rows = tuple(_price(line) for line in table.lines)
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


def _price(line: Line) -> PriceRow:
    kind = line["kind"].casefold() or "single"
    if kind not in KINDS:
        raise line.bad("kind", f"“{kind}”.", f"It is {', '.join(KINDS)}.")
    if not line["name"]:
        raise line.bad("name", "it is empty.", "Name it.")
    contents = tuple(p.strip() for p in line["contents"].split(";") if p.strip())
    if (kind == "set") != bool(contents):
        raise line.bad(
            "contents",
            f"a {kind} with {len(contents)} in it.",
            "A set lists its colorants parted by semicolons; nothing else has contents.",
        )
    return PriceRow(line.number, kind, line["name"], contents, _cents(line), line["currency"])


def _cents(line: Line) -> int:
    price = line["price"].replace(",", ".") if line.table.decimal_comma else line["price"]
    if not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,2})?", price):
        said = f"“{line['price']}” is no price."
        raise line.bad("price", said, "Write it like 2.50, with a point.")
    whole, _, part = price.partition(".")
    return int(whole) * 100 + int(part.ljust(2, "0") or 0)


FASTNESS_COLUMNS = (
    *("range", "color", "class", "source", "paper", "dose", "ultraviolet"),
    *("before", "after", "noise", "remark", "noted"),
)
NEEDED = ("range", "color")
MOST_FASTNESS = 10_000


@dataclass(frozen=True, slots=True, eq=False)
class FastnessRow:
    """A line: a stated class, or a reading."""

    line: int
    range: str
    color: str
    fastness: Lightfastness | None = None
    source: str = ""
    """Its class and who states it; None on the line of a reading."""
    paper: str = ""
    reading: WindowReading | None = None
    remark: str = ""
    noted: datetime | None = None
    """A reading; None on the line of a class."""


def read_lightfastness(data: bytes, *, source: str) -> tuple[FastnessRow, ...]:
    r"""Read stated classes and window readings, a line each.

    A line with a ``class`` states one for its colorant, and ``source`` says who does. A line with a
    ``dose`` is a window reading: light so far [million lux-hours, a number or a range],
    ``ultraviolet`` (yes, or no where it was kept out), the colors ``before`` and ``after`` as three
    numbers L a b with blanks between, the ``noise`` of their difference, ``paper``, ``remark`` and
    when it was ``noted``.

    Raises `BadFileError`, which names the line and the column, and what is allowed.

    >>> rows = read_lightfastness(b"range,color,class\nShoal,Kelp,3\n", source="mine.csv")
    >>> rows[0].fastness
    '3'
    """
    table = read_csv(data, source, FASTNESS_COLUMNS, needed=NEEDED, most=allowed_sizes.LIST)
    if not {"class", "dose"} & set(table.columns):
        raise BadFileError(
            f"{source}, line {table.heading}: it has neither a column “class” nor “dose”.",
            hint="A class of lightfastness is stated, or a dose of light and what it did.",
        )
    rows = tuple(_fastness(line) for line in table.lines)
    if not rows or len(rows) > MOST_FASTNESS:
        raise BadFileError(
            f"{source} has {len(rows):,} lines below its columns: "
            f"allowed are 1 to {MOST_FASTNESS:,}.",
            hint="Give one line for each class or reading.",
        )
    return rows


def _fastness(line: Line) -> FastnessRow:
    for column in NEEDED:
        if not line[column]:
            raise line.bad(column, "it is empty.", "Name the colorant and its range.")
    if bool(line["class"]) == bool(line["dose"]):
        raise line.bad("class", "a line has either a class or a dose.", "Take two lines for both.")
    try:
        if line["class"]:
            fastness = parse_class(line["class"])
            return FastnessRow(line.number, line["range"], line["color"], fastness, line["source"])
        return _reading(line)
    except LightfastnessError as error:
        column = "class" if line["class"] else "dose"
        raise line.bad(column, error.message, error.hint) from error


def _reading(line: Line) -> FastnessRow:
    if line["ultraviolet"].casefold() not in {"yes", "no"}:
        raise line.bad(
            "ultraviolet", f"“{line['ultraviolet']}”.", "Write yes, or no where it was kept out."
        )
    reading = WindowReading(
        dose=parse_span(line["dose"], "dose in million lux-hours"),
        before=_lab(line, "before"),
        after=_lab(line, "after"),
        noise=_noise(line),
        filtered=line["ultraviolet"].casefold() == "no",
    )
    return FastnessRow(
        line.number,
        line["range"],
        line["color"],
        paper=line["paper"],
        reading=reading,
        remark=line["remark"],
        noted=_moment(line),
    )


def _lab(line: Line, column: str) -> FloatArray:
    try:
        lab = np.array([float(part) for part in line[column].split()])
    except ValueError:
        lab = np.empty(0)
    if (
        lab.shape != (3,)
        or not np.isfinite(lab).all()
        or not inside_object_solid(xyz_from_lab(lab))
    ):
        raise line.bad(
            column,
            f"“{line[column]}” is no color of a surface.",
            "Write L a b with blanks between: 71 8 46.",
        )
    return lab


def _noise(line: Line) -> float:
    try:
        noise = float(line["noise"] or 0.0)
    except ValueError:
        noise = -1.0
    if not 0.0 <= noise <= 20.0:
        raise line.bad("noise", f"“{line['noise']}”.", "Write a number from 0 to 20, or nothing.")
    return noise


def _moment(line: Line) -> datetime | None:
    if not line["noted"]:
        return None
    try:
        found = datetime.fromisoformat(line["noted"])
    except ValueError:
        raise line.bad("noted", f"“{line['noted']}”.", "Write it like 2026-03-04.") from None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def write_lightfastness(rows: Iterable[FastnessRow]) -> str:
    """Write classes and readings so that `read_lightfastness` brings the same back.

    >>> print(write_lightfastness([FastnessRow(2, "Shoal", "Kelp", parse_class("3"))]).split()[1])
    Shoal,Kelp,3,,,,,,,,,
    """
    return write_csv(FASTNESS_COLUMNS, map(_cells, rows))


def _cells(row: FastnessRow) -> list[str]:
    if row.fastness is not None:
        stated = [row.range, row.color, row.fastness, row.source]
        return stated + [""] * (len(FASTNESS_COLUMNS) - len(stated))
    if row.reading is None:
        raise ValueError("a line is a class or a reading")
    read = row.reading
    return [
        *(row.range, row.color, "", "", row.paper, span_text(read.dose)),
        "no" if read.filtered else "yes",
        *(" ".join(f"{float(v):.10g}" for v in lab) for lab in (read.before, read.after)),
        f"{read.noise:g}",
        row.remark,
        row.noted.isoformat() if row.noted else "",
    ]
