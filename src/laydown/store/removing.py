"""What rests on a range or a paper, and taking them out with all of it."""

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from laydown.errors import LibraryError
from laydown.media.colorant import Colorant
from laydown.store.records import Coverage, Held
from laydown.store.supplies import range_row
from laydown.store.swatches import SwatchesWanted, find_records
from laydown.store.tables import (
    ColorantRow,
    KitRow,
    LibraryTable,
    LightfastnessRow,
    MemberRow,
    PaperRow,
    RangeRow,
    SwatchColorantRow,
    SwatchRecord,
    WindowReadingRow,
)

HANGING = (MemberRow, LightfastnessRow, WindowReadingRow)
"""Rows that say something of one colorant alone, and go with it."""


def remove_range(session: Session, text: str, *, with_swatches: bool) -> int:
    """Remove a range and its colorants; swatches that use one go only when told so."""
    row = range_row(session, text)
    swatches = find_records(session, SwatchesWanted(range_id=row.id))
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


def _hanging(session: Session, range_id: int) -> list[LibraryTable]:
    found: list[LibraryTable] = []
    for table in HANGING:
        of_range = (
            select(table)
            .join(ColorantRow, ColorantRow.id == table.colorant_id)
            .where(ColorantRow.range_id == range_id)
        )
        found += session.scalars(of_range)
    return found


def coverage(session: Session, range_id: int | None = None) -> tuple[Coverage, ...]:
    """Return how much of each range, or of one, lies on each paper, sorted by their names."""
    used = (
        select(
            ColorantRow.range_id,
            SwatchRecord.paper_id,
            func.count(SwatchRecord.id.distinct()).label("swatches"),
            func.count(ColorantRow.id.distinct()).label("colorants"),
        )
        .select_from(SwatchColorantRow)
        .join(SwatchRecord)
        .join(ColorantRow)
        .group_by(ColorantRow.range_id, SwatchRecord.paper_id)
    )
    if range_id is not None:
        used = used.where(ColorantRow.range_id == range_id)
    counted = used.subquery()
    named = (
        select(RangeRow.name, PaperRow.name, counted.c.swatches, counted.c.colorants)
        .join(counted, counted.c.range_id == RangeRow.id)
        .join(PaperRow, PaperRow.id == counted.c.paper_id)
        .order_by(RangeRow.key, PaperRow.key)
    )
    return tuple(Coverage(*row) for row in session.execute(named))


def swatches_by_label(
    session: Session, ranges: tuple[str, ...] | None = None
) -> dict[str, dict[str, int]]:
    """Count the swatches of each colorant, of some ranges or all, by its label and by paper."""
    wanted = (
        select(RangeRow.name, ColorantRow.name, PaperRow.name, func.count())
        .select_from(SwatchColorantRow)
        .join(SwatchRecord)
        .join(PaperRow)
        .join(ColorantRow)
        .join(RangeRow)
        .group_by(RangeRow.name, ColorantRow.name, PaperRow.name)
        .order_by(PaperRow.name)
    )
    if ranges is not None:
        wanted = wanted.where(RangeRow.name.in_(ranges))
    found: dict[str, dict[str, int]] = {}
    for range_name, name, paper, count in session.execute(wanted):
        found.setdefault(Colorant(name, range_name).label, {})[paper] = count
    return found


def held(session: Session) -> Held:
    """Count what the library holds."""
    tables = (RangeRow, ColorantRow, PaperRow, SwatchRecord, KitRow)
    return Held(*(session.scalar(select(func.count(t.id))) or 0 for t in tables))
