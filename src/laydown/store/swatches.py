"""Swatches in the library, written and read."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, Select, func, or_, select, type_coerce
from sqlalchemy.orm import Session

from laydown.color.tristimulus import xyz_from_reflectance
from laydown.errors import UnknownNameError
from laydown.media.colorant import USUAL_COATS_LIMIT, Colorant
from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.recipe import (
    AnyStep,
    Part,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    checked_name,
    name_key,
)
from laydown.media.swatch import Basis, Swatch
from laydown.store.records import Added, StoredSwatch
from laydown.store.supplies import (
    COLORANT,
    Rows,
    add_colorants,
    add_paper,
    all_ranges,
    colorant_in,
    key_of,
    lies_bare,
    rows_by_key,
)
from laydown.store.tables import ColorantRow, PaperRow, PartRow, RangeRow, StepRow, SwatchRecord
from laydown.store.trouble import from_rows

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
        self._by_recipe: dict[tuple[Any, ...], list[SwatchRecord]] = {}
        ids = [paper.id for paper in papers]
        for record in session.scalars(
            select(SwatchRecord).where(SwatchRecord.paper_id.in_(ids))
        ).unique():
            self.add(record)

    def add(self, record: SwatchRecord) -> None:
        self._by_recipe.setdefault(_recipe_key(record), []).append(record)

    def holds(self, record: SwatchRecord) -> bool:
        return any(
            other.basis == record.basis
            and abs(other.spread - record.spread) < SAME_WITHIN
            and np.allclose(other.reflectance, record.reflectance, rtol=0, atol=SAME_WITHIN)
            for other in self._by_recipe.get(_recipe_key(record), [])
        )


def _recipe_key(record: SwatchRecord) -> tuple[Any, ...]:
    return (record.paper_id, *(_step_key(row) for row in record.steps))


def _step_key(row: StepRow) -> tuple[Any, ...]:
    laid = (row.coats, row.stroke, row.pressure, row.dilution, row.wait)
    mixed = tuple((part.colorant_id, part.parts) for part in row.mixed)
    return (row.colorant_id, *laid, row.treatment, row.tool, mixed)


def _record(swatch: Swatch, paper: PaperRow, rows: Rows, when: datetime) -> SwatchRecord:
    return SwatchRecord(
        paper_id=paper.id,
        basis=str(swatch.basis),
        reflectance=[float(value) for value in swatch.reflectance],
        xyz=[round(float(value), 6) for value in xyz_from_reflectance(swatch.reflectance)],
        spread=float(swatch.spread),
        flags=sorted(swatch.flags),
        taken_in=when,
        steps=[_step_row(i, step, rows) for i, step in enumerate(swatch.recipe.steps)],
    )


def _step_row(position: int, step: AnyStep, rows: Rows) -> StepRow:
    if isinstance(step, TreatmentStep):
        return StepRow(position=position, treatment=str(step.treatment), tool=str(step.tool))
    laid = step.laydown
    return StepRow(
        position=position,
        colorant_id=rows[key_of(step.colorant)].id,
        coats=laid.coats,
        stroke=str(laid.stroke),
        pressure=str(laid.pressure),
        dilution=laid.dilution,
        wait=str(laid.wait),
        mixed=[
            PartRow(position=i, colorant_id=rows[key_of(part.colorant)].id, parts=part.parts)
            for i, part in enumerate(step.mixed)
        ],
    )


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
    numbers = swatch.reflectance.astype(np.float64).tolist()
    return json.dumps(
        [
            name_key(swatch.paper),
            swatch.recipe.key,
            str(swatch.basis),
            float(swatch.spread),
            sorted(swatch.flags),
            numbers,
        ]
    )


KEPT = (
    SwatchRecord.id,
    PaperRow.name,
    SwatchRecord.reflectance,
    SwatchRecord.basis,
    SwatchRecord.spread,
    SwatchRecord.flags,
    SwatchRecord.taken_in,
)
"""What is read of a swatch besides its steps."""
LAID = (
    StepRow.treatment,
    StepRow.tool,
    StepRow.coats,
    StepRow.stroke,
    StepRow.pressure,
    StepRow.dilution,
    StepRow.wait,
)
"""How a step is done, a treatment or a laydown."""
COLORANT_IF_ANY = tuple(
    type_coerce(column, column.type.or_missing()).label(f"colorant_{place}")
    for place, column in enumerate(COLORANT)
)
"""The colorant of a step; a treatment has none."""


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
    laid = select(StepRow.swatch_id).join(ColorantRow, StepRow.colorant_id == ColorantRow.id)
    mixed = (
        select(StepRow.swatch_id)
        .join(PartRow, PartRow.step_id == StepRow.id)
        .join(ColorantRow, PartRow.colorant_id == ColorantRow.id)
    )
    return or_(
        SwatchRecord.id.in_(laid.where(condition)), SwatchRecord.id.in_(mixed.where(condition))
    )


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
    found = select(*KEPT).select_from(SwatchRecord).join(PaperRow)
    rows = session.execute(found.where(SwatchRecord.id.in_(chosen)).order_by(SwatchRecord.id))
    steps = _steps(session, chosen)
    return tuple(_stored(row, steps[row[0]]) for row in rows)


def _stored(row: Sequence[Any], steps: Sequence[AnyStep]) -> StoredSwatch:
    """Return a swatch from what `KEPT` names of it."""
    number, paper, reflectance, basis, spread, flags, taken_in = row
    recipe, seen = Recipe(tuple(steps)), np.array(reflectance)
    swatch = Swatch(paper, recipe, seen, Basis(basis), spread, frozenset(flags))
    return StoredSwatch(number, swatch, taken_in)


def _steps(session: Session, chosen: Select[int]) -> dict[int, list[AnyStep]]:
    """Return the steps of the chosen swatches, bottom first, by the swatches' numbers."""
    found = (
        select(StepRow.id, StepRow.swatch_id, *LAID, *COLORANT_IF_ANY)
        .outerjoin(ColorantRow, StepRow.colorant_id == ColorantRow.id)
        .outerjoin(RangeRow)
        .where(StepRow.swatch_id.in_(chosen))
        .order_by(StepRow.swatch_id, StepRow.position)
    )
    mixed = _mixed(session, chosen)
    steps: dict[int, list[AnyStep]] = defaultdict(list)
    for number, swatch, *laid in session.execute(found):
        steps[swatch].append(_step(laid, tuple(mixed[number])))
    return steps


def _mixed(session: Session, chosen: Select[int]) -> dict[int, list[Part]]:
    """Return the parts of each step that is mixed on the palette, by the steps' numbers."""
    found = (
        select(PartRow.step_id, PartRow.parts, *COLORANT)
        .join(StepRow, PartRow.step_id == StepRow.id)
        .join(ColorantRow, PartRow.colorant_id == ColorantRow.id)
        .join(RangeRow)
        .where(StepRow.swatch_id.in_(chosen))
        .order_by(PartRow.step_id, PartRow.position)
    )
    parts: dict[int, list[Part]] = defaultdict(list)
    for step, count, *colorant in session.execute(found):
        parts[step].append(Part(colorant_in(*colorant), count))
    return parts


def _step(laid: Sequence[Any], mixed: tuple[Part, ...]) -> AnyStep:
    """Return a step from what `LAID` and `COLORANT` name of it."""
    treatment, tool, coats, stroke, pressure, dilution, wait, *colorant = laid
    if treatment is not None:
        return TreatmentStep(Treatment(treatment), Tool(tool or ""))
    stroke, pressure, wait = Stroke(stroke or ""), Pressure(pressure or ""), Wait(wait or "")
    how = Laydown(coats or 1, stroke, pressure, dilution or 0.0, wait)
    return Step(colorant_in(*colorant), how, mixed)
