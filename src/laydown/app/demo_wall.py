"""The demo hangs its lesson on a wall: which part fades first, and what would make it last."""

from dataclasses import replace
from pathlib import Path

from laydown.app.forecast_life import ForecastLife, LifeForecast, life_of_parts, part_of
from laydown.app.match_color import Asking
from laydown.app.opening import Library
from laydown.app.supplies import set_up
from laydown.app.write_report import WriteReport, write_report
from laydown.media.exposure import Exposure, Span
from laydown.plan.chart import Chart

FORMS = ("pdf", "html", "json")
LIVING_ROOM = Exposure(Span(100.0, 200.0), hours=8.0, days=365.0, filtered=True)
"""A wall in a lit room, behind a filter against ultraviolet; invented like the rest."""


def hang(
    library: Library, folder: Path, chart: Chart, asking: Asking, *, page: str, note: str
) -> tuple[LifeForecast, tuple[Path, ...]]:
    """Forecast the life of the lesson as it was converted, and write it down.

    Parameters
    ----------
    library
        The demo's own, with the invented classes in it.
    folder
        Where the files go.
    chart
        The lesson, converted.
    asking
        How it was.
    page
        Of the PDF.
    note
        Said among what the forecast rests on.
    """
    bench = set_up(library, asking.supplies)
    request = ForecastLife(LIVING_ROOM, asking=asking)
    parts = [part_of(match) for match in chart.matches]
    found = life_of_parts(library, parts, bench, request, title=chart.title)
    found = replace(found, notes=(note, *found.notes))
    files = tuple(folder / f"life on a wall.{form}" for form in FORMS)
    for file, form in zip(files, FORMS, strict=True):
        file.write_bytes(write_report(WriteReport(found, form, page)))
    return found, files
