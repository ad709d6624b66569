"""What is said of single colorants: classes of lightfastness, tests in a window, marks of pans."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from sqlalchemy import select

from laydown.color.arrays import FloatArray
from laydown.errors import LightfastnessError, PanMarkError
from laydown.media.legible import name_key
from laydown.media.light import exposure, window_test
from laydown.media.light.fading import Lightfastness, parse_class
from laydown.media.pan_marks import MarkedPan, PanMark, parse_marks
from laydown.media.recipe import Colorant, Medium
from laydown.store import columns, shelf, supplies, trouble
from laydown.store.tables import LightfastnessRow, PanMarkRow, WindowReadingRow

LONGEST_REMARK = 300
SAME_WITHIN = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class WindowTest:
    """A reading of a colorant in a window."""

    colorant: Colorant
    """Laid as one plain coat."""
    paper: str
    """The name of what it was laid on."""
    reading: window_test.WindowReading
    """Before and after."""
    remark: str = ""
    """In the person's own words."""
    number: int = 0
    """In this library; 0 where it isn't kept yet."""
    noted: datetime | None = None
    """When it was kept, in UTC."""


class Ratings(shelf.Shelf):
    """Lightfastness in a library; see `Work.lightfastness`."""

    @trouble.from_rows
    def all(self) -> tuple[tuple[Colorant, Lightfastness, str], ...]:
        """Return all stated classes and who states them, sorted by range and name."""
        said = supplies.said_of_colorants(self.session, LightfastnessRow)
        return tuple((c, parse_class(row.grade), row.source) for c, row in said)

    def rate(self, colorant: Colorant, fastness: Lightfastness | None, source: str = "") -> bool:
        """State a colorant's class, or with None that it isn't known; return whether that is new.

        Raises `LightfastnessError` for a source of more letters than are kept.
        """
        _check_length(source)
        owner = supplies.colorant_row(self.session, colorant)
        row = self.session.get(LightfastnessRow, owner.id)
        if fastness is None:
            if row is not None:
                self.session.delete(row)
        elif row is None:
            row = LightfastnessRow(colorant=owner, grade=fastness, source=source)
            self.session.add(row)
        elif (row.grade, row.source) == (fastness, source):
            return False
        else:
            row.grade, row.source = fastness, source
        self.session.flush()
        return row is not None

    def tests(self) -> tuple[WindowTest, ...]:
        """Return all window readings in the order they were kept."""
        rows = self.session.scalars(select(WindowReadingRow).order_by(WindowReadingRow.id))
        return tuple(map(_stored, rows))

    def add(self, test: WindowTest) -> WindowTest | None:
        """Keep a reading; return it with its number, or None where the same is there already."""
        _check_length(test.remark)
        owner = supplies.colorant_row(self.session, test.colorant)
        read, own = test.reading, WindowReadingRow.colorant_id == owner.id
        kept = self.session.scalars(select(WindowReadingRow).where(own))
        if any(_same(test, one) for one in map(_stored, kept)):
            return None
        row = WindowReadingRow(
            colorant=owner,
            paper=test.paper,
            least=read.dose.low,
            most=read.dose.high,
            filtered=read.filtered,
            before=np.round(read.before, 6).tolist(),
            after=np.round(read.after, 6).tolist(),
            noise=read.noise,
            remark=test.remark,
            noted=test.noted or columns.now(),
        )
        return _stored(self.kept(row))

    def forget(self, number: int) -> WindowTest:
        """Remove a reading and return it; raises `UnknownNameError` where none has the number."""
        row = self.row(
            WindowReadingRow,
            number,
            f"There is no window reading number {number} here.",
            hint="Choose one from the list of what was read.",
            command="laydown light ratings",
        )
        gone = _stored(row)
        self.dropped(row)
        return gone


def _check_length(text: str) -> None:
    if len(text) > LONGEST_REMARK:
        raise LightfastnessError(
            f"A remark of {len(text)} letters: at most {LONGEST_REMARK} are kept.",
            hint="Say it in fewer words.",
        )


@trouble.from_rows
def _stored(row: WindowReadingRow) -> WindowTest:
    dose, labs = exposure.Span(row.least, row.most), (np.array(row.before), np.array(row.after))
    reading = window_test.WindowReading(dose, *labs, row.noise, row.filtered)
    colorant = supplies.colorant_of(row.colorant)
    return WindowTest(colorant, row.paper, reading, row.remark, row.id, row.noted)


def _same(one: WindowTest, other: WindowTest) -> bool:
    a, b = one.reading, other.reading
    return (
        name_key(one.paper) == name_key(other.paper)
        and a.filtered == b.filtered
        and bool(np.allclose(_numbers(a), _numbers(b), rtol=SAME_WITHIN, atol=SAME_WITHIN))
    )


def _numbers(reading: window_test.WindowReading) -> FloatArray:
    dose = reading.dose
    return np.concatenate([[dose.low, dose.high, reading.noise], reading.before, reading.after])


class PanMarks(shelf.Shelf):
    """Marks of pans in a library; see `Work.pan_marks`."""

    @trouble.from_rows
    def all(self) -> tuple[MarkedPan, ...]:
        """Return all pans of which anything is said, sorted by range and name."""
        said = supplies.said_of_colorants(self.session, PanMarkRow)
        return tuple(MarkedPan(pan, parse_marks([row.marks])) for pan, row in said)

    def mark(self, colorant: Colorant, marks: tuple[PanMark, ...]) -> None:
        """Say all that is to be said of a pan; no marks take back what was.

        Raises `PanMarkError` for a colorant that is no pan.
        """
        owner = supplies.colorant_row(self.session, colorant)
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
