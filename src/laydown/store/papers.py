"""Papers in the library."""

import numpy as np
from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.errors import BadRecipeError, DuplicateNameError, LibraryError
from laydown.media.labels import checked_name, name_key
from laydown.media.paper import Paper
from laydown.media.swatch import Basis
from laydown.store.naming import unknown
from laydown.store.tables import MOST_COATS_IN_ALL, PaperRow, StepRow, SwatchRecord
from laydown.store.trouble import from_rows

USUAL_WHITE = 0.876
"""Reflectance assumed of an unmeasured paper at every wavelength: L* 95, about where the uncoated
papers of the characterization sets lie that the tests read (Debian icc-profiles-free)."""


def paper_row(session: Session, text: str) -> PaperRow:
    """Return the row of the paper of that name, or suggest near ones."""
    row = session.scalar(select(PaperRow).where(PaperRow.key == name_key(text)))
    if row is None:
        raise unknown("paper", text, session.scalars(select(PaperRow.name)))
    return row


def add_paper(session: Session, text: str, coats_limit: int) -> PaperRow:
    """Add a paper without swatches."""
    name = checked_name(text, "paper")
    taken = session.scalar(select(PaperRow).where(PaperRow.key == name_key(name)))
    if taken is not None:
        raise DuplicateNameError(
            f"There is a paper “{taken.name}” already.", hint="Choose another name."
        )
    row = PaperRow(name=name, key=name_key(name), coats_limit=_checked_limit(coats_limit))
    session.add(row)
    session.flush()
    return row


def set_coats_limit(session: Session, text: str, coats_limit: int) -> PaperRow:
    """Say how many coats a paper bears."""
    row = paper_row(session, text)
    row.coats_limit = _checked_limit(coats_limit)
    session.flush()
    return row


def _checked_limit(coats: int) -> int:
    if not 1 <= coats <= MOST_COATS_IN_ALL:
        raise BadRecipeError(
            f"A limit of {coats} coats: allowed are 1 to {MOST_COATS_IN_ALL}.",
        )
    return coats


def remove_paper(session: Session, text: str, *, with_swatches: bool) -> int:
    """Remove a paper; its swatches go only when told so."""
    row = paper_row(session, text)
    swatches = list(row.swatches)
    if swatches and not with_swatches:
        raise LibraryError(
            f"{row.name} carries {len(swatches)} swatches.",
            hint="Say that they shall go with it, or keep the paper.",
        )
    for swatch in swatches:
        session.delete(swatch)
    session.flush()
    session.expire(row, ["swatches"])
    session.delete(row)
    session.flush()
    return len(swatches)


@from_rows
def paper_of(session: Session, row: PaperRow) -> Paper:
    """Return the paper of a row, its reflectance the mean of its bare swatches.

    Where there are spectra, swatches known by their XYZ alone don't count.
    """
    found = select(SwatchRecord.basis, SwatchRecord.reflectance)
    found = found.where(SwatchRecord.paper_id == row.id, lies_bare()).order_by(SwatchRecord.id)
    bare = session.execute(found).all()
    if not bare:
        return Paper(row.name, usual_white(), row.coats_limit, measured=False)
    spectra = [reflectance for basis, reflectance in bare if basis == Basis.SPECTRUM]
    mean = np.mean(spectra or [reflectance for _, reflectance in bare], axis=0)
    return Paper(row.name, mean, row.coats_limit)


def usual_white() -> FloatArray:
    """Return the reflectance, shape (36,), assumed of a paper that nobody has measured."""
    return np.full(WAVELENGTHS.shape, USUAL_WHITE)


def lies_bare() -> ColumnElement[bool]:
    """Return whether a swatch has no step: the paper alone."""
    return ~select(StepRow.id).where(StepRow.swatch_id == SwatchRecord.id).exists()
