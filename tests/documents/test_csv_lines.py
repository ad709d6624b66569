"""CSV line by line, and where it is refused while it is read."""

import pytest

from laydown.documents.files import csv as csv_module
from laydown.documents.files import text as text_files
from laydown.documents.files.csv import csv_lines
from laydown.errors import BadFileError


def test_lines_that_say_nothing_are_passed_over_and_counted() -> None:
    """A line has the number of the line it begins in, blank ones and quoted line ends included."""
    text = 'a,b\r\n\n , \n"c\nd",e\rf'
    assert list(csv_lines(text, "it")) == [(1, ["a", "b"]), (4, ["c\nd", "e"]), (6, ["f"])]


def test_a_quotation_mark_that_stays_open_is_told_where_it_begins() -> None:
    """What is swallowed by it is not lost without a word."""
    with pytest.raises(BadFileError, match="it, line 2: this is not CSV"):
        list(csv_lines('a\n"b\nc\nd\n', "it"))


def test_lines_made_one_by_quotes_are_measured_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """A line as long as is read is read; a sign more is refused, and so it is across line ends."""
    monkeypatch.setattr(csv_module, "LONGEST_LINE", 8)
    monkeypatch.setattr(text_files, "LONGEST_LINE", 8)
    assert list(csv_lines('"a\nb",c\n', "it")) == [(1, ["a\nb", "c"])]
    for text in ('"a\nb",cd\n', "aaaaaaaa\n", "x\naaaaaaaaa"):
        with pytest.raises(BadFileError, match="longer than 8 characters"):
            list(csv_lines(text, "it"))


def test_long_cells_and_very_many_lines_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each as soon as it is met: what came before has been given out."""
    monkeypatch.setattr(csv_module, "LONGEST_CELL", 3)
    monkeypatch.setattr(text_files, "MOST_LINES", 4)
    lines = csv_lines("abc\nabcd\n", "it")
    assert next(lines) == (1, ["abc"])
    with pytest.raises(BadFileError, match="it, line 2: a cell has 4 characters"):
        next(lines)
    assert list(csv_lines("\n\n\nabc\n", "it")) == [(4, ["abc"])]
    with pytest.raises(BadFileError, match="more than 4 lines"):
        list(csv_lines("\n\n\n\n\n", "it"))
