"""The tables of printed sheets and of what was read from them.

What is printed lies on someone's table whatever is taken back later, and a reading was seen; so
neither is in the journal. Swatches made from readings are.
"""

from datetime import datetime

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from laydown.sheet.identity import MOST_SHEETS
from laydown.store.columns import NumbersColumn, ProseColumn, WholeColumn, WordColumn, WordsColumn
from laydown.store.tables import MOST_XYZ, Table


class SheetRow(Table):
    """A printed sheet, as text that `laydown.store.sheet_text` writes."""

    __tablename__ = "sheets"

    id: Mapped[int] = mapped_column(
        WholeColumn(1, MOST_SHEETS - 1), primary_key=True, autoincrement=False
    )
    content: Mapped[str] = mapped_column(ProseColumn())
    printed: Mapped[datetime]


class CellReadingRow(Table):
    """One reading of one cell; a cell may be read many times, wet and dry."""

    __tablename__ = "cell_readings"
    __table_args__ = (Index("cell_readings_by_cell", "sheet_id", "cell"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheets.id"))
    cell: Mapped[int]
    stage: Mapped[str] = mapped_column(WordColumn(20))
    xyz: Mapped[list[float]] = mapped_column(NumbersColumn(3, most=MOST_XYZ))
    spread: Mapped[float]
    flags: Mapped[list[str]] = mapped_column(WordsColumn)
    conversion: Mapped[str] = mapped_column(WordColumn(40))
    accepted: Mapped[bool]
    taken_in: Mapped[datetime]
