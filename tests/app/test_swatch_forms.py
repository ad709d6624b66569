import pytest

from laydown.app.swatches import form_of_content, form_of_name
from laydown.errors import BadFileError


@pytest.mark.parametrize(
    ("content", "form"),
    [
        (b"range,color", "csv"),
        (b"\xef\xbb\xbfrange,color", "csv"),
        (b"CGATS.17\n", "cgats"),
        (b"CTI3   \n", "cgats"),
        (b" CTI3\n BEGIN_DATA_FORMAT\n", "cgats"),
        (b"ISO28178\nBEGIN_DATA\n", "cgats"),
        (b"\xef\xbb\xbf<?xml version='1.0'?>", "cxf"),
        (b"", "csv"),
    ],
)
def test_a_file_is_told_by_its_content(content: bytes, form: str) -> None:
    """The beginning of a file says what it is, whatever its name."""
    assert form_of_content(content) == form


def test_a_name_asks_for_a_form() -> None:
    """The ending of a name asks for a form, in any capitals; an unknown one is refused."""
    assert [form_of_name(n) for n in ("a.CSV", "a.ti3", "a.cxf", "a")] == [
        "csv",
        "cgats",
        "cxf",
        "csv",
    ]
    with pytest.raises(BadFileError, match="xls"):
        form_of_name("a.xls")
