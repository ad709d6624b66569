"""Plans of pictures as the bench keeps them: each a file, with a line for each change to it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, func, select

from laydown.errors import BadEditError, TooLargeError, UnknownNameError
from laydown.store.shelf import Shelf
from laydown.store.stamps import now
from laydown.store.tables import MOST_BYTES, PlanPutAwayRow, PlanRow

LONGEST_TITLE = 300
MOST_PLANS = 100
MOST_PUT_AWAY = 10
"""Plans that stay for undo to bring back, the last ones; each may have 120 MB."""
HERE = PlanRow.id.not_in(select(PlanPutAwayRow.plan_id))


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan that is kept."""

    number: int
    """In this library."""
    title: str
    """Of the picture."""
    changes: tuple[str, ...]
    """What was changed by hand since it was kept, a line each."""
    revision: int
    """How often it was changed, or a change taken back."""
    kept: datetime
    changed: datetime
    """When it was first kept, and last changed, in UTC."""


class Plans(Shelf):
    """The plans of a library; see `Work.plans`."""

    def all(self) -> tuple[KeptPlan, ...]:
        """Return all plans, the one changed last first."""
        order = (PlanRow.changed.desc(), PlanRow.id.desc())
        return tuple(map(_plan, self.session.scalars(select(PlanRow).where(HERE).order_by(*order))))

    def get(self, number: int) -> KeptPlan:
        """Return a plan.

        Raises
        ------
        UnknownNameError
            For a number that none has.
        """
        return _plan(self._row(number))

    def file(self, number: int) -> bytes:
        """Return a plan's file as it is now."""
        return self._row(number).file

    def begun(self, number: int) -> bytes:
        """Return a plan's file as it was when it was kept first."""
        return self._row(number).begun

    def find(self, file: bytes) -> KeptPlan | None:
        """Return the plan that is kept as exactly this file; None where none is."""
        same = select(PlanRow).where(PlanRow.file == file, HERE).order_by(PlanRow.id).limit(1)
        row = self.session.scalar(same)
        return None if row is None else _plan(row)

    def keep(self, file: bytes, *, title: str) -> KeptPlan:
        """Keep a plan; one that is here as this very file is not kept twice.

        Raises
        ------
        TooLargeError
            For a file that is too large, or when there are too many.
        """
        if found := self.find(file):
            return found
        self._check_room(file)
        moment = now()
        row = PlanRow(
            title=title[:LONGEST_TITLE],
            changes="",
            revision=0,
            begun=file,
            file=file,
            kept=moment,
            changed=moment,
        )
        return _plan(self.kept(row))

    def change(
        self, number: int, file: bytes, changes: Sequence[str], *, revision: int
    ) -> KeptPlan:
        """Put a changed file in the place of a plan's.

        Parameters
        ----------
        number
            Of the plan.
        file
            As it is from now on.
        changes
            What was changed in it since it was kept, a line each.
        revision
            Of the plan that was changed.

        Raises
        ------
        BadEditError
            When the plan has another revision by now.
        """
        row = self._row(number)
        if row.revision != revision:
            raise BadEditError(
                f"“{row.title}” was changed in another window meanwhile.",
                hint="Look at it as it is now, and change it again.",
            )
        row.file, row.changes = file, "\n".join(changes)
        row.revision, row.changed = revision + 1, now()
        self.session.flush()
        return _plan(row)

    def remove(self, number: int) -> KeptPlan:
        """Put a plan away and return what it was; undo brings it back, unless many followed."""
        gone = self.get(number)
        self.kept(PlanPutAwayRow(plan_id=number, put_away=now()))
        order = (PlanPutAwayRow.put_away.desc(), PlanPutAwayRow.plan_id.desc())
        put_away = list(self.session.scalars(select(PlanPutAwayRow.plan_id).order_by(*order)))
        self.session.execute(delete(PlanRow).where(PlanRow.id.in_(put_away[MOST_PUT_AWAY:])))
        return gone

    def _check_room(self, file: bytes) -> None:
        if len(file) > MOST_BYTES:
            raise TooLargeError(
                f"This plan has {len(file) / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} are kept.",
                hint="Make it again from the picture.",
            )
        count = self.session.scalar(select(func.count(PlanRow.id)).where(HERE)) or 0
        if count >= MOST_PLANS:
            raise TooLargeError(
                f"{count} plans are kept here, as many as may be.",
                hint="Save one as a file and put it away; it can be opened again.",
            )

    def _row(self, number: int) -> PlanRow:
        missing = f"There is no plan {number} here."
        hint = "Choose one of those under Pictures."
        if self.session.get(PlanPutAwayRow, number) is not None:
            raise UnknownNameError(missing, hint=hint)
        return self.row(PlanRow, number, missing, hint=hint)


def _plan(row: PlanRow) -> KeptPlan:
    changes = tuple(row.changes.splitlines())
    return KeptPlan(row.id, row.title, changes, row.revision, row.kept, row.changed)
