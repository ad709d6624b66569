import io

import pypdfium2
import pytest

from laydown.documents.print.layout import PAGES
from laydown.documents.print.reports import ReportRow
from laydown.documents.print.trials import SWATCH, write_trial_pdf

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
