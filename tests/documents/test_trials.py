import io
from xml.etree import ElementTree as ET

import numpy as np
import pypdfium2
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.color.value import luminance_from_value
from laydown.documents.print.layout import PAGES
from laydown.documents.print.reports import ReportRow
from laydown.documents.print.trials import SWATCH, calibration_svg, write_trial_pdf
from laydown.plan.notebook import Compared

MM = 72.0 / 25.4
TRIALS = tuple(
    ReportRow(f"{n}  Kelp*2; Dune", "mine on Gannet smooth\ncame out deep yellow green",
              ("#507040", "#607050"), keys=("came out", "wanted"))
    for n in range(1, 8)
)  # fmt: skip


@pytest.mark.parametrize("page", PAGES)
def test_pages_have_their_size_and_hold_every_trial(page: str) -> None:
    """Seven trials stand on two pages of the size asked for, each with its words."""
    written = pypdfium2.PdfDocument(io.BytesIO(write_trial_pdf(TRIALS, title="Trials", page=page)))
    assert len(written) == 2
    text = ""
    for sheet in written:
        assert sheet.get_size() == pytest.approx([side * MM for side in PAGES[page]], abs=0.1)
        text += sheet.get_textpage().get_text_range()
    for trial in TRIALS:
        assert trial.head.split("  ")[0] in text
    assert text.count("glue the real swatch") == 7
    assert "came out" in text
    assert "wanted" in text


def test_the_same_trials_give_the_same_bytes() -> None:
    """No clock and no chance is in the file."""
    first, second = (write_trial_pdf(TRIALS, title="Trials") for _ in range(2))
    assert first == second


def test_there_is_room_for_a_swatch() -> None:
    """The box is at least 40 by 30 mm."""
    assert SWATCH[0] >= 40
    assert SWATCH[1] >= 30


def test_a_page_that_is_not_known_is_refused() -> None:
    """Only the pages of the layout can be asked for."""
    with pytest.raises(ValueError, match="A4"):
        write_trial_pdf(TRIALS, title="Trials", page="A9")


NAME = "{http://www.w3.org/2000/svg}"


def gray(value: float) -> FloatArray:
    """Return the Lab of a gray of a value."""
    return lab_from_xyz(np.asarray(WHITE_D50) * float(luminance_from_value(value)) / 100)


COMPARED = [
    Compared(1, gray(5.0), gray(4.0), gray(4.9), 9.0, 1.0, False),
    Compared(2, gray(3.0), gray(8.0), gray(7.9), 30.0, 29.0, True),
]


def test_each_trial_is_a_ring_and_a_dot_at_its_values() -> None:
    """The dot of value 5 measured and 4.9 predicted lies just left of the middle."""
    root = ET.fromstring(calibration_svg(COMPARED, title="Mine"))
    dots = [c for c in root.iter(f"{NAME}circle") if c.find(f"{NAME}title") is not None]
    assert len(dots) == 2
    width = float(root.attrib["viewBox"].split()[2])
    assert abs(float(dots[0].attrib["cy"]) - width / 2) < 0.2
    assert 0 < width / 2 - float(dots[0].attrib["cx"]) < 5


def test_a_trial_set_aside_is_crossed_and_not_only_colored() -> None:
    """Two more lines are drawn for it than for another."""
    counts = [
        len(list(ET.fromstring(calibration_svg([p], title="x")).iter(f"{NAME}line")))
        for p in COMPARED
    ]
    assert counts[1] == counts[0] + 2


def test_it_says_what_it_shows_and_has_no_inline_style() -> None:
    """Its title is escaped, and a strict page may hold it."""
    svg = calibration_svg(COMPARED, title='Kit "mine" & yours')
    root = ET.fromstring(svg)
    assert root.attrib["aria-label"] == 'Kit "mine" & yours'
    assert "style=" not in svg
