"""Convert a list of colors into a chart."""

from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import PurePath

from laydown.app.add_demo import marked_invented
from laydown.app.match_color import Asking, find_match, paper_of_targets
from laydown.app.supplies import set_up
from laydown.app.table_cache import Tables
from laydown.app.targets import Wanted, kit_targets, range_targets, settle_targets, wanted_in_file
from laydown.documents.target_csv import read_targets
from laydown.match.found import Watch
from laydown.media.kit_fit import predict
from laydown.plan.chart import Chart, in_coloring_order, with_layers
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class MakeChart:
    """The colors to convert, and how.

    Parameters
    ----------
    title
        Of the chart; empty for the name of what is converted.
    colors
        Colors typed one by one.
    file, source
        Content and name of a list of colors; None for no list.
    range, kit
        A range, or a kit, each of whose colorants is a wanted color.
    asking
        How each is looked for.
    notes
        Sentences for the chart's head.
    """

    title: str = ""
    colors: tuple[str, ...] = ()
    file: bytes | None = None
    source: str = ""
    range: str = ""
    kit: str = ""
    asking: Asking = field(default_factory=Asking)
    notes: tuple[str, ...] = ()


def make_chart(library: Library, request: MakeChart, *, watch: Watch | None = None) -> Chart:
    """Find a match for each color of a list, in the order people color in.

    Parameters
    ----------
    library
        Where supplies and swatches are.
    request
        What to convert.
    watch
        Told (done, total) in colors; may raise to cancel.
    """
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    paper = paper_of_targets(library, request.asking)
    targets = settle_targets(
        library, _wanted(library, request, paper), paper=paper, fit=lambda: at_hand().swatched
    )
    bench = at_hand()
    find = Tables(len(targets)).find
    matches = [
        find_match(
            target, bench, request.asking, watch=_part(watch, done, len(targets)), finder=find
        )
        for done, target in enumerate(targets)
    ]
    chart = Chart(
        title=request.title or _title(request),
        kit=bench.label,
        paper=bench.whole.paper,
        matches=in_coloring_order(matches),
        tolerance=request.asking.tolerance,
        notes=marked_invented(request.notes, (m.best.prediction.recipe for m in matches)),
    )
    return with_layers(chart, lambda recipe: predict(bench.whole, recipe).lab)


def _wanted(library: Library, request: MakeChart, paper: str) -> tuple[Wanted, ...]:
    wanted = tuple(Wanted(text) for text in request.colors)
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


def _part(watch: Watch | None, done: int, targets: int) -> Watch | None:
    """Return a watch for the search of one target, which counts over all of them."""
    if watch is None:
        return None
    return lambda part, whole: watch(done * whole + part, targets * whole)
