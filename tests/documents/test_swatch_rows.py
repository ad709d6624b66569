"""Export then import gives the same swatches, in all three formats."""

import csv
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from laydown.documents.files.cgats import read_cgats, write_cgats
from laydown.documents.files.csv import Table
from laydown.documents.files.cxf import read_cxf, write_cxf
from laydown.documents.files.measurements import measurements
from laydown.documents.files.swatches import (
    SwatchRow,
    read_swatch_csv,
    rows_from_swatches,
    swatches_from_rows,
    write_swatch_csv,
)
from laydown.errors import BadFileError, UnknownNameError
from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.recipe import (
    AnyStep,
    Colorant,
    Medium,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    mixture,
)
from laydown.media.swatch import Basis, Swatch

Formats = dict[str, tuple[Callable[..., bytes], Callable[..., tuple[SwatchRow, ...]]]]
FORMATS: Formats = {
    "csv": (write_swatch_csv, read_swatch_csv),
    "cgats": (write_cgats, read_cgats),
    "cxf": (write_cxf, read_cxf),
}
KELP = Colorant("Kelp", "Estuary", code='five "5", <&> ; é')
DUNE = Colorant("Dune mist", "Estuary", blender=True)
FIG = Colorant("Fig", "Orchard", Medium.PENCIL)
LOAM, REED = (Colorant(name, "Pond", Medium.WASH) for name in ("Loam", "Reed"))
MOSS = Colorant("Moss", "Creek", Medium.WASH, code="7")
SWAB = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)


def from_xyz(*xyz: float) -> np.ndarray:
    """Return the reflectance that a reader makes of XYZ."""
    cells = dict(zip("XYZ", map(repr, xyz), strict=True))
    table = Table("", ("X", "Y", "Z"), [(1, cells)], 0, {})
    return measurements(table, [False])[0][0]


def swatch(*steps: AnyStep, **fields: object) -> Swatch:
    """Return a swatch with random values that need all their digits."""
    values = np.random.default_rng(len(steps)).uniform(0, 1.3, 36)
    flags = frozenset({"above-white"})
    return Swatch(
        "Gannet smooth", Recipe(steps), **({"reflectance": values, "flags": flags} | fields)
    )


SWATCHES = (
    swatch(),
    swatch(Step(KELP, Laydown(2, Stroke.SOAKED, wait=Wait.WET))),
    swatch(Step(DUNE)),
    swatch(Step(DUNE), Step(KELP)),
    swatch(Step(FIG, Laydown(pressure=Pressure.HEAVY, dilution=0.125)), Step(KELP), Step(FIG)),
    swatch(Step(KELP), SWAB),
    swatch(SWAB),
    swatch(Step(FIG), mixture((3, KELP), (1, DUNE), laydown=Laydown(2))),
    swatch(mixture((1, FIG), (2, KELP)), Step(KELP)),
    swatch(mixture((2, LOAM), (1, REED), laydown=Laydown(2, dilution=0.5, wait=Wait.WET))),
    swatch(Step(LOAM), mixture((1, REED), (3, MOSS))),
    swatch(Step(LOAM)), swatch(Step(REED)), swatch(Step(MOSS)),
    swatch(Step(FIG), SWAB, Step(KELP), spread=0.1 + 0.2),
    swatch(reflectance=np.full(36, 1e-9), flags=frozenset({"extended-bands"})),
    swatch(Step(KELP), reflectance=from_xyz(20.123456, 25, 10), basis=Basis.XYZ, flags=frozenset()),
    swatch(Step(KELP, Laydown(3)), reflectance=from_xyz(4, 3, 2), basis=Basis.XYZ,
           flags=frozenset()),
)  # fmt: skip


def same(one: Swatch, other: Swatch) -> bool:
    """Return whether two swatches agree in everything, to the last bit."""
    return np.array_equal(one.reflectance, other.reflectance) and all(
        getattr(one, name) == getattr(other, name)
        for name in ("paper", "recipe", "basis", "spread", "flags")
    )


@pytest.mark.parametrize("form", FORMATS)
def test_export_then_import_gives_the_same(form: str) -> None:
    """Every kind of recipe, name and flag, and every bit of every number, comes back."""
    write, read = FORMATS[form]
    rows = read(write(rows_from_swatches(SWATCHES)), source="mine")
    back = swatches_from_rows(rows, source="mine")
    assert [same(one, other) for one, other in zip(SWATCHES, back, strict=True)] == [True] * len(
        SWATCHES
    )


@pytest.mark.parametrize("form", FORMATS)
def test_writing_what_was_read_gives_the_same_bytes(form: str) -> None:
    """The same swatches are always the same file."""
    write, read = FORMATS[form]
    first = write(rows_from_swatches(SWATCHES))
    assert write(read(first, source="mine")) == first


@settings(max_examples=30, deadline=None)
@given(arrays(np.float64, 36, elements=st.floats(0, 2)), st.sampled_from(sorted(FORMATS)))
def test_any_spectrum_comes_back_bit_for_bit(values: np.ndarray, form: str) -> None:
    """Reflectances from 0 to 2, however small, are written with the digits they need."""
    write, read = FORMATS[form]
    (row,) = read(write(rows_from_swatches([swatch(reflectance=values)])), source="mine")
    assert np.array_equal(row.reflectance, values)


def test_a_name_of_two_ranges_below_is_written_with_its_range() -> None:
    """One range's Kelp over another's comes back as it was."""
    other = Colorant("Kelp", "Orchard")
    given = [swatch(Step(KELP)), swatch(Step(other)), swatch(Step(KELP), Step(other))]
    rows = rows_from_swatches(given)
    assert rows[2].over == "Estuary/Kelp"
    assert same(swatches_from_rows(rows, source="mine")[2], given[2])


def row(name: str, over: str, range_name: str = "Estuary") -> SwatchRow:
    """Return a row of one coat over something."""
    return SwatchRow(7, Colorant(name, range_name), "Gannet", np.full(36, 0.5), over=over)


def test_a_name_below_is_of_the_own_range_first() -> None:
    """A name that stands in two ranges of the file means that of the row's own."""
    rows = [row("Kelp", ""), row("Kelp", "", "Orchard"), row("Fig", "kelp*2", "Orchard")]
    steps = swatches_from_rows(rows, source="mine")[2].recipe.steps
    assert steps[0] == Step(Colorant("Kelp", "Orchard"), Laydown(coats=2))


def test_a_name_below_may_stand_in_the_library() -> None:
    """What the file doesn't know is asked of the library, and its answer is taken."""
    found = swatches_from_rows([row("Kelp", "Fig")], source="mine", find=lambda _: FIG)
    assert found[0].recipe.steps[0] == Step(FIG)


def test_a_mixture_of_washes_is_written_in_place_of_a_color() -> None:
    """Its text names parts and ranges; coats and water stand in their columns."""
    mixed = mixture((2, LOAM), (1, MOSS), laydown=Laydown(2, dilution=0.5))
    text = write_swatch_csv(rows_from_swatches([swatch(Step(REED), mixed)])).decode()
    (cells,) = csv.DictReader(text.splitlines())
    told = {name: cells[name] for name in ("range", "color", "coats", "dilution", "over")}
    assert told == {
        "range": "",
        "color": "mix 2 Pond/Loam + 1 Creek/Moss",
        "coats": "2",
        "dilution": "0.5",
        "over": "Pond/Reed",
    }


def unknown(name: str) -> Colorant:
    """Know nothing."""
    raise UnknownNameError(f"There is no colorant “{name}” here.", hint="Did you mean Kelp?")


@pytest.mark.parametrize(
    ("over", "find", "says"),
    [
        ("Klep", unknown, "mine, line 7, column over: There is no colorant “Klep” here"),
        ("Klep", None, "mine, line 7, column over: There is no colorant “Klep” in mine"),
        ("Kelp*many", None, "mine, line 7, column over: .*not a number of coats"),
        ("Kelp*99", None, "mine, line 7, column over: 99 coats in one step"),
        ("solvent by spoon", None, "mine, line 7, column over: .*the tool is one of"),
        ("Reed", None, "mine, line 7, column over: “Reed” stands for Creek/Reed and Orchard/Reed"),
    ],
)
def test_what_lies_below_is_told_by_its_line(
    over: str, find: Callable[[str], Colorant] | None, says: str
) -> None:
    """A recipe below that can't be read names line, column and the fault."""
    rows = [row("Kelp", over), row("Reed", "", "Orchard"), row("Reed", "", "Creek")]
    with pytest.raises(BadFileError, match=says):
        swatches_from_rows(rows, source="mine", find=find)


HEAD = "range,medium,color,paper,hours,X,Y,Z\n"


def test_hours_dried_are_taken_in_and_given_out() -> None:
    """A column of hours says what was read before it was dry, and writing keeps it."""
    text = (
        HEAD + "Pond,wash,Loam,Gannet smooth,0.5,20,21,12\nPond,wash,Reed,Gannet smooth,,30,31,20"
    )
    rows = read_swatch_csv(text.encode(), source="mine.csv")
    assert [row.hours for row in rows] == [0.5, None]
    again = read_swatch_csv(write_swatch_csv(rows), source="again.csv")
    assert [row.hours for row in again] == [0.5, None]


@pytest.mark.parametrize(
    ("write", "read"), [(write_cgats, read_cgats), (write_cxf, read_cxf)], ids=["cgats", "cxf"]
)
def test_hours_dried_survive_standard_files(write: Callable, read: Callable) -> None:
    """CGATS and CxF keep the hours that a swatch was read after, too."""
    rows = read_swatch_csv((HEAD + "Pond,wash,Loam,Gannet smooth,0.5,20,21,12").encode(), source="")
    assert [row.hours for row in read(write(rows), source="again")] == [0.5]


def test_hours_below_none_are_refused() -> None:
    """Hours below 0 are named by line and column."""
    text = HEAD + "Pond,wash,Loam,Gannet smooth,-1,20,21,12"
    with pytest.raises(BadFileError, match=r"(?s)line 2.*hours|hours.*line 2"):
        read_swatch_csv(text.encode(), source="mine.csv")


def test_hours_among_the_flags_are_still_read() -> None:
    """A file that an earlier version wrote says the hours as a flag; they come back as a number."""
    data = b"range,color,paper,X,Y,Z,flags\nPond,Loam,Heron,20,30,10,read-after-0.25h above-white\n"
    (row,) = read_swatch_csv(data, source="mine.csv")
    assert (row.hours, row.flags) == (0.25, {"above-white"})
