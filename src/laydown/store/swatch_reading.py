"""Swatches read out of the library: by columns, since there are many of them in one answer."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, Select, func, or_, select, type_coerce
from sqlalchemy.orm import Session

from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.recipe import AnyStep, Part, Recipe, Step, Tool, Treatment, TreatmentStep
from laydown.media.swatch import Basis, Swatch
from laydown.store.colorants import COLORANT, colorant_in
from laydown.store.papers import lies_bare
from laydown.store.records import StoredSwatch
from laydown.store.tables import ColorantRow, PaperRow, PartRow, RangeRow, StepRow, SwatchRecord
from laydown.store.trouble import from_rows

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
class Wanted:
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


def find_records(session: Session, wanted: Wanted) -> list[SwatchRecord]:
    """Return records to be changed or removed, in the order taken in."""
    found = select(SwatchRecord).where(*wanted.conditions()).order_by(SwatchRecord.id)
    return list(session.scalars(found))


def count_records(session: Session, wanted: Wanted) -> int:
    """Return how many records there are."""
    found = select(func.count(SwatchRecord.id)).where(*wanted.conditions())
    return session.scalar(found) or 0


@from_rows
def read_swatches(
    session: Session, wanted: Wanted, *, skip: int = 0, most: int | None = None
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
