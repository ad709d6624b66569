"""Lessons and plans of pictures that are kept: each is its file, whole, to be handed on again."""

from collections.abc import Iterable, Sequence
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


class Lessons(shelf.Shelf):
    """The lessons of a library; see `Work.lessons`."""

    def all(self) -> tuple[KeptLesson, ...]:
        """Return all lessons, the latest first."""
        return _stored(self.session.scalars(select(LessonRow).order_by(LessonRow.id.desc())))

    def get(self, number: int) -> KeptLesson:
        """Return a lesson.

        Raises `UnknownNameError` for a number that none has.
        """
        return _lesson(self._row(number))

    def text(self, number: int) -> str:
        """Return the text of a lesson's file, as it was kept."""
        return self._row(number).text

    def find(self, text: str) -> KeptLesson | None:
        """Return the lesson with exactly this text; None where none has it."""
        same = select(LessonRow).where(LessonRow.text == text).order_by(LessonRow.id)
        return next(iter(_stored(self.session.scalars(same.limit(1)))), None)

    def keep(self, text: str, *, title: str, paper: str, colors: int) -> KeptLesson:
        """Keep a lesson; one that is kept already is not kept twice.

        `title`, `paper` and `colors` are what a list of lessons says of it.
        """
        if found := self.find(text):
            return found
        title, paper = title[:LONGEST_TITLE], paper[:LONGEST_PAPER]
        row = LessonRow(title=title, paper=paper, colors=colors, text=text, kept=columns.now())
        return _lesson(self.kept(row))

    def remove(self, number: int) -> KeptLesson:
        """Remove a lesson and return what it was."""
        row = self._row(number)
        gone = _lesson(row)
        self.dropped(row)
        return gone

    def _row(self, number: int) -> LessonRow:
        return self.row(
            LessonRow,
            number,
            f"There is no lesson {number} here.",
            hint="Choose one from the list of lessons.",
            command="laydown lesson list",
        )


def _stored(rows: Iterable[LessonRow]) -> tuple[KeptLesson, ...]:
    return tuple(map(_lesson, rows))


def _lesson(row: LessonRow) -> KeptLesson:
    return KeptLesson(row.id, row.title, row.paper, row.colors, row.kept)


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


class Plans(shelf.Shelf):
    """The plans of a library; see `Work.plans`."""

    def all(self) -> tuple[KeptPlan, ...]:
        """Return all plans, the one changed last first."""
        order = (PlanRow.changed.desc(), PlanRow.id.desc())
        return tuple(map(_plan, self.session.scalars(select(PlanRow).where(HERE).order_by(*order))))

    def get(self, number: int) -> KeptPlan:
        """Return a plan.

        Raises `UnknownNameError` for a number that none has.
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

        Raises `TooLargeError` for a file that is too large, or when there are too many.
        """
        if found := self.find(file):
            return found
        self._check_room(file)
        moment = columns.now()
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
        """Put a changed file in the place of a plan's, with a line for each change since then.

        Raises `BadEditError` when the plan has another revision by now than the one that was
        changed.
        """
        row = self._row(number)
        if row.revision != revision:
            raise BadEditError(
                f"“{row.title}” was changed in another window meanwhile.",
                hint="Look at it as it is now, and change it again.",
            )
        row.file, row.changes = file, "\n".join(changes)
        row.revision, row.changed = revision + 1, columns.now()
        self.session.flush()
        return _plan(row)

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

    def _row(self, number: int) -> PlanRow:
        missing = f"There is no plan {number} here."
        hint = "Choose one of those under Pictures."
        if self.session.get(PlanPutAwayRow, number) is not None:
            raise UnknownNameError(missing, hint=hint)
        return self.row(PlanRow, number, missing, hint=hint)


def _plan(row: PlanRow) -> KeptPlan:
    changes = tuple(row.changes.splitlines())
    return KeptPlan(row.id, row.title, changes, row.revision, row.kept, row.changed)
