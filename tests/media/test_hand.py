from collections.abc import Callable, Sequence

import numpy as np
import pytest

from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.hand import colors_as, hand_between
from laydown.media.laydown import Laydown
from laydown.media.marker import MarkerFit, fit_markers, predict
from laydown.media.paper import Paper
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Swatch


@pytest.fixture(scope="module")
def person(
    paper: Paper, lay: Callable[[Recipe], np.ndarray], colorants: Sequence[Colorant]
) -> Callable[..., MarkerFit]:
    """Return a function that fits swatches of clear films by someone who lays so much."""

    def fitted(amount: float, count: int = 6, on: Paper = paper, odd: int = -1) -> MarkerFit:
        swatches = []
        for place, colorant in enumerate(colorants[:count]):
            one = lay(Recipe((Step(colorant),))) / paper.reflectance
            factor = amount * (3.0 if place == odd else 1.0)
            swatches += [
                Swatch(
                    on.name,
                    Recipe((Step(colorant, Laydown(n)),)),
                    on.reflectance * one ** (n * factor),
                )
                for n in (1, 2)
            ]
        return fit_markers(swatches, on)

    return fitted


def test_a_lighter_hand_is_measured(person: Callable[..., MarkerFit]) -> None:
    """Six shared colorants tell a hand of 0.6 against a usual one within its stated error."""
    hand = hand_between(person(0.6), person(1.0))
    assert hand.log_amount == pytest.approx(np.log(0.6), abs=2.0 * hand.deviation)
    assert hand.deviation < 0.1
    assert hand.odd == ()


def test_a_hand_against_itself_is_one(person: Callable[..., MarkerFit]) -> None:
    """The same swatches twice."""
    assert hand_between(person(1.0), person(1.0)).factor == pytest.approx(1.0, abs=1e-9)


def test_one_odd_marker_is_left_out_and_named(
    person: Callable[..., MarkerFit], colorants: Sequence[Colorant]
) -> None:
    """A marker three times as strong as its namesake doesn't make a heavy hand."""
    hand = hand_between(person(1.0, odd=2), person(1.0))
    assert hand.odd == (colorants[2].name,)
    assert hand.factor == pytest.approx(1.0, abs=0.02)


def test_two_shared_colorants_are_too_few(person: Callable[..., MarkerFit]) -> None:
    """A hand needs three, and the error says how many there are."""
    with pytest.raises(NotMeasuredError, match="Only 2 colorants"):
        hand_between(person(1.0, count=2), person(1.0))


def test_another_paper_is_refused(person: Callable[..., MarkerFit]) -> None:
    """A hand is only defined on one and the same paper."""
    other = Paper("Fulmar", np.full(36, 0.8))
    with pytest.raises(NotMeasuredError, match="Fulmar"):
        hand_between(person(1.0), person(1.0, on=other))


def test_borrowed_colors_are_corrected_once(
    person: Callable[..., MarkerFit], colorants: Sequence[Colorant]
) -> None:
    """A colorant that only they have comes out as if my hand had laid it."""
    mine, theirs = person(0.6, count=5), person(1.0)
    hand = hand_between(mine, theirs)
    borrowed = colors_as(theirs, [colorants[5]], hand)
    recipe = Recipe((Step(colorants[5]),))
    true = predict(person(0.6), recipe).lab
    assert predict(borrowed, recipe).lab == pytest.approx(true, abs=2.5)
    assert np.linalg.norm(predict(theirs, recipe).lab - true) > 5.0
