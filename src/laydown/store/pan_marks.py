"""What the trade says of the pans of a library."""

from sqlalchemy import select

from laydown.errors import PanMarkError
from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.pan_marks import MarkedPan, PanMark, parse_marks
from laydown.store.shelf import Shelf
from laydown.store.supplies import COLORANT, colorant_in, colorant_row
from laydown.store.tables import ColorantRow, PanMarkRow, RangeRow
from laydown.store.trouble import from_rows


class PanMarks(Shelf):
    """Marks of pans in a library; see `Work.pan_marks`."""

    @from_rows
    def all(self) -> tuple[MarkedPan, ...]:
        """Return all pans of which anything is said, sorted by range and name."""
        rows = self.session.execute(
            select(PanMarkRow.marks, *COLORANT)
            .join(ColorantRow, PanMarkRow.colorant_id == ColorantRow.id)
            .join(RangeRow, ColorantRow.range_id == RangeRow.id)
            .order_by(RangeRow.key, ColorantRow.key)
        )
        return tuple(
            MarkedPan(colorant_in(*colorant), parse_marks([marks])) for marks, *colorant in rows
        )

    def mark(self, colorant: Colorant, marks: tuple[PanMark, ...]) -> None:
        """Say all that is to be said of a pan; no marks take back what was.

        Raises
        ------
        PanMarkError
            For a colorant that is no pan.
        """
        owner = colorant_row(self.session, colorant)
        if owner.range.medium != Medium.WASH:
            raise PanMarkError(
                f"{colorant.label} is no pan of watercolor, and only pans are marked.",
                hint="Choose a pan. Markers and pencils are told apart by their swatches alone.",
            )
        row = self.session.get(PanMarkRow, owner.id)
        if not marks:
            if row is not None:
                self.session.delete(row)
        elif row is None:
            self.session.add(PanMarkRow(colorant=owner, marks=" ".join(marks)))
        else:
            row.marks = " ".join(marks)
        self.session.flush()
