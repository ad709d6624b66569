from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance, xyz_from_reflectance
from laydown.documents.files import cgats as cgats_module
from laydown.documents.files import csv as tables
from laydown.documents.files.cgats import cgats_tables, read_cgats, write_cgats
from laydown.documents.files.swatches import SwatchRow
from laydown.errors import BadFileError
from laydown.media.recipe import Colorant

INKS = {"range": "Inks", "paper": "News", "medium": "marker"}
Find = Callable[[str, str], Path]


def cgats(columns: str, *sets: str, head: str = "CGATS.17") -> bytes:
    """Return a small file."""
    rows = "\n".join(sets)
    return (
        f"{head}\nBEGIN_DATA_FORMAT\n{columns}\nEND_DATA_FORMAT\nBEGIN_DATA\n{rows}\nEND_DATA\n"
    ).encode()


def read(data: bytes) -> tuple[SwatchRow, ...]:
    """Read with a range and paper told by the user."""
    return read_cgats(data, source="mine.txt", usual=INKS)


@pytest.mark.parametrize("name", ["FOGRA29L", "TR002"])
def test_a_measured_ink_set_is_read(debian_data: Find, name: str) -> None:
    """Every set of a measured characterization gives back its own Lab, as far as it is printed."""
    data = debian_data("icc-profiles-free", f"usr/share/color/icc/{name}.ti3").read_bytes()
    rows = read(data)
    ((table, _),) = cgats_tables(data.decode("latin-1"), name)
    assert len(rows) == len(table.lines) > 900
    stated = np.array([[float(line[axis]) for axis in "Lab"] for line in table.lines])
    read_back = lab_from_reflectance(np.array([row.reflectance for row in rows]))
    # Lab follows from XYZ printed to .01, which the darkest inks stretch most.
    off = np.linalg.norm(stated - read_back, axis=1)
    assert np.median(off) < 0.05
    assert off.max() < 1.0


def test_a_chart_by_lab_alone_is_read(debian_data: Find) -> None:
    """A published chart of 24 patches gives back its Lab, to the digits printed."""
    path = debian_data("argyll-ref", "usr/share/color/argyll/ref/ColorChecker.cie")
    rows = read(path.read_bytes())
    assert [rows[i].colorant for i in (0, 23)] == [Colorant(n, "Inks") for n in ("A01", "D06")]
    lab = lab_from_reflectance(np.array([row.reflectance for row in rows]))
    np.testing.assert_allclose(lab[0], [37.99, 13.56, 14.06], atol=0.005)
    np.testing.assert_allclose(lab[23], [20.46, -0.08, -0.97], atol=0.005)


def test_indented_lines_are_read_and_a_display_is_refused(debian_data: Find) -> None:
    """A file whose sets are indented is split right; that it measures a display is said."""
    path = debian_data("colord-tests", "usr/libexec/installed-tests/colord/measured.ti3")
    ((table, _),) = cgats_tables(path.read_text(encoding="utf-8"), "measured.ti3")
    assert len(table.lines) == 15
    second = [table.lines[1][column] for column in ("color", *"XYZ")]
    assert second == ["2", "35.70556641", "40.23742676", "53.87878418"]
    with pytest.raises(BadFileError, match="measures a display"):
        read(path.read_bytes())


@pytest.mark.parametrize(
    ("prefix", "written"),
    [("SPECTRAL_DEC_", 0.5), ("SPECTRAL_PCT_", 50), ("SPEC_", 50), ("SPECTRAL_NM", 50),
     ("SPECTRAL_NM_", 0.5), ("nm", 0.5)],
)  # fmt: skip
def test_spectra_are_read_by_the_scale_of_their_columns(prefix: str, written: float) -> None:
    """A half is written .5 or 50, as the column's name says or the numbers show."""
    columns = " ".join(f"{prefix}{nm}" for nm in range(380, 731, 10))
    (row,) = read(cgats(f"SAMPLE_ID {columns}", " ".join(["1", *[str(written)] * 36])))
    np.testing.assert_allclose(row.reflectance, 0.5)


def test_a_dark_spectrum_in_percent_stays_dark() -> None:
    """Columns that are percent by name are so even where no value shows it."""
    columns = " ".join(f"SPEC_{nm}" for nm in range(380, 731, 10))
    (row,) = read(cgats(f"SAMPLE_ID {columns}", " ".join(["1", *["1.5"] * 36])))
    np.testing.assert_allclose(row.reflectance, 0.015)


def test_a_name_counts_before_a_number() -> None:
    """A patch with a name is called by it; quotation marks keep it together."""
    (row,) = read(cgats("SAMPLE_ID SAMPLE_NAME XYZ_X XYZ_Y XYZ_Z", '1 "Deep "" kelp" 20 25 10'))
    assert row.colorant == Colorant('Deep " kelp', "Inks")


def test_odd_bytes_in_a_remark_do_not_matter_and_in_a_name_do() -> None:
    """Keywords nobody reads may be in any encoding; data must be UTF-8."""
    columns, good = "SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20 25 10"
    data = cgats(columns, good, head='CGATS.17\nORIGINATOR "A \x97 B"')
    assert len(read(data.decode().encode("latin-1"))) == 1
    bad = cgats(columns, good, "é 20 25 10").decode().encode("latin-1")
    with pytest.raises(BadFileError, match=r"mine.txt, line 7: this is not UTF-8"):
        read(bad)


def test_remarks_and_tables_of_other_things_are_passed_over() -> None:
    """What follows # is a remark, and a table without colors is no swatch."""
    other = cgats("RGB_I RGB_R", "0 0", "1 1", head="CAL")
    data = cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20 25 10 # a remark") + other
    assert len(read(data)) == 1
    with pytest.raises(BadFileError, match="holds no XYZ, Lab or spectra"):
        read(other)


def test_our_columns_are_declared() -> None:
    """Each column of ours is declared by KEYWORD before it is used, and only once."""
    rows = read(cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "Kelp 20 25 10"))
    text = write_cgats(rows).decode()
    assert text.count('KEYWORD "LAYDOWN_COLOR"') == 1
    assert text.index('KEYWORD "LAYDOWN_COLOR"') < text.index("BEGIN_DATA_FORMAT")
    assert "NUMBER_OF_SETS 1\n" in text
    ((table, _),) = cgats_tables(text, "mine")
    assert f"NUMBER_OF_FIELDS {len(table.columns) + 1}\n" in text


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20 25 10", "2 20 25"), "line 7: 3 values"),
        (cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20 x 10"), "line 6, column XYZ_Y: “x” is not"),
        (cgats("XYZ_X XYZ_X XYZ_Y XYZ_Z", "1 1 1 1"), "line 3: the column XYZ_X stands there tw"),
        (cgats("XYZ_X XYZ_Y XYZ_Z", "20 25 10"), "line 3: no column names the patches"),
        (cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z"), "no swatch follows"),
        (cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20 25 10")[:-10], "END_DATA is missing"),
        (b"CGATS.17\nBEGIN_DATA\n1 2 3\nEND_DATA\n", "without BEGIN_DATA_FORMAT"),
        (b"CGATS.17\nORIGINATOR me\n", "holds no BEGIN_DATA"),
        (b"CGATS.17\nEND_DATA\n", "line 2: END_DATA without BEGIN_DATA"),
        (cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 .2 .25 .1"), "column XYZ_Y: .*scale of 0 to 1"),
        (cgats("SAMPLE_ID LAB_L LAB_A LAB_B", "1 50 -300 0"), "column LAB_A: -300 is not within"),
        (b"", "is empty"),
    ],
)  # fmt: skip
def test_a_bad_file_is_told_in_one_sentence(data: bytes, says: str) -> None:
    """The line and the column by the file's own name are said."""
    with pytest.raises(BadFileError, match=says) as trouble:
        read(data)
    assert trouble.value.hint


def test_xyz_are_read_as_printed() -> None:
    """The XYZ of a set come back from the reflectance made of them."""
    (row,) = read(cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20.12 25.34 10.56"))
    xyz = xyz_from_reflectance(row.reflectance)
    np.testing.assert_allclose(xyz, [20.12, 25.34, 10.56], atol=1e-6)


@pytest.mark.parametrize(
    ("module", "most", "value", "says"),
    [
        (tables, "MOST_COLUMNS", 3, "line 3: it has more than 3 columns"),
        (tables, "MOST_CELLS", 7, "line 7: it has more than 7 values"),
        (tables, "MOST_SWATCHES", 1, "line 8: it has more than 1 sets"),
        (cgats_module, "MOST_TABLES", 1, "line 15: it has more than 1 tables"),
        (cgats_module, "MOST_KEYWORDS", 0, "line 9: it has more than 0 keywords"),
    ],
)
def test_more_than_is_read_is_refused_where_it_stands(
    monkeypatch: pytest.MonkeyPatch, module: ModuleType, most: str, value: int, says: str
) -> None:
    """Columns, values, sets, tables and keywords are counted over the whole file."""
    whole = cgats("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 20 25 10", "2 20 25 10") + cgats(
        "SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "3 20 25 10"
    ).replace(b"CGATS.17", b"KEYWORD 1")
    assert len(read(whole)) == 3
    monkeypatch.setattr(module, most, value)
    with pytest.raises(BadFileError, match=says):
        read(whole)
