from xml.etree import ElementTree as ET

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.color.tristimulus import WHITE_D50
from laydown.color.value import luminance_from_value
from laydown.documents.print.trials import calibration_svg
from laydown.plan.notebook import Compared

NAME = "{http://www.w3.org/2000/svg}"


def gray(value: float) -> FloatArray:
    """Return the Lab of a gray of a value."""
    return lab_from_xyz(np.asarray(WHITE_D50) * float(luminance_from_value(value)) / 100)


TRIALS = [
    Compared(1, gray(5.0), gray(4.0), gray(4.9), 9.0, 1.0, False),
    Compared(2, gray(3.0), gray(8.0), gray(7.9), 30.0, 29.0, True),
]


def test_each_trial_is_a_ring_and_a_dot_at_its_values() -> None:
    """The dot of value 5 measured and 4.9 predicted lies just left of the middle."""
    root = ET.fromstring(calibration_svg(TRIALS, title="Mine"))
    dots = [c for c in root.iter(f"{NAME}circle") if c.find(f"{NAME}title") is not None]
    assert len(dots) == 2
    width = float(root.attrib["viewBox"].split()[2])
    assert abs(float(dots[0].attrib["cy"]) - width / 2) < 0.2
    assert 0 < width / 2 - float(dots[0].attrib["cx"]) < 5


def test_a_trial_set_aside_is_crossed_and_not_only_colored() -> None:
    """Two more lines are drawn for it than for another."""
    counts = [
        len(list(ET.fromstring(calibration_svg([p], title="x")).iter(f"{NAME}line")))
        for p in TRIALS
    ]
    assert counts[1] == counts[0] + 2


def test_it_says_what_it_shows_and_has_no_inline_style() -> None:
    """Its title is escaped, and a strict page may hold it."""
    svg = calibration_svg(TRIALS, title='Kit "mine" & yours')
    root = ET.fromstring(svg)
    assert root.attrib["aria-label"] == 'Kit "mine" & yours'
    assert "style=" not in svg
