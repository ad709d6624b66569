import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.media.inference.forward import LaidStep, variants
from laydown.media.marker.pile import pile_of, step_numbers, strength_of

share = st.floats(0.0, 1.0)
positive = st.floats(0.01, 5.0)


def laid_singly(
    strength: float, amount: float, own: float, coats: int, later: float, lift: float
) -> tuple[float, float]:
    """Return K and M by the rule itself, one coat after the other."""
    keep, added = 1.0, 0.0
    for _ in range(coats):
        kept = 1.0
        if amount > 0 and strength / amount > own:
            kept = 1.0 - lift * (1.0 - own / (strength / amount))
        keep, added, strength, amount = keep * kept, added * kept, strength * kept, amount * kept
        laid = later if amount > 0 else 1.0
        added, strength, amount = added + laid, strength + laid * own, amount + laid
    return keep, added


@given(positive, positive, positive, st.integers(1, 5), st.floats(0.3, 1.1), st.floats(0.0, 0.6))
def test_a_step_is_its_coats_one_by_one(
    strength: float, amount: float, own: float, coats: int, later: float, lift: float
) -> None:
    """K and M of several coats are what laying each coat by the rule gives."""
    numbers = step_numbers(strength, amount, strength=own, coats=coats, later_coat=later, lift=lift)
    wanted = laid_singly(strength, amount, own, coats, later, lift)
    assert [float(n) for n in numbers] == pytest.approx(wanted, rel=1e-12)


@given(positive, st.integers(1, 6))
def test_a_colorant_lifts_nothing_of_itself(own: float, coats: int) -> None:
    """Over itself a colorant keeps all that lies below, however strong the lift."""
    keep, _ = step_numbers(own * 2.0, 2.0, strength=own, coats=coats, later_coat=0.8, lift=0.6)
    assert float(keep) == pytest.approx(1.0, abs=1e-12)


@given(positive, positive, st.floats(0.0, 0.6))
def test_only_the_paler_lifts(below: float, own: float, lift: float) -> None:
    """A colorant lifts what is stronger than itself, and only that."""
    keep, _ = step_numbers(below, 1.0, strength=own, coats=1, later_coat=0.8, lift=lift)
    assert float(keep) == pytest.approx(1.0 - lift * max(0.0, 1.0 - own / below), abs=1e-12)


def test_a_blender_takes_the_lift_and_adds_nothing() -> None:
    """A colorless blender keeps 1 − lift a coat, and what is laid over it alone is a first coat."""
    keep, add = step_numbers(
        1.0, 1.0, strength=0.0, coats=2, later_coat=0.8, lift=0.1, blender=True
    )
    assert (float(keep), float(add)) == pytest.approx((0.81, 0.0))
    keep, add = step_numbers(
        0.0, 0.0, strength=0.0, coats=1, later_coat=0.8, lift=0.1, blender=True
    )
    assert (float(keep), float(add)) == (1.0, 0.0)


def test_stroke_counts_for_each_coat_and_wet_only_over_color() -> None:
    """Two soaked coats on wet bare paper lay s + s·q·wet."""
    _, add = step_numbers(
        0.0, 0.0, strength=0.5, coats=2, later_coat=0.8, lift=0.0, stroke=1.3, wet=0.9
    )
    assert float(add) == pytest.approx(1.3 + 1.3 * 0.8 * 0.9)


def test_order_shows() -> None:
    """Pale over dark and dark over pale differ where a coat lifts, and agree where none does."""
    pale, dark = np.full(36, 0.2), np.full(36, 1.5)
    for lift, same in ((0.0, True), (0.2, False)):
        ends = []
        for first, second in ((pale, dark), (dark, pale)):
            effects = np.array([0.0, 1.0, lift, 0.0, 0.0, 0.0, 0.0])
            steps = tuple(LaidStep(((place, 1.0),)) for place in range(2))
            usual = variants(effects, np.zeros((2, 1)), steps=2)
            ends.append(pile_of(steps, np.array([[first, second]]), usual)[0][0])
        assert bool(np.allclose(ends[0], ends[1])) is same


def test_strength_weighs_by_what_the_eye_sees() -> None:
    """An absorption in the green weighs more than as much at the ends of the spectrum."""
    green, ends = np.zeros(36), np.zeros(36)
    green[17], ends[0] = 1.0, 1.0
    assert strength_of(green) > 100 * strength_of(ends) > 0
    assert strength_of(np.full((2, 36), 0.4)) == pytest.approx([0.4, 0.4])
