"""Where value steps part."""

from itertools import combinations

import numpy as np
import pytest

from laydown.plan.picture.picture import BIN, even_steps, most_steps, natural_steps


def squares(values: np.ndarray, boundaries: np.ndarray) -> float:
    """Return the sum of squares of values about the means of their steps."""
    step = np.digitize(values, boundaries)
    return sum(
        float(np.sum((values[step == s] - values[step == s].mean()) ** 2)) for s in np.unique(step)
    )


@pytest.mark.parametrize("steps", [2, 3, 4])
def test_natural_steps_are_the_best_of_all_ways_to_part_the_values(steps: int) -> None:
    """No other boundaries between the values leave a smaller sum of squares."""
    values = np.random.default_rng(steps).integers(20, 180, 14) * BIN
    found = squares(values, natural_steps(values, steps))
    between = np.unique(values)[1:] - BIN / 2
    tried = [squares(values, np.array(some)) for some in combinations(between, steps - 1)]
    assert found == pytest.approx(min(tried), abs=1e-9)


def test_even_steps_are_of_the_same_height_and_rise() -> None:
    """From the dark to the light end each step spans the same value."""
    values = np.linspace(1.0, 9.0, 1001)
    heights = np.diff([np.percentile(values, 1), *even_steps(values, 5), np.percentile(values, 99)])
    assert np.allclose(heights, heights[0])
    assert heights[0] > 0


def test_a_flat_picture_has_one_step() -> None:
    """Where all values are alike there is nothing to part."""
    values = np.full(50, 6.0)
    assert most_steps(values) == 1
    assert len(natural_steps(values, 1)) == 0
    assert len(even_steps(values, 1)) == 0


def test_fewer_values_than_steps_give_as_many_steps_as_values() -> None:
    """Two values can't be parted into five steps."""
    assert len(natural_steps(np.array([2.0, 8.0, 8.0]), 5)) == 1
