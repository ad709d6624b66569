"""Papers, ranges, colorants and kits in the library."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from typing import Any, TypeVar

import numpy as np
from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from laydown import errors
from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.media.legible import checked_name, name_key, tidy_name
from laydown.media.recipe import (
    USUAL_COATS_LIMIT,
    Colorant,
    Medium,
    Paper,
    Stock,
    Surface,
    checked_colorant_name,
)
from laydown.media.swatch import Basis
from laydown.store import columns, journal, records, shelf, tables, trouble

COLORANTS = tables.LibraryTable.metadata.tables[tables.ColorantRow.__tablename__]
Named = TypeVar("Named", tables.RangeRow, tables.PaperRow, tables.KitRow)
Said = TypeVar("Said", tables.LightfastnessRow, tables.PanMarkRow)
MOST_SUGGESTIONS = 3
MOST_LISTED = 8
NEAR = 0.6
"""Share of matching letters from which on a name is offered for another, see `difflib`."""


def unknown(what: str, text: str, names: Iterable[str]) -> errors.UnknownNameError:
    """Return the error for a name that isn't there, with the nearest names as its hint."""
    message = f"There is no {what} “{text}” here."
    by_key = {name_key(name): name for name in names}
    if by_key:
        return errors.UnknownNameError(message, hint=_hint(text, by_key))
    if what == "kit":
        hint = "There is none yet: make one first."
        return errors.UnknownNameError(message, hint=hint, command="laydown kit create NAME")
    hint = "There is none yet: bring in swatches first."
    return errors.UnknownNameError(message, hint=hint, command="laydown swatches import FILE")


def of_other_medium(name: str, own: Medium, told: Medium) -> errors.DuplicateNameError:
    """Return the error for colorants of one medium that go by the name of a range of another."""
    return errors.DuplicateNameError(
        f"“{name}” is a set of {own.plural} already.",
        hint=f"Give the {told.plural} a name of their own. If they are the same set, say that "
        f"they are {own.plural}.",
        command=f"--medium {own}",
    )


def _hint(text: str, by_key: Mapping[str, str]) -> str:
    close = get_close_matches(name_key(text), sorted(by_key), n=MOST_SUGGESTIONS, cutoff=NEAR)
    if close:
        return f"Did you mean {' or '.join(by_key[key] for key in close)}?"
    listed = sorted(by_key.values())[:MOST_LISTED]
    more = "" if len(by_key) <= MOST_LISTED else f" and {len(by_key) - MOST_LISTED} more"
    return f"Known: {', '.join(listed)}{more}."


SPELLINGS: tuple[Callable[[Colorant], str | None], ...] = (
    lambda colorant: name_key(colorant.label),
    lambda colorant: name_key(colorant.name),
    lambda colorant: name_key(colorant.code) or None,
)
"""What a colorant may be called; what comes first is tried first."""


def near_colorants(text: str, colorants: Sequence[Colorant]) -> tuple[str, ...]:
    """Return labels of colorants that may be meant by a text, the likeliest first."""
    key = name_key(text)
    by_key: dict[str, list[str]] = {}
    for colorant in colorants:
        for spelling in {spelled(colorant) for spelled in SPELLINGS} - {None}:
            by_key.setdefault(str(spelling), []).append(colorant.label)
    close = get_close_matches(key, sorted(by_key), n=MOST_SUGGESTIONS, cutoff=NEAR)
    labels = [label for name in close for label in sorted(by_key[name])]
    return tuple(dict.fromkeys(labels))[:MOST_LISTED]


def pick_colorant(text: str, colorants: Sequence[Colorant]) -> Colorant:
    """Return the one colorant meant: by range and name, else by name, else by its owner's code.

    Raises `UnknownNameError` and `AmbiguousNameError` when none or several of them are meant.
    """
    key = name_key(text)
    for spelling in SPELLINGS:
        meant = [colorant for colorant in colorants if spelling(colorant) == key]
        if len(meant) > 1:
            choices = sorted(colorant.label for colorant in meant)
            raise errors.AmbiguousNameError(
                f"“{text}” stands for {len(choices)} colorants: {', '.join(choices)}.",
                hint=f"Write the range too, for example {choices[0]}.",
            )
        if meant:
            return meant[0]
    names = [c.name for c in colorants] + [c.label for c in colorants]
    raise unknown("colorant", text, names + [c.code for c in colorants if c.code])


KINDS = {tables.RangeRow: "range", tables.PaperRow: "paper", tables.KitRow: "kit"}
"""What the rows that have a name of their own are called."""


def named(session: Session, table: type[Named], text: str) -> Named:
    """Return the row of the range, paper or kit of that name, or suggest near ones.

    A session asks for each once, as long as that is called so: many colorants have one range.
    """
    rows, key = session.info.setdefault(table, {}), name_key(text)
    row: Named | None = rows.get(key)
    if row is not None and row in session and row.key == key:
        return row
    row = session.scalar(select(table).where(table.key == key))
    if row is None:
        raise unknown(KINDS[table], text, session.scalars(select(table.name)))
    rows[key] = row
    return row


@trouble.from_rows
def colorant_of(row: tables.ColorantRow) -> Colorant:
    """Return the colorant that a row holds."""
    return Colorant(row.name, row.range.name, Medium(row.range.medium), row.code, row.blender)


COLORANT: tuple[InstrumentedAttribute[Any], ...] = (
    tables.ColorantRow.name,
    tables.RangeRow.name,
    tables.RangeRow.medium,
    tables.ColorantRow.code,
    tables.ColorantRow.blender,
)
"""All there is of a colorant: many are read by columns, which takes a fifth of the time of rows."""


def colorant_in(name: str, of: str, medium: str, code: str, blender: bool) -> Colorant:
    """Return the colorant that the columns `COLORANT` hold."""
    return Colorant(name, of, Medium(medium), code, blender)


def said_of_colorants(session: Session, table: type[Said]) -> list[tuple[Colorant, Said]]:
    """Return the rows that say something of one colorant each, sorted by its range and name."""
    owner = table.colorant_id == tables.ColorantRow.id
    wanted = select(table).join(tables.ColorantRow, owner).join(tables.RangeRow)
    rows = session.scalars(wanted.order_by(tables.RangeRow.key, tables.ColorantRow.key))
    return [(colorant_of(row.colorant), row) for row in rows]


@trouble.from_rows
def all_colorants(session: Session, range_name: str | None) -> tuple[Colorant, ...]:
    """Return the colorants of one range or of all, sorted by range and name."""
    wanted = select(*COLORANT).select_from(tables.ColorantRow).join(tables.RangeRow)
    if range_name is not None:
        wanted = wanted.where(tables.RangeRow.id == named(session, tables.RangeRow, range_name).id)
    found = session.execute(wanted.order_by(tables.RangeRow.key, tables.ColorantRow.key))
    return tuple(colorant_in(*row) for row in found)


def colorant_row(session: Session, colorant: Colorant) -> tables.ColorantRow:
    """Return the row of a colorant, by its range and name."""
    parent = named(session, tables.RangeRow, colorant.range)
    here, key = tables.ColorantRow.range_id == parent.id, name_key(colorant.name)
    row = session.scalar(select(tables.ColorantRow).where(here, tables.ColorantRow.key == key))
    if row is None:
        names = session.scalars(select(tables.ColorantRow.name).where(here))
        raise unknown(f"colorant in {parent.name} called", colorant.name, names)
    return row


Rows = dict[tuple[str, str], tables.ColorantRow]


def rows_by_key(session: Session) -> Rows:
    """Return the row of every colorant by the keys of its range and name."""
    return {(row.range.key, row.key): row for row in session.scalars(select(tables.ColorantRow))}


def key_of(colorant: Colorant) -> tuple[str, str]:
    """Return what a colorant is found by in `rows_by_key`."""
    return name_key(colorant.range), name_key(colorant.name)


def _insert(
    session: Session, colorants: Iterable[Colorant], ranges: Mapping[str, tables.RangeRow]
) -> None:
    """Write new colorants all at once: one by one, ten thousand have others wait for seconds."""
    session.flush()  # so that new ranges have numbers
    cells = [
        {
            "range_id": ranges[name_key(one.range)].id,
            "name": one.name,
            "key": name_key(one.name),
            "code": one.code,
            "blender": one.blender,
        }
        for one in colorants
    ]
    numbers = columns.free_numbers(session.connection(), COLORANTS, len(cells))
    rows = [{"id": number, **own} for number, own in zip(numbers, cells, strict=True)]
    columns.insert_all(session.connection(), COLORANTS, rows)
    journal.note_inserted(session, COLORANTS.name, map(json.dumps, rows))


def _refuse_other_kind(known: tables.ColorantRow | Colorant, colorant: Colorant) -> None:
    if known.blender != colorant.blender:
        label = known.label if isinstance(known, Colorant) else f"{known.range.name}/{known.name}"
        kinds = {True: "a colorless blender", False: "a color"}
        raise errors.DuplicateNameError(
            f"{label} is {kinds[known.blender]} in the library and {kinds[colorant.blender]} here.",
            hint="Give one of the two another name, or mend the blender column.",
        )


def _range_for(
    session: Session, colorant: Colorant, ranges: dict[str, tables.RangeRow]
) -> tables.RangeRow:
    row = ranges.get(name_key(colorant.range))
    if row is None:
        name = checked_colorant_name(colorant.range, "range")
        row = tables.RangeRow(name=name, key=name_key(name), medium=str(colorant.medium))
        session.add(row)
        ranges[row.key] = row
    elif row.medium != colorant.medium:
        raise of_other_medium(row.name, Medium(row.medium), colorant.medium)
    return row


@trouble.from_rows
def members(row: tables.KitRow) -> tuple[Colorant, ...]:
    """Return a kit's colorants, sorted by range and name."""
    owned = [colorant_of(member.colorant) for member in row.members]
    return tuple(sorted(owned, key=lambda c: (name_key(c.range), name_key(c.name))))


LIES_BARE = tables.SwatchRecord.recipe == ""
"""Whether a swatch has no step: the paper alone."""
USUAL_WHITE = 0.876
"""Reflectance assumed of an unmeasured paper at every wavelength: L* 95, about where the uncoated
papers of the characterization sets lie that the tests read (Debian icc-profiles-free)."""


def new_paper(session: Session, text: str, coats_limit: int) -> tables.PaperRow:
    """Add the row of a paper without swatches."""
    name = _free_name(session, tables.PaperRow, text)
    row = tables.PaperRow(name=name, key=name_key(name), coats_limit=_checked_limit(coats_limit))
    session.add(row)
    session.flush()
    return row


def _checked_limit(coats: int) -> int:
    if not 1 <= coats <= tables.MOST_COATS_IN_ALL:
        raise errors.BadRecipeError(
            f"A limit of {coats} coats: allowed are 1 to {tables.MOST_COATS_IN_ALL}."
        )
    return coats


def _free_name(session: Session, table: type[Named], text: str) -> str:
    """Return a new name as it is kept; raises `DuplicateNameError` for one that is taken."""
    name = checked_name(text, KINDS[table])
    taken = session.scalar(select(table.name).where(table.key == name_key(name)))
    if taken is not None:
        raise errors.DuplicateNameError(
            f"There is a {KINDS[table]} “{taken}” already.", hint="Choose another name."
        )
    return name


@trouble.from_rows
def paper_of(session: Session, row: tables.PaperRow) -> Paper:
    """Return the paper of a row, its reflectance the mean of its bare swatches.

    Where there are spectra, swatches known by their XYZ alone don't count.
    """
    found = select(tables.SwatchRecord.basis, tables.SwatchRecord.reflectance)
    found = found.where(tables.SwatchRecord.paper_id == row.id, LIES_BARE)
    bare = session.execute(found.order_by(tables.SwatchRecord.id)).all()
    if not bare:
        return Paper(row.name, usual_white(), row.coats_limit, False, Surface(row.surface))
    spectra = [reflectance for basis, reflectance in bare if basis == Basis.SPECTRUM]
    mean = np.mean(spectra or [reflectance for _, reflectance in bare], axis=0)
    return Paper(row.name, mean, row.coats_limit, True, Surface(row.surface))


def usual_white() -> FloatArray:
    """Return the reflectance, shape (36,), assumed of a paper that nobody has measured."""
    return np.full(WAVELENGTHS.shape, USUAL_WHITE)


class SupplyShelf(shelf.Shelf):
    """The papers, ranges, colorants and kits of a library."""

    # Papers

    def add_paper(self, name: str, *, coats_limit: int = USUAL_COATS_LIMIT) -> Paper:
        """Add a paper that has no swatches yet."""
        return paper_of(self.session, new_paper(self.session, name, coats_limit))

    def paper(self, name: str) -> Paper:
        """Return a paper; its reflectance is the mean of its bare-paper swatches.

        Without any, a usual white is assumed and `Paper.measured` is False.
        """
        return paper_of(self.session, named(self.session, tables.PaperRow, name))

    def paper_name(self, name: str) -> str:
        """Return the name of a paper as it was first written."""
        return named(self.session, tables.PaperRow, name).name

    def papers(self) -> tuple[Paper, ...]:
        """Return all papers, sorted by name."""
        rows = self.session.scalars(select(tables.PaperRow).order_by(tables.PaperRow.key)).all()
        return tuple(paper_of(self.session, row) for row in rows)

    def paper_names(self) -> tuple[str, ...]:
        """Return the names of all papers, sorted."""
        return self._names(tables.PaperRow)

    def set_coats_limit(self, name: str, coats_limit: int) -> Paper:
        """Say how many coats in all a paper bears."""
        row = named(self.session, tables.PaperRow, name)
        row.coats_limit = _checked_limit(coats_limit)
        self.session.flush()
        return paper_of(self.session, row)

    def set_surface(self, name: str, surface: Surface) -> Paper:
        """Say whether a paper is coated."""
        row = named(self.session, tables.PaperRow, name)
        row.surface = surface.value
        self.session.flush()
        return paper_of(self.session, row)

    def remove_paper(self, name: str, *, with_swatches: bool = False) -> int:
        """Remove a paper, and its swatches if told so; return how many swatches went."""
        row = named(self.session, tables.PaperRow, name)
        swatches = list(row.swatches)
        if swatches and not with_swatches:
            raise errors.LibraryError(
                f"{row.name} carries {len(swatches)} swatches.",
                hint="Say that they shall go with it, or keep the paper.",
            )
        self.dropped(*swatches)
        self.session.expire(row, ["swatches"])
        self.dropped(row)
        return len(swatches)

    # Ranges and colorants

    @trouble.from_rows
    def ranges(self) -> tuple[records.Range, ...]:
        """Return all ranges, sorted by name."""
        counted = (
            select(tables.RangeRow, func.count(tables.ColorantRow.id))
            .outerjoin(tables.ColorantRow, tables.ColorantRow.range_id == tables.RangeRow.id)
            .group_by(tables.RangeRow.id)
            .order_by(tables.RangeRow.key)
        )
        found = self.session.execute(counted).all()
        return tuple(records.Range(row.name, Medium(row.medium), count) for row, count in found)

    def find_range(self, text: str) -> records.Range:
        """Return the range of that name."""
        name = named(self.session, tables.RangeRow, text).name
        return next(known for known in self.ranges() if known.name == name)

    def add_colorants(self, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Add colorants with their ranges; return those that were new.

        A new code takes the place of an old one.
        """
        rows, new = rows_by_key(self.session), dict[tuple[str, str], Colorant]()
        ranges = {row.key: row for row in self.session.scalars(select(tables.RangeRow))}
        for one in dict.fromkeys(colorants):
            parent = _range_for(self.session, one, ranges)
            key, code = key_of(one), tidy_name(one.code)
            known = new.get(key) or rows.get(key)
            if known is None:
                name = checked_colorant_name(one.name)
                new[key] = Colorant(name, parent.name, one.medium, code, one.blender)
                continue
            _refuse_other_kind(known, one)
            if not isinstance(known, Colorant):
                known.code = code or known.code
            elif code:
                new[key] = replace(known, code=code)
        if new:
            _insert(self.session, new.values(), ranges)
        return tuple(new.values())

    def colorants(self, range: str | None = None) -> tuple[Colorant, ...]:
        """Return the colorants of one range or of all, sorted by range and name."""
        return all_colorants(self.session, range)

    def find_colorant(self, text: str, *, among: Sequence[Colorant] | None = None) -> Colorant:
        """Return the colorant that a name, ``Range/Name`` or an owner's code stands for.

        `text` is what was typed. ``Range/Name`` is tried first, then names, then codes. `among`:
        look only among these (a kit); None is the whole library.
        """
        return pick_colorant(text, self.colorants() if among is None else among)

    # Kits

    def kits(self) -> tuple[records.Kit, ...]:
        """Return all kits, sorted by name."""
        rows = self.session.scalars(select(tables.KitRow).order_by(tables.KitRow.key))
        return tuple(records.Kit(row.name, members(row)) for row in rows)

    def kit_names(self) -> tuple[str, ...]:
        """Return the names of all kits, sorted."""
        return self._names(tables.KitRow)

    def _names(self, table: type[Named]) -> tuple[str, ...]:
        return tuple(self.session.scalars(select(table.name).order_by(table.key)))

    def kit(self, name: str) -> tuple[Colorant, ...]:
        """Return the colorants of a kit, sorted by range and name."""
        return members(named(self.session, tables.KitRow, name))

    def add_kit(self, name: str) -> None:
        """Add an empty kit."""
        checked = _free_name(self.session, tables.KitRow, name)
        self.kept(tables.KitRow(name=checked, key=name_key(checked)))

    def remove_kit(self, name: str) -> None:
        """Remove a kit; its colorants stay in the library."""
        self.dropped(named(self.session, tables.KitRow, name))

    def own(self, kit: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Put colorants into a kit; return those that weren't in it before."""
        row = named(self.session, tables.KitRow, kit)
        there = {member.colorant_id for member in row.members}
        new = []
        for colorant in colorants:
            meant = colorant_row(self.session, colorant)
            if meant.id not in there:
                there.add(meant.id)
                row.members.append(tables.MemberRow(colorant=meant))
                new.append(colorant_of(meant))
        self.session.flush()
        return tuple(new)

    def stock(self, kit: str) -> dict[str, Stock]:
        """Return how it stands with each colorant of a kit, by its label."""
        row = named(self.session, tables.KitRow, kit)
        return {colorant_of(one.colorant).label: Stock(one.stock) for one in row.members}

    def set_stock(self, kit: str, colorant: Colorant, stock: Stock) -> None:
        """Say how it stands with a colorant that is in a kit."""
        meant = colorant_row(self.session, colorant).id
        for member in named(self.session, tables.KitRow, kit).members:
            if member.colorant_id == meant:
                member.stock = stock.value
        self.session.flush()

    def disown(self, kit: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Take colorants out of a kit; return those that were in it."""
        row = named(self.session, tables.KitRow, kit)
        gone = {colorant_row(self.session, colorant).id for colorant in colorants}
        leaving = [member for member in row.members if member.colorant_id in gone]
        for member in leaving:
            row.members.remove(member)
        self.session.flush()
        return tuple(colorant_of(member.colorant) for member in leaving)
