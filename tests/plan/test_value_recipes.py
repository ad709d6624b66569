"""Recipes by value alone."""

from dataclasses import dataclass

import numpy as np
import pytest

from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.color.value import luminance_from_value
from laydown.plan.picture.recipes import recipe_of_value


@dataclass
class Held:
    """Recipes with their colors and members, as a repertoire has them."""

    lab: np.ndarray
    members: np.ndarray


def of_value(value: float, a: float = 0.0, b: float = 0.0) -> list[float]:
    """Return a color of a value."""
    L = lab_from_xyz(WHITE_D50 * float(luminance_from_value(value)) / 100.0)[0]
    return [float(L), a, b]


HELD = Held(
    np.array([of_value(9.2), of_value(5.0, 60.0), of_value(5.03, 0.0, 9.0), of_value(5.0, 1.0)]),
    np.array([[-1, -1], [0, -1], [1, -1], [0, 1]]),
)


@pytest.mark.parametrize(
    ("value", "b", "place"),
    [(5.0, 0.0, 2), (9.0, 0.0, 0), (2.0, 50.0, 1)],
    ids=["plainest of those right in value, then nearest", "paper", "nearest in value if none"],
)
def test_value_comes_first_then_few_steps_then_nearness(value: float, b: float, place: int) -> None:
    """A recipe of one step in another hue is taken before the right gray of two steps."""
    found, off = recipe_of_value(HELD, np.array(of_value(value, 0.0, b)))  # type: ignore[arg-type]
    assert found == place
    assert off == pytest.approx(abs([9.2, 5.0, 5.03, 5.0][place] - value), abs=1e-6)
