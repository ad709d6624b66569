from xml.etree import ElementTree as ET

from laydown.documents.print.trials import Point, calibration_svg

NAME = "{http://www.w3.org/2000/svg}"
POINTS = [Point(1, 5.0, 4.0, 4.9, False), Point(2, 3.0, 8.0, 7.9, True)]


def test_each_trial_is_a_ring_and_a_dot_at_its_values() -> None:
    """The dot of value 5 measured and 4.9 predicted lies just left of the middle."""
    root = ET.fromstring(calibration_svg(POINTS, title="Mine"))
    dots = [c for c in root.iter(f"{NAME}circle") if c.find(f"{NAME}title") is not None]
    assert len(dots) == 2
    width = float(root.attrib["viewBox"].split()[2])
    assert float(dots[0].attrib["cy"]) == width / 2
    assert 0 < width / 2 - float(dots[0].attrib["cx"]) < 5


def test_a_trial_set_aside_is_crossed_and_not_only_colored() -> None:
    """Two more lines are drawn for it than for another."""
    counts = [
        len(list(ET.fromstring(calibration_svg([p], title="x")).iter(f"{NAME}line")))
        for p in POINTS
    ]
    assert counts[1] == counts[0] + 2


def test_it_says_what_it_shows_and_has_no_inline_style() -> None:
    """Its title is escaped, and a strict page may hold it."""
    svg = calibration_svg(POINTS, title='Kit "mine" & yours')
    root = ET.fromstring(svg)
    assert root.attrib["aria-label"] == 'Kit "mine" & yours'
    assert "style=" not in svg
