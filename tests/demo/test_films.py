"""The demo's pencils and washes: made by their tool, and by physics that agrees with iadpython."""

import runpy
from pathlib import Path

import iadpython
import numpy as np
import pytest

from laydown.demo.files import FILM_FILES, PENCIL_RANGE, WASH_RANGE, read_bytes, read_rows
from laydown.demo.films import ANGLES, Pigment
from laydown.demo.truth import film_bench, film_misses
from laydown.media.laydown import Laydown, Pressure
from laydown.media.recipe import Colorant, Medium, Recipe, Step, Tool, Treatment, TreatmentStep

TOOL = Path(__file__).parent.parent.parent / "tools" / "make_demo_films.py"
HAY, MOLE = (Colorant(name, PENCIL_RANGE, Medium.PENCIL) for name in ("Hay wain", "Mole hill"))
POOL = Colorant("Night pool", WASH_RANGE, Medium.WASH)


def test_regenerating_changes_no_byte() -> None:
    """``tools/make_demo_films.py`` writes exactly the files that are committed."""
    made = runpy.run_path(str(TOOL))["make"]()
    assert set(made) == {*FILM_FILES, "truth_pigments.csv"}
    assert [name for name, text in made.items() if text.encode() != read_bytes(name)] == []


def test_each_range_has_24_and_no_name_twice() -> None:
    """There are 24 pencils and 24 washes, named unlike each other and unlike every marker."""
    rows = read_rows("truth_pigments.csv")
    assert [row["range"] for row in rows].count(PENCIL_RANGE) == 24
    assert [row["range"] for row in rows].count(WASH_RANGE) == 24
    names = [row["color"] for row in (*rows, *read_rows("colorants.csv"))]
    assert len(set(names)) == len(names)


def test_films_of_many_halvings_are_one_film() -> None:
    """Sixty-four of the thinnest films together are what iadpython makes of one coat at once."""
    pigment = Pigment(np.full(36, 0.7), np.full(36, 0.9))
    whole = iadpython.Sample(quad_pts=ANGLES, a=0.9 / 1.6, b=1.6)
    whole.update_quadrature()
    reflected, passed = iadpython.simple_layer_matrices(whole)
    rung = pigment.rungs[6]
    assert rung[0][0] == pytest.approx(reflected, abs=1e-5)
    assert rung[1][0] == pytest.approx(passed, abs=1e-3)  # up to 30 in the straight direction


def test_the_bench_behaves_as_people_know_it() -> None:
    """More coats and pressure darken, water pales, order counts, solvent fills bare paper."""
    truth = film_bench().truth

    def level(*steps: object) -> float:
        return float(truth(Recipe(steps)).mean())

    light, heavy = Laydown(pressure=Pressure.LIGHT), Laydown(pressure=Pressure.HEAVY)
    assert level() > level(Step(HAY, light)) > level(Step(HAY)) > level(Step(HAY, heavy))
    assert level(Step(POOL, Laydown(dilution=0.5))) > level(Step(POOL))
    assert level(Step(MOLE), Step(HAY)) != pytest.approx(level(Step(HAY), Step(MOLE)), abs=1e-3)
    blended = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)
    assert level(Step(MOLE, light), blended) < level(Step(MOLE, light))


def test_misses_are_nothing_for_the_truth_itself() -> None:
    """Predicting the truth is off by nothing."""
    recipes = [Recipe((Step(HAY),)), Recipe((Step(POOL),))]
    true, _ = film_misses(recipes, np.zeros((2, 3)))
    assert film_misses(recipes, true)[1] == pytest.approx(0.0, abs=1e-9)
