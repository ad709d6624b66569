"""Lessons that are kept: each is the text of its file, whole, so that it can be handed on again."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from laydown.store.shelf import Shelf
from laydown.store.stamps import now
from laydown.store.tables import LessonRow

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


class Lessons(Shelf):
    """The lessons of a library; see `Work.lessons`."""

    def all(self) -> tuple[KeptLesson, ...]:
        """Return all lessons, the latest first."""
        return _stored(self.session.scalars(select(LessonRow).order_by(LessonRow.id.desc())))

    def get(self, number: int) -> KeptLesson:
        """Return a lesson.

        Raises
        ------
        UnknownNameError
            For a number that none has.
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

        Parameters
        ----------
        title, paper, colors
            What a list of lessons says of it.
        """
        if found := self.find(text):
            return found
        title, paper = title[:LONGEST_TITLE], paper[:LONGEST_PAPER]
        row = LessonRow(title=title, paper=paper, colors=colors, text=text, kept=now())
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
