"""How a printed page is put together: pieces, a pen, headings and cautions."""

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache
from importlib.resources import files
from io import BytesIO
from types import MappingProxyType
from typing import Any

from jinja2 import Environment, StrictUndefined, Template
from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas

from laydown.color.arrays import FloatArray
from laydown.documents.print.entries import Entry
from laydown.documents.print.typefaces import (
    BOLD,
    MM,
    REGULAR,
    printable,
    register,
    width,
)
from laydown.match.outcome import Verdict
from laydown.media.laydown import Wait
from laydown.media.legible import legible
from laydown.media.recipe import Medium, Step
from laydown.media.recipe_words import WHILE_WET
from laydown.plan.chart import Chart, notes_for_all, supplies
from laydown.reference.tables import thresholds
from laydown.sheet.page import CellBox

# Where things stand on a printed chart, in millimetres; nothing here draws or measures type.
#
# The origin is the page's top left corner and y runs downwards, as one reads.

PAGES = MappingProxyType({"A4": (210.0, 297.0), "Letter": (215.9, 279.4)})
"""Width and height [mm]: ISO 216, and ANSI/ASME Y14.1 size A (8.5 by 11 inches)."""
MARGIN = 14.0
"""Paper left bare at each side [mm]; home printers can't reach the last 3 to 6."""
HEAD = 12.0
"""Bare paper above the text, the page's running head in it [mm]."""
FOOT = 15.0
"""Bare paper below the text, the page's foot in it [mm]."""


def text_area(page: tuple[float, float]) -> CellBox:
    """Return the part of a page that the chart fills.

    Examples
    --------
    >>> text_area(PAGES["A4"])
    CellBox(left=14.0, top=12.0, width=182.0, height=270.0)
    """
    width, height = page
    return CellBox(MARGIN, HEAD, width - 2 * MARGIN, height - HEAD - FOOT)


INK = "#262624"
"""Of the text: a soft black."""
PENCIL = "#5c5c58"
"""Of lesser text and of lines; 6.7 to 1 against white paper."""
HAIRLINE = 0.15
"""The thinnest line [mm] that printers keep."""


@cache
def template(name: str) -> Template:
    """Return the template of a document that is one HTML page."""
    text = (files("laydown.documents") / "templates" / f"{name}.html.j2").read_text("utf-8")
    return Environment(autoescape=True, undefined=StrictUndefined).from_string(text)


class Pen:
    """Draws on a page, or on the pages of a PDF file of its own (`on_file`).

    Parameters
    ----------
    canvas
        The PDF library's.
    high
        Height of the page [mm].
    """

    def __init__(self, canvas: Any, high: float) -> None:
        self._canvas, self._height = canvas, high

    @classmethod
    def on_file(cls, page: tuple[float, float], *, title: str, subject: str) -> "Pen":
        """Begin a file of pages of this width and height [mm], described by title and subject."""
        register()
        size = (page[0] * MM, page[1] * MM)
        canvas = Canvas(BytesIO(), size, invariant=1, initialFontName=REGULAR, lang="en")
        canvas.setTitle(legible(title))
        canvas.setSubject(legible(subject))
        canvas.setAuthor("laydown")
        canvas.setCreator("laydown")
        canvas.setViewerPreference("DisplayDocTitle", "true")
        return cls(canvas, page[1])

    def box(
        self, box: CellBox, *, fill: str = "", line: str = "", weight: float = HAIRLINE
    ) -> None:
        """Draw a rectangle, filled, outlined, or both."""
        self._lines(line, weight)
        if fill:
            self._canvas.setFillColor(HexColor(fill))
        corner = (box.left * MM, self._up(box.bottom))
        size = (box.width * MM, box.height * MM)
        self._canvas.rect(*corner, *size, fill=int(bool(fill)), stroke=int(bool(line)))

    def lines(self, parts: Iterable[FloatArray], *, color: str, weight: float) -> None:
        """Draw lines through points, shape (n, 2) each, with round joints."""
        self._lines(color, weight)
        self._canvas.setLineJoin(1)
        self._canvas.setLineCap(1)
        path = self._canvas.beginPath()
        for points in parts:
            path.moveTo(float(points[0, 0]) * MM, self._up(float(points[0, 1])))
            for x, y in points[1:].tolist():
                path.lineTo(x * MM, self._up(y))
        self._canvas.drawPath(path, fill=0, stroke=1)
        self._canvas.setLineJoin(0)
        self._canvas.setLineCap(0)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        color: str = INK,
        to_right: bool = False,
    ) -> None:
        """Write one line with its base line at y, from x on, or up to x where `to_right`."""
        shown = printable(text)
        start = x - width(shown, size, bold=bold) if to_right else x
        self._canvas.setFont(BOLD if bold else REGULAR, size)
        self._canvas.setFillColor(HexColor(color))
        self._canvas.drawString(start * MM, self._up(y), shown)

    def bookmark(self, key: str, title: str, y: float) -> None:
        """Put an entry into the file's outline that leads here."""
        self._canvas.bookmarkHorizontal(key, 0, self._up(y))
        self._canvas.addOutlineEntry(printable(title), key)

    def next_page(self) -> None:
        """Turn the page."""
        self._canvas.showPage()

    def finish(self) -> bytes:
        """Return the whole file."""
        content: bytes = self._canvas.getpdfdata()
        return content

    def _lines(self, color: str, weight: float) -> None:
        self._canvas.setLineWidth(weight * MM)
        self._canvas.setStrokeColor(HexColor(color) if color else Color(0, 0, 0))

    def _up(self, y: float) -> float:
        return (self._height - y) * MM


TOOLS = {Medium.MARKER: "marker", Medium.PENCIL: "pencil", Medium.WASH: "pan"}
"""What a colorant of a medium is called."""
TO_LAY = (
    "Each bold name is a color of the picture. Under it stands what to lay: the top line first, the"
    " next one over it. The number says how often to fill the whole shape."
)
DRYING = "Let it dry each time"
TO_COMPARE = "The grays show only how light or dark. Each row has, from left to right:"
"""How to read a row, once for the whole chart."""
KEYS = (
    *("wanted", "you get", "wanted, in gray", "you get, in gray"),
    *("try it here first", "beside each line: what it gives by itself on bare paper"),
)
"""What each patch of a row is: the two colors, their grays, the box, and the small framed one."""


def reading(chart: Chart) -> str:
    """Say how to read a row and what to do; of drying only where something needs it."""
    steps = [step for match in chart.matches for step in match.best.prediction.recipe.steps]
    laid = [step for step in steps if isinstance(step, Step)]
    dries = any(step.colorant.medium is not Medium.PENCIL for step in laid)
    wet = any(step.laydown.wait is Wait.WET for step in laid)
    drying = f"{DRYING}{f', unless it says “{WHILE_WET}”' * wet}." if dries else ""
    return " ".join(filter(None, (TO_LAY, drying, TO_COMPARE)))


def to_take_out(chart: Chart) -> tuple[str, str]:
    """Say what to take out, and which; nothing where nothing is laid."""
    needed = [colorant for colorant, *_ in supplies(chart.matches)]
    if not needed:
        return "", ""
    count = Counter(TOOLS[colorant.medium] for colorant in needed)
    told = " and ".join(f"{many} {one}{'s' * (many > 1)}" for one, many in count.items())
    return f"Take out {told}:", f"{', '.join(colorant.name for colorant in needed)}."


def sample(rows: Sequence[Entry]) -> Entry:
    """Return the row whose patches show best how to read one: wanted and given differ the most."""

    def apart(row: Entry) -> int:
        sides = (bytes.fromhex(color.fill[1:]) for color in (row.wanted, row.predicted))
        return sum(abs(one - other) for one, other in zip(*sides, strict=True))

    return max([row for row in rows if row.layers] or rows, key=apart)


MOST_SWATCHES = 6
"""How many next swatches a chart names: an evening's worth."""
INVENTED = "Invented data"
"""Said on every page of a chart whose notes say that its data is made up."""
NO_ROWS = "There are no colors in this chart yet."


def lead(chart: Chart) -> str:
    """Say what the chart answers."""
    return (
        f"What to lay from {chart.kit} on {chart.paper.name} to come as near as its colorants"
        " allow: value first, then hue, then chroma."
    )


def tolerance(chart: Chart) -> str:
    """Say how close is close enough here."""
    limit = thresholds().get(f"tolerance {chart.tolerance}")
    far = f": half of observers accept a difference of ΔE {limit:g} (CIEDE2000)" if limit else ""
    return f"Tolerance “{chart.tolerance}”{far}."


def counts(rows: tuple[Entry, ...]) -> str:
    """Say how many colors came out how.

    Examples
    --------
    >>> counts(())
    'There are no colors in this chart yet.'
    """
    if not rows:
        return NO_ROWS
    found = Counter(row.verdict for row in rows)
    told = ", ".join(f"{found[verdict]} {verdict}" for verdict in Verdict if found[verdict])
    return f"{len(rows)} color{'s' if len(rows) != 1 else ''}: {told}."


def whole_notes(chart: Chart) -> tuple[str, ...]:
    """Return what holds for every row, with what is to be said of the paper."""
    notes = list(notes_for_all(chart))
    if float(chart.paper.reflectance.max()) > 1.0:
        notes.append(
            f"{chart.paper.name} glows under light with ultraviolet in it (it reflects more than"
            " falls on it in some bands): its color changes with the light more than most."
        )
    if not chart.paper.measured and not any("not measured" in note for note in notes):
        notes.append("The paper itself was not measured: a usual white is assumed.")
    return tuple(notes)


def is_invented(chart: Chart) -> bool:
    """Tell whether the chart's notes say that its data is invented."""
    return any("invented" in note.casefold() for note in chart.notes)


def next_swatches(chart: Chart) -> tuple[str, ...]:
    """Return the few swatches that would make most rows surer, the most asked for first.

    What each row would gain from its own swatch is left out: the sums differ from row to row.
    """
    told = [match.next_swatch.partition(" Expected:")[0] for match in chart.matches]
    asked = Counter(text for text in told if text)
    return tuple(text for text, _ in asked.most_common(MOST_SWATCHES))


def passages(rows: tuple[Entry, ...]) -> tuple[tuple[str, tuple[Entry, ...]], ...]:
    """Group rows that follow each other under their passage; one heading for those without."""
    groups: list[tuple[str, list[Entry]]] = []
    for row in rows:
        if not groups or groups[-1][0] != row.passage:
            groups.append((row.passage, []))
        groups[-1][1].append(row)
    return tuple((passage, tuple(group)) for passage, group in groups)


def passage_title(passage: str, *, alone: bool) -> str:
    """Return a passage's heading; empty where no color of the chart belongs to any."""
    return passage or ("" if alone else "Other colors")


# The cautions that go with every chart: they defer to labels and to local rules.
#
# Common practice of the trade; no source. No solvent is called harmless in any words.

HEADING_CAUTIONS = "Take care"

CAUTIONS = (
    (
        "The hazard label of your own country counts before anything written here, and so do the"
        " rules of your school and town; what needs a license is for those who hold one."
    ),
    "Alcohol inks, blending solvents and fixatives: air the room before, during and after.",
    "Let sheets dry in air. No flame, spark or heat gun near wet ink or solvent.",
    "Keep solvent in a small, lidded, labeled jar, never in a cup that someone could drink from.",
    "Used rags and swabs go where their label and local rules say.",
    "Dizzy, or a headache? Stop, cap everything and get fresh air.",
    "Don't lick brushes or nibs, and don't raise pigment dust.",
    "Children's classes go without solvent, unless those responsible for them decide otherwise.",
)
"""One sentence or two each, in the order to read them."""

CARE = "The product’s label and your school’s rules come first."
"""The one caution that stands on every page of a chart."""

SHOWN_COLORS = (
    "Screens and printers don't show these colors truly. Color in the empty box on your own paper,"
    " let it dry, and judge that by daylight."
)
"""The warning that stands on every page of a chart."""
