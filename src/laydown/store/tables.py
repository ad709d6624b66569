"""The tables of the library."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

from laydown.color.spectra import WAVELENGTHS
from laydown.media.legible import legible
from laydown.media.recipe import Medium, Stock, Surface
from laydown.media.swatch import Basis, Fill
from laydown.sheet.markers import MOST_SHEETS
from laydown.store import columns
from laydown.store.columns import Moment
from laydown.store.records import State

# The tables of a library, shaped for markers, pencils and washes alike.
#
# A name is kept as first written, and beside it a ``key`` that leaves out capitals and spacing,
# by which it is found and kept unique on every database alike. No foreign key cascades in the
# database: what goes with a removed row is removed here, so that the journal sees it.

LARGEST_ID = 2**31 - 1
MOST_COATS_IN_ALL = 99
BANDS = len(WAVELENGTHS)
BRIGHTEST, MOST_XYZ, FARTHEST_LAB = 10.0, 1e6, 1000.0
"""Above any reflectance, a fluorescent one too, any XYZ and any distance in CIELAB."""


class LibraryTable(DeclarativeBase):
    """What all tables share."""

    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it as it stands
        datetime: Moment(),
        bool: columns.TruthColumn(),
        float: columns.NumberColumn(),
        int: columns.WholeColumn(most=LARGEST_ID),
    }

    def __setattr__(self, name: str, value: object) -> None:
        """Take in a value, a text without what nobody sees: whatever door it came through."""
        super().__setattr__(name, legible(value) if isinstance(value, str) else value)


class RangeRow(LibraryTable):
    """A range and the medium of all its colorants."""

    __tablename__ = "ranges"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(columns.WordColumn(200))
    key: Mapped[str] = mapped_column(columns.WordColumn(200), unique=True)
    medium: Mapped[str] = mapped_column(columns.WordColumn(20, among=tuple(Medium)))

    colorants: Mapped[list["ColorantRow"]] = relationship(
        back_populates="range", cascade="all, delete-orphan"
    )


class ColorantRow(LibraryTable):
    """A marker, pencil or pan."""

    __tablename__ = "colorants"
    __table_args__ = (UniqueConstraint("range_id", "key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    range_id: Mapped[int] = mapped_column(ForeignKey("ranges.id"))
    name: Mapped[str] = mapped_column(columns.WordColumn(200))
    key: Mapped[str] = mapped_column(columns.WordColumn(200))
    code: Mapped[str] = mapped_column(columns.WordColumn(200), default="")
    blender: Mapped[bool] = mapped_column(default=False)

    range: Mapped[RangeRow] = relationship(back_populates="colorants", lazy="joined")


class PaperRow(LibraryTable):
    """A paper."""

    __tablename__ = "papers"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(columns.WordColumn(200))
    key: Mapped[str] = mapped_column(columns.WordColumn(200), unique=True)
    coats_limit: Mapped[int] = mapped_column(columns.WholeColumn(1, MOST_COATS_IN_ALL))
    surface: Mapped[str] = mapped_column(columns.WordColumn(20, among=tuple(Surface)), default="")

    swatches: Mapped[list["SwatchRecord"]] = relationship(back_populates="paper")


class SwatchRecord(LibraryTable):
    """A measured patch; its columns are named as the fields of `laydown.media.swatch.Swatch`."""

    __tablename__ = "swatches"
    __table_args__ = (CheckConstraint("basis in ('spectrum', 'xyz')", name="basis_known"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    paper_id: Mapped[int] = mapped_column(ForeignKey("papers.id"), index=True)
    recipe: Mapped[str] = mapped_column(columns.ProseColumn())
    reflectance: Mapped[list[float]] = mapped_column(columns.NumbersColumn(BANDS, most=BRIGHTEST))
    basis: Mapped[str] = mapped_column(columns.WordColumn(20, among=tuple(Basis)))
    spread: Mapped[float]
    hours: Mapped[float | None] = mapped_column(columns.NumberColumn(0.0, missing=True))
    flags: Mapped[list[str]] = mapped_column(columns.WordsColumn)
    picture: Mapped[str] = mapped_column(columns.WordColumn(64), default="")
    shared: Mapped[float] = mapped_column(default=0.0)
    taken_in: Mapped[datetime]

    paper: Mapped[PaperRow] = relationship(back_populates="swatches", lazy="joined")
    colorants: Mapped[list["SwatchColorantRow"]] = relationship(
        back_populates="swatch", cascade="all, delete-orphan", lazy="selectin"
    )


class SwatchColorantRow(LibraryTable):
    """A colorant that the recipe of a swatch names: to find the swatch by it, and to hold it."""

    __tablename__ = "swatch_colorants"

    swatch_id: Mapped[int] = mapped_column(ForeignKey("swatches.id"), primary_key=True)
    colorant_id: Mapped[int] = mapped_column(
        ForeignKey("colorants.id"), primary_key=True, index=True
    )

    swatch: Mapped[SwatchRecord] = relationship(back_populates="colorants")


class KitRow(LibraryTable):
    """A kit."""

    __tablename__ = "kits"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(columns.WordColumn(200))
    key: Mapped[str] = mapped_column(columns.WordColumn(200), unique=True)

    members: Mapped[list["MemberRow"]] = relationship(
        back_populates="kit", cascade="all, delete-orphan", lazy="selectin"
    )


class MemberRow(LibraryTable):
    """A colorant's place in a kit."""

    __tablename__ = "kit_members"

    kit_id: Mapped[int] = mapped_column(ForeignKey("kits.id"), primary_key=True)
    colorant_id: Mapped[int] = mapped_column(
        ForeignKey("colorants.id"), primary_key=True, index=True
    )
    stock: Mapped[str] = mapped_column(
        columns.WordColumn(20, among=tuple(Stock)), default=Stock.THERE.value
    )

    kit: Mapped[KitRow] = relationship(back_populates="members")
    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class LightfastnessRow(LibraryTable):
    """The class of lightfastness that a colorant's maker states, and where that was read."""

    __tablename__ = "lightfastness"

    colorant_id: Mapped[int] = mapped_column(ForeignKey("colorants.id"), primary_key=True)
    grade: Mapped[str] = mapped_column(columns.WordColumn(20))
    source: Mapped[str] = mapped_column(columns.WordColumn(300))

    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class PanMarkRow(LibraryTable):
    """What the trade says of a pan, as words between spaces."""

    __tablename__ = "pan_marks"

    colorant_id: Mapped[int] = mapped_column(ForeignKey("colorants.id"), primary_key=True)
    marks: Mapped[str] = mapped_column(columns.WordColumn(100))

    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class WindowReadingRow(LibraryTable):
    """A plain coat of a colorant before and after light; doses in million lux-hours."""

    __tablename__ = "window_readings"

    id: Mapped[int] = mapped_column(primary_key=True)
    colorant_id: Mapped[int] = mapped_column(ForeignKey("colorants.id"), index=True)
    paper: Mapped[str] = mapped_column(columns.WordColumn(200))
    least: Mapped[float]
    most: Mapped[float]
    filtered: Mapped[bool]
    before: Mapped[list[float]] = mapped_column(columns.NumbersColumn(3, most=FARTHEST_LAB))
    after: Mapped[list[float]] = mapped_column(columns.NumbersColumn(3, most=FARTHEST_LAB))
    noise: Mapped[float]
    remark: Mapped[str] = mapped_column(columns.WordColumn(300))
    noted: Mapped[datetime]

    colorant: Mapped[ColorantRow] = relationship(lazy="joined")


class LessonRow(LibraryTable):
    """A lesson as its file has it, with what a list of lessons says of it."""

    __tablename__ = "lessons"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(columns.WordColumn(300))
    paper: Mapped[str] = mapped_column(columns.WordColumn(200))
    colors: Mapped[int]
    text: Mapped[str] = mapped_column(columns.ProseColumn(columns.LONGEST_LESSON), deferred=True)
    kept: Mapped[datetime]


class FitRow(LibraryTable):
    """A kept fit: a cache, tied to nothing by foreign keys and never in the journal."""

    __tablename__ = "fits"
    __table_args__ = (UniqueConstraint("ranges", "paper"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    ranges: Mapped[str] = mapped_column(columns.ProseColumn())
    paper: Mapped[str] = mapped_column(columns.WordColumn(200))
    model_version: Mapped[str] = mapped_column(columns.WordColumn(50))
    swatch_hash: Mapped[str] = mapped_column(columns.WordColumn(64))
    payload: Mapped[str] = mapped_column(columns.ProseColumn(columns.LONGEST_PAYLOAD))


class ChangeRow(LibraryTable):
    """One command that changed the library; one that was undone has its number below zero."""

    __tablename__ = "changes"

    id: Mapped[int] = mapped_column(columns.WholeColumn(-columns.MOST_WHOLE), primary_key=True)
    label: Mapped[str] = mapped_column(columns.WordColumn(500))
    made: Mapped[datetime]
    who: Mapped[str] = mapped_column(columns.WordColumn(100))


class JournalRow(LibraryTable):
    """One row as it was before and after a command; None is a row that wasn't there."""

    __tablename__ = "journal"
    __table_args__ = (Index("journal_by_change", "change_id", "position", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    change_id: Mapped[int] = mapped_column(
        columns.WholeColumn(-columns.MOST_WHOLE), ForeignKey("changes.id")
    )
    position: Mapped[int]
    table_name: Mapped[str] = mapped_column(columns.WordColumn(50))
    before: Mapped[dict[str, Any] | None] = mapped_column(columns.ImageColumn)
    after: Mapped[dict[str, Any] | None] = mapped_column(columns.ImageColumn)


# The tables of jobs: long work that a door started, and what came of it.
#
# What was asked and what was found stand in a table of their own, since a list of jobs needs
# neither. The journal leaves jobs alone: a job is no change to take back.

LARGEST_TEXT = 150_000_000
"""Bytes of a packed text; what is packed into it is bounded in `laydown.store.jobs`."""


class JobRow(LibraryTable):
    """A job as it began, or as it ended."""

    __tablename__ = "jobs"

    id: Mapped[int] = mapped_column(primary_key=True)
    task: Mapped[str] = mapped_column(columns.WordColumn(50))
    title: Mapped[str] = mapped_column(columns.WordColumn(300))
    started_by: Mapped[str] = mapped_column(columns.WordColumn(50))
    state: Mapped[str] = mapped_column(columns.WordColumn(20, among=tuple(State)), index=True)
    done: Mapped[int] = mapped_column(columns.WholeColumn(), default=0)
    total: Mapped[int] = mapped_column(columns.WholeColumn(), default=0)
    message: Mapped[str] = mapped_column(columns.ProseColumn(), default="")
    hint: Mapped[str] = mapped_column(columns.ProseColumn(), default="")
    bytes_kept: Mapped[int] = mapped_column(default=0)
    made: Mapped[datetime]
    started: Mapped[datetime | None] = mapped_column(Moment(missing=True))
    ended: Mapped[datetime | None] = mapped_column(Moment(missing=True))
    bench: Mapped[int] = mapped_column(columns.WholeColumn())


class JobTextRow(LibraryTable):
    """What a job was asked, on what form, or what it found, packed."""

    __tablename__ = "job_texts"

    job_id: Mapped[int] = mapped_column(ForeignKey("jobs.id"), primary_key=True)
    part: Mapped[str] = mapped_column(columns.WordColumn(10), primary_key=True)
    content: Mapped[bytes] = mapped_column(columns.ContentColumn(LARGEST_TEXT))


# The table of pictures' plans that the bench keeps, each with what was changed in it by hand.
#
# The journal leaves plans alone: a file of megabytes would be kept twice with every change. They
# have their own way back, since each stays beside the file that it began as.

MOST_BYTES = 60_000_000
"""Of one plan's file."""


class PlanRow(LibraryTable):
    """A plan: its file as it began and as it is now, and the changes from one to the other."""

    __tablename__ = "plans"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(columns.WordColumn(300))
    changes: Mapped[str] = mapped_column(columns.ProseColumn())
    revision: Mapped[int]
    begun: Mapped[bytes] = mapped_column(columns.ContentColumn(MOST_BYTES), deferred=True)
    file: Mapped[bytes] = mapped_column(columns.ContentColumn(MOST_BYTES), deferred=True)
    kept: Mapped[datetime]
    changed: Mapped[datetime]


class PlanPutAwayRow(LibraryTable):
    """That a plan was put away; the journal keeps this, for the plan itself is too large for it."""

    __tablename__ = "plans_put_away"

    plan_id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    put_away: Mapped[datetime]


# The tables of printed sheets and of what was read from them.
#
# What is printed lies on someone's table whatever is taken back later, and a reading was seen; so
# neither is in the journal. Swatches made from readings are.


class SheetRow(LibraryTable):
    """A printed sheet, as text that `laydown.store.sheets` writes."""

    __tablename__ = "sheets"

    id: Mapped[int] = mapped_column(
        columns.WholeColumn(1, MOST_SHEETS - 1), primary_key=True, autoincrement=False
    )
    content: Mapped[str] = mapped_column(columns.ProseColumn())
    printed: Mapped[datetime]


class CellReadingRow(LibraryTable):
    """One reading of one cell; a cell may be read many times, wet and dry."""

    __tablename__ = "cell_readings"
    __table_args__ = (Index("cell_readings_by_cell", "sheet_id", "cell"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sheet_id: Mapped[int] = mapped_column(ForeignKey("sheets.id"))
    cell: Mapped[int]
    stage: Mapped[str] = mapped_column(columns.WordColumn(20))
    xyz: Mapped[list[float]] = mapped_column(columns.NumbersColumn(3, most=MOST_XYZ))
    spread: Mapped[float]
    flags: Mapped[list[str]] = mapped_column(columns.WordsColumn)
    conversion: Mapped[str] = mapped_column(columns.WordColumn(40))
    accepted: Mapped[bool]
    taken_in: Mapped[datetime]


# The tables of the notebook. Rows are only ever added, an edit is a further entry; but a trial or
# a photograph can be erased for good.
#
# Names of kits, papers and colorants are written out, so that an entry says the same for ever,
# whatever becomes of them. The journal leaves these rows alone: what was tried was tried.

MOST_PICTURE = 200_000_000
"""Bytes of a photograph."""


class PhotographRow(LibraryTable):
    """A photograph, kept once however many trials show it."""

    __tablename__ = "photographs"

    id: Mapped[int] = mapped_column(primary_key=True)
    digest: Mapped[str] = mapped_column(columns.WordColumn(64), unique=True)
    name: Mapped[str] = mapped_column(columns.WordColumn(300))
    content: Mapped[bytes] = mapped_column(columns.ContentColumn(MOST_PICTURE), deferred=True)


class TrialRow(LibraryTable):
    """A trial; its ``uid`` is the same in every library it is taken to."""

    __tablename__ = "trials"

    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(columns.WordColumn(32), unique=True)

    entries: Mapped[list["TrialEntryRow"]] = relationship(
        back_populates="trial", order_by="TrialEntryRow.version", lazy="selectin"
    )


class TrialEntryRow(LibraryTable):
    """What was noted of a trial at one time; the highest version holds."""

    __tablename__ = "trial_entries"
    __table_args__ = (UniqueConstraint("trial_id", "version"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    trial_id: Mapped[int] = mapped_column(ForeignKey("trials.id"))
    version: Mapped[int]
    withdrawn: Mapped[bool]
    recorded: Mapped[datetime]
    kit: Mapped[str] = mapped_column(columns.WordColumn(200))
    paper: Mapped[str] = mapped_column(columns.WordColumn(200))
    recipe: Mapped[str] = mapped_column(columns.ProseColumn())
    reflectance: Mapped[list[float]] = mapped_column(columns.NumbersColumn(BANDS, most=BRIGHTEST))
    basis: Mapped[str] = mapped_column(columns.WordColumn(20, among=tuple(Basis)))
    spread: Mapped[float]
    measured: Mapped[str] = mapped_column(columns.WordColumn(20))
    wanted: Mapped[str] = mapped_column(columns.WordColumn(500))
    intended: Mapped[list[float] | None] = mapped_column(
        columns.NumbersColumn(3, most=FARTHEST_LAB, missing=True)
    )
    remark: Mapped[str] = mapped_column(columns.ProseColumn())
    done: Mapped[str] = mapped_column(columns.WordColumn(10))
    fill: Mapped[str] = mapped_column(columns.WordColumn(20, among=tuple(Fill)))
    picture: Mapped[str] = mapped_column(columns.WordColumn(64))
    shared: Mapped[float]
    made_by: Mapped[str] = mapped_column(columns.WordColumn(200))
    photograph_id: Mapped[int | None] = mapped_column(
        columns.WholeColumn(most=LARGEST_ID, missing=True), ForeignKey("photographs.id")
    )

    trial: Mapped[TrialRow] = relationship(back_populates="entries")
    photograph: Mapped[PhotographRow | None] = relationship(lazy="selectin")


class FinishedRow(LibraryTable):
    """A finished work; ``recipes`` has one a line, ``photograph`` the digest of what it shows.

    Names are written out, as in the notebook. A photograph may be erased under it, so that undo
    brings back the work alone.
    """

    __tablename__ = "finished_works"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(columns.WordColumn(200))
    paper: Mapped[str] = mapped_column(columns.WordColumn(200))
    recipes: Mapped[str] = mapped_column(columns.ProseColumn())
    done: Mapped[str] = mapped_column(columns.WordColumn(10))
    remark: Mapped[str] = mapped_column(columns.ProseColumn())
    photograph: Mapped[str] = mapped_column(columns.WordColumn(64))
    kept: Mapped[datetime]


JOURNALED = (
    RangeRow,
    ColorantRow,
    PaperRow,
    SwatchRecord,
    SwatchColorantRow,
    KitRow,
    MemberRow,
    LightfastnessRow,
    PanMarkRow,
    WindowReadingRow,
    LessonRow,
    PlanPutAwayRow,
    FinishedRow,
)
"""What undo takes back; fits are a cache, and the journal doesn't keep itself."""
