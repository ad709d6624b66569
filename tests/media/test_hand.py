from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.films import FilmBench, Pigment
from laydown.errors import NotMeasuredError
from laydown.media.film.fitting import fit_films
from laydown.media.film.model import FilmFit
from laydown.media.kit.fit import predict
from laydown.media.kit.hand import colors_as, hand_between, with_borrowed
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.media.swatch import Swatch
from simulated.dyes import dye_set, white_slab


@pytest.fixture(scope="module")
def person(
    paper: Paper, lay: Callable[[Recipe], np.ndarray], colorants: Sequence[Colorant]
) -> Callable[..., MarkerFit]:
    """Return a function that fits swatches of clear films by someone who lays so much."""

    def fitted(
        amount: float, count: int = 6, on: Paper = paper, odd: int = -1, stronger: float = 3.0
    ) -> MarkerFit:
        swatches = []
        for place, colorant in enumerate(colorants[:count]):
            one = lay(Recipe((Step(colorant),))) / paper.reflectance
            factor = amount * (stronger if place == odd else 1.0)
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


@pytest.mark.parametrize(("log_stronger", "left_out"), [(0.2, False), (0.3, True)])
def test_a_marker_is_odd_from_two_and_a_half_deviations_on(
    person: Callable[..., MarkerFit], log_stronger: float, left_out: bool
) -> None:
    """Where all others agree, markers of one name differ by .1 [natural log]: odd is beyond .25."""
    hand = hand_between(person(1.0, odd=2, stronger=float(np.exp(log_stronger))), person(1.0))
    assert (hand.odd != ()) == left_out


def test_a_hand_is_known_to_a_tenth_over_the_root_of_how_many_tell_it(
    person: Callable[..., MarkerFit],
) -> None:
    """Were all else known, markers of one name would still differ by .1: six tell it to .1 / √6."""
    fit = person(1.0)
    known = replace(
        fit, noise=replace(fit.noise, hand=0.0), covariance=np.zeros_like(fit.covariance)
    )
    assert hand_between(known, known).deviation == pytest.approx(0.1 / np.sqrt(6.0), rel=1e-6)


def test_three_shared_colorants_are_enough(person: Callable[..., MarkerFit]) -> None:
    """Two that agree show which of three is odd."""
    assert len(hand_between(person(1.0, count=3), person(1.0)).shared) == 3


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


def films(medium: Medium) -> tuple[list[Colorant], FilmBench]:
    """Return six pencils or washes, and simulated paper to lay them on."""
    kit = [Colorant(f"Dye {i}", "Test", medium) for i in range(6)]
    level = 0.8 if medium is Medium.PENCIL else 0.25
    pigments = {
        c.label: Pigment(0.8 * dye.absorption, np.full(36, level))
        for c, dye in zip(kit, dye_set(3, len(kit)).values(), strict=True)
    }
    return kit, FilmBench(white_slab(share=0.1), pigments)


@cache
def swatched_films(medium: Medium, count: int, laid: float) -> FilmFit:
    """Fit the swatches of the first of them, by a hand that lays so much."""
    kit, bench = films(medium)
    white = Paper("Test white", bench.truth(Recipe()))
    rows = [Recipe((Step(c, Laydown(coats=coats)),)) for c in kit[:count] for coats in (1, 3)]
    rows += [Recipe((Step(a), Step(b))) for a in kit[:4] for b in kit[:4] if a is not b]
    seen = [bench.truth(r, np.full(r.coats, laid)) for r in rows]
    swatches = [Swatch(white.name, r, s) for r, s in zip(rows, seen, strict=True)]
    return fit_films(swatches, white, medium, colorants=kit[:count])


@pytest.mark.parametrize(
    ("medium", "amount"), [(Medium.PENCIL, 0.65), (Medium.PENCIL, 1.4), (Medium.WASH, 0.7)]
)
def test_a_hand_with_pencils_or_washes_is_measured(medium: Medium, amount: float) -> None:
    """On simulated paper a hand is told within 15 in 100, and what they alone have is borrowed."""
    kit, bench = films(medium)
    mine, theirs = swatched_films(medium, 4, amount), swatched_films(medium, len(kit), 1.0)
    hand = hand_between(mine, theirs)
    assert hand.factor == pytest.approx(amount, rel=0.15)
    both = with_borrowed(mine, theirs, kit[4:], hand)
    assert isinstance(both, FilmFit)
    for colorant in kit[4:]:
        recipe = Recipe((Step(colorant),))
        seen = lab_from_reflectance(bench.truth(recipe, [amount]))
        said, as_theirs = (lab_from_reflectance(fit.reflectance(recipe)) for fit in (both, theirs))
        assert ciede2000(seen, said) < 0.6 * ciede2000(seen, as_theirs)


def test_hands_of_different_media_are_not_compared(person: Callable[..., MarkerFit]) -> None:
    """Markers against pencils is refused; the error says to compare one medium."""
    markers = person(1.0)
    drawn = [Colorant(c.name, c.range, Medium.PENCIL) for c in markers.colorants]
    seen = [Swatch(markers.paper.name, Recipe((Step(c),)), np.full(36, 0.5)) for c in drawn]
    pencils = fit_films(seen, markers.paper, Medium.PENCIL)
    with pytest.raises(NotMeasuredError, match="can't be compared"):
        hand_between(markers, pencils)
