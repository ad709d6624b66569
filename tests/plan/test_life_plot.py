from xml.etree import ElementTree as ET

import numpy as np
import pytest

from laydown.media.light.exposure import Span
from laydown.plan.light.life import life_plot
from laydown.plan.run.ranges import svg

SPANS = [Span(0.1, 4.0), Span(1.0, 10.0), Span(0.0, 30.0), Span(2.0, np.inf)]
FILLS = ["#102030", "#405060", "#708090", "#a0b0c0"]
NAMES = ["Rind", "Bowl, light: Kelp twice", "Sky", "a name " * 20]


def test_a_range_runs_from_its_low_end_to_its_high_end() -> None:
    """Ends stand in the order of their years, and the same years stand at the same place."""
    plot = life_plot("ranges", SPANS, FILLS, NAMES)
    at = [x for x, *_ in plot.dots]
    assert at[0] < at[2] < at[1] < at[3]
    ticks = {text: x for x, _, text in plot.labels}
    assert at[2] == pytest.approx(ticks["a year"])
    assert at[3] == pytest.approx(ticks["10 years"])


def test_open_ends_are_hollow_and_stay_on_the_page() -> None:
    """What is not known, or lies beyond a century, is told apart by more than its place."""
    plot = life_plot("ranges", SPANS, FILLS, NAMES)
    assert [place for place, (*_, hollow) in enumerate(plot.dots) if hollow] == [4, 7]
    assert all(0 <= x <= plot.width and 0 <= y <= plot.height for x, y, *_ in plot.dots)


def test_a_range_stands_under_its_name() -> None:
    """Names are on the page over their ranges; for one that is longer its number stands alone."""
    plot = life_plot("ranges", SPANS, FILLS, NAMES)
    named = {word: (x, y) for x, y, word in plot.labels}
    for number, name in enumerate(NAMES[:3], 1):
        (x, y), (*_, dot_y, _, _) = named[f"{number}. {name}"], plot.dots[2 * number - 2]
        half = 0.75 * len(name)
        assert half <= x <= plot.width - half
        assert dot_y - 2.5 < y < dot_y - 1.3
    assert "4" in named


def test_the_plot_is_whole_svg_with_numbers() -> None:
    """It parses as XML, holds two squares a range and the numbers of its rows."""
    tree = ET.fromstring(svg(life_plot("ranges", SPANS, FILLS, NAMES)))
    texts = {element.text for element in tree if element.tag.endswith("text")}
    assert {"1. Rind", "3. Sky", "4"} <= texts
    assert sum(element.tag.endswith("rect") for element in tree) >= 2 * len(SPANS)
