"""Every door that takes a color in numbers takes every form of it."""

import pytest

from laydown.app.library import Library
from laydown.app.light.lightfastness import AddWindowTest, add_window_test
from laydown.app.matches.targets import settle_targets
from laydown.app.notebook.trials import AddTrial, add_trial, edit_trial
from laydown.color.typed import measured_color
from laydown.errors import BadColorError
from laydown.media.light.fading import Span

PAPER = "Gannet smooth"
WRITTEN = ("lab:50,14,18", "xyz:20,18,10", "#a06a5a", "5YR 5/4", "N 5/")


@pytest.mark.parametrize("text", WRITTEN)
def test_a_form_is_a_color_at_every_door(library: Library, text: str) -> None:
    """As a wanted color, as what came of a trial, noted or edited, and after a window test."""
    lab = pytest.approx(measured_color(text)[0], abs=0.01)
    assert settle_targets(library, [text], paper=PAPER)[0].lab == lab
    ((noted,), _) = add_trial(library, AddTrial("Kelp", text, paper=PAPER, wanted=text))
    assert noted.color.lab == lab
    assert noted.intended is not None
    assert noted.intended.lab == lab
    assert edit_trial(library, noted.number, color=text).color.lab == lab
    hung = AddWindowTest(Span(1.0, 2.0), colorant="Kelp", after=text, paper=PAPER)
    assert add_window_test(library, hung)[0][0].reading.after == lab


def test_every_door_names_the_same_forms(library: Library) -> None:
    """What is no color is told by a wanted color and by a trial in the same words."""
    hints = []
    with pytest.raises(BadColorError) as caught:
        settle_targets(library, ["rgb:20,18,10"], paper=PAPER)
    hints.append(caught.value.hint)
    with pytest.raises(BadColorError) as caught:
        add_trial(library, AddTrial("Kelp", "rgb:20,18,10", paper=PAPER))
    hints.append(caught.value.hint)
    assert hints[0] == hints[1]
    assert all(form in hints[0] for form in ("lab:", "xyz:", "5YR 6/8", "#"))
