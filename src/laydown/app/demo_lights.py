"""The demo looks at its pencil lesson by lamp light: which matches hold, and what holds instead."""

from dataclasses import replace
from pathlib import Path

from laydown.app.check_light import LightChecked, check_matches, lights_named
from laydown.app.match_color import Asking
from laydown.app.opening import Library
from laydown.app.supplies import set_up
from laydown.app.write_report import WriteReport, write_report
from laydown.plan.chart import Chart

FORMS = ("pdf", "html", "csv", "json")


def look_by_lamp(
    library: Library, folder: Path, chart: Chart, asking: Asking, *, page: str, note: str
) -> tuple[LightChecked, tuple[Path, ...]]:
    """See the lesson as it was converted under the usual lights, and write that down.

    Parameters
    ----------
    library
        The demo's own.
    folder
        Where the files go.
    chart
        The lesson, converted.
    asking
        How it was.
    page
        Of the PDF.
    note
        Said among what is to be known.
    """
    bench = set_up(library, asking.supplies)
    found = check_matches(
        library, chart.matches, bench, asking, lights=lights_named(()), title=chart.title
    )
    found = replace(found, notes=(note, *found.notes))
    files = tuple(folder / f"under other lights.{form}" for form in FORMS)
    for file, form in zip(files, FORMS, strict=True):
        file.write_bytes(write_report(WriteReport(found, form, page)))
    return found, files
