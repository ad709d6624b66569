"""The table of pictures' plans that the bench keeps, each with what was changed in it by hand.

The journal leaves plans alone: a file of megabytes would be kept twice with every change. They have
their own way back, since each stays beside the file that it began as.
"""

from datetime import datetime

from sqlalchemy.orm import Mapped, mapped_column

from laydown.store.columns import ContentColumn, ProseColumn, WordColumn
from laydown.store.tables import Table

MOST_BYTES = 60_000_000
"""Of one plan's file."""


class PlanRow(Table):
    """A plan: its file as it began and as it is now, and the changes from one to the other."""

    __tablename__ = "plans"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(WordColumn(300))
    changes: Mapped[str] = mapped_column(ProseColumn())
    revision: Mapped[int]
    begun: Mapped[bytes] = mapped_column(ContentColumn(MOST_BYTES), deferred=True)
    file: Mapped[bytes] = mapped_column(ContentColumn(MOST_BYTES), deferred=True)
    kept: Mapped[datetime]
    changed: Mapped[datetime]
