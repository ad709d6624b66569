"""Remove a range with all that hangs on it; trials and sheets have its names written out."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from laydown.errors import LibraryError
from laydown.store.colorants import range_row
from laydown.store.swatch_reading import Wanted, find_records
from laydown.store.tables import (
    ColorantRow,
    LightfastnessRow,
    MemberRow,
    Table,
    WindowReadingRow,
)

HANGING = (MemberRow, LightfastnessRow, WindowReadingRow)
"""Rows that say something of one colorant alone, and go with it."""


def remove_range(session: Session, text: str, *, with_swatches: bool) -> int:
    """Remove a range and its colorants; swatches that use one go only when told so."""
    row = range_row(session, text)
    swatches = find_records(session, Wanted(range_id=row.id))
    if swatches and not with_swatches:
        raise LibraryError(
            f"{len(swatches)} swatches use {row.name}.",
            hint="Say that they shall go with it, or keep the range.",
        )
    for swatch in swatches:
        session.delete(swatch)
    session.flush()
    for one in _hanging(session, row.id):
        session.delete(one)
    session.flush()
    session.expire_all()
    session.delete(row)
    session.flush()
    return len(swatches)


def _hanging(session: Session, range_id: int) -> list[Table]:
    found: list[Table] = []
    for table in HANGING:
        of_range = (
            select(table)
            .join(ColorantRow, ColorantRow.id == table.colorant_id)
            .where(ColorantRow.range_id == range_id)
        )
        found += session.scalars(of_range)
    return found
