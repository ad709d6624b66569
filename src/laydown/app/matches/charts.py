"""Charts: a list of colors, each with the recipe that comes nearest, as a document."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import PurePath

from laydown.app.encoding import to_json
from laydown.app.fits import SuppliesAtHand, set_up
from laydown.app.matches.colors import Asking, find_matches, paper_of_targets
from laydown.app.matches.targets import (
    FitAtHand,
    kit_targets,
    range_targets,
    settle_targets,
    targets_of_lesson,
)
from laydown.app.supplies.names import marked_invented
from laydown.documents.files.lessons import FIRST_LINE, lesson_file, read_lesson
from laydown.documents.files.plans import is_plan, read_plan
from laydown.documents.files.targets import TargetRow, read_targets
from laydown.documents.print.charts import chart_csv, chart_html, write_chart_pdf
from laydown.match.outcome import Match, Target
from laydown.match.ranking import Watch
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
    file: bytes | None = None
    source: str = ""
    """Content and name of a list of colors; None for no list."""
    range: str = ""
    kit: str = ""
    """A range, or a kit, each of whose colorants is a wanted color."""
    asking: Asking = field(default_factory=Asking)
    notes: tuple[str, ...] = ()
    """Sentences for the chart's head."""


def make_chart(library: Library, request: MakeChart, *, watch: Watch | None = None) -> Chart:
    """Find a match for each color of a list, in the order people color in."""
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    paper = paper_of_targets(library, request.asking)
    targets = settle_targets(
        library,
        (
            *wanted_colors(request.colors, request.file, request.source),
            *_named(library, request, paper),
        ),
        paper=paper,
        source=request.source,
        fit=lambda: at_hand().swatched,
    )
    bench = at_hand()
    matches = find_matches(targets, bench, request.asking, watch)
    named = request.range or request.kit or PurePath(request.source).stem.replace("_", " ")
    title = request.title or (named if named.strip("-") else "Colors")
    return chart_of(title, matches, bench, request.asking, notes=request.notes)


def chart_of(
    title: str,
    matches: Sequence[Match],
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    notes: tuple[str, ...],
) -> Chart:
    """Return the chart of matches that are made already."""
    chart = Chart(
        title=title,
        kit=bench.label,
        paper=bench.whole.paper,
        matches=in_coloring_order(matches),
        tolerance=asking.tolerance,
        notes=marked_invented(notes, (m.best.prediction.recipe for m in matches)),
    )
    return with_layers(chart, lambda recipe: predict(bench.whole, recipe).lab)


def _named(library: Library, request: MakeChart, paper: str) -> tuple[TargetRow, ...]:
    of_range = range_targets(library, request.range, paper) if request.range else ()
    return (*of_range, *(kit_targets(library, request.kit, paper) if request.kit else ()))


def wanted_colors(
    colors: Sequence[str], list_: bytes | None = None, source: str = ""
) -> tuple[str | TargetRow, ...]:
    """Return the colors that were typed one by one, then those of a list, if there is one."""
    return (*colors, *(() if list_ is None else read_targets(list_, source=source)))


def spelled_out(library: Library, request: MakeChart) -> MakeChart:
    """Return the same request with every colorant of its range or kit as a color of its own.

    So that something else can be asked of the same colors.
    """
    if not (request.range or request.kit):
        return request
    named = _named(library, request, paper_of_targets(library, request.asking))
    colors = request.colors + tuple(row.color for row in named)
    return replace(request, colors=colors, range="", kit="")


FORMS = ("pdf", "html", "csv", "json")
PAGES = ("A4", "Letter")


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


def targets_asked(
    library: Library,
    colors: Sequence[str],
    file: bytes | None,
    source: str,
    *,
    asking: Asking,
    fit: FitAtHand,
) -> tuple[str, tuple[Target, ...]]:
    """Return what a file is called, and as targets the colors that were typed and those of it.

    The file may be what `colors_in_file` reads; for none the name is empty.
    """
    paper = paper_of_targets(library, asking)
    typed = settle_targets(library, colors, paper=paper, fit=fit)
    if file is None:
        return "", typed
    title, targets = colors_in_file(library, file, source, paper=paper, fit=fit)
    return title, typed + targets


def colors_in_file(
    library: Library, file: bytes, source: str, *, paper: str, fit: FitAtHand | None = None
) -> tuple[str, tuple[Target, ...]]:
    """Return what to call a file of wanted colors, and the colors.

    Parameters
    ----------
    paper
        The paper that named colorants are wanted as on.

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
    rows = read_targets(file, source=source)
    title = PurePath(source).stem.replace("_", " ")
    return capital(title), settle_targets(library, rows, paper=paper, source=source, fit=fit)
