"""Swatches in the library, written, read, counted, and taken out with their range."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import chain
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, Select, func, select
from sqlalchemy.orm import Session

from laydown import errors
from laydown.color.arrays import FloatArray
from laydown.media.legible import checked_name, legible, name_key
from laydown.media.recipe import (
    USUAL_COATS_LIMIT,
    AnyStep,
    Colorant,
    Part,
    Recipe,
    Step,
    TreatmentStep,
    format_recipe,
    parse_recipe,
)
from laydown.media.swatch import Swatch
from laydown.store import columns, journal, shelf, supplies, tables, trouble
from laydown.store.records import Added, Coverage, StoredSwatch
from laydown.store.tables import ColorantRow, PaperRow, RangeRow, SwatchColorantRow, SwatchRecord

KEPT = shelf.SharedFields(Swatch, SwatchRecord)
Conditions = list[ColumnElement[bool]]
LISTS = ("reflectance", "flags")
BESIDE = ("picture", "shared")
"""What no fit depends on: a match asks it, of a color wanted and of the swatches that answer."""
RECORDS = columns.to_be_written(tables.LibraryTable.metadata.tables[SwatchRecord.__tablename__])
USES = tables.LibraryTable.metadata.tables[SwatchColorantRow.__tablename__]
SAME_WITHIN = 1e-7
"""Reflectances and spreads nearer than this are the same number written twice."""
WEIGHTS = np.linspace(1.0, 2.0, tables.BANDS)
"""Of the bands, in the sum by which swatches are put into trays; no two are alike."""
AT_ONCE = 500
"""Swatches that are asked for by number in one question."""


def _papers_for(
    session: Session, names: Iterable[str]
) -> tuple[dict[str, PaperRow], tuple[str, ...]]:
    known = {row.key: row for row in session.scalars(select(PaperRow))}
    new = []
    for name in dict.fromkeys(checked_name(name, "paper") for name in dict.fromkeys(names)):
        if name_key(name) not in known:
            known[name_key(name)] = supplies.new_paper(session, name, USUAL_COATS_LIMIT)
            new.append(name)
    return known, tuple(new)


@dataclass(frozen=True, slots=True, eq=False)
class WrittenSwatch:
    """A swatch as it will be kept, made before the transaction that others have to wait for."""

    swatch: Swatch
    """Itself."""
    keys: Mapping[Colorant, tuple[str, str]]
    """Of the colorants that its recipe names, see `key_of`."""
    cells: dict[str, Any]
    """What its row says of it; lists as JSON."""
    image: str
    """The same as the journal has it, without what only the library knows."""
    what: tuple[Any, ...]
    tray: int
    """By what it is told from other swatches of its paper, see `_KnownSwatches`."""


def written(swatch: Swatch) -> WrittenSwatch:
    """Write a swatch as it will be kept.

    Raises `BadRecipeError` where its recipe's text would be read as another, as a mixture with a
    name like "Kelp + 2".
    """
    recipe = swatch.recipe
    keys = {colorant: supplies.key_of(colorant) for colorant in recipe.colorants}
    cells = KEPT.cells(replace(swatch, recipe=_spelled(recipe, {c: c for c in keys})))
    cells["recipe"] = legible(cells["recipe"])
    as_json = {name: json.dumps(value) for name, value in cells.items()}
    image = ", ".join(f'"{name}": {text}' for name, text in as_json.items())
    where = _place(cells, swatch.reflectance)
    return WrittenSwatch(swatch, keys, cells | {n: as_json[n] for n in LISTS}, image, *where)


def _place(cells: Mapping[Any, Any], reflectance: FloatArray) -> tuple[tuple[Any, ...], int]:
    what = (cells["recipe"], cells["basis"], cells["hours"])
    return what, int(reflectance @ WEIGHTS // (SAME_WITHIN * WEIGHTS.sum()))


def _add_records(
    session: Session, swatches: Sequence[WrittenSwatch], papers: dict[str, PaperRow], when: datetime
) -> list[int]:
    rows = supplies.rows_by_key(session)
    called = {key: supplies.colorant_of(row) for key, row in rows.items()}
    ours = [_as_called_here(one, called) for one in swatches]
    numbers = {name: papers[name_key(name)].id for name in {one.swatch.paper for one in ours}}
    lies_on = [numbers[one.swatch.paper] for one in ours]
    there = _KnownSwatches(session, set(lies_on), {one.cells["recipe"] for one in ours})
    repeated, new = [], []
    for position, (one, paper) in enumerate(zip(ours, lies_on, strict=True)):
        if there.holds(paper, one):
            repeated.append(position)
        else:
            there.add(paper, one.what, one.tray, one.cells["spread"], one.swatch.reflectance)
            new.append((one, paper))
    if new:
        _insert(session, new, rows, when)
    return repeated


def _insert(
    session: Session, new: Sequence[tuple[WrittenSwatch, int]], rows: supplies.Rows, when: datetime
) -> None:
    """Write swatches all at once, and into the journal too, for one by one takes ten times that."""
    session.flush()
    connection, moment = session.connection(), when.astimezone(UTC).isoformat()
    numbers = columns.free_numbers(connection, RECORDS, len(new))
    cells = [
        {**one.cells, "id": number, "paper_id": paper, "taken_in": when}
        for number, (one, paper) in zip(numbers, new, strict=True)
    ]
    columns.insert_all(connection, RECORDS, cells)
    images = (
        f'{{"id": {number}, "paper_id": {paper}, "taken_in": "{moment}", {one.image}}}'
        for number, (one, paper) in zip(numbers, new, strict=True)
    )
    journal.note_inserted(session, RECORDS.name, images)
    known = {key: row.id for key, row in rows.items()}
    uses = [
        {"swatch_id": number, "colorant_id": used}
        for number, (one, _) in zip(numbers, new, strict=True)
        for used in sorted({known[key] for key in one.keys.values()})
    ]
    if uses:
        images = (
            f'{{"swatch_id": {use["swatch_id"]}, "colorant_id": {use["colorant_id"]}}}'
            for use in uses
        )
        columns.insert_all(connection, USES, uses)
        journal.note_inserted(session, USES.name, images)


class _KnownSwatches:
    """The swatches that are there, by what they are, to tell a repeat from a replicate.

    Those of one paper and recipe lie in trays by a weighted sum of their bands, so that each is
    compared with its nearest alone, and not with every other.
    """

    def __init__(self, session: Session, papers: set[int], recipes: set[str]) -> None:
        self._trays: dict[tuple[Any, ...], list[tuple[float, FloatArray]]] = defaultdict(list)
        of_papers = select(SwatchRecord.id, SwatchRecord.recipe).where(
            SwatchRecord.paper_id.in_(papers)
        )
        same = [number for number, recipe in session.execute(of_papers) if recipe in recipes]
        for start in range(0, len(same), AT_ONCE):
            found = select(SwatchRecord.paper_id, *KEPT.columns)
            for row in session.execute(found.where(SwatchRecord.id.in_(same[start:][:AT_ONCE]))):
                cells, bands = row._mapping, np.array(row.reflectance)
                self.add(cells["paper_id"], *_place(cells, bands), cells["spread"], bands)

    def add(
        self, paper: int, what: tuple[Any, ...], tray: int, spread: float, bands: FloatArray
    ) -> None:
        self._trays[paper, what, tray].append((spread, bands))

    def holds(self, paper: int, one: WrittenSwatch) -> bool:
        near = (self._trays.get((paper, one.what, one.tray + step), ()) for step in (-1, 0, 1))
        return any(
            abs(spread - one.cells["spread"]) < SAME_WITHIN
            and np.allclose(bands, one.swatch.reflectance, rtol=0, atol=SAME_WITHIN)
            for spread, bands in chain.from_iterable(near)
        )


def _as_called_here(
    one: WrittenSwatch, called: Mapping[tuple[str, str], Colorant]
) -> WrittenSwatch:
    """Return a swatch with its colorants as the library calls them."""
    if all((called[k].range, called[k].name) == (c.range, c.name) for c, k in one.keys.items()):
        return one
    here = {colorant: called[key] for colorant, key in one.keys.items()}
    return written(replace(one.swatch, recipe=_spelled(one.swatch.recipe, here)))


def _spelled(recipe: Recipe, called: Mapping[Colorant, Colorant]) -> Recipe:
    """Return a recipe with its colorants as they are called.

    Raises `BadRecipeError` where its text would be read as another.
    """
    spelled = Recipe(tuple(_step(step, called) for step in recipe.steps))
    text = format_recipe(spelled, with_range=True)
    by_label = {colorant.label: colorant for colorant in called.values()}
    try:
        read = parse_recipe(text, by_label.__getitem__)
    except (KeyError, errors.BadRecipeError):
        read = None
    if read != spelled:
        raise errors.BadRecipeError(
            f"“{text}” can't be kept: it would be read as another recipe.",
            hint="Give these colorants names without a slash, or a plus sign before a number.",
        )
    return spelled


def _step(step: AnyStep, named: Mapping[Colorant, Colorant]) -> AnyStep:
    if isinstance(step, TreatmentStep):
        return step
    mixed = tuple(Part(named[part.colorant], part.parts) for part in step.mixed)
    return Step(named[step.colorant], step.laydown, mixed)


def hash_of(swatches: Iterable[Swatch], colorants: Sequence[Colorant], coats_limit: int) -> str:
    """Return a hash of swatches' content, whatever their order, and of what stands around them."""
    known = [[c.label, str(c.medium), c.code, c.blender] for c in colorants]
    contents = ((name_key(swatch.paper), KEPT.cells(swatch)) for swatch in swatches)
    lines = sorted(
        json.dumps([paper, {name: cell for name, cell in cells.items() if name not in BESIDE}])
        for paper, cells in contents
    )
    whole = json.dumps([coats_limit, sorted(known), lines])
    return hashlib.sha256(whole.encode()).hexdigest()


def _uses(condition: ColumnElement[bool]) -> ColumnElement[bool]:
    """Return whether a swatch lays such a colorant, alone or in a mixture."""
    laid = select(SwatchColorantRow.swatch_id).join(ColorantRow).where(condition)
    return SwatchRecord.id.in_(laid)


def _stored(row: Any, colorants: Mapping[str, Colorant]) -> StoredSwatch:
    """Return a swatch from its row and the colorants that it names, by their labels."""
    recipe = parse_recipe(row.recipe, colorants.__getitem__)
    if len(recipe.colorants) != len(colorants):
        raise ValueError(f"swatch {row.id} says that it uses more than its recipe names")
    return StoredSwatch(row.id, KEPT.value(row, paper=row.name, recipe=recipe), row.taken_in)


def _colorants(session: Session, chosen: Select[int]) -> dict[int, dict[str, Colorant]]:
    """Return the colorants of the chosen swatches by their labels, by the swatches' numbers."""
    found = (
        select(SwatchColorantRow.swatch_id, *supplies.COLORANT)
        .join(ColorantRow, SwatchColorantRow.colorant_id == ColorantRow.id)
        .join(RangeRow)
        .where(SwatchColorantRow.swatch_id.in_(chosen))
    )
    colorants: dict[int, dict[str, Colorant]] = defaultdict(dict)
    for swatch, *named in session.execute(found):
        colorant = supplies.colorant_in(*named)
        colorants[swatch][colorant.label] = colorant
    return colorants


HANGING = (tables.MemberRow, tables.LightfastnessRow, tables.PanMarkRow, tables.WindowReadingRow)
"""Rows that say something of one colorant alone, and go with it."""


def _hanging(session: Session, range_id: int) -> list[tables.LibraryTable]:
    found: list[tables.LibraryTable] = []
    for table in HANGING:
        hanging = select(table).join(ColorantRow, ColorantRow.id == table.colorant_id)
        found += session.scalars(hanging.where(ColorantRow.range_id == range_id))
    return found


class SwatchShelf(supplies.SupplyShelf):
    """The swatches of a library, with what they were made with and lie on."""

    def add_swatches(self, swatches: Sequence[Swatch], *, when: datetime | None = None) -> Added:
        """Take in swatches with the ranges, colorants and papers they name: all of them or none.

        Replicates are kept. A swatch that agrees in paper, recipe and every number with one that is
        there already (or stands earlier in the list) is skipped and reported. `swatches`: in the
        order of the file they came from. `when` is the moment of taking in, aware of its time zone;
        None is now.
        """
        return self.add_written(tuple(map(written, swatches)), when=when)

    def add_written(
        self, swatches: Sequence[WrittenSwatch], *, when: datetime | None = None
    ) -> Added:
        """Do the same with swatches that were written before, which is most of the work."""
        before = {known.name for known in self.ranges()}
        colorants = self.add_colorants(c for swatch in swatches for c in swatch.keys)
        papers, new_papers = _papers_for(self.session, (one.swatch.paper for one in swatches))
        repeated = _add_records(self.session, swatches, papers, when or columns.now())
        ranges = tuple(known.name for known in self.ranges() if known.name not in before)
        return tuple(repeated), ranges, new_papers, colorants

    def swatches(
        self,
        range: str | None = None,
        paper: str | None = None,
        colorant: Colorant | None = None,
        *,
        skip: int = 0,
        most: int | None = None,
    ) -> tuple[StoredSwatch, ...]:
        """Return swatches in the order they were taken in.

        Only those are returned whose recipe uses a colorant of the range, or this colorant, and
        that lie on this paper. So many as `skip` are passed over first, and at most `most`
        returned; None is all.
        """
        return self._read(self._conditions(range, paper, colorant), skip=skip, most=most)

    @trouble.from_rows
    def _read(
        self, conditions: Conditions, *, skip: int = 0, most: int | None = None
    ) -> tuple[StoredSwatch, ...]:
        chosen = select(SwatchRecord.id).where(*conditions).order_by(SwatchRecord.id)
        chosen = chosen.offset(skip).limit(most)
        kept = (SwatchRecord.id, SwatchRecord.taken_in, PaperRow.name, *KEPT.columns)
        found = select(*kept).join(PaperRow).where(SwatchRecord.id.in_(chosen))
        rows = self.session.execute(found.order_by(SwatchRecord.id)).all()
        colorants = _colorants(self.session, chosen) if rows else {}
        return tuple(_stored(row, colorants[row.id]) for row in rows)

    def count_swatches(
        self, range: str | None = None, paper: str | None = None, colorant: Colorant | None = None
    ) -> int:
        """Return how many swatches there are of those that `swatches` returns."""
        conditions = self._conditions(range, paper, colorant)
        return self.session.scalar(select(func.count(SwatchRecord.id)).where(*conditions)) or 0

    def _conditions(
        self, range_name: str | None, paper: str | None, colorant: Colorant | None
    ) -> Conditions:
        """Return what such a swatch fulfils; a range counts wherever it is laid."""
        found = []
        if range_name is not None:
            range_id = supplies.named(self.session, RangeRow, range_name).id
            found.append(_uses(ColorantRow.range_id == range_id))
        if paper is not None:
            found.append(SwatchRecord.paper_id == supplies.named(self.session, PaperRow, paper).id)
        if colorant is not None:
            found.append(_uses(ColorantRow.id == supplies.colorant_row(self.session, colorant).id))
        return found

    def bare_paper(self, paper: str) -> tuple[StoredSwatch, ...]:
        """Return the swatches of a paper with nothing on it."""
        return self._read([*self._conditions(None, paper, None), supplies.LIES_BARE])

    def remove_swatches(self, ids: Iterable[int]) -> int:
        """Remove swatches by their numbers: all of them, or none where one is unknown."""
        wanted = sorted(set(ids))
        records = [self.session.get(SwatchRecord, number) for number in wanted]
        missing = [str(n) for n, record in zip(wanted, records, strict=True) if record is None]
        if missing:
            raise errors.UnknownNameError(
                f"There is no swatch number {', '.join(missing)} here.",
                hint="Look in the list of swatches for their numbers.",
                command="laydown swatches list",
            )
        self.dropped(*filter(None, records))
        return len(records)

    def swatch_hash(self, ranges: Sequence[str], paper: str) -> str:
        """Return a hash of all that a fit of these ranges on this paper rests on.

        It covers the paper's coats limit and bare swatches, the ranges' colorants, and every swatch
        on the paper whose colorants all belong to these ranges; not the order they were taken in,
        nor their numbers.
        """
        wanted = {supplies.named(self.session, RangeRow, name).name for name in ranges}
        row = supplies.named(self.session, PaperRow, paper)
        bare = [kept.swatch for kept in self.bare_paper(row.name)]
        used = {k.id: k.swatch for name in wanted for k in self.swatches(name, row.name)}
        own = [s for s in used.values() if {c.range for c in s.recipe.colorants} <= wanted]
        known = [colorant for name in sorted(wanted) for colorant in self.colorants(name)]
        return hash_of([*bare, *own], known, row.coats_limit)

    # What rests on a range or a paper

    def remove_range(self, name: str, *, with_swatches: bool = False) -> int:
        """Remove a range, and the swatches that use it if told so; return how many went."""
        row = supplies.named(self.session, RangeRow, name)
        used = select(SwatchRecord).where(*self._conditions(row.name, None, None))
        swatches = list(self.session.scalars(used.order_by(SwatchRecord.id)))
        if swatches and not with_swatches:
            raise errors.LibraryError(
                f"{len(swatches)} swatches use {row.name}.",
                hint="Say that they shall go with it, or keep the range.",
            )
        self.dropped(*swatches)
        self.dropped(*_hanging(self.session, row.id))
        self.session.expire_all()
        self.dropped(row)
        return len(swatches)

    def coverage(self, range: str | None = None) -> tuple[Coverage, ...]:
        """Return how much of each range, or of one, lies on each paper, sorted by their names."""
        used = (
            select(
                ColorantRow.range_id,
                SwatchRecord.paper_id,
                func.count(SwatchRecord.id.distinct()).label("swatches"),
                func.count(ColorantRow.id.distinct()).label("colorants"),
            )
            .select_from(SwatchColorantRow)
            .join(SwatchRecord)
            .join(ColorantRow)
            .group_by(ColorantRow.range_id, SwatchRecord.paper_id)
        )
        if range is not None:
            used = used.where(
                ColorantRow.range_id == supplies.named(self.session, RangeRow, range).id
            )
        counted = used.subquery()
        named = (
            select(RangeRow.name, PaperRow.name, counted.c.swatches, counted.c.colorants)
            .join(counted, counted.c.range_id == RangeRow.id)
            .join(PaperRow, PaperRow.id == counted.c.paper_id)
            .order_by(RangeRow.key, PaperRow.key)
        )
        return tuple(Coverage(*row) for row in self.session.execute(named))

    def swatches_by_label(self, ranges: Sequence[str] | None = None) -> dict[str, dict[str, int]]:
        """Count the swatches of colorants, of some ranges or all, by their labels and papers."""
        wanted = (
            select(RangeRow.name, ColorantRow.name, PaperRow.name, func.count())
            .select_from(SwatchColorantRow)
            .join(SwatchRecord)
            .join(PaperRow)
            .join(ColorantRow)
            .join(RangeRow)
            .group_by(RangeRow.name, ColorantRow.name, PaperRow.name)
            .order_by(PaperRow.name)
        )
        if ranges is not None:
            wanted = wanted.where(RangeRow.name.in_(ranges))
        found: dict[str, dict[str, int]] = {}
        for range_name, name, paper, count in self.session.execute(wanted):
            found.setdefault(Colorant(name, range_name).label, {})[paper] = count
        return found

    def held(self) -> dict[str, int]:
        """Count what the library holds: ranges, colorants, papers, swatches and kits."""
        kinds = (RangeRow, ColorantRow, PaperRow, SwatchRecord, tables.KitRow)
        count = {kind.__tablename__: select(func.count(kind.id)) for kind in kinds}
        return {name: self.session.scalar(asked) or 0 for name, asked in count.items()}
