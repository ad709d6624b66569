"""Printed sheets in the library, and what was read from them."""

import json
from collections.abc import Sequence
from dataclasses import astuple, replace
from datetime import datetime
from typing import Any

from sqlalchemy import delete, select

from laydown.media.recipe import Colorant, Medium, format_recipe, parse_recipe
from laydown.sheet import markers
from laydown.sheet.page import CellBox, Grid, PageSize
from laydown.sheet.reading import CellReading
from laydown.sheet.sheet import Cell, Sheet, SheetKind
from laydown.store import columns, shelf, trouble
from laydown.store.tables import CellReadingRow, SheetRow


def write_sheet(sheet: Sheet) -> str:
    """Return a sheet as JSON, its colorants written out."""
    colorants = sorted({c for cell in sheet.cells for c in cell.recipe.colorants})
    return json.dumps(
        {
            "number": sheet.number,
            "title": sheet.title,
            "kind": str(sheet.kind),
            "paper": sheet.paper,
            "size": str(sheet.size),
            "framed": sheet.framed,
            "left_out": sheet.left_out,
            "boxes": list(map(astuple, sheet.boxes)),
            "grids": list(map(astuple, sheet.grids)),
            "colorants": list(map(astuple, colorants)),
            "cells": [
                [cell.page, cell.place, format_recipe(cell.recipe, with_range=True)]
                for cell in sheet.cells
            ],
        },
        ensure_ascii=False,
    )


@trouble.from_rows
def read_sheet_text(text: str) -> Sheet:
    """Return the sheet that `write_sheet` wrote."""
    kept: dict[str, Any] = json.loads(text)
    colorants = [Colorant(name, of, Medium(m), *more) for name, of, m, *more in kept["colorants"]]
    by_label = {colorant.label: colorant for colorant in colorants}
    return Sheet(
        kept["number"],
        kept["title"],
        SheetKind(kept["kind"]),
        kept["paper"],
        PageSize(kept["size"]),
        tuple(Grid(*numbers) for numbers in kept["grids"]),
        tuple(
            Cell(number, page, place, parse_recipe(recipe, by_label.__getitem__))
            for number, (page, place, recipe) in enumerate(kept["cells"], start=1)
        ),
        kept["framed"],
        tuple(kept.get("left_out", ())),
        tuple(CellBox(*sides) for sides in kept.get("boxes", ())),
    )


READ = shelf.SharedFields(CellReading, CellReadingRow)
AT_ONCE = 1000
"""Readings that are in memory together where all are read."""
LAST_FIRST = (SheetRow.printed.desc(), SheetRow.id.desc())


class Sheets(shelf.Shelf):
    """The sheets of a library; see `Work.sheets`."""

    def free_number(self, *, wanted: int) -> int:
        """Return the wanted number, or the next one that no sheet here has."""
        taken: set[int] = set(self.session.scalars(select(SheetRow.id)))
        count: int = markers.MOST_SHEETS - 1
        order = ((wanted - 1 + step) % count + 1 for step in range(count))
        return next(number for number in order if number not in taken)

    def add(self, sheet: Sheet, *, when: datetime | None = None) -> None:
        """Keep a sheet as printed."""
        content, printed = write_sheet(sheet), when or columns.now()
        self.kept(SheetRow(id=sheet.number, content=content, printed=printed))

    def lay_out(self, sheet: Sheet) -> None:
        """Keep what lies on a sheet that was printed without cells."""
        self.session.get_one(SheetRow, sheet.number).content = write_sheet(sheet)
        self.session.flush()

    def numbers(self) -> tuple[int, ...]:
        """Return the numbers of all sheets, the last printed first."""
        return tuple(self.session.scalars(select(SheetRow.id).order_by(*LAST_FIRST)))

    def all(self) -> tuple[tuple[Sheet, datetime], ...]:
        """Return all sheets and when they were printed, the last first."""
        rows = self.session.scalars(select(SheetRow).order_by(*LAST_FIRST))
        return tuple((read_sheet_text(row.content), row.printed) for row in rows)

    def read_through(self) -> None:
        """Read every sheet and every reading once."""
        for content in self.session.scalars(select(SheetRow.content)):
            read_sheet_text(content)
        rows = select(CellReadingRow).execution_options(yield_per=AT_ONCE)
        for row in self.session.scalars(rows):
            _reading(row)

    def taken(self) -> dict[int, set[int]]:
        """Return the cells of each sheet that became swatches."""
        rows = select(CellReadingRow.sheet_id, CellReadingRow.cell)
        found: dict[int, set[int]] = {}
        for sheet, cell in self.session.execute(rows.where(CellReadingRow.accepted).distinct()):
            found.setdefault(sheet, set()).add(cell)
        return found

    def remove(self, number: int) -> None:
        """Remove a sheet that nothing was taken from, and what was read of it in vain."""
        self.get(number)
        self.session.execute(delete(CellReadingRow).where(CellReadingRow.sheet_id == number))
        self.session.execute(delete(SheetRow).where(SheetRow.id == number))

    def get(self, number: int) -> Sheet:
        """Return a sheet; raises `UnknownNameError` where the library never printed it."""
        row = self.row(
            SheetRow,
            number,
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
    ) -> None:
        """Keep readings of a sheet's cells beside all earlier ones."""
        self.session.add_all(
            CellReadingRow(
                sheet_id=number,
                cell=reading.number,
                stage=stage,
                **READ.cells(replace(reading, xyz=reading.xyz.round(6))),
                conversion=conversion,
                accepted=reading.number in accepted,
                taken_in=columns.now(),
            )
            for reading in readings
        )
        self.session.flush()

    def readings(
        self, number: int, *, stage: str = "", conversion: str = "", accepted: bool = False
    ) -> tuple[CellReading, ...]:
        """Return all readings of a sheet's cells, oldest first.

        `stage` and `conversion` say which alone are wanted, `accepted` whether those alone that
        became swatches.
        """
        wanted = select(CellReadingRow).where(CellReadingRow.sheet_id == number)
        if stage:
            wanted = wanted.where(CellReadingRow.stage == stage)
        if conversion:
            wanted = wanted.where(CellReadingRow.conversion == conversion)
        if accepted:
            wanted = wanted.where(CellReadingRow.accepted)
        return tuple(map(_reading, self.session.scalars(wanted.order_by(CellReadingRow.id))))


@trouble.from_rows
def _reading(row: CellReadingRow) -> CellReading:
    return READ.value(row, number=row.cell)
