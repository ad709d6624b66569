"""Two halves of the invented range Quay compared."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from laydown.color.lab import ciede2000
from laydown.match.ranking import Limits
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.media.marker.model import MarkerFit
from laydown.plan.run.ranges import Comparison, cells, compare, side_by_side, svg, volume
from laydown.plan.run.runs import Shade, one_coats

PALE = frozenset({"Straw", "Rose", "Sky", "Fog"})


def _half(quay: MarkerFit, without: frozenset[str]) -> tuple[tuple[Shade, ...], Repertoire]:
    labels = frozenset(f"Quay/{name}" for name in without)
    limits = Limits(steps=2, coats=2, without=labels)
    return one_coats(quay, without=labels), repertoire(quay, limits=limits)


@pytest.fixture(scope="module")
def halves(quay: MarkerFit) -> Comparison:
    """Return the strong half compared with all of it."""
    strong, all_of_it = _half(quay, PALE), _half(quay, frozenset())
    return compare(
        ("Strong", "All"), (strong[0], all_of_it[0]), (strong[1], all_of_it[1]), tolerance=2.25
    )


def test_a_part_reaches_nothing_that_the_whole_cannot(halves: Comparison) -> None:
    """What half a range reaches, the whole reaches too, and more."""
    assert sum(r.alone for r in halves.first.reach) == 0
    assert sum(r.alone for r in halves.second.reach) > 0
    assert halves.first.volume < halves.second.volume


def test_what_is_shown_of_a_part_lies_out_of_the_other_reach(quay: MarkerFit) -> None:
    """Where a range reaches something alone, the color shown for it is one of these."""
    whole, half = _half(quay, frozenset()), _half(quay, PALE)
    found = compare(("Half", "All"), (half[0], whole[0]), (half[1], whole[1]), tolerance=2.25)
    apart = [r for r in found.second.reach if r.alone]
    assert apart
    assert all(float(half[1].nearest(r.lab, 1)[1][0]) > 2.25 for r in apart)


def test_a_colorant_agrees_best_with_itself(halves: Comparison) -> None:
    """Each of the half finds itself in the whole, at no difference."""
    assert all(a.first == a.second and a.difference == 0 for a in halves.agreements)
    assert len(halves.agreements) == 4


def test_the_muted_one_is_named(halves: Comparison) -> None:
    """The whole, with its pale markers, has the lower mean chroma and is called muted."""
    assert halves.second.mean_chroma < halves.first.mean_chroma
    assert halves.words[0].startswith("All is the more muted")


def test_ranges_that_hardly_part_are_called_alike(quay: MarkerFit) -> None:
    """Of a range and itself, neither is called the more muted."""
    same = _half(quay, PALE)
    found = compare(("One", "Two"), (same[0], same[0]), (same[1], same[1]), tolerance=2.25)
    assert found.words[0] == "One and Two are as vivid as each other."
    assert found.words[1] == "Nothing of what One makes, Two can't."


def test_agreements_are_the_nearest(quay: MarkerFit) -> None:
    """The best agreement stands first, and is the least of all differences."""
    strong = _half(quay, PALE)
    pale = _half(quay, frozenset({"Ochre", "Brick", "Navy", "Slate"}))
    found = compare(("S", "P"), (strong[0], pale[0]), (strong[1], pale[1]), tolerance=2.25)
    least = min(float(ciede2000(a.lab, b.lab)) for a in strong[0] for b in pale[0])
    assert found.agreements[0].difference == pytest.approx(least)
    offs = [a.difference for a in found.agreements]
    assert offs == sorted(offs)


def test_plots_are_whole_svg_with_a_dot_for_each_colorant(halves: Comparison) -> None:
    """Both plots parse as XML, and hold as many squares as there are colorants."""
    for plot in halves.plots:
        tree = ET.fromstring(svg(plot))
        rects = [e for e in tree.iter() if e.tag.endswith("rect")]
        assert len(rects) == halves.first.colorants + halves.second.colorants
        hollow = [r for r in rects if r.get("fill") == "none"]
        assert len(hollow) == halves.second.colorants
        assert all(0 <= x <= plot.width and 0 <= y <= plot.height for x, y, *_ in plot.dots)


def test_a_flat_set_has_no_volume() -> None:
    """Grays alone span nothing, and neither does a single color."""
    assert volume(np.array([[L, 0.0, 0.0] for L in (10.0, 20, 30, 40)])) == 0.0
    assert volume(np.zeros((1, 3))) == 0.0
    assert len(cells(np.array([[50.0, 1, 1], [51.0, 2, 2], [80.0, 1, 1]]))) == 2


def test_plots_stand_side_by_side_under_their_titles(halves: Comparison) -> None:
    """One drawing holds the dots of both, none over the other, and names each."""
    whole = side_by_side("both", halves.plots)
    first, second = halves.plots
    assert whole.width == first.width + second.width
    assert len(whole.dots) == len(first.dots) + len(second.dots)
    assert max(x for x, *_ in whole.dots[: len(first.dots)]) <= first.width
    assert min(x for x, *_ in whole.dots[len(first.dots) :]) >= first.width
    assert {first.title, second.title} <= {text for *_, text in whole.labels}
