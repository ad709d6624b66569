"""Printed sheets and their readings, kept."""

from pathlib import Path

import numpy as np
import pytest

from laydown.errors import UnknownNameError
from laydown.media.laydown import Laydown, Stroke, Wait
from laydown.media.recipe import Colorant, Medium, Recipe, Step, Tool, Treatment, TreatmentStep
from laydown.sheet.reading import CellReading, Flag
from laydown.sheet.sheet import Sheet, SheetKind, arrange
from laydown.store.library import open_library
from laydown.store.sheets import read_sheet_text, write_sheet


@pytest.fixture
def sheet() -> Sheet:
    """Return a sheet with unusual recipes."""
    clear = Colorant("Clear", "Estuary", blender=True)
    reed = Colorant("Reed", "Meadow", Medium.PENCIL)
    recipes = [
        Recipe((Step(clear, Laydown(coats=2, wait=Wait.WET)),)),
        Recipe((Step(reed), TreatmentStep(Treatment.SOLVENT, Tool.SWAB))),
        Recipe((Step(clear, Laydown(stroke=Stroke.SOAKED)), Step(reed))),
    ]
    return arrange(
        recipes, number=77, title="Säume", kind=SheetKind.LIST, paper="Gannet", framed=True
    )


def test_a_sheet_comes_back_as_it_was(sheet: Sheet, tmp_path: Path) -> None:
    """What was printed is known to the last cell."""
    assert read_sheet_text(write_sheet(sheet)) == sheet
    library = open_library(tmp_path / "library.db")
    with library.work("print") as work:
        work.sheets.add(sheet)
    with library.look() as work:
        assert work.sheets.get(77) == sheet
        assert work.sheets.numbers() == (77,)
        assert work.sheets.free_number(wanted=77) == 78
        assert work.sheets.free_number(wanted=5) == 5
        with pytest.raises(UnknownNameError, match="Wrong sheet"):
            work.sheets.get(78)
    library.close()


def test_readings_of_a_cell_are_all_kept(sheet: Sheet, tmp_path: Path) -> None:
    """Wet and dry, before and after: a later reading takes no earlier one away."""
    library = open_library(tmp_path / "library.db")
    with library.work("print and read") as work:
        work.sheets.add(sheet)
        for stage, Y in (("wet", 20.0), ("dry", 24.0), ("dry", 24.5)):
            reading = CellReading(1, np.array([Y, Y, Y]), 0.5, frozenset({Flag.GLARE}))
            work.sheets.add_readings(
                77,
                [reading],
                stage=stage,
                conversion="reference chart",
                accepted=frozenset({1} if stage == "dry" else ()),
            )
    with library.look() as work:
        wet, dry, chart = (
            work.sheets.readings(77, **which)
            for which in ({"stage": "wet"}, {"stage": "dry"}, {"conversion": "reference chart"})
        )
        kept = work.sheets.readings(77)
        taken = work.sheets.readings(77, accepted=True)
        assert work.sheets.readings(77, conversion="another") == ()
    heights = [[float(reading.xyz[1]) for reading in some] for some in (wet, dry, kept, taken)]
    assert heights == [[20.0], [24.0, 24.5], [20.0, 24.0, 24.5], [24.0, 24.5]]
    assert len(chart) == 3
    assert kept[0].flags == {Flag.GLARE}
    library.close()
