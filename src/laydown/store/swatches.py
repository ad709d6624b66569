"""Swatches in the library, written, read, counted, and taken out with their range."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, Select, func, select
from sqlalchemy.orm import Session

from laydown.errors import BadRecipeError, LibraryError, UnknownNameError
from laydown.media.colorant import USUAL_COATS_LIMIT, Colorant
from laydown.media.recipe import (
    AnyStep,
    Part,
    Recipe,
    Step,
    TreatmentStep,
    checked_name,
    format_recipe,
    name_key,
    parse_recipe,
)
from laydown.media.swatch import Swatch
from laydown.store.fields import SharedFields
from laydown.store.records import Added, Coverage, Held, StoredSwatch
from laydown.store.supplies import (
    COLORANT,
    Rows,
    add_colorants,
    add_paper,
    all_ranges,
    colorant_in,
    colorant_of,
    key_of,
    lies_bare,
    range_row,
    rows_by_key,
)
from laydown.store.tables import (
    ColorantRow,
    KitRow,
    LibraryTable,
    LightfastnessRow,
    MemberRow,
    PaperRow,
    RangeRow,
    SwatchColorantRow,
    SwatchRecord,
    WindowReadingRow,
)
from laydown.store.trouble import from_rows

KEPT = SharedFields(Swatch, SwatchRecord)
SAME_WITHIN = 1e-7
"""Reflectances and spreads nearer than this are the same number written twice."""


def add_swatches(session: Session, swatches: Sequence[Swatch], when: datetime) -> Added:
    """Take in swatches with what they name; see `Work.add_swatches`."""
    ranges_before = {known.name for known in all_ranges(session)}
    colorants = add_colorants(
        session, [colorant for swatch in swatches for colorant in swatch.recipe.colorants]
    )
    papers, new_papers = _papers_for(session, swatches)
    repeated = _add_records(session, swatches, papers, when)
    ranges = [known.name for known in all_ranges(session) if known.name not in ranges_before]
    return Added(
        len(swatches) - len(repeated), tuple(repeated), tuple(ranges), new_papers, colorants
    )


def _papers_for(
    session: Session, swatches: Sequence[Swatch]
) -> tuple[dict[str, PaperRow], tuple[str, ...]]:
    known = {row.key: row for row in session.scalars(select(PaperRow))}
    new = []
    for name in dict.fromkeys(checked_name(swatch.paper, "paper") for swatch in swatches):
        if name_key(name) not in known:
            known[name_key(name)] = add_paper(session, name, USUAL_COATS_LIMIT)
            new.append(name)
    return known, tuple(new)


def _add_records(
    session: Session,
    swatches: Sequence[Swatch],
    papers: dict[str, PaperRow],
    when: datetime,
) -> list[int]:
    rows = rows_by_key(session)
    there = _KnownSwatches(session, papers.values())
    repeated = []
    for position, swatch in enumerate(swatches):
        record = _record(swatch, papers[name_key(swatch.paper)], rows, when)
        if there.holds(record):
            repeated.append(position)
            continue
        there.add(record)
        session.add(record)
    session.flush()
    return repeated


class _KnownSwatches:
    """The swatches that are there, by paper and recipe, to tell a repeat from a replicate."""

    def __init__(self, session: Session, papers: Iterable[PaperRow]) -> None:
        self._by_recipe: dict[tuple[int, str], list[SwatchRecord]] = {}
        ids = [paper.id for paper in papers]
        for record in session.scalars(
            select(SwatchRecord).where(SwatchRecord.paper_id.in_(ids))
        ).unique():
            self.add(record)

    def add(self, record: SwatchRecord) -> None:
        self._by_recipe.setdefault((record.paper_id, record.recipe), []).append(record)

    def holds(self, record: SwatchRecord) -> bool:
        return any(
            (other.basis, other.hours) == (record.basis, record.hours)
            and abs(other.spread - record.spread) < SAME_WITHIN
            and np.allclose(other.reflectance, record.reflectance, rtol=0, atol=SAME_WITHIN)
            for other in self._by_recipe.get((record.paper_id, record.recipe), [])
        )


def _record(swatch: Swatch, paper: PaperRow, rows: Rows, when: datetime) -> SwatchRecord:
    uses = {rows[key_of(colorant)].id for colorant in swatch.recipe.colorants}
    return SwatchRecord(
        **KEPT.cells(replace(swatch, recipe=_ours(swatch.recipe, rows))),
        paper_id=paper.id,
        taken_in=when,
        colorants=[SwatchColorantRow(colorant_id=number) for number in sorted(uses)],
    )


def _ours(recipe: Recipe, rows: Rows) -> Recipe:
    """Return a recipe with its colorants as the library calls them.

    Raises
    ------
    BadRecipeError
        Where its text would be read as another, as a mixture with a name like "Kelp + 2".
    """
    named = {colorant: colorant_of(rows[key_of(colorant)]) for colorant in recipe.colorants}
    ours = Recipe(tuple(_step(step, named) for step in recipe.steps))
    text = format_recipe(ours, with_range=True)
    by_label = {colorant.label: colorant for colorant in named.values()}
    try:
        read = parse_recipe(text, by_label.__getitem__)
    except (KeyError, BadRecipeError):
        read = None
    if read != ours:
        raise BadRecipeError(
            f"“{text}” can't be kept: it would be read as another recipe.",
            hint="Give these colorants names without a slash, or a plus sign before a number.",
        )
    return ours


def _step(step: AnyStep, named: Mapping[Colorant, Colorant]) -> AnyStep:
    if isinstance(step, TreatmentStep):
        return step
    mixed = tuple(Part(named[part.colorant], part.parts) for part in step.mixed)
    return Step(named[step.colorant], step.laydown, mixed)


def remove_swatches(session: Session, ids: Iterable[int]) -> int:
    """Remove swatches by their numbers: all of them, or none where a number is unknown."""
    wanted = sorted(set(ids))
    records = [session.get(SwatchRecord, number) for number in wanted]
    missing = [str(n) for n, record in zip(wanted, records, strict=True) if record is None]
    if missing:
        raise UnknownNameError(
            f"There is no swatch number {', '.join(missing)} here.",
            hint="Look in the list of swatches for their numbers.",
            command="laydown swatches list",
        )
    for record in records:
        session.delete(record)
    session.flush()
    return len(records)


def swatch_hash(swatches: Iterable[Swatch], colorants: Sequence[Colorant], coats_limit: int) -> str:
    """Return a hash of swatches' content, whatever their order, and of what stands around them."""
    known = [[c.label, str(c.medium), c.code, c.blender] for c in colorants]
    lines = sorted(_content(swatch) for swatch in swatches)
    whole = json.dumps([coats_limit, sorted(known), lines])
    return hashlib.sha256(whole.encode()).hexdigest()


def _content(swatch: Swatch) -> str:
    """Return all of a swatch that a fit can depend on, as one line of text."""
    return json.dumps([name_key(swatch.paper), KEPT.cells(swatch)])


@dataclass(frozen=True, slots=True)
class SwatchesWanted:
    """Which swatches, by the numbers of what they use; a range counts wherever it is laid."""

    range_id: int | None = None
    paper_id: int | None = None
    colorant_id: int | None = None
    bare: bool = False

    def conditions(self) -> list[ColumnElement[bool]]:
        """Return what such a swatch fulfils."""
        found = []
        if self.paper_id is not None:
            found.append(SwatchRecord.paper_id == self.paper_id)
        if self.colorant_id is not None:
            found.append(_uses(ColorantRow.id == self.colorant_id))
        if self.range_id is not None:
            found.append(_uses(ColorantRow.range_id == self.range_id))
        if self.bare:
            found.append(lies_bare())
        return found


def _uses(condition: ColumnElement[bool]) -> ColumnElement[bool]:
    """Return whether a swatch lays such a colorant, alone or in a mixture."""
    laid = select(SwatchColorantRow.swatch_id).join(ColorantRow).where(condition)
    return SwatchRecord.id.in_(laid)


def find_records(session: Session, wanted: SwatchesWanted) -> list[SwatchRecord]:
    """Return records to be changed or removed, in the order taken in."""
    found = select(SwatchRecord).where(*wanted.conditions()).order_by(SwatchRecord.id)
    return list(session.scalars(found))


def count_records(session: Session, wanted: SwatchesWanted) -> int:
    """Return how many records there are."""
    found = select(func.count(SwatchRecord.id)).where(*wanted.conditions())
    return session.scalar(found) or 0


@from_rows
def read_swatches(
    session: Session, wanted: SwatchesWanted, *, skip: int = 0, most: int | None = None
) -> tuple[StoredSwatch, ...]:
    """Return swatches in the order taken in, each with its number and moment."""
    chosen = select(SwatchRecord.id).where(*wanted.conditions()).order_by(SwatchRecord.id)
    chosen = chosen.offset(skip).limit(most)
    kept = (SwatchRecord.id, SwatchRecord.taken_in, PaperRow.name, *KEPT.columns)
    found = select(*kept).join(PaperRow)
    rows = session.execute(found.where(SwatchRecord.id.in_(chosen)).order_by(SwatchRecord.id))
    colorants = _colorants(session, chosen)
    return tuple(_stored(row, colorants[row.id]) for row in rows)


def _stored(row: Any, colorants: Mapping[str, Colorant]) -> StoredSwatch:
    """Return a swatch from its row and the colorants that it names, by their labels."""
    recipe = parse_recipe(row.recipe, colorants.__getitem__)
    if len(recipe.colorants) != len(colorants):
        raise ValueError(f"swatch {row.id} says that it uses more than its recipe names")
    return StoredSwatch(row.id, KEPT.value(row, paper=row.name, recipe=recipe), row.taken_in)


def _colorants(session: Session, chosen: Select[int]) -> dict[int, dict[str, Colorant]]:
    """Return the colorants of the chosen swatches by their labels, by the swatches' numbers."""
    found = (
        select(SwatchColorantRow.swatch_id, *COLORANT)
        .join(ColorantRow, SwatchColorantRow.colorant_id == ColorantRow.id)
        .join(RangeRow)
        .where(SwatchColorantRow.swatch_id.in_(chosen))
    )
    colorants: dict[int, dict[str, Colorant]] = defaultdict(dict)
    for swatch, *named in session.execute(found):
        colorant = colorant_in(*named)
        colorants[swatch][colorant.label] = colorant
    return colorants


HANGING = (MemberRow, LightfastnessRow, WindowReadingRow)
"""Rows that say something of one colorant alone, and go with it."""


def remove_range(session: Session, text: str, *, with_swatches: bool) -> int:
    """Remove a range and its colorants; swatches that use one go only when told so."""
    row = range_row(session, text)
    swatches = find_records(session, SwatchesWanted(range_id=row.id))
    if swatches and not with_swatches:
        raise LibraryError(
            f"{len(swatches)} swatches use {row.name}.",
            hint="Say that they shall go with it, or keep the range.",
        )
    for swatch in swatches:
        session.delete(swatch)
    session.flush()
    for one in _hanging(session, row.id):
        session.delete(one)
    session.flush()
    session.expire_all()
    session.delete(row)
    session.flush()
    return len(swatches)


def _hanging(session: Session, range_id: int) -> list[LibraryTable]:
    found: list[LibraryTable] = []
    for table in HANGING:
        of_range = (
            select(table)
            .join(ColorantRow, ColorantRow.id == table.colorant_id)
            .where(ColorantRow.range_id == range_id)
        )
        found += session.scalars(of_range)
    return found


def coverage(session: Session, range_id: int | None = None) -> tuple[Coverage, ...]:
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
    if range_id is not None:
        used = used.where(ColorantRow.range_id == range_id)
    counted = used.subquery()
    named = (
        select(RangeRow.name, PaperRow.name, counted.c.swatches, counted.c.colorants)
        .join(counted, counted.c.range_id == RangeRow.id)
        .join(PaperRow, PaperRow.id == counted.c.paper_id)
        .order_by(RangeRow.key, PaperRow.key)
    )
    return tuple(Coverage(*row) for row in session.execute(named))


def swatches_by_label(
    session: Session, ranges: tuple[str, ...] | None = None
) -> dict[str, dict[str, int]]:
    """Count the swatches of each colorant, of some ranges or all, by its label and by paper."""
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
    for range_name, name, paper, count in session.execute(wanted):
        found.setdefault(Colorant(name, range_name).label, {})[paper] = count
    return found


def held(session: Session) -> Held:
    """Count what the library holds."""
    tables = (RangeRow, ColorantRow, PaperRow, SwatchRecord, KitRow)
    return Held(*(session.scalar(select(func.count(t.id))) or 0 for t in tables))
