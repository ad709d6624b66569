"""The tables of the notebook. Rows are only ever added: an edit is a further entry.

Names of kits, papers and colorants are written out, so that an entry says the same for ever,
whatever becomes of them. The journal leaves these rows alone: what was tried was tried.
"""

from datetime import datetime

from sqlalchemy import ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from laydown.media.swatch import Basis
from laydown.media.trial import Fill
from laydown.store.columns import (
    ContentColumn,
    NumbersColumn,
    ProseColumn,
    WholeColumn,
    WordColumn,
)
from laydown.store.tables import BANDS, BRIGHTEST, FARTHEST_LAB, LARGEST_ID, Table

MOST_PICTURE = 200_000_000
"""Bytes of a photograph."""


class PhotographRow(Table):
    """A photograph, kept once however many trials show it."""

    __tablename__ = "photographs"

    id: Mapped[int] = mapped_column(primary_key=True)
    digest: Mapped[str] = mapped_column(WordColumn(64), unique=True)
    name: Mapped[str] = mapped_column(WordColumn(300))
    content: Mapped[bytes] = mapped_column(ContentColumn(MOST_PICTURE), deferred=True)


class TrialRow(Table):
    """A trial; its ``uid`` is the same in every library it is taken to."""

    __tablename__ = "trials"

    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(WordColumn(32), unique=True)

    entries: Mapped[list["TrialEntryRow"]] = relationship(
        back_populates="trial", order_by="TrialEntryRow.version", lazy="selectin"
    )


class TrialEntryRow(Table):
    """What was noted of a trial at one time; the highest version holds."""

    __tablename__ = "trial_entries"
    __table_args__ = (UniqueConstraint("trial_id", "version"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    trial_id: Mapped[int] = mapped_column(ForeignKey("trials.id"))
    version: Mapped[int]
    withdrawn: Mapped[bool]
    recorded: Mapped[datetime]
    kit: Mapped[str] = mapped_column(WordColumn(200))
    paper: Mapped[str] = mapped_column(WordColumn(200))
    recipe: Mapped[str] = mapped_column(ProseColumn())
    reflectance: Mapped[list[float]] = mapped_column(NumbersColumn(BANDS, most=BRIGHTEST))
    basis: Mapped[str] = mapped_column(WordColumn(20, among=tuple(Basis)))
    spread: Mapped[float]
    measured: Mapped[str] = mapped_column(WordColumn(20))
    wanted: Mapped[str] = mapped_column(WordColumn(500))
    intended: Mapped[list[float] | None] = mapped_column(
        NumbersColumn(3, most=FARTHEST_LAB, missing=True)
    )
    remark: Mapped[str] = mapped_column(ProseColumn())
    done: Mapped[str] = mapped_column(WordColumn(10))
    fill: Mapped[str] = mapped_column(WordColumn(20, among=tuple(Fill)))
    picture: Mapped[str] = mapped_column(WordColumn(64))
    shared: Mapped[float]
    photograph_id: Mapped[int | None] = mapped_column(
        WholeColumn(most=LARGEST_ID, missing=True), ForeignKey("photographs.id")
    )

    trial: Mapped[TrialRow] = relationship(back_populates="entries")
    photograph: Mapped[PhotographRow | None] = relationship(lazy="selectin")
