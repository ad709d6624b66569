"""Lessons and plans of pictures that are kept: each is its file, whole, to be handed on again."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, func, select

from laydown.errors import BadEditError, TooLargeError, UnknownNameError
from laydown.store import columns, shelf
from laydown.store.tables import MOST_BYTES, LessonRow, PlanPutAwayRow, PlanRow

LONGEST_TITLE, LONGEST_PAPER = 300, 200


@dataclass(frozen=True, slots=True)
class KeptLesson:
    """A lesson that is kept."""

    number: int
    """In this library."""
    title: str
    paper: str
    """As its file has them, cut where they are longer than a name."""
    colors: int
    """How many it has."""
    kept: datetime
    """When it was first kept, in UTC."""


class Lessons(shelf.NumberedShelf[LessonRow, KeptLesson]):
    """The lessons of a library; see `Work.lessons`."""

    table, missing = LessonRow, "There is no lesson {} here."
    hint, command = "Choose one from the list of lessons.", "laydown lesson list"

    def value(self, row: LessonRow) -> KeptLesson:
        """Return what a list of lessons says of one."""
        return KeptLesson(row.id, row.title, row.paper, row.colors, row.kept)

    def text(self, number: int) -> str:
        """Return the text of a lesson's file, as it was kept."""
        return self.numbered(number).text

    def find(self, text: str) -> KeptLesson | None:
        """Return the lesson with exactly this text; None where none has it."""
        same = select(LessonRow).where(LessonRow.text == text).order_by(LessonRow.id).limit(1)
        row = self.session.scalar(same)
        return None if row is None else self.value(row)

    def keep(self, text: str, *, title: str, paper: str, colors: int) -> KeptLesson:
        """Keep a lesson; one that is kept already is not kept twice.

        `title`, `paper` and `colors` are what a list of lessons says of it.
        """
        if found := self.find(text):
            return found
        title, paper = title[:LONGEST_TITLE], paper[:LONGEST_PAPER]
        row = LessonRow(title=title, paper=paper, colors=colors, text=text, kept=columns.now())
        return self.value(self.kept(row))


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


class Plans(shelf.NumberedShelf[PlanRow, KeptPlan]):
    """The plans of a library; see `Work.plans`."""

    table, missing = PlanRow, "There is no plan {} here."
    hint = "Choose one of those under Pictures."

    def value(self, row: PlanRow) -> KeptPlan:
        """Return what a list of plans says of one."""
        changes = tuple(row.changes.splitlines())
        return KeptPlan(row.id, row.title, changes, row.revision, row.kept, row.changed)

    def all(self) -> tuple[KeptPlan, ...]:
        """Return all plans, the one changed last first."""
        order = (PlanRow.changed.desc(), PlanRow.id.desc())
        rows = self.session.scalars(select(PlanRow).where(HERE).order_by(*order))
        return tuple(map(self.value, rows))

    def file(self, number: int) -> bytes:
        """Return a plan's file as it is now."""
        return self.numbered(number).file

    def begun(self, number: int) -> bytes:
        """Return a plan's file as it was when it was kept first."""
        return self.numbered(number).begun

    def find(self, file: bytes) -> KeptPlan | None:
        """Return the plan that is kept as exactly this file; None where none is."""
        same = select(PlanRow).where(PlanRow.file == file, HERE).order_by(PlanRow.id).limit(1)
        row = self.session.scalar(same)
        return None if row is None else self.value(row)

    def keep(self, file: bytes, *, title: str) -> KeptPlan:
        """Keep a plan; one that is here as this very file is not kept twice.

        Raises `TooLargeError` for a file that is too large, or when there are too many.
        """
        if found := self.find(file):
            return found
        self._check_room(file)
        now = columns.now()
        row = PlanRow(begun=file, file=file, changes="", revision=0, kept=now, changed=now)
        row.title = title[:LONGEST_TITLE]
        return self.value(self.kept(row))

    def change(
        self, number: int, file: bytes, changes: Sequence[str], *, revision: int
    ) -> KeptPlan:
        """Put a changed file in the place of a plan's, with a line for each change since then.

        Raises `BadEditError` when the plan has another revision by now than the one that was
        changed.
        """
        row = self.numbered(number)
        if row.revision != revision:
            raise BadEditError(
                f"“{row.title}” was changed in another window meanwhile.",
                hint="Look at it as it is now, and change it again.",
            )
        row.file, row.changes = file, "\n".join(changes)
        row.revision, row.changed = revision + 1, columns.now()
        self.session.flush()
        return self.value(row)

    def remove(self, number: int) -> KeptPlan:
        """Put a plan away and return what it was; undo brings it back, unless many followed."""
        gone = self.get(number)
        self.kept(PlanPutAwayRow(plan_id=number, put_away=columns.now()))
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

    def numbered(self, number: int) -> PlanRow:
        """Return the row of a number; one that was put away is not here."""
        if self.session.get(PlanPutAwayRow, number) is not None:
            raise UnknownNameError(self.missing.format(number), hint=self.hint)
        return super().numbered(number)
