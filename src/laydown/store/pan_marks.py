"""What the trade says of the pans of a library."""

from laydown.errors import PanMarkError
from laydown.media.pan_marks import MarkedPan, PanMark, parse_marks
from laydown.media.recipe import Colorant, Medium
from laydown.store import shelf, supplies, tables, trouble


class PanMarks(shelf.Shelf):
    """Marks of pans in a library; see `Work.pan_marks`."""

    @trouble.from_rows
    def all(self) -> tuple[MarkedPan, ...]:
        """Return all pans of which anything is said, sorted by range and name."""
        said = supplies.said_of_colorants(self.session, tables.PanMarkRow)
        return tuple(MarkedPan(pan, parse_marks([row.marks])) for pan, row in said)

    def mark(self, colorant: Colorant, marks: tuple[PanMark, ...]) -> None:
        """Say all that is to be said of a pan; no marks take back what was.

        Raises
        ------
        PanMarkError
            For a colorant that is no pan.
        """
        owner = supplies.colorant_row(self.session, colorant)
        if owner.range.medium != Medium.WASH:
            raise PanMarkError(
                f"{colorant.label} is no pan of watercolor, and only pans are marked.",
                hint="Choose a pan. Markers and pencils are told apart by their swatches alone.",
            )
        row = self.session.get(tables.PanMarkRow, owner.id)
        if not marks:
            if row is not None:
                self.session.delete(row)
        elif row is None:
            self.session.add(tables.PanMarkRow(colorant=owner, marks=" ".join(marks)))
        else:
            row.marks = " ".join(marks)
        self.session.flush()
