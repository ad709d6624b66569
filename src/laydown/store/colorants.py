"""Ranges and colorants in the library."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from laydown.errors import DuplicateNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import checked_colorant_name, name_key, tidy_name
from laydown.media.laydown import Medium
from laydown.store.naming import of_other_medium, unknown
from laydown.store.records import Range
from laydown.store.tables import ColorantRow, RangeRow
from laydown.store.trouble import from_rows


@from_rows
def all_ranges(session: Session) -> tuple[Range, ...]:
    """Return all ranges, sorted by name."""
    counted = (
        select(RangeRow, func.count(ColorantRow.id))
        .outerjoin(ColorantRow, ColorantRow.range_id == RangeRow.id)
        .group_by(RangeRow.id)
        .order_by(RangeRow.key)
    )
    found = session.execute(counted).all()
    return tuple(Range(row.name, Medium(row.medium), count) for row, count in found)


def range_row(session: Session, text: str) -> RangeRow:
    """Return the row of the range of that name, or suggest near ones."""
    row = session.scalar(select(RangeRow).where(RangeRow.key == name_key(text)))
    if row is None:
        raise unknown("range", text, session.scalars(select(RangeRow.name)))
    return row


@from_rows
def colorant_of(row: ColorantRow) -> Colorant:
    """Return the colorant that a row holds."""
    return Colorant(row.name, row.range.name, Medium(row.range.medium), row.code, row.blender)


COLORANT: tuple[InstrumentedAttribute[Any], ...] = (
    ColorantRow.name,
    RangeRow.name,
    RangeRow.medium,
    ColorantRow.code,
    ColorantRow.blender,
)
"""All there is of a colorant: many are read by columns, which takes a fifth of the time of rows."""


def colorant_in(name: str, of: str, medium: str, code: str, blender: bool) -> Colorant:
    """Return the colorant that the columns `COLORANT` hold."""
    return Colorant(name, of, Medium(medium), code, blender)


@from_rows
def all_colorants(session: Session, range_name: str | None) -> tuple[Colorant, ...]:
    """Return the colorants of one range or of all, sorted by range and name."""
    wanted = select(*COLORANT).select_from(ColorantRow).join(RangeRow)
    if range_name is not None:
        wanted = wanted.where(RangeRow.id == range_row(session, range_name).id)
    found = session.execute(wanted.order_by(RangeRow.key, ColorantRow.key))
    return tuple(colorant_in(*row) for row in found)


def colorant_row(session: Session, colorant: Colorant) -> ColorantRow:
    """Return the row of a colorant, by its range and name."""
    parent = range_row(session, colorant.range)
    row = _row_in(session, parent, colorant.name)
    if row is None:
        names = session.scalars(select(ColorantRow.name).where(ColorantRow.range_id == parent.id))
        raise unknown(f"colorant in {parent.name} called", colorant.name, names)
    return row


def _row_in(session: Session, parent: RangeRow, name: str) -> ColorantRow | None:
    return session.scalar(
        select(ColorantRow).where(
            ColorantRow.range_id == parent.id, ColorantRow.key == name_key(name)
        )
    )


Rows = dict[tuple[str, str], ColorantRow]


def rows_by_key(session: Session) -> Rows:
    """Return the row of every colorant by the keys of its range and name."""
    return {(row.range.key, row.key): row for row in session.scalars(select(ColorantRow))}


def key_of(colorant: Colorant) -> tuple[str, str]:
    """Return what a colorant is found by in `rows_by_key`."""
    return name_key(colorant.range), name_key(colorant.name)


def add_colorants(session: Session, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
    """Add colorants that aren't there; a new code takes the place of an old one."""
    rows = rows_by_key(session)
    ranges = {row.key: row for row in session.scalars(select(RangeRow))}
    new = [c for c in dict.fromkeys(colorants) if _add_or_update(session, c, rows, ranges)]
    session.flush()
    return tuple(colorant_of(rows[key_of(c)]) for c in new)


def _add_or_update(
    session: Session, colorant: Colorant, rows: Rows, ranges: dict[str, RangeRow]
) -> bool:
    parent = _range_for(session, colorant, ranges)
    row = rows.get(key_of(colorant))
    code = tidy_name(colorant.code)
    if row is None:
        name = checked_colorant_name(colorant.name)
        row = ColorantRow(
            range=parent, name=name, key=name_key(name), code=code, blender=colorant.blender
        )
        session.add(row)
        rows[key_of(colorant)] = row
        return True
    _refuse_other_kind(row, colorant)
    if code:
        row.code = code
    return False


def _refuse_other_kind(row: ColorantRow, colorant: Colorant) -> None:
    if row.blender != colorant.blender:
        kinds = {True: "a colorless blender", False: "a color"}
        raise DuplicateNameError(
            f"{row.range.name}/{row.name} is {kinds[row.blender]} in the library and "
            f"{kinds[colorant.blender]} here.",
            hint="Give one of the two another name, or mend the blender column.",
        )


def _range_for(session: Session, colorant: Colorant, ranges: dict[str, RangeRow]) -> RangeRow:
    row = ranges.get(name_key(colorant.range))
    if row is None:
        name = checked_colorant_name(colorant.range, "range")
        row = RangeRow(name=name, key=name_key(name), medium=str(colorant.medium))
        session.add(row)
        ranges[row.key] = row
    elif row.medium != colorant.medium:
        raise of_other_medium(row.name, Medium(row.medium), colorant.medium)
    return row
