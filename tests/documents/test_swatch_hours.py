from collections.abc import Callable

import pytest

from laydown.documents.files.cgats import read_cgats, write_cgats
from laydown.documents.files.cxf import read_cxf, write_cxf
from laydown.documents.files.swatches import read_swatch_csv, write_swatch_csv
from laydown.errors import BadFileError

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
