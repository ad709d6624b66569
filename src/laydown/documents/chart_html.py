"""A chart as one HTML file that needs nothing else: no script, no font, no network."""

from functools import cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template

from laydown.documents import headings
from laydown.documents.cautions import CAUTIONS, SHOWN_COLORS
from laydown.documents.cautions import HEADING as CAUTIONS_HEADING
from laydown.documents.chart_rows import GRAY_CARD
from laydown.documents.entries import entries, paper_shade
from laydown.documents.layout import CARD
from laydown.documents.signs import svg_shapes
from laydown.match.outcome import Verdict
from laydown.plan.chart import Chart
from laydown.plan.supplies import supplies


def chart_html(chart: Chart) -> str:
    """Write a chart as one HTML page, the same text for the same chart.

    Every color has its name, value and numbers beside it; signs differ by shape. The page reads on
    a phone 360 pixels wide and prints with its patches at the size they have in the PDF.

    Parameters
    ----------
    chart
        With its matches in order and, for the layers to be drawn in their colors, its layers.

    Examples
    --------
    ``Path("chart.html").write_text(chart_html(chart), encoding="utf-8")``
    """
    rows = entries(chart)
    groups = headings.passages(rows)
    titled = [(headings.passage_title(p, alone=len(groups) == 1), group) for p, group in groups]
    return _template().render(
        chart=chart,
        rows=rows,
        groups=titled,
        lead=headings.lead(chart),
        tolerance=headings.tolerance(chart),
        counts=headings.counts(rows),
        notes=headings.whole_notes(chart),
        reading=headings.READING,
        invented=headings.INVENTED if headings.is_invented(chart) else "",
        swatches=headings.next_swatches(chart),
        supplies=supplies(chart.matches),
        paper=paper_shade(chart),
        verdicts=tuple(Verdict),
        shapes=svg_shapes,
        boxes=CARD,
        gray_card=GRAY_CARD,
        shown_colors=SHOWN_COLORS,
        cautions=CAUTIONS,
        cautions_heading=CAUTIONS_HEADING,
    )


@cache
def _template() -> Template:
    text = (files("laydown.documents") / "templates" / "chart.html.j2").read_text(encoding="utf-8")
    return Environment(autoescape=True, undefined=StrictUndefined).from_string(text)
