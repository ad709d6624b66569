"""Printed sheets in the library, and the readings of their cells: added, never altered."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from laydown.errors import UnknownNameError
from laydown.sheet.identity import MOST_SHEETS
from laydown.sheet.reading import CellReading, Flag
from laydown.sheet.sheet import Sheet
from laydown.store.sheet_tables import CellReadingRow, SheetRow
from laydown.store.sheet_text import read_sheet_text, write_sheet
from laydown.store.stamps import now
from laydown.store.trouble import from_rows

AT_ONCE = 1000
"""Readings that are in memory together where all are read."""


@dataclass(frozen=True, slots=True, eq=False)
class StoredReading:
    """A reading of a cell as it was kept.

    Parameters
    ----------
    reading
        The reading.
    stage
        When in the work it was taken: dry, wet, or a word of the user's.
    conversion
        How the picture's numbers became a color.
    accepted
        Whether it became a swatch.
    when
        When it was read, in UTC.
    """

    reading: CellReading
    stage: str
    conversion: str
    accepted: bool
    when: datetime


@dataclass(frozen=True, slots=True)
class Sheets:
    """The sheets of a library, within one transaction; made by `Work.sheets`."""

    session: Session

    def free_number(self, *, wanted: int) -> int:
        """Return the wanted number, or the next one that no sheet here has."""
        taken: set[int] = set(self.session.scalars(select(SheetRow.id)))
        order = ((wanted - 1 + step) % (MOST_SHEETS - 1) + 1 for step in range(MOST_SHEETS - 1))
        return int(next(number for number in order if number not in taken))

    def add(self, sheet: Sheet, *, when: datetime | None = None) -> None:
        """Keep a sheet as printed."""
        self.session.add(
            SheetRow(id=sheet.number, content=write_sheet(sheet), printed=when or now())
        )
        self.session.flush()

    def numbers(self) -> tuple[int, ...]:
        """Return the numbers of all sheets, the last printed first."""
        rows = select(SheetRow.id).order_by(SheetRow.printed.desc(), SheetRow.id.desc())
        return tuple(self.session.scalars(rows))

    def all(self) -> tuple[tuple[Sheet, datetime], ...]:
        """Return all sheets and when they were printed, the last first."""
        rows = select(SheetRow).order_by(SheetRow.printed.desc(), SheetRow.id.desc())
        return tuple(
            (read_sheet_text(row.content), row.printed) for row in self.session.scalars(rows)
        )

    def read_through(self) -> None:
        """Read every sheet and every reading once."""
        for content in self.session.scalars(select(SheetRow.content)):
            read_sheet_text(content)
        rows = select(CellReadingRow).execution_options(yield_per=AT_ONCE)
        for row in self.session.scalars(rows):
            _stored(row)

    def taken(self) -> dict[int, set[int]]:
        """Return the cells of each sheet that became swatches."""
        rows = select(CellReadingRow.sheet_id, CellReadingRow.cell)
        found: dict[int, set[int]] = {}
        for sheet, cell in self.session.execute(rows.where(CellReadingRow.accepted).distinct()):
            found.setdefault(sheet, set()).add(cell)
        return found

    def get(self, number: int) -> Sheet:
        """Return a sheet.

        Raises
        ------
        UnknownNameError
            Where the library never printed it.
        """
        row = self.session.get(SheetRow, number)
        if row is None:
            raise UnknownNameError(
                f"Wrong sheet: this library never printed a sheet {number}.",
                hint="Print a new sheet, or have it read by the library it was printed from.",
                command="--db",
            )
        return read_sheet_text(row.content)

    def add_readings(
        self,
        number: int,
        readings: Sequence[CellReading],
        *,
        stage: str,
        conversion: str,
        accepted: frozenset[int],
        when: datetime | None = None,
    ) -> None:
        """Keep readings of a sheet's cells beside all earlier ones."""
        self.session.add_all(
            CellReadingRow(
                sheet_id=number,
                cell=reading.number,
                stage=stage,
                xyz=[round(float(v), 6) for v in reading.xyz],
                spread=float(reading.spread),
                flags=sorted(str(flag) for flag in reading.flags),
                conversion=conversion,
                accepted=reading.number in accepted,
                taken_in=when or now(),
            )
            for reading in readings
        )
        self.session.flush()

    def readings(self, number: int) -> tuple[StoredReading, ...]:
        """Return all readings of a sheet's cells, oldest first."""
        rows = self.session.scalars(
            select(CellReadingRow)
            .where(CellReadingRow.sheet_id == number)
            .order_by(CellReadingRow.id)
        )
        return tuple(_stored(row) for row in rows)


@from_rows
def _stored(row: CellReadingRow) -> StoredReading:
    reading = CellReading(
        row.cell, np.array(row.xyz), row.spread, frozenset(Flag(flag) for flag in row.flags)
    )
    return StoredReading(reading, row.stage, row.conversion, row.accepted, row.taken_in)
