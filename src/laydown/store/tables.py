"""The tables of a library, shaped for markers, pencils and washes alike.

A name is kept as first written, and beside it a ``key`` that leaves out capitals and spacing, by
which it is found and kept unique on every database alike. No foreign key cascades in the database:
what goes with a removed row is removed here, so that the journal sees it.
"""

from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

from laydown.color.spectra import WAVELENGTHS
from laydown.media.laydown import MOST_COATS, Medium, Pressure, Stroke, Wait
from laydown.media.legible import legible
from laydown.media.recipe import MOST_PARTS, Tool, Treatment
from laydown.media.swatch import Basis
from laydown.store.columns import (
    LONGEST_LESSON,
    LONGEST_PAYLOAD,
    ImageColumn,
    NumberColumn,
    NumbersColumn,
    ProseColumn,
    TruthColumn,
    WholeColumn,
    WordColumn,
    WordsColumn,
)
from laydown.store.stamps import Moment

LARGEST_ID = 2**31 - 1
MOST_COATS_IN_ALL = 99
BANDS = len(WAVELENGTHS)
BRIGHTEST, MOST_XYZ, FARTHEST_LAB = 10.0, 1e6, 1000.0
"""Above any reflectance, a fluorescent one too, any XYZ and any distance in CIELAB."""


class Table(DeclarativeBase):
    """What all tables share."""

    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it as it stands
        datetime: Moment(),
        bool: TruthColumn(),
        float: NumberColumn(),
        int: WholeColumn(most=LARGEST_ID),
    }

    def __setattr__(self, name: str, value: object) -> None:
        """Take in a value, a text without what nobody sees: whatever door it came through."""
        super().__setattr__(name, legible(value) if isinstance(value, str) else value)


def _word_of(words: type[StrEnum]) -> WordColumn:
    """Return the type of a column that may hold one of these words."""
    return WordColumn(20, among=tuple(words), missing=True)


class RangeRow(Table):
    """A range and the medium of all its colorants."""

    __tablename__ = "ranges"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(WordColumn(200))
    key: Mapped[str] = mapped_column(WordColumn(200), unique=True)
    medium: Mapped[str] = mapped_column(WordColumn(20, among=tuple(Medium)))

    colorants: Mapped[list["ColorantRow"]] = relationship(
        back_populates="range", cascade="all, delete-orphan"
    )


class ColorantRow(Table):
    """A marker, pencil or pan."""

    __tablename__ = "colorants"
    __table_args__ = (UniqueConstraint("range_id", "key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    range_id: Mapped[int] = mapped_column(ForeignKey("ranges.id"))
    name: Mapped[str] = mapped_column(WordColumn(200))
    key: Mapped[str] = mapped_column(WordColumn(200))
    code: Mapped[str] = mapped_column(WordColumn(200), default="")
    blender: Mapped[bool] = mapped_column(default=False)

    range: Mapped[RangeRow] = relationship(back_populates="colorants", lazy="joined")


class PaperRow(Table):
    """A paper."""

    __tablename__ = "papers"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(WordColumn(200))
    key: Mapped[str] = mapped_column(WordColumn(200), unique=True)
    coats_limit: Mapped[int] = mapped_column(WholeColumn(1, MOST_COATS_IN_ALL))

    swatches: Mapped[list["SwatchRecord"]] = relationship(back_populates="paper")


class SwatchRecord(Table):
    """A measured patch; what was laid stands in its steps."""

    __tablename__ = "swatches"
    __table_args__ = (CheckConstraint("basis in ('spectrum', 'xyz')", name="basis_known"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    paper_id: Mapped[int] = mapped_column(ForeignKey("papers.id"), index=True)
    basis: Mapped[str] = mapped_column(WordColumn(20, among=tuple(Basis)))
    reflectance: Mapped[list[float]] = mapped_column(NumbersColumn(BANDS, most=BRIGHTEST))
    xyz: Mapped[list[float]] = mapped_column(NumbersColumn(3, most=MOST_XYZ))
    spread: Mapped[float]
    flags: Mapped[list[str]] = mapped_column(WordsColumn)
    taken_in: Mapped[datetime]

    paper: Mapped[PaperRow] = relationship(back_populates="swatches", lazy="joined")
    steps: Mapped[list["StepRow"]] = relationship(
        back_populates="swatch",
        cascade="all, delete-orphan",
        order_by="StepRow.position",
        lazy="selectin",
    )


class StepRow(Table):
    """One step of a swatch's recipe: a colorant with its laydown, or a treatment with its tool."""

    __tablename__ = "steps"
    __table_args__ = (
        UniqueConstraint("swatch_id", "position"),
        CheckConstraint(
            "(colorant_id is null) = (treatment is not null)", name="colorant_or_treatment"
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    swatch_id: Mapped[int] = mapped_column(ForeignKey("swatches.id"))
    position: Mapped[int]
    colorant_id: Mapped[int | None] = mapped_column(
        WholeColumn(most=LARGEST_ID, missing=True), ForeignKey("colorants.id"), index=True
    )
    coats: Mapped[int | None] = mapped_column(WholeColumn(1, MOST_COATS, missing=True))
    stroke: Mapped[str | None] = mapped_column(_word_of(Stroke))
    pressure: Mapped[str | None] = mapped_column(_word_of(Pressure))
    dilution: Mapped[float | None] = mapped_column(NumberColumn(0.0, 1.0, missing=True))
    wait: Mapped[str | None] = mapped_column(_word_of(Wait))
    treatment: Mapped[str | None] = mapped_column(_word_of(Treatment))
    tool: Mapped[str | None] = mapped_column(_word_of(Tool))

    swatch: Mapped[SwatchRecord] = relationship(back_populates="steps")
    colorant: Mapped[ColorantRow | None] = relationship()
    mixed: Mapped[list["PartRow"]] = relationship(
        back_populates="step",
        cascade="all, delete-orphan",
        order_by="PartRow.position",
        lazy="selectin",
    )


class PartRow(Table):
    """A part of a step that is mixed on the palette; the step's own colorant is the first."""

    __tablename__ = "parts"
    __table_args__ = (UniqueConstraint("step_id", "position"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    step_id: Mapped[int] = mapped_column(ForeignKey("steps.id"))
    position: Mapped[int]
    colorant_id: Mapped[int] = mapped_column(ForeignKey("colorants.id"), index=True)
    parts: Mapped[int] = mapped_column(WholeColumn(1, MOST_PARTS))

    step: Mapped[StepRow] = relationship(back_populates="mixed")
    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class KitRow(Table):
    """A kit."""

    __tablename__ = "kits"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(WordColumn(200))
    key: Mapped[str] = mapped_column(WordColumn(200), unique=True)

    members: Mapped[list["MemberRow"]] = relationship(
        back_populates="kit", cascade="all, delete-orphan", lazy="selectin"
    )


class MemberRow(Table):
    """A colorant's place in a kit."""

    __tablename__ = "kit_members"

    kit_id: Mapped[int] = mapped_column(ForeignKey("kits.id"), primary_key=True)
    colorant_id: Mapped[int] = mapped_column(
        ForeignKey("colorants.id"), primary_key=True, index=True
    )

    kit: Mapped[KitRow] = relationship(back_populates="members")
    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class LightfastnessRow(Table):
    """The class of lightfastness that a colorant's maker states, and where that was read."""

    __tablename__ = "lightfastness"

    colorant_id: Mapped[int] = mapped_column(ForeignKey("colorants.id"), primary_key=True)
    grade: Mapped[str] = mapped_column(WordColumn(20))
    source: Mapped[str] = mapped_column(WordColumn(300))

    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class WindowReadingRow(Table):
    """A plain coat of a colorant before and after light; doses in million lux-hours."""

    __tablename__ = "window_readings"

    id: Mapped[int] = mapped_column(primary_key=True)
    colorant_id: Mapped[int] = mapped_column(ForeignKey("colorants.id"), index=True)
    paper: Mapped[str] = mapped_column(WordColumn(200))
    least: Mapped[float]
    most: Mapped[float]
    filtered: Mapped[bool]
    before: Mapped[list[float]] = mapped_column(NumbersColumn(3, most=FARTHEST_LAB))
    after: Mapped[list[float]] = mapped_column(NumbersColumn(3, most=FARTHEST_LAB))
    noise: Mapped[float]
    remark: Mapped[str] = mapped_column(WordColumn(300))
    noted: Mapped[datetime]

    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class LessonRow(Table):
    """A lesson as its file has it, with what a list of lessons says of it."""

    __tablename__ = "lessons"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(WordColumn(300))
    paper: Mapped[str] = mapped_column(WordColumn(200))
    colors: Mapped[int]
    text: Mapped[str] = mapped_column(ProseColumn(LONGEST_LESSON), deferred=True)
    kept: Mapped[datetime]


class FitRow(Table):
    """A kept fit: a cache, tied to nothing by foreign keys and never in the journal."""

    __tablename__ = "fits"
    __table_args__ = (UniqueConstraint("ranges", "paper"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    ranges: Mapped[str] = mapped_column(ProseColumn())
    paper: Mapped[str] = mapped_column(WordColumn(200))
    model_version: Mapped[str] = mapped_column(WordColumn(50))
    swatch_hash: Mapped[str] = mapped_column(WordColumn(64))
    payload: Mapped[str] = mapped_column(ProseColumn(LONGEST_PAYLOAD))


class ChangeRow(Table):
    """One command that changed the library."""

    __tablename__ = "changes"

    id: Mapped[int] = mapped_column(primary_key=True)
    label: Mapped[str] = mapped_column(WordColumn(500))
    made: Mapped[datetime]


class JournalRow(Table):
    """One row as it was before and after a command; None is a row that wasn't there."""

    __tablename__ = "journal"
    __table_args__ = (Index("journal_by_change", "change_id", "position", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    change_id: Mapped[int] = mapped_column(ForeignKey("changes.id"))
    position: Mapped[int]
    table_name: Mapped[str] = mapped_column(WordColumn(50))
    before: Mapped[dict[str, Any] | None] = mapped_column(ImageColumn)
    after: Mapped[dict[str, Any] | None] = mapped_column(ImageColumn)


JOURNALED = (
    RangeRow,
    ColorantRow,
    PaperRow,
    SwatchRecord,
    StepRow,
    PartRow,
    KitRow,
    MemberRow,
    LightfastnessRow,
    WindowReadingRow,
    LessonRow,
)
"""What undo takes back; fits are a cache, and the journal doesn't keep itself."""
