"""What a match promises is kept; more ranges and media are in ``benchmarks/acceptance.py``."""

import numpy as np

from laydown.color.lab import lab_from_reflectance
from laydown.demo.oracle import Steadiness, by_hand, truth
from simulated.people import SwatchedRange, any_recipe
from simulated.promises import by_class, promised_and_kept, wanted_near

COLORS = 40


def test_as_many_accept_an_answer_as_was_promised(known: SwatchedRange) -> None:
    """Of answers promised under 1 and over 2 in 3, within 12 in 100 as many are accepted."""
    rng = np.random.default_rng(2071)
    near = [any_recipe(known.colorants, rng) for _ in range(COLORS)]
    labs = [lab_from_reflectance(truth(known.bench, recipe)) for recipe in near]
    rows = promised_and_kept(
        known.fit,
        wanted_near(labs, rng),
        lambda recipe: by_hand(known.bench, recipe, Steadiness(), rng),
    )
    low, _, high = by_class(rows)
    for count, promised, kept in (low, high):
        assert count >= COLORS // 8
        assert abs(promised - kept) < 0.12
    assert high[2] - low[2] > 0.4
