"""Swatch files as CSV: their rows, read and written."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeGuard, TypeVar

from laydown import allowed_sizes, errors
from laydown.color.arrays import FloatArray
from laydown.color.lab import xyz_from_reflectance
from laydown.color.spectra import WAVELENGTHS
from laydown.documents.files import measurements
from laydown.documents.files.csv import LAB, WORDS, XYZ, Line, Table, read_csv, write_csv
from laydown.documents.files.measurements import number
from laydown.documents.files.text import LONGEST_CELL
from laydown.errors import BadFileError, BadRecipeError
from laydown.media.laydown import MOST_COATS, ONE_COAT, Laydown, Pressure, Stroke, Wait
from laydown.media.legible import LONGEST_NAME, checked_name, name_key, tidy_name
from laydown.media.recipe import (
    AnyStep,
    Colorant,
    Medium,
    Recipe,
    Step,
    checked_colorant_name,
    format_recipe,
    parse_recipe,
)
from laydown.media.swatch import Basis, Swatch

# A swatch as a row of a file, and the way from rows to swatches and back.
#
# The readers (here, `cgats` and `cxf`) each turn bytes into rows. A row still names what
# lies below in words, since those colorants may stand in the library and not in the file;
# `swatches_from_rows` settles the names.


@dataclass(frozen=True, slots=True, eq=False)
class SwatchRow:
    """One measured patch as a file states it."""

    line: int
    """Where it stands in the file, from 1, for messages."""
    colorant: Colorant | None
    """What was laid last; None is bare paper, what `mixed` says, or where `over` says so, a recipe
    that ends in a treatment."""
    paper: str
    reflectance: FloatArray
    """Shape (36,); where `basis` is XYZ, the smoothest one with that XYZ."""
    laydown: Laydown = ONE_COAT
    """How `colorant` or the mixture was put down."""
    over: str = ""
    """What lies below, bottom first, in the text form of recipes; empty for the bare paper."""
    basis: Basis = Basis.SPECTRUM
    spread: float = 0.0
    """Standard deviation within the patch [CIELAB units]; 0 where unknown."""
    flags: frozenset[str] = frozenset()
    """``above-white``, ``extended-bands``."""
    hours: float | None = None
    """How long it had dried when it was read [h]; None where it was dry."""
    mixed: str = ""
    """A mixture laid last in place of a colorant, in the text form of recipes, coats and water left
    out."""


NO_COLUMN = ("recipe", "picture", "shared")
"""What a file doesn't say so: a recipe has columns of its own, and a picture stays where it was
read."""
STATED = tuple(f.name for f in fields(Swatch) if f.name not in NO_COLUMN)
"""What a row says of a swatch as the swatch itself does."""
NOTHING_SAID: Mapping[str, str] = {}
"""Range, paper and medium that the user says of lines that leave them blank: none."""


def swatches_from_rows(
    rows: Sequence[SwatchRow], *, source: str, find: Callable[[str], Colorant] | None = None
) -> tuple[Swatch, ...]:
    """Settle the names in ``over`` and return the swatches, in the order of the rows of one file.

    `find` finds a colorant of the library by what was typed (`Work.find_colorant`); it is asked
    after the row's own range and the file itself. Raises `BadFileError`, which names the line whose
    recipe can't be read.
    """
    there = _Colorants(rows, source, find)
    return tuple(
        Swatch(recipe=_recipe(row, there, source), **{name: getattr(row, name) for name in STATED})
        for row in rows
    )


def _recipe(row: SwatchRow, there: "_Colorants", source: str) -> Recipe:
    range_name = "" if row.colorant is None else row.colorant.range
    below = _steps(row, "over", row.over, lambda name: there.find(name, range_name), source)
    last = () if row.colorant is None else (Step(row.colorant, row.laydown),)
    mixed = _steps(row, "color", row.mixed, lambda name: _wash(there.find(name, "")), source)
    laid = tuple(replace(step, laydown=row.laydown) for step in mixed if isinstance(step, Step))
    return Recipe(below + laid + last)


def _steps(
    row: SwatchRow, column: str, text: str, find: Callable[[str], Colorant], source: str
) -> tuple[AnyStep, ...]:
    """Return the steps that a cell names."""
    try:
        return parse_recipe(text, find).steps
    except errors.LaydownError as error:
        raise BadFileError(
            f"{source}, line {row.line}, column {column}: {error.message}", hint=error.hint
        ) from error


def _wash(colorant: Colorant) -> Colorant:
    """Return a part of a mixture, which can only be a wash."""
    if colorant.medium is not Medium.WASH:
        raise BadRecipeError(
            f"{colorant.label} is a {colorant.medium}, and only washes are mixed on a palette.",
            hint=_LAY_OVER,
        )
    return colorant


_LAY_OVER = "Lay one over the other instead, and name the lower one in the column over."


class _Colorants:
    """Whom a name below stands for: the row's own range, then the file, then the library."""

    def __init__(
        self, rows: Sequence[SwatchRow], source: str, find: Callable[[str], Colorant] | None
    ) -> None:
        self._source = source
        self._find = find
        self._in_library: dict[str, Colorant] = {}
        self._by_key: dict[str, list[Colorant]] = {}
        for colorant in _best_told(rows):
            for text in (colorant.label, colorant.name):
                self._by_key.setdefault(name_key(text), []).append(colorant)

    def find(self, name: str, range_name: str) -> Colorant:
        key = name_key(name)
        meant = self._by_key.get(key, [])
        own = [c for c in meant if name_key(c.range) == name_key(range_name)]
        if len(own or meant) == 1:
            return (own or meant)[0]
        if len(meant) > 1:
            raise errors.AmbiguousNameError(
                f"“{name}” stands for {' and '.join(sorted(c.label for c in meant))}.",
                hint=f"Write the range too, for example {meant[0].label}.",
            )
        if self._find is not None:
            if key not in self._in_library:  # which goes through all of the library's colorants
                self._in_library[key] = self._find(name)
            return self._in_library[key]
        raise errors.UnknownNameError(
            f"There is no colorant “{name}” in {self._source}.",
            hint="Add a swatch of it, or write Range/Name.",
        )


def _best_told(rows: Sequence[SwatchRow]) -> Iterable[Colorant]:
    """Return each colorant of the file once, with its code where any row gives one."""
    told: dict[str, Colorant] = {}
    for row in rows:
        if row.colorant is not None:
            before = told.setdefault(name_key(row.colorant.label), row.colorant)
            if row.colorant.code and not before.code:
                told[name_key(row.colorant.label)] = row.colorant
    return told.values()


def rows_from_swatches(swatches: Sequence[Swatch]) -> tuple[SwatchRow, ...]:
    """Return the rows that state these swatches, in their order; lines count from 2.

    What lies below is written with ranges only where it must be.
    """
    return tuple(_row(line, swatch) for line, swatch in enumerate(swatches, 2))


def _row(line: int, swatch: Swatch) -> SwatchRow:
    steps = swatch.recipe.steps
    top = steps[-1] if steps and _has_columns(steps[-1]) else None
    colorant = None if top is None or top.mixed else top.colorant
    below = Recipe(steps if top is None else steps[:-1])
    ranges = {c.range for c in below.colorants}
    with_range = colorant is None or ranges != {colorant.range}
    mixed = Recipe((replace(top, laydown=ONE_COAT),)) if top and top.mixed else Recipe()
    return SwatchRow(
        line=line,
        colorant=colorant,
        laydown=ONE_COAT if top is None else top.laydown,
        over=format_recipe(below, with_range=with_range),
        mixed=format_recipe(mixed, with_range=True),
        **{name: getattr(swatch, name) for name in STATED},
    )


def _has_columns(step: AnyStep) -> TypeGuard[Step]:
    """Whether the columns beside `over` can say a step: not a treatment, nor a mixed marker."""
    return isinstance(step, Step) and all(
        part.colorant.medium is Medium.WASH for part in step.mixed
    )


Word = TypeVar("Word", bound=StrEnum)
BANDS = tuple(f"r{nm:.0f}" for nm in WAVELENGTHS)
YES, NO = {"yes", "true", "1", "x"}, {"no", "false", "0", ""}


def rows_from_table(table: Table, usual: Mapping[str, str]) -> tuple[SwatchRow, ...]:
    """Return the swatch of each line; `BadFileError` names the first line and column at fault."""
    measurements.check_columns(table)
    if not table.lines:
        raise table.bad("no swatch follows the column names.")
    for line in table.lines:
        for column in table.columns:
            if len(line[column]) > LONGEST_CELL:
                raise line.bad(column, f"it has more than {LONGEST_CELL:,} characters.")
    colorants = [_colorant(line, usual) for line in table.lines]
    _check_colorants(table, colorants)
    bare = [not line["color"].strip() and not line["over"].strip() for line in table.lines]
    measured = measurements.measurements(table, bare)
    return tuple(
        SwatchRow(
            line=line.number,
            colorant=colorant,
            paper=_name(line, "paper", usual.get("paper", ""), checked_name),
            reflectance=reflectance,
            laydown=_laydown(line),
            over=" ".join(line["over"].split()),
            basis=basis,
            spread=_amount(line, "spread", 0.0),
            flags=flags | _flags(line),
            hours=_hours(line),
            mixed=_mixed(line, usual),
        )
        for line, colorant, (reflectance, basis, flags) in zip(
            table.lines, colorants, measured, strict=True
        )
    )


def _colorant(line: Line, usual: Mapping[str, str]) -> Colorant | None:
    if not line["color"].strip() or _MIXTURE.match(line["color"]):
        return None
    return Colorant(
        _name(line, "color", "", checked_colorant_name),
        _name(line, "range", usual.get("range", ""), checked_colorant_name),
        _word(line, "medium", Medium, Medium(usual.get("medium", "") or Medium.MARKER)),
        _code(line),
        _blender(line),
    )


_MIXTURE = re.compile(r"\s*mix\s+(?=\d|.*\+)", re.IGNORECASE)
"""How the name of a mixture begins, rightly written or nearly."""


def _mixed(line: Line, usual: Mapping[str, str]) -> str:
    """Return the mixture that stands in place of a colorant, its names with their ranges."""
    if not _MIXTURE.match(line["color"]):
        return ""
    _check_only_mixed(line)
    of = line["range"].strip() or usual.get("range", "")
    text = _MIXTURE.sub("mix ", line["color"]).strip()

    def part(name: str) -> Colorant:
        """Return a part called as it is to be looked up: with the line's range, or its own."""
        return Colorant(name if "/" in name or not of else f"{of}/{name}", "", Medium.WASH)

    try:
        recipe = parse_recipe(text, part)
    except BadRecipeError as error:
        raise line.bad("color", error.message, error.hint) from error
    step = recipe.steps[0]
    if not isinstance(step, Step) or not step.mixed:
        raise line.bad(
            "color",
            f"“{text}” doesn't say how many parts of each wash.",
            "Write the parts before the names, as mix 2 Loam + 1 Reed.",
        )
    if len(recipe.steps) > 1 or step.laydown != ONE_COAT:
        raise line.bad(
            "color",
            f"“{text}” says more than what was mixed.",
            "Write coats and water in the columns coats and dilution, what lies below in over.",
        )
    return format_recipe(recipe)


def _check_only_mixed(line: Line) -> None:
    """Refuse what only a colorant of its own can have."""
    if _word(line, "medium", Medium, Medium.WASH) is not Medium.WASH:
        raise line.bad("medium", "only washes are mixed on a palette.", _LAY_OVER)
    if _code(line) or _blender(line):
        column = "code" if _code(line) else "blender"
        raise line.bad(
            column,
            "a mixture is no color of its own.",
            f"Leave {column} blank here, and fill it where a part stands alone.",
        )


def _code(line: Line) -> str:
    code = tidy_name(line["code"])
    if len(code) > LONGEST_NAME:
        raise line.bad("code", f"it has more than {LONGEST_NAME} characters.")
    return code


def _name(line: Line, column: str, usual: str, checked: Callable[[str, str], str]) -> str:
    text = line[column].strip() or usual
    if not text:
        raise line.bad(
            column, f"it names no {column}.", f"Fill the cell, or say --{column} once for all."
        )
    try:
        return checked(text, column)
    except BadRecipeError as error:
        raise line.bad(column, error.message, error.hint) from error


def _word(line: Line, column: str, words: type[Word], usual: Word) -> Word:
    text = line[column].strip().lower()
    if not text:
        return usual
    if text in set(words):
        return words(text)
    close = get_close_matches(text, list(words), n=1)
    hint = f"Did you mean {close[0]}?" if close else ""
    raise line.bad(column, f"“{line[column].strip()}” is none of {', '.join(words)}.", hint)


def _blender(line: Line) -> bool:
    text = line["blender"].strip().lower()
    if text not in YES | NO:
        raise line.bad("blender", f"“{line['blender']}” is neither yes nor no.")
    return text in YES


def _laydown(line: Line) -> Laydown:
    coats, dilution = number(line, "coats", 1.0), number(line, "dilution", 0.0)
    if coats != int(coats) or not 1 <= coats <= MOST_COATS:
        raise line.bad("coats", f"{coats:g} coats: allowed are whole numbers, 1 to {MOST_COATS}.")
    if not 0 <= dilution < 1:
        told = f"{dilution:g} is not a share of water: allowed is 0 up to, not including, 1."
        raise line.bad("dilution", told)
    return Laydown(
        int(coats),
        _word(line, "stroke", Stroke, Stroke.EVEN),
        _word(line, "pressure", Pressure, Pressure.MEDIUM),
        dilution,
        _word(line, "wait", Wait, Wait.DRY),
    )


def _amount(line: Line, column: str, usual: float | None = None) -> float:
    amount = number(line, column, usual)
    if amount < 0:
        raise line.bad(column, f"{amount:g} is below 0.")
    return amount


def _flags(line: Line) -> frozenset[str]:
    flags = frozenset(flag for flag in line["flags"].split() if not _READ_AFTER.fullmatch(flag))
    unknown = sorted(flags - {measurements.ABOVE_WHITE, measurements.EXTENDED_BANDS})
    if unknown:
        raise line.bad(
            "flags",
            f"“{unknown[0]}” is none of {measurements.ABOVE_WHITE}, {measurements.EXTENDED_BANDS}.",
        )
    return flags


_READ_AFTER = re.compile(r"read-after-([0-9.]+)h")
"""How files of earlier versions say the hours, among the flags."""


def _hours(line: Line) -> float | None:
    """Return how long a patch had dried when it was read; None where it was dry."""
    earlier = [found for flag in line["flags"].split() if (found := _READ_AFTER.fullmatch(flag))]
    if earlier:
        line = Line(line.table, line.number, {"hours": earlier[0][1]})
    return _amount(line, "hours") if line["hours"].strip() else None


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
            raise line.bad(
                "medium",
                f"the range {colorant.range} is a {colorant.medium} here and a {medium} in "
                f"line {first}.",
                "A range has one medium: give the other its own range name.",
            )
        before, first = told.setdefault((key, name_key(colorant.name)), (colorant, line.number))
        _check_told(line, colorant, before, first)


def _check_told(line: Line, colorant: Colorant, before: Colorant, first: int) -> None:
    if colorant.blender != before.blender:
        raise line.bad("blender", f"{colorant.name} is told otherwise here than in line {first}.")
    if colorant.code and before.code and colorant.code != before.code:
        raise line.bad(
            "code",
            f"{colorant.name} has the code “{colorant.code}” here and “{before.code}” in "
            f"line {first}.",
        )


def cells_of(row: SwatchRow) -> Mapping[str, str]:
    """Return a row's cells by column, blank where they are as usual.

    Spectra are written so that they read back as the very same numbers; XYZ to six decimals, as
    they are kept.
    """
    cells = {
        "paper": row.paper,
        "over": row.over,
        "spread": _plain(row.spread) if row.spread else "",
        "hours": "" if row.hours is None else _plain(row.hours),
        "flags": " ".join(sorted(row.flags)),
    }
    if row.mixed:
        cells |= {"medium": str(Medium.WASH), "color": row.mixed} | _laydown_cells(row.laydown)
    if row.colorant is not None:
        cells |= {
            "range": row.colorant.range,
            "medium": str(row.colorant.medium),
            "color": row.colorant.name,
            "code": row.colorant.code,
            "blender": "yes" if row.colorant.blender else "",
        } | _laydown_cells(row.laydown)
    if row.basis == Basis.SPECTRUM:
        return cells | dict(zip(BANDS, map(_plain, row.reflectance), strict=True))
    xyz = xyz_from_reflectance(row.reflectance).round(measurements.XYZ_DECIMALS)
    return cells | dict(zip(XYZ, map(_plain, xyz), strict=True))


def _laydown_cells(laid: Laydown) -> dict[str, str]:
    usual = Laydown()
    return {
        "coats": str(laid.coats),
        "stroke": str(laid.stroke) if laid.stroke != usual.stroke else "",
        "pressure": str(laid.pressure) if laid.pressure != usual.pressure else "",
        "dilution": _plain(laid.dilution) if laid.dilution else "",
        "wait": str(laid.wait) if laid.wait != usual.wait else "",
    }


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


# Swatches as CSV: one line each, the columns named in the first line.
#
# Columns: ``range,medium,color,paper,coats,stroke,pressure,dilution,wait,over``, where wanted
# ``code,spread,blender,hours,flags``, and one measurement: ``L,a,b`` or ``X,Y,Z`` (D50/2°, white
# at Y = 100) or bands ``r380`` … ``r730`` (0 to 1). A blank cell is as usual; a line without a
# color is bare paper, or where ``over`` ends in solvent or burnishing, that. In place of a color
# may stand washes mixed on the palette, ``mix 2 Loam + 1 Reed``. Columns may be parted by
# semicolons or tabs instead, and numbers then written with a decimal comma.

_KNOWN = {name.casefold(): name for name in (*WORDS, *LAB, *XYZ)} | {
    f"{name.casefold()}*": name for name in LAB
}
_BAND = re.compile(r"r(\d{3,4})(?:\.(\d+))?")


def read_swatch_csv(
    data: bytes, *, source: str, usual: Mapping[str, str] = NOTHING_SAID
) -> tuple[SwatchRow, ...]:
    """Read swatches from CSV.

    The usual is taken where a line leaves range, paper or medium blank. Raises `BadFileError`,
    which names line and column, and what to do; nothing is read then.

    >>> text = "range,color,paper,X,Y,Z" + chr(10) + "Estuary,Kelp,Gannet smooth,20,30,10"
    >>> row, = read_swatch_csv(text.encode(), source="mine.csv")
    >>> row.line, row.colorant.label, row.laydown.coats
    (2, 'Estuary/Kelp', 1)
    """
    known = (*WORDS, *LAB, *XYZ, "r380 … r730")
    table = read_csv(
        data, source, known, column=_column, short_lines=False, most=allowed_sizes.SWATCHES
    )
    return rows_from_table(table, usual)


def write_swatch_csv(rows: Sequence[SwatchRow]) -> bytes:
    """Write swatches as CSV in UTF-8; reading it gives the same rows."""
    cells = [cells_of(row) for row in rows]
    columns = columns_of(cells)
    lines = ([row.get(column, "") for column in columns] for row in cells)
    return write_csv(columns, lines, line_end="\n").encode()


def _column(name: str) -> str:
    """Return our name of a column, or nothing."""
    text = name.strip().casefold()
    band = _BAND.fullmatch(text)
    if band:
        decimals = (band[2] or "").rstrip("0")
        return f"r{band[1]}" + (f".{decimals}" if decimals else "")
    return _KNOWN.get(text, "")
