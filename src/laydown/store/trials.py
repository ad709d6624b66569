"""Trials and finished works in the library, and the photographs that both show.

Entries of trials are added, and none is altered; a trial is erased as a whole. Finished works are
in the journal, as all else is.
"""

import hashlib
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from laydown.bare_picture import bare
from laydown.errors import TooLargeError, UnknownNameError
from laydown.media.recipe import Colorant, Recipe, format_recipe, parse_recipe
from laydown.store import columns, shelf, supplies, trouble
from laydown.store.records import TrialEntry
from laydown.store.tables import MOST_PICTURE, FinishedRow, PhotographRow, TrialEntryRow, TrialRow

NOTED = shelf.SharedFields(TrialEntry, TrialEntryRow)
AT_ONCE = 100
"""Trials that are in memory together where all are read."""


class Notebook(shelf.Shelf):
    """The trials of a library; see `Work.notebook`."""

    def add(self, entry: TrialEntry, *, when: datetime | None = None) -> TrialEntry:
        """Note a trial and return it with its number."""
        row = TrialRow(uid=uuid.uuid4().hex)
        self.session.add(row)
        return self._append(row, entry, withdrawn=False, when=when)

    def edit(self, number: int, entry: TrialEntry) -> TrialEntry:
        """Note something else of a trial; what was noted before stays in its history."""
        row = self._row(number)
        return self._append(row, entry, withdrawn=_last(row).withdrawn)

    def withdraw(self, number: int, *, withdrawn: bool = True) -> TrialEntry:
        """Take a trial back, or bring it in again; either is one more entry."""
        row = self._row(number)
        entry = _stored(_last(row), _by_label(self.session))
        return self._append(row, entry, withdrawn=withdrawn)

    def latest(self, *, withdrawn: bool = False) -> tuple[TrialEntry, ...]:
        """Return every trial as it was last noted, by number.

        `withdrawn` says whether those that were taken back are wanted, too.
        """
        rows = self.session.scalars(select(TrialRow).order_by(TrialRow.id)).all()
        known = _by_label(self.session) if rows else {}
        last = [_last(row) for row in rows]
        return tuple(_stored(e, known) for e in last if withdrawn or not e.withdrawn)

    def history(self, number: int) -> tuple[TrialEntry, ...]:
        """Return all entries of a trial, oldest first; `UnknownNameError` where there is none."""
        known = _by_label(self.session)
        return tuple(_stored(entry, known) for entry in self._row(number).entries)

    def read_through(self) -> None:
        """Read every entry of every trial once."""
        known = _by_label(self.session)
        for row in self.session.scalars(select(TrialRow).execution_options(yield_per=AT_ONCE)):
            for entry in (*row.entries, _last(row)):
                _stored(entry, known)

    def take_in(self, histories: Sequence[Sequence[TrialEntry]]) -> tuple[int, int]:
        """Take in whole histories from another library; return how many trials and entries are new.

        An entry that is here already, by uid and version, is left as it is.
        """
        trials = entries = 0
        known = {row.uid: row for row in self.session.scalars(select(TrialRow))}
        photograph = cache(self._photograph_row)  # of many entries, perhaps, and of megabytes
        for history in histories:
            uid = history[0].uid
            if uid not in known:
                known[uid] = TrialRow(uid=uid)
                self.session.add(known[uid])
                trials += 1
            row = known[uid]
            there = {entry.version for entry in row.entries}
            for stored in history:
                if stored.version not in there:
                    with self.session.no_autoflush:  # all at once, in the end
                        shown = photograph(stored.photograph)
                    made = _entry_row(stored, shown)
                    _note(row, made, withdrawn=stored.withdrawn, when=stored.recorded)
                    entries += 1
        self.session.flush()
        return trials, entries

    def keep_photograph(self, name: str, content: bytes) -> str:
        """Keep a photograph, once, without what it tells of place, owner and time.

        Returned is the digest of what is kept, see `laydown.bare_picture`. Raises `TooLargeError`
        for one that is larger than is kept, and so could not be read again.
        """
        if len(content) > MOST_PICTURE:
            raise TooLargeError(
                f"“{name}” has {len(content) / 1e6:.0f} MB; at most"
                f" {MOST_PICTURE / 1e6:.0f} MB are kept.",
                hint="Save the photograph smaller.",
            )
        content = bare(content)
        digest = digest_of(content)
        if self._photograph_row(digest) is None:
            self.kept(PhotographRow(digest=digest, name=name[:300], content=content))
        return digest

    def erase(self, number: int) -> int:
        """Erase a trial, all its entries, and photographs that nothing else shows; return how many.

        Raises `UnknownNameError` for a number that no trial has.
        """
        shown = self._shown_by(number)
        self.session.execute(delete(TrialEntryRow).where(TrialEntryRow.trial_id == number))
        self.session.execute(delete(TrialRow).where(TrialRow.id == number))
        self.session.expire_all()
        return self._erase_photographs(shown - self._shown_elsewhere(shown))

    def erase_photographs(self, number: int) -> int:
        """Erase the photographs of a trial, from whatever other trials show them; return how many.

        Raises `UnknownNameError` for a number that no trial has.
        """
        shown = self._shown_by(number)
        shows = update(TrialEntryRow).where(TrialEntryRow.photograph_id.in_(shown))
        self.session.execute(shows.values(photograph_id=None))
        self.session.expire_all()
        return self._erase_photographs(shown)

    def erase_unshown(self, digest: str) -> None:
        """Erase a photograph for good, unless a trial or a finished work shows it."""
        shown = select(PhotographRow.id).where(PhotographRow.digest == digest)
        numbers = set(self.session.scalars(shown))
        self._erase_photographs(numbers - self._shown_elsewhere(numbers))

    def _shown_elsewhere(self, numbers: set[int]) -> set[int]:
        trials = select(TrialEntryRow.photograph_id).where(TrialEntryRow.photograph_id.in_(numbers))
        works = select(PhotographRow.id).join(
            FinishedRow, FinishedRow.photograph == PhotographRow.digest
        )
        return {n for n in self.session.scalars(trials) if n} | set(self.session.scalars(works))

    def _shown_by(self, number: int) -> set[int]:
        entries = self._row(number).entries
        return {e.photograph_id for e in entries if e.photograph_id is not None}

    def _erase_photographs(self, numbers: set[int]) -> int:
        self.session.execute(delete(PhotographRow).where(PhotographRow.id.in_(numbers)))
        return len(numbers)

    def photograph(self, digest: str) -> tuple[str, bytes]:
        """Return the name and the content of a photograph that is kept, by its digest.

        Raises `UnknownNameError` where there is none.
        """
        row = self._photograph_row(digest)
        if row is None:
            raise UnknownNameError(f"There is no photograph {digest[:12]} here.")
        return row.name, row.content

    def _photograph_row(self, digest: str) -> PhotographRow | None:
        if not digest:
            return None
        return self.session.scalar(select(PhotographRow).where(PhotographRow.digest == digest))

    def _row(self, number: int) -> TrialRow:
        return self.row(
            TrialRow,
            number,
            f"There is no trial number {number} here.",
            hint="Choose one from the list of trials.",
            command="laydown trial list",
        )

    def _append(
        self, row: TrialRow, entry: TrialEntry, *, withdrawn: bool, when: datetime | None = None
    ) -> TrialEntry:
        made = _entry_row(entry, self._photograph_row(entry.photograph))
        _note(row, made, withdrawn=withdrawn, when=when or columns.now())
        self.session.flush()
        return _stored(made, _by_label(self.session))


def _by_label(session: Session) -> dict[str, Colorant]:
    return {colorant.label: colorant for colorant in supplies.all_colorants(session, None)}


def digest_of(content: bytes) -> str:
    """Return what a photograph is known by."""
    return hashlib.sha256(content).hexdigest()


def _note(row: TrialRow, entry: TrialEntryRow, *, withdrawn: bool, when: datetime) -> None:
    entry.version, entry.withdrawn, entry.recorded = len(row.entries) + 1, withdrawn, when
    row.entries.append(entry)


def _entry_row(entry: TrialEntry, photograph: PhotographRow | None) -> TrialEntryRow:
    cells = NOTED.cells(replace(entry, wanted=entry.wanted[:500]))
    return TrialEntryRow(**cells, photograph=photograph)


@trouble.from_rows
def _last(row: TrialRow) -> TrialEntryRow:
    return row.entries[-1]


@trouble.from_rows
def _stored(row: TrialEntryRow, known: dict[str, Colorant]) -> TrialEntry:
    shown = row.photograph.digest if row.photograph else ""
    own = {"number": row.trial.id, "uid": row.trial.uid}
    return NOTED.value(row, recipe=_recipe(row.recipe, known), photograph=shown, **own)


def _recipe(text: str, known: dict[str, Colorant]) -> Recipe:
    return parse_recipe(text, lambda label: known.get(label) or written(label))


def written(label: str) -> Colorant:
    """Return a colorant that the library no longer holds, as it was written."""
    of, slash, name = label.partition("/")
    return Colorant(name, of) if slash else Colorant(label, "")


@dataclass(frozen=True, slots=True)
class FinishedWork:
    """A work that was finished."""

    title: str
    paper: str
    """Empty where that wasn't said."""
    recipes: tuple[Recipe, ...]
    """All that was laid, in the order that it was noted."""
    done: str = ""
    """The day it was finished, as ``YYYY-MM-DD``; empty where not said."""
    remark: str = ""
    photograph: str = ""
    """In the person's own words, and the digest of a photograph that is kept; empty for none."""
    number: int = 0
    """In this library; 0 where it isn't kept yet."""


WORK = shelf.SharedFields(FinishedWork, FinishedRow)


class Finished(shelf.NumberedShelf[FinishedRow, FinishedWork]):
    """The finished works of a library; see `Work.finished`.

    The photograph of one that is removed stays, for undo.
    """

    table, missing = FinishedRow, "There is no finished work {} here."
    hint, command = "Choose one from the list of finished works.", "laydown finished list"

    def keep(self, work: FinishedWork) -> FinishedWork:
        """Keep a work and return it with its number; its photograph is kept in the notebook."""
        lines = "\n".join(format_recipe(one, with_range=True) for one in work.recipes)
        cells = WORK.cells(work) | {"recipes": lines}
        return self.value(self.kept(FinishedRow(**cells, kept=columns.now())))

    @trouble.from_rows
    def value(self, row: FinishedRow) -> FinishedWork:
        """Return a work with its photograph, where that was not erased."""
        known = _by_label(self.session)
        recipes = tuple(_recipe(line, known) for line in row.recipes.splitlines())
        there = select(PhotographRow.digest).where(PhotographRow.digest == row.photograph)
        shown = self.session.scalar(there) or ""
        return WORK.value(row, recipes=recipes, photograph=shown, number=row.id)
