"""A table of any of the three formats into rows, and rows into the cells of a table."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeVar

from laydown.color.spectra import WAVELENGTHS
from laydown.color.tristimulus import xyz_from_reflectance
from laydown.documents.measurements import (
    ABOVE_WHITE,
    EXTENDED_BANDS,
    XYZ_DECIMALS,
    check_columns,
    measurements,
    number,
)
from laydown.documents.swatch_rows import SwatchRow, Usual
from laydown.documents.tables import WORDS, XYZ, Line, Table
from laydown.documents.text_files import LONGEST_CELL
from laydown.errors import BadRecipeError
from laydown.media.colorant import Colorant
from laydown.media.drying import hours_flag, hours_of
from laydown.media.labels import (
    LONGEST_NAME,
    checked_colorant_name,
    checked_name,
    name_key,
    tidy_name,
)
from laydown.media.laydown import MOST_COATS, Laydown, Medium, Pressure, Stroke, Wait
from laydown.media.swatch import Basis

Word = TypeVar("Word", bound=StrEnum)

BANDS = tuple(f"r{nm:.0f}" for nm in WAVELENGTHS)
YES, NO = {"yes", "true", "1", "x"}, {"no", "false", "0", ""}


def rows_from_table(table: Table, usual: Usual) -> tuple[SwatchRow, ...]:
    """Return the swatch of each line.

    Raises
    ------
    BadFileError
        Names the first line and column at fault; there are no rows then.
    """
    check_columns(table)
    if not table.lines:
        raise table.bad(table.heading, "", "no swatch follows the column names.")
    _check_lengths(table)
    colorants = [_colorant(table, line, usual) for line in table.lines]
    _check_colorants(table, colorants)
    bare = [
        colorant is None and not line["over"].strip()
        for colorant, line in zip(colorants, table.lines, strict=True)
    ]
    measured = measurements(table, bare)
    return tuple(
        SwatchRow(
            line=line.number,
            colorant=colorant,
            paper=_name(table, line, "paper", usual.paper, checked_name),
            reflectance=found.reflectance,
            laydown=_laydown(table, line),
            over=" ".join(line["over"].split()),
            basis=found.basis,
            spread=_spread(table, line),
            flags=found.flags | _flags(table, line) | _hours(table, line),
        )
        for line, colorant, found in zip(table.lines, colorants, measured, strict=True)
    )


def _check_lengths(table: Table) -> None:
    for line in table.lines:
        for column in table.columns:
            if len(line[column]) > LONGEST_CELL:
                raise table.bad_cell(line, column, f"it has more than {LONGEST_CELL:,} characters.")


def _colorant(table: Table, line: Line, usual: Usual) -> Colorant | None:
    if not line["color"].strip():
        return None
    return Colorant(
        _name(table, line, "color", "", checked_colorant_name),
        _name(table, line, "range", usual.range, checked_colorant_name),
        _word(table, line, "medium", Medium, Medium(usual.medium or Medium.MARKER)),
        _code(table, line),
        _blender(table, line),
    )


def _code(table: Table, line: Line) -> str:
    code = tidy_name(line["code"])
    if len(code) > LONGEST_NAME:
        raise table.bad_cell(line, "code", f"it has more than {LONGEST_NAME} characters.")
    return code


def _name(
    table: Table, line: Line, column: str, usual: str, checked: Callable[[str, str], str]
) -> str:
    text = line[column].strip() or usual
    if not text:
        raise table.bad_cell(
            line,
            column,
            f"it names no {column}.",
            f"Fill the cell, or say --{column} once for all.",
        )
    try:
        return checked(text, column)
    except BadRecipeError as error:
        raise table.bad_cell(line, column, error.message, error.hint) from error


def _word(table: Table, line: Line, column: str, words: type[Word], usual: Word) -> Word:
    text = line[column].strip().lower()
    if not text:
        return usual
    if text in set(words):
        return words(text)
    close = get_close_matches(text, list(words), n=1)
    hint = f"Did you mean {close[0]}?" if close else ""
    raise table.bad_cell(
        line, column, f"“{line[column].strip()}” is none of {', '.join(words)}.", hint
    )


def _blender(table: Table, line: Line) -> bool:
    text = line["blender"].strip().lower()
    if text not in YES | NO:
        raise table.bad_cell(line, "blender", f"“{line['blender']}” is neither yes nor no.")
    return text in YES


def _laydown(table: Table, line: Line) -> Laydown:
    return Laydown(
        _coats(table, line),
        _word(table, line, "stroke", Stroke, Stroke.EVEN),
        _word(table, line, "pressure", Pressure, Pressure.MEDIUM),
        _dilution(table, line),
        _word(table, line, "wait", Wait, Wait.DRY),
    )


def _coats(table: Table, line: Line) -> int:
    if not line["coats"].strip():
        return 1
    coats = number(table, line, "coats")
    if coats != int(coats) or not 1 <= coats <= MOST_COATS:
        raise table.bad_cell(
            line, "coats", f"{coats:g} coats: allowed are whole numbers, 1 to {MOST_COATS}."
        )
    return int(coats)


def _dilution(table: Table, line: Line) -> float:
    dilution = number(table, line, "dilution") if line["dilution"].strip() else 0.0
    if not 0 <= dilution < 1:
        raise table.bad_cell(
            line,
            "dilution",
            f"{dilution:g} is not a share of water: allowed is 0 up to, not including, 1.",
        )
    return dilution


def _spread(table: Table, line: Line) -> float:
    spread = number(table, line, "spread") if line["spread"].strip() else 0.0
    if spread < 0:
        raise table.bad_cell(line, "spread", f"{spread:g} is below 0.")
    return spread


def _flags(table: Table, line: Line) -> frozenset[str]:
    flags = frozenset(line["flags"].split())
    unknown = sorted(f for f in flags - {ABOVE_WHITE, EXTENDED_BANDS} if hours_of({f}) is None)
    if unknown:
        raise table.bad_cell(
            line, "flags", f"“{unknown[0]}” is none of {ABOVE_WHITE}, {EXTENDED_BANDS}."
        )
    return flags


def _hours(table: Table, line: Line) -> frozenset[str]:
    """Return the flag that says how long a patch had dried when it was read; none where dry."""
    if not line["hours"].strip():
        return frozenset()
    hours = number(table, line, "hours")
    if hours < 0:
        raise table.bad_cell(line, "hours", f"{hours:g} is below 0.")
    return frozenset({hours_flag(hours)})


def _check_colorants(table: Table, colorants: Sequence[Colorant | None]) -> None:
    """Refuse a range of two media, and a colorant told two ways."""
    media: dict[str, tuple[Medium, int]] = {}
    told: dict[tuple[str, str], tuple[Colorant, int]] = {}
    for line, colorant in zip(table.lines, colorants, strict=True):
        if colorant is None:
            continue
        key = name_key(colorant.range)
        medium, first = media.setdefault(key, (colorant.medium, line.number))
        if medium != colorant.medium:
            raise table.bad_cell(
                line,
                "medium",
                f"the range {colorant.range} is a {colorant.medium} here and a {medium} in "
                f"line {first}.",
                "A range has one medium: give the other its own range name.",
            )
        before, first = told.setdefault((key, name_key(colorant.name)), (colorant, line.number))
        _check_told(table, line, colorant, before, first)


def _check_told(table: Table, line: Line, colorant: Colorant, before: Colorant, first: int) -> None:
    if colorant.blender != before.blender:
        raise table.bad_cell(
            line, "blender", f"{colorant.name} is told otherwise here than in line {first}."
        )
    if colorant.code and before.code and colorant.code != before.code:
        raise table.bad_cell(
            line,
            "code",
            f"{colorant.name} has the code “{colorant.code}” here and “{before.code}” in "
            f"line {first}.",
        )


def cells_of(row: SwatchRow) -> Mapping[str, str]:
    """Return a row's cells by column, blank where they are as usual.

    Spectra are written so that they read back as the very same numbers; XYZ to six decimals, as
    they are kept.
    """
    laid, usual = row.laydown, Laydown()
    cells = {
        "paper": row.paper,
        "over": row.over,
        "spread": _plain(row.spread) if row.spread else "",
        "flags": " ".join(sorted(row.flags)),
    }
    if row.colorant is not None:
        cells |= {
            "range": row.colorant.range,
            "medium": str(row.colorant.medium),
            "color": row.colorant.name,
            "coats": str(laid.coats),
            "stroke": str(laid.stroke) if laid.stroke != usual.stroke else "",
            "pressure": str(laid.pressure) if laid.pressure != usual.pressure else "",
            "dilution": _plain(laid.dilution) if laid.dilution else "",
            "wait": str(laid.wait) if laid.wait != usual.wait else "",
            "code": row.colorant.code,
            "blender": "yes" if row.colorant.blender else "",
        }
    return cells | _measured_cells(row)


def _measured_cells(row: SwatchRow) -> dict[str, str]:
    if row.basis == Basis.SPECTRUM:
        return dict(zip(BANDS, map(_plain, row.reflectance), strict=True))
    xyz = xyz_from_reflectance(row.reflectance).round(XYZ_DECIMALS)
    return dict(zip(XYZ, map(_plain, xyz), strict=True))


def _plain(value: float) -> str:
    """Return the shortest text that reads back as the same number, without an exponent."""
    text = repr(float(value))
    return format(Decimal(text), "f") if "e" in text else text.removesuffix(".0")


def columns_of(rows: Sequence[Mapping[str, str]]) -> tuple[str, ...]:
    """Return the columns that any row fills, and always those that everyone expects."""
    always = WORDS[: WORDS.index("over") + 1]
    filled = {column for cells in rows for column, text in cells.items() if text}
    return tuple(
        column for column in (*WORDS, *XYZ, *BANDS) if column in always or column in filled
    )
