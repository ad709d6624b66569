"""Hand out swatches as a file that brings the same swatches in again."""

from dataclasses import dataclass

from laydown.app.swatch_forms import WRITERS
from laydown.documents.swatch_rows import rows_from_swatches
from laydown.errors import NotMeasuredError
from laydown.store.library import Library
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class ExportSwatches:
    """Which swatches, empty for all, and the form of the file: csv, cgats or cxf."""

    form: str = "csv"
    range: str = ""
    paper: str = ""


@dataclass(frozen=True, slots=True)
class SwatchesExported:
    """The file's text, its form, and how many swatches it holds."""

    form: str
    swatches: int
    text: str


def export_swatches(library: Library, request: ExportSwatches) -> SwatchesExported:
    """Write swatches as a file."""
    with library.look() as work:
        stored = work.swatches(range=_range(work, request), paper=_paper(work, request))
    if not stored:
        raise NotMeasuredError(
            "There are no such swatches.",
            hint="See in the list of swatches which there are.",
            command="laydown swatches list",
        )
    content = WRITERS[request.form](rows_from_swatches([s.swatch for s in stored]))
    return SwatchesExported(request.form, len(stored), content.decode("utf-8"))


def _range(work: Work, request: ExportSwatches) -> str | None:
    return work.find_range(request.range).name if request.range else None


def _paper(work: Work, request: ExportSwatches) -> str | None:
    return work.paper_name(request.paper) if request.paper else None
