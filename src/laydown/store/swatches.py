"""Swatches in the library: taken in as a whole list, kept as replicates, hashed for fits."""

import hashlib
import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from laydown.color.tristimulus import xyz_from_reflectance
from laydown.errors import UnknownNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import checked_name, name_key
from laydown.media.paper import USUAL_COATS_LIMIT
from laydown.media.recipe import AnyStep, TreatmentStep
from laydown.media.swatch import Swatch
from laydown.store.colorants import (
    Rows,
    add_colorants,
    all_ranges,
    key_of,
    rows_by_key,
)
from laydown.store.papers import add_paper
from laydown.store.records import Added
from laydown.store.tables import PaperRow, PartRow, StepRow, SwatchRecord

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
    there = _Known(session, papers.values())
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


class _Known:
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
