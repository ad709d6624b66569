"""Charts: a list of colors, each with the recipe that comes nearest, as a document."""

from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import PurePath

from laydown.app.encoding import to_json
from laydown.app.fits.at_hand import set_up
from laydown.app.invented import marked_invented
from laydown.app.matches.colors import Asking, find_matches, paper_of_targets
from laydown.app.matches.targets import (
    FitAtHand,
    WantedColor,
    kit_targets,
    range_targets,
    settle_targets,
    targets_of_lesson,
    wanted_in_file,
)
from laydown.documents.files.lessons import FIRST_LINE, lesson_file, read_lesson
from laydown.documents.files.plans import is_plan, read_plan
from laydown.documents.files.targets import read_targets
from laydown.documents.print.charts import chart_csv, chart_html, write_chart_pdf
from laydown.errors import BadFileError
from laydown.match.outcome import Target
from laydown.match.search.found import Watch
from laydown.media.kit.fit import predict
from laydown.media.legible import capital, legible
from laydown.plan.chart import Chart, in_coloring_order, with_layers
from laydown.plan.picture.recipes import lesson_of
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class MakeChart:
    """The colors to convert, and how."""

    title: str = ""
    """Of the chart; empty for the name of what is converted."""
    colors: tuple[str, ...] = ()
    """Colors typed one by one."""
    file: bytes | None = None
    source: str = ""
    """Content and name of a list of colors; None for no list."""
    range: str = ""
    kit: str = ""
    """A range, or a kit, each of whose colorants is a wanted color."""
    asking: Asking = field(default_factory=Asking)
    """How each is looked for."""
    notes: tuple[str, ...] = ()
    """Sentences for the chart's head."""


def make_chart(library: Library, request: MakeChart, *, watch: Watch | None = None) -> Chart:
    """Find a match for each color of a list, in the order people color in."""
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    paper = paper_of_targets(library, request.asking)
    targets = settle_targets(
        library, _wanted(library, request, paper), paper=paper, fit=lambda: at_hand().swatched
    )
    bench = at_hand()
    matches = find_matches(targets, bench, request.asking, watch)
    chart = Chart(
        title=request.title or _title(request),
        kit=bench.label,
        paper=bench.whole.paper,
        matches=in_coloring_order(matches),
        tolerance=request.asking.tolerance,
        notes=marked_invented(request.notes, (m.best.prediction.recipe for m in matches)),
    )
    return with_layers(chart, lambda recipe: predict(bench.whole, recipe).lab)


def _wanted(library: Library, request: MakeChart, paper: str) -> tuple[WantedColor, ...]:
    wanted = tuple(WantedColor(text) for text in request.colors)
    if request.file is not None:
        rows = read_targets(request.file, source=request.source)
        wanted += wanted_in_file(rows, source=request.source)
    if request.range:
        wanted += range_targets(library, request.range, paper)
    if request.kit:
        wanted += kit_targets(library, request.kit, paper)
    return wanted


def spelled_out(library: Library, request: MakeChart) -> MakeChart:
    """Return the same request with every colorant of its range or kit as a color of its own.

    So that something else can be asked of the same colors.
    """
    if not (request.range or request.kit):
        return request
    paper = paper_of_targets(library, request.asking)
    named = _wanted(library, replace(request, colors=(), file=None), paper)
    colors = request.colors + tuple(wanted.text for wanted in named)
    return replace(request, colors=colors, range="", kit="")


def _title(request: MakeChart) -> str:
    named = request.range or request.kit or PurePath(request.source).stem.replace("_", " ")
    return named if named.strip("-") else "Colors"


FORMS = ("pdf", "html", "csv", "json")
PAGES = ("A4", "Letter")


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


def write_chart(
    chart: Chart, form: str = "pdf", page: str = "A4", *, details: bool = False
) -> bytes:
    """Write a chart as PDF, HTML, CSV or JSON; the same chart gives the same bytes."""
    if form == "pdf":
        return write_chart_pdf(chart, page=page, details=details)
    if form == "html":
        return legible(chart_html(chart, details=details)).encode()
    if form == "csv":
        return chart_csv(chart).encode()
    return (to_json(chart) + "\n").encode()


LESSON = FIRST_LINE.rpartition(" ")[0].encode()
"""What a lesson file of any version begins with."""


def colors_in_file(
    library: Library, file: bytes, source: str, *, paper: str, fit: FitAtHand | None = None
) -> tuple[str, tuple[Target, ...]]:
    """Return what to call a file of wanted colors, and the colors.

    Parameters
    ----------
    file, source
        Content and name of a lesson, a plan or a list.
    paper
        The paper that named colorants are wanted as on.
    fit
        As in `settle_targets`.

    Raises
    ------
    BadFileError
        For a file that is none of these, or broken.
    """
    file = lesson_file(file, source=source)
    if is_plan(file):
        lesson = lesson_of(read_plan(file, source=source))
        return lesson.title, lesson.targets
    if file.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(LESSON):
        lesson = read_lesson(file, source=source)
        return lesson.title, lesson.targets if fit is None else targets_of_lesson(lesson, fit())
    rows = wanted_in_file(read_targets(file, source=source), source=source)
    title = PurePath(source).stem.replace("_", " ")
    return capital(title), settle_targets(library, rows, paper=paper, fit=fit)
