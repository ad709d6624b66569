"""How two ranges compare: apart from all else of ranges, for it loads the whole search."""

from dataclasses import dataclass

from laydown.app.fits import at_hand
from laydown.match.judge import TOLERANCES
from laydown.match.ranking import Limits
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.plan.run.ranges import Comparison, compare, svg
from laydown.plan.run.runs import Shade, one_coats
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class CompareRanges:
    """Two ranges, the paper, and how near counts as reached."""

    first: str
    second: str
    paper: str = ""
    tolerance: str = "class"


@dataclass(frozen=True, slots=True)
class RangesCompared:
    """The comparison, with its plots as SVG text."""

    paper: str
    tolerance: str
    comparison: Comparison
    svg: tuple[str, ...]


def compare_ranges(library: Library, request: CompareRanges) -> RangesCompared:
    """Compare what two ranges reach, recipes of two steps of two coats counted."""
    both = at_hand.ranges_named(library, (request.first, request.second))
    names, coats, recipes, paper = [], [], [], ""
    for name in both:
        label, shades, found, paper = _range(library, name, request.paper)
        names.append(label)
        coats.append(shades)
        recipes.append(found)
    made = compare(
        (names[0], names[1]),
        (coats[0], coats[1]),
        (recipes[0], recipes[1]),
        tolerance=TOLERANCES[request.tolerance],
    )
    return RangesCompared(paper, request.tolerance, made, tuple(svg(plot) for plot in made.plots))


def _range(
    library: Library, name: str, paper: str
) -> tuple[str, tuple[Shade, ...], Repertoire, str]:
    bench = at_hand.set_up(library, at_hand.Supplies(ranges=(name,), paper=paper))
    limits = Limits(steps=2, coats=2, without=bench.without)
    shades = one_coats(bench.whole, without=bench.without)
    return bench.label, shades, repertoire(bench.whole, limits=limits), bench.whole.paper.name
