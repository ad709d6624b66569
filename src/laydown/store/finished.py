"""Finished works: what hangs on the wall, and what it was made with."""

from dataclasses import dataclass

from sqlalchemy import select

from laydown.media.colorant import Colorant
from laydown.media.recipe import Recipe, format_recipe, parse_recipe
from laydown.store.shelf import SharedFields, Shelf
from laydown.store.stamps import now
from laydown.store.supplies import all_colorants
from laydown.store.tables import FinishedRow, PhotographRow
from laydown.store.trials import written
from laydown.store.trouble import from_rows


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


WORK = SharedFields(FinishedWork, FinishedRow)


class Finished(Shelf):
    """The finished works of a library; see `Work.finished`."""

    def all(self) -> tuple[FinishedWork, ...]:
        """Return all works, the latest first."""
        rows = self.session.scalars(select(FinishedRow).order_by(FinishedRow.id.desc())).all()
        return tuple(map(self._stored, rows))

    def get(self, number: int) -> FinishedWork:
        """Return a work.

        Raises
        ------
        UnknownNameError
            For a number that none has.
        """
        return self._stored(self._row(number))

    def keep(self, work: FinishedWork) -> FinishedWork:
        """Keep a work and return it with its number; its photograph is kept in the notebook."""
        lines = "\n".join(format_recipe(one, with_range=True) for one in work.recipes)
        cells = WORK.cells(work) | {"recipes": lines}
        return self._stored(self.kept(FinishedRow(**cells, kept=now())))

    def remove(self, number: int) -> FinishedWork:
        """Remove a work and return what it was; its photograph stays, for undo."""
        row = self._row(number)
        gone = self._stored(row)
        self.dropped(row)
        return gone

    def _row(self, number: int) -> FinishedRow:
        return self.row(
            FinishedRow,
            number,
            f"There is no finished work {number} here.",
            hint="Choose one from the list of finished works.",
            command="laydown finished list",
        )

    @from_rows
    def _stored(self, row: FinishedRow) -> FinishedWork:
        known = {colorant.label: colorant for colorant in all_colorants(self.session, None)}

        def find(label: str) -> Colorant:
            return known.get(label) or written(label)

        recipes = tuple(parse_recipe(line, find) for line in row.recipes.splitlines())
        there = select(PhotographRow.digest).where(PhotographRow.digest == row.photograph)
        shown = self.session.scalar(there) or ""
        return WORK.value(row, recipes=recipes, photograph=shown, number=row.id)
