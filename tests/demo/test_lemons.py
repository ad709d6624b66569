"""The drawing that nobody drew: every part of it known."""

import numpy as np

from laydown.color.value import value_from_lab
from laydown.demo.lemons import PARTS, STEPS, color_of, draw_lemons


def test_every_part_is_seen_in_its_own_color() -> None:
    """Without trouble each pixel has the color of its part, and no part is hidden."""
    lab, part = draw_lemons(rows=160, columns=240, soft=0.0, grain=0.0, uneven=0.0)
    assert np.unique(part).tolist() == list(range(len(PARTS)))
    colors = np.array([color_of(part) for part in PARTS])
    assert np.allclose(lab, colors[part])


def test_steps_follow_values() -> None:
    """A part of a lower step is darker than every part of a higher one, and values are as said."""
    values, steps = PARTS[:, 0], STEPS
    for step in range(1, 5):
        assert values[steps < step].max() < values[steps >= step].min()
    assert np.allclose(value_from_lab(np.array([color_of(part) for part in PARTS])), values)


def test_the_same_seed_is_the_same_drawing() -> None:
    """Grain and texture come from the seed alone."""
    one, other, third = (draw_lemons(rows=40, columns=60, seed=seed)[0] for seed in (1, 1, 2))
    assert np.array_equal(one, other)
    assert not np.array_equal(one, third)
