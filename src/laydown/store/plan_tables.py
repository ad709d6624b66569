"""The table of pictures' plans that the bench keeps, each with what was changed in it by hand.

The journal leaves plans alone: a file of megabytes would be kept twice with every change. They have
their own way back, since each stays beside the file that it began as.
"""

from datetime import datetime

from sqlalchemy import LargeBinary, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from laydown.store.tables import Table


class PlanRow(Table):
    """A plan: its file as it began and as it is now, and the changes from one to the other."""

    __tablename__ = "plans"

    id: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str] = mapped_column(String(300))
    changes: Mapped[str] = mapped_column(Text)
    revision: Mapped[int]
    begun: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    file: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    kept: Mapped[datetime]
    changed: Mapped[datetime]
