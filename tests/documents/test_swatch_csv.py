import numpy as np
import pytest

from laydown import allowed_sizes
from laydown.color.lab import lab_from_reflectance, xyz_from_reflectance
from laydown.documents.files import csv as tables
from laydown.documents.files import measurements
from laydown.documents.files.swatches import (
    SwatchRow,
    read_swatch_csv,
    swatches_from_rows,
    write_swatch_csv,
)
from laydown.errors import LONGEST, BadFileError
from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.recipe import Colorant, Medium, Recipe, Step, mixture
from laydown.media.swatch import Basis

HEAD = "range,medium,color,paper,coats,stroke,pressure,dilution,wait,over,X,Y,Z"
BANDS = ",".join(f"r{nm}" for nm in range(380, 731, 10))


def read(text: str | bytes, **usual: str) -> tuple[SwatchRow, ...]:
    """Read CSV text as the file mine.csv."""
    data = text.encode() if isinstance(text, str) else text
    return read_swatch_csv(data, source="mine.csv", usual=usual)


def line(**cells: str) -> str:
    """Return a heading and one good line with some cells changed; a new name is a new column."""
    row = dict.fromkeys(HEAD.split(","), "")
    row |= {"range": "Estuary", "color": "Kelp", "paper": "Gannet smooth"}
    row |= {"X": "20", "Y": "25", "Z": "10"} | cells
    return f"{','.join(row)}\n{','.join(row.values())}\n"


def test_every_column_is_read() -> None:
    """A line with all its cells filled says all that a swatch can."""
    text = (
        f"{HEAD},code,spread,blender,flags\n"
        "Quayside,wash,Rust,Gannet smooth,3,soaked,heavy,0.25,wet,Kelp*2; solvent by swab,"
        "20,25,10,7/r,0.4,no,extended-bands\n"
    )
    (row,) = read(text)
    assert row.colorant == Colorant("Rust", "Quayside", Medium.WASH, "7/r")
    assert row.laydown == Laydown(3, Stroke.SOAKED, Pressure.HEAVY, 0.25, Wait.WET)
    assert (row.line, row.paper, row.over) == (2, "Gannet smooth", "Kelp*2; solvent by swab")
    assert (row.spread, row.basis, row.flags) == (0.4, Basis.XYZ, {"extended-bands"})
    np.testing.assert_allclose(xyz_from_reflectance(row.reflectance), [20, 25, 10], atol=1e-6)


def test_blank_cells_are_as_usual() -> None:
    """Without a word it is one even coat of a marker on bare dry paper."""
    (row,) = read(line())
    assert row.colorant == Colorant("Kelp", "Estuary")
    assert (row.laydown, row.over, row.spread) == (Laydown(), "", 0.0)


def test_missing_columns_are_blank_and_order_is_free() -> None:
    """Only color and measurement need a column where the user says the rest."""
    (row,) = read("Z,Color,Y,X\n10,Kelp,25,20\n", range="Estuary", paper="Heron", medium="pencil")
    assert row.colorant == Colorant("Kelp", "Estuary", Medium.PENCIL)
    assert row.paper == "Heron"


def test_a_line_without_color_is_bare_paper() -> None:
    """Paper has no colorant, and may be named once for the whole file."""
    (row,) = read(line(color="", range="", paper="", X="80", Y="83", Z="68"), paper="Heron")
    assert (row.colorant, row.paper) == (None, "Heron")


def test_lab_is_for_d50() -> None:
    """L*, a*, b* given are those of the reflectance read."""
    (row,) = read("range,color,paper,L*,a*,b*\nEstuary,Kelp,Gannet,50,-20,15\n")
    np.testing.assert_allclose(lab_from_reflectance(row.reflectance), [50, -20, 15], atol=1e-5)
    assert row.basis == Basis.XYZ


def test_a_spectrum_is_taken_as_it_is() -> None:
    """36 bands from 380 to 730 nm come through untouched, and count before XYZ."""
    values = np.linspace(0.1, 0.9, 36)
    text = f"range,color,paper,X,Y,Z,{BANDS}\nEstuary,Kelp,Gannet,1,2,3,"
    (row,) = read(text + ",".join(map(str, values)))
    assert np.array_equal(row.reflectance, values)
    assert (row.basis, row.flags) == (Basis.SPECTRUM, frozenset())


def test_other_bands_are_resampled_and_missing_ends_flagged() -> None:
    """Bands 20 nm apart from 400 to 700 nm on a straight line stay on it, and end level."""
    bands = range(400, 701, 20)
    head = ",".join(f"r{nm}.0" for nm in bands)
    cells = ",".join(str(nm / 1000) for nm in bands)
    (row,) = read(f"range,color,paper,{head}\nEstuary,Kelp,Gannet,{cells}")
    np.testing.assert_allclose(row.reflectance[2:33], np.arange(0.4, 0.701, 0.01), atol=1e-9)
    np.testing.assert_allclose(row.reflectance[[0, 1, 33, 35]], [0.4, 0.4, 0.7, 0.7])
    assert row.flags == {"extended-bands"}


def test_reflectance_above_1_is_taken_and_flagged() -> None:
    """A brightened paper may shine brighter than white."""
    (row,) = read(f"paper,{BANDS}\nGannet,{','.join(['1.1'] * 36)}")
    assert row.flags == {"above-white"}
    assert row.reflectance.max() == 1.1


def test_a_brightened_paper_known_by_lab_is_taken_and_flagged() -> None:
    """Bare paper bluer and lighter than any reflectance up to 1 keeps its XYZ."""
    (row,) = read("paper,L,a,b\nGannet,97,1.5,-9\n")
    assert row.flags == {"above-white"}
    np.testing.assert_allclose(lab_from_reflectance(row.reflectance), [97, 1.5, -9], atol=1e-4)
    with pytest.raises(BadFileError, match="no surface can have"):
        read("range,color,paper,L,a,b\nEstuary,Kelp,Gannet,97,1.5,-9\n")


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_utf8_is_read_with_mark_and_without(mark: str, end: str) -> None:
    """A byte order mark and the line ends of any system don't matter; accents stay."""
    text = mark + line(color="Crème").replace("\n", end)
    (row,) = read(text)
    assert row.colorant is not None
    assert row.colorant.name == "Crème"


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_decimal_commas_are_read_where_commas_part_nothing(delimiter: str) -> None:
    """Between semicolons or tabs, 20,5 is twenty and a half, and so is 20.5."""
    text = line(X="20_5", Y="25.5").replace(",", delimiter).replace("_", ",")
    (row,) = read(text)
    np.testing.assert_allclose(xyz_from_reflectance(row.reflectance), [20.5, 25.5, 10], atol=1e-6)


def test_empty_lines_are_passed_over_and_counted() -> None:
    """A line number is that of the file, blank lines and lines within quotes included."""
    text = f'{HEAD},code\n\n,,,,,,,,,,,,,\nEstuary,,Kelp,Gannet,,,,,,,20,25,10,"a\nb"\n'
    text += "Estuary,,Dune,Gannet,,,,,,,20,25,10,\n"
    assert [row.line for row in read(text)] == [4, 6]


BAD = {
    "empty": ("", "mine.csv is empty", "at least one row"),
    "blank": (" \n \n", "mine.csv is empty", "at least one row"),
    "heading alone": (HEAD + "\n", "no swatch follows", ""),
    "huge": (b"a" * (allowed_sizes.SWATCHES + 1), "20 million bytes", "smaller files"),
    "binary": (b"range\x00\x01\x02color\xff" * 9, "not text", "CGATS or CxF"),
    "spreadsheet": (b"PK\x03\x04" + b"x" * 99, "spreadsheet or an archive", "Save the sheet"),
    "utf-16 with mark": (line().encode("utf-16"), "UTF-16", "UTF-8"),
    "utf-16 without mark": (line().encode("utf-16-le"), "UTF-16", "UTF-8"),
    "latin-1": (line(color="Crème").encode("latin-1"), "line 2: .*Latin-1", "UTF-8"),
    "no number": (line(Y="NaN"), "line 2, column Y: “NaN” is not a number", ""),
    "infinite": (line(Y="inf"), "line 2, column Y: “inf” is not a number", ""),
    "word": (line(X="grey"), "line 2, column X: “grey” is not a number", ""),
    "negative XYZ": (line(Z="-3"), "line 2, column Z: -3 is below 0", ""),
    "XYZ from 0 to 1": (line(X=".2", Y=".25", Z=".1"), "column Y: .*scale of 0 to 1", "by 100"),
    "Lab from 0 to 1": (
        "range,color,paper,L,a,b\nEstuary,Kelp,Gannet,0.5,0,0",
        "column L: .*scale of 0 to 1",
        "by 100",
    ),
    "Lab out of bounds": (
        "range,color,paper,L,a,b\nEstuary,Kelp,Gannet,150,0,0",
        "line 2, column L: 150 is not within 0 and 110",
        "",
    ),
    "outside the solid": (line(X="1", Y="60", Z="1"), "line 2: XYZ 1, 60, 1 .*no surface", "D50"),
    "color twice": (HEAD + ",Color\n", "line 1, column 14: “Color” stands in column 3", "one"),
    "band twice": ("r400,r400.0\n1,1", "line 1, column 2: “r400.0” stands in column 1", "one"),
    "near miss": (line(colour="x"), "line 1, column 14: there is no column “colour”", "color?"),
    "unknown column": (line(finish="matt"), "there is no column “finish”", "Known are range"),
    "half of XYZ": ("color,X,Y\nKelp,1,2", "X, Y, Z belong together, and Z is missing", ""),
    "no measurement": ("color,paper\nKelp,Gannet", "no column with a measurement", "r380 to r730"),
    "blank among full": (line(Y=""), "line 2, column Y: .*blank", ""),
    "nothing measured": (line(X="", Y="", Z=""), "line 2: nothing was measured", ""),
    "no range": (line(range=""), "line 2, column range: it names no range", "--range"),
    "no paper": (line(paper=""), "line 2, column paper: it names no paper", "--paper"),
    "coats": (line(coats="0"), "column coats: 0 coats: allowed are whole numbers, 1 to 9", ""),
    "half a coat": (line(coats="1.5"), "column coats: 1.5 coats", ""),
    "many coats": (line(coats="10"), "column coats: 10 coats", ""),
    "stroke": (line(stroke="soked"), "column stroke: “soked” is none of quick, even", "soaked?"),
    "medium": (line(medium="oil"), "column medium: “oil” is none of marker, pencil, wash", ""),
    "wait": (line(wait="moist"), "column wait: “moist” is none of wet, dry", ""),
    "dilution": (line(dilution="1"), "column dilution: 1 is not a share of water", ""),
    "spread": (line(spread="-1"), "column spread: -1 is below 0", ""),
    "blender": (line(blender="maybe"), "column blender: “maybe” is neither yes nor no", ""),
    "flags": (line(flags="shiny"), "column flags: “shiny” is none of", ""),
    "name of a recipe": (line(color="Kelp*2"), "column color: .*part of a recipe", "asterisk"),
    "decimal comma": (line(Y='"25,5"'), "column Y: “25,5” has a decimal comma", "semicolons"),
    "decimal commas bare": (line(Y="25,5"), "line 2: 14 cells", "decimal commas"),
    "short line": (line() + "Estuary,,Kelp", "line 3: 3 cells", "Every column"),
    "open quotation": (line(color='"Kelp'), "line 2: this is not CSV", "quotation mark"),
    "two media": (
        line() + "Estuary,pencil,Rope,Gannet,,,,,,,20,25,10",
        "line 3, column medium: the range Estuary is a pencil here and a marker in line 2",
        "its own range name",
    ),
    "two codes": (
        line(code="a") + "Estuary,,Kelp,Gannet,,,,,,,20,25,10,b",
        "line 3, column code: Kelp has the code “b” here and “a” in line 2",
        "",
    ),
    "blender and color": (
        line(blender="yes") + "Estuary,,Kelp,Gannet,,,,,,,20,25,10,no",
        "line 3, column blender: Kelp is told otherwise here than in line 2",
        "",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_a_bad_file_is_told_in_one_sentence(case: str) -> None:
    """Where the fault lies, what it is and what to do are said; nothing is read."""
    text, says, hint = BAD[case]
    with pytest.raises(BadFileError, match=says) as trouble:
        read(text)
    assert trouble.value.message.startswith("mine.csv")
    assert "\n" not in trouble.value.message
    assert trouble.value.hint
    assert hint in trouble.value.hint


def spectral(**cells: str) -> str:
    """Return a file with one spectrum of .5 throughout and some bands changed."""
    bands = dict.fromkeys(BANDS.split(","), "0.5") | cells
    head, row = ",".join(bands), ",".join(bands.values())
    return f"range,color,paper,{head}\nEstuary,Kelp,Gannet,{row}\n"


@pytest.mark.parametrize(
    ("text", "says", "hint"),
    [
        (spectral(r500="-0.01"), "line 2, column r500: reflectance -0.01 is below 0", "noise"),
        (spectral(r500="45.2"), "line 2, column r500: .*looks like percent", "by 100"),
        (spectral(r500="nan"), "line 2, column r500: “nan” is not a number", ""),
        (spectral(r500=""), "line 2, column r500: .*blank", ""),
        (
            "range,color,paper,r500,r510,r520,r530\nEstuary,Kelp,Gannet,1,1,1,1",
            "line 2: The spectrum runs from 500 to 530 nm",
            "420 nm",
        ),
    ],
)
def test_a_bad_spectrum_is_told_by_its_band(text: str, says: str, hint: str) -> None:
    """Negative, percent, missing and too few bands are each named with what to do."""
    with pytest.raises(BadFileError, match=says) as trouble:
        read(text)
    assert hint in trouble.value.hint


def test_blank_end_bands_are_extended() -> None:
    """A line whose last bands are blank is extended and flagged like a file without them."""
    (row,) = read(spectral(r380="", r720="", r730=""))
    np.testing.assert_allclose(row.reflectance, 0.5)
    assert row.flags == {"extended-bands"}


def test_columns_that_say_nothing_are_not_written() -> None:
    """Code, spread, blender and flags are written only where a row has them."""
    text = write_swatch_csv(read(line())).decode()
    assert text.splitlines()[0] == HEAD
    assert text.splitlines()[1] == "Estuary,marker,Kelp,Gannet smooth,1,,,,,,20,25,10"


def test_columns_without_a_name_at_the_end_are_passed_over() -> None:
    """A spreadsheet leaves commas behind the last column, in the heading and below."""
    (row,) = read(line().replace("\n", ",,\n", 1) + ",,\n")
    assert row.line == 2


def test_as_many_swatches_are_read_as_are_allowed(monkeypatch: pytest.MonkeyPatch) -> None:
    """One more is refused, and so are columns and cells beyond what is read of a file."""
    head, row = "paper,X,Y,Z\n", "Gannet,20,25,10\n"
    monkeypatch.setattr(tables, "MOST_SWATCHES", 3)
    assert len(read(head + row * 3)) == 3
    with pytest.raises(BadFileError, match="line 5: it has more than 3 swatches"):
        read(head + row * 4)
    monkeypatch.setattr(tables, "MOST_CELLS", 11)
    with pytest.raises(BadFileError, match="line 4: it has more than 2 swatches"):
        read(head + row * 3)
    monkeypatch.setattr(tables, "MOST_COLUMNS", 3)
    with pytest.raises(BadFileError, match="4 columns: allowed are 3"):
        read(head + row)


def test_many_colors_are_read_as_one_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """Papers whiter than white, and colors among them, are the same in batches and alone."""
    head, lines = "paper,L,a,b\n", ("P,97,1.5,-9", "P,99,1,-8", "P,90,0,-2", "P,50,0,0")
    whole = read(head + "\n".join(lines))
    monkeypatch.setattr(measurements, "BATCH", 2)
    batched = read(head + "\n".join(lines))
    alone = [row for line in lines for row in read(head + line)]
    for row, other, third in zip(whole, batched, alone, strict=True):
        assert np.array_equal(row.reflectance, other.reflectance)
        assert np.array_equal(row.reflectance, third.reflectance)


def test_a_message_quotes_no_more_than_is_read() -> None:
    """A cell of nine thousand digits is told by its beginning."""
    with pytest.raises(BadFileError, match="column Y: “999") as trouble:
        read(line(Y="9" * 9000))
    assert len(trouble.value.message) <= LONGEST


LOAM, REED = (Colorant(name, "Pond", Medium.WASH) for name in ("Loam", "Reed"))


def washes(**cells: str) -> str:
    """Return a file with a line each for two washes, and one more with some cells changed."""
    usual = dict.fromkeys(cells, "") | {"range": "Pond", "medium": "wash"}
    lines = [{"color": "Loam"}, {"color": "Reed"}, cells]
    texts = [line(**usual | changed) for changed in lines]
    return texts[0] + "".join(text.split("\n", 1)[1] for text in texts[1:])


@pytest.mark.parametrize(
    "cells",
    [
        {"color": "mix 2 Loam + 1 Reed"},
        {"color": " Mix 2 loam  +1 Pond/Reed", "medium": ""},
        {"color": "mix 2 Pond/Loam + 1 Pond/Reed", "range": ""},
        {"color": "mix 2 Loam + 1 Reed", "range": ""},
    ],
)
def test_a_mixture_of_washes_is_read_in_place_of_a_color(cells: dict[str, str]) -> None:
    """Each part is a wash of the file, whether line or name says its range."""
    rows = read(washes(**cells, coats="2", dilution="0.5", over="Loam"))
    *_, mixed = swatches_from_rows(rows, source="mine.csv")
    laid = mixture((2, LOAM), (1, REED), laydown=Laydown(2, dilution=0.5))
    assert mixed.recipe == Recipe((Step(LOAM), laid))


@pytest.mark.parametrize(
    ("cells", "says", "hint"),
    [
        ({"color": "mix Loam + Reed"}, "column color: .*how many parts", "mix 2 Loam"),
        ({"color": "mix 1 Loam"}, "column color: .*how many parts", "mix 2 Loam"),
        ({"color": "mix 1 Loam + Reed"}, "column color: .*how many parts", "mix 2 Loam"),
        ({"color": "mix 1 Loam + 1 Loam"}, "column color: .*each once", "mix 2 Loam"),
        ({"color": "mix 1 Loam + 1 loam"}, "column color: .*each once", "mix 2 Loam"),
        ({"color": "mix 5 Loam + 1 Reed"}, "5 parts of Pond/Loam: allowed are 1 to 3", "1:3"),
        ({"color": "mix 1 Loam + 1 Rede"}, "no colorant “Pond/Rede” in mine.csv", "swatch of it"),
        ({"color": "mix 1 Loam + 1 Reed*2"}, "column color: .*more than", "column"),
        ({"color": "mix 1 Loam + 1 Reed; Loam"}, "column color: .*more than", "column"),
        ({"color": "mix 1 Loam + 1 Reed", "medium": "marker"}, "column medium: only wash", "over"),
        ({"color": "mix 1 Loam + 1 Reed", "code": "7"}, "column code: a mixture is no", "blank"),
        ({"color": "mix 1 Loam + 1 Reed", "blender": "x"}, "column blender: a mixture", "blank"),
    ],
)
def test_a_wrong_mixture_is_told_in_one_sentence(
    cells: dict[str, str], says: str, hint: str
) -> None:
    """The line and what is wrong with it are said, and how to write it."""
    with pytest.raises(BadFileError, match=rf"mine.csv, line 4, .*{says}") as trouble:
        swatches_from_rows(read(washes(**cells)), source="mine.csv")
    assert hint in trouble.value.hint


def test_markers_are_not_mixed() -> None:
    """Parts that the file calls markers can't be mixed on a palette."""
    text = line() + "Estuary,,mix 1 Kelp + 1 Kelp two,Gannet,,,,,,,20,25,10\n"
    with pytest.raises(BadFileError, match="line 3, column color: Estuary/Kelp is a marker"):
        swatches_from_rows(read(text), source="mine.csv")
