"""The tables of jobs: long work that a door started, and what came of it.

What was asked and what was found stand in a table of their own, since the row of a job is written
again and again while it runs. The journal leaves jobs alone: a job is no change to take back.
"""

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from laydown.store.columns import ContentColumn, ProseColumn, WholeColumn, WordColumn
from laydown.store.job_records import State
from laydown.store.stamps import Moment
from laydown.store.tables import Table

LARGEST_TEXT = 150_000_000
"""Bytes of a packed text; what is packed into it is bounded in `laydown.store.jobs`."""


class JobRow(Table):
    """A job as it was last told."""

    __tablename__ = "jobs"

    id: Mapped[int] = mapped_column(primary_key=True)
    task: Mapped[str] = mapped_column(WordColumn(50))
    title: Mapped[str] = mapped_column(WordColumn(300))
    started_by: Mapped[str] = mapped_column(WordColumn(50))
    owner: Mapped[str] = mapped_column(WordColumn(32))
    state: Mapped[str] = mapped_column(WordColumn(20, among=tuple(State)), index=True)
    done: Mapped[int] = mapped_column(WholeColumn())
    total: Mapped[int] = mapped_column(WholeColumn())
    message: Mapped[str] = mapped_column(ProseColumn())
    hint: Mapped[str] = mapped_column(ProseColumn())
    to_be_stopped: Mapped[bool]
    bytes_kept: Mapped[int]
    made: Mapped[datetime]
    started: Mapped[datetime | None] = mapped_column(Moment(missing=True))
    ended: Mapped[datetime | None] = mapped_column(Moment(missing=True))
    heard_of: Mapped[datetime]


class JobTextRow(Table):
    """What a job was asked, on what form, or what it found, packed."""

    __tablename__ = "job_texts"

    job_id: Mapped[int] = mapped_column(ForeignKey("jobs.id"), primary_key=True)
    part: Mapped[str] = mapped_column(WordColumn(10), primary_key=True)
    content: Mapped[bytes] = mapped_column(ContentColumn(LARGEST_TEXT))
