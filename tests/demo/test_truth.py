"""The simulated truth against which the demo judges itself."""

import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.files import CLASS_PAPER, SECOND_PAPER, read_rows
from laydown.demo.truth import demo_bench, misses, true_labs
from laydown.errors import UnknownNameError
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step, parse_recipe

KELP = Recipe((Step(Colorant("Kelp", "Estuary", code="mine")),))


def test_swatches_lie_around_the_truth() -> None:
    """The shipped swatches of Orchard miss the truth as an uneven hand would: under 1.5 in the
    median, under 5 at most, and never by nothing.
    """
    rows = [row for row in read_rows("orchard_on_gannet_smooth.csv") if row["color"]]
    recipes = [
        parse_recipe(row["over"], lambda name: Colorant(name, "Orchard")).then(
            Recipe((Step(Colorant(row["color"], "Orchard"), Laydown(coats=int(row["coats"]))),))
        )
        for row in rows
    ]
    bands = [column for column in rows[0] if column[1:].isdecimal()]
    seen = np.array([[float(row[band]) for band in bands] for row in rows])
    _, missed = misses(recipes, lab_from_reflectance(seen))
    assert 0.1 < np.median(missed) < 1.5
    assert missed.max() < 5.0


def test_a_perfect_prediction_misses_nothing() -> None:
    """The truth judged against itself is 0 off."""
    _, missed = misses([KELP, Recipe()], true_labs([KELP, Recipe()]))
    assert np.array_equal(missed, [0.0, 0.0])


def test_the_two_papers_show_one_ink_differently() -> None:
    """The same ink on the second paper is another color."""
    one, other = (true_labs([KELP], paper=paper)[0] for paper in (CLASS_PAPER, SECOND_PAPER))
    assert ciede2000(one, other) > 1.0


def test_a_paper_the_demo_lacks_is_named() -> None:
    """Asking for another paper says which there are."""
    with pytest.raises(UnknownNameError, match="Gannet smooth"):
        demo_bench("Blotter")
