"""Put a chart into the form of a document."""

from dataclasses import dataclass
from pathlib import PurePath

from laydown.app.encoding import to_json
from laydown.documents.chart_csv import chart_csv
from laydown.documents.chart_html import chart_html
from laydown.documents.chart_pdf import write_chart_pdf
from laydown.errors import BadFileError
from laydown.media.legible import legible
from laydown.plan.chart import Chart

FORMS = ("pdf", "html", "csv", "json")
PAGES = ("A4", "Letter")


@dataclass(frozen=True, slots=True, eq=False)
class WriteChart:
    """A chart, the form it is wanted in, and the page of a printed one."""

    chart: Chart
    form: str = "pdf"
    page: str = "A4"


def form_of(name: str, *, usual: str = "html") -> str:
    """Return the form that a file's name asks for by its ending; `usual` for none.

    Examples
    --------
    >>> form_of("lemons.PDF"), form_of("-")
    ('pdf', 'html')
    """
    ending = PurePath(name).suffix.lower().lstrip(".")
    if not ending:
        return usual
    if ending not in FORMS:
        raise BadFileError(
            f"{name}: a chart can't be written as .{ending}.",
            hint=f"End the name in {', '.join('.' + f for f in FORMS)}, or name the form.",
            command="--format",
        )
    return ending


def write_chart(request: WriteChart) -> bytes:
    """Write a chart as PDF, HTML, CSV or JSON; the same chart gives the same bytes."""
    chart = request.chart
    if request.form == "pdf":
        return write_chart_pdf(chart, page=request.page)
    if request.form == "html":
        return legible(chart_html(chart)).encode()
    if request.form == "csv":
        return chart_csv(chart).encode()
    return (to_json(chart) + "\n").encode()
