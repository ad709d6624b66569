"""One way for tables out, and one in: what is read is what was written."""

import csv
import io
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.documents.files import csv as csv_module
from laydown.documents.files import text as text_files
from laydown.documents.files.csv import csv_lines, read_csv, write_csv
from laydown.documents.files.lists import (
    FastnessRow,
    read_lightfastness,
    read_prices,
    read_targets,
    write_lightfastness,
)
from laydown.documents.files.swatches import SwatchRow, read_swatch_csv, write_swatch_csv
from laydown.errors import BadFileError
from laydown.media.legible import legible
from laydown.media.light.fading import parse_class
from laydown.media.recipe import Colorant

RUN = ["=1+1", "+1+1", "-1+1", "@sum", "=", "＝1+1", "＠a", "-", "+x", "\n=1"]
"""What some spreadsheet would run."""
HARMLESS = ["-22.0", "+3", "-.5e-3", "1=1", "Kelp*2; Dune", "'tis", "a\nb", ""]
COLUMNS = ("color", "note")
TEXT = st.one_of(
    st.sampled_from([*RUN, *HARMLESS]), st.text("'=+-@1a.;,\t\r\n\"", max_size=8), st.text()
).map(lambda text: legible(text).strip())


def cells(text: str) -> list[list[str]]:
    """Read as a spreadsheet does."""
    return list(csv.reader(io.StringIO(text, newline="")))[1:]


@pytest.mark.parametrize("text", [*RUN, *(f"'{text}" for text in RUN), *(f"''{t}" for t in RUN)])
def test_nothing_runs_in_a_spreadsheet(text: str) -> None:
    """What would run stands behind an apostrophe, and what stood behind one behind one more."""
    assert cells(write_csv(COLUMNS, [[text, "x"]])) == [[f"'{text}", "x"]]


@pytest.mark.parametrize("text", HARMLESS)
def test_numbers_and_words_stay_as_they_are(text: str) -> None:
    """A number below zero is a number, and what runs nowhere needs no apostrophe."""
    assert cells(write_csv(COLUMNS, [[text, "x"]])) == [[text, "x"]]


@given(st.lists(st.tuples(TEXT, TEXT)), st.sampled_from(["\n", "\r\n"]))
def test_what_is_read_is_what_was_written(rows: list[tuple[str, str]], end: str) -> None:
    """Whatever a cell begins with and holds, it comes back; lines with nothing in them do not."""
    table = read_csv(
        write_csv(COLUMNS, rows, line_end=end).encode(), "mine.csv", COLUMNS, most=10**6
    )
    assert [(line["color"], line["note"]) for line in table.lines] == [r for r in rows if any(r)]


@pytest.mark.parametrize("name", [*RUN[:-1], *(f"'{text}" for text in RUN[:-1]), "=1+1, or so"])
def test_swatches_keep_names_that_a_spreadsheet_would_run(name: str) -> None:
    """A colorant, a paper and a range of such names are written harmless and read as they are."""
    spectrum = np.linspace(0.1, 0.9, 36)
    row = SwatchRow(2, Colorant(name, "@range", code="+code"), "-paper", spectrum)
    written = write_swatch_csv([row])
    begun = {cell[:1] for line in cells(written.decode()) for cell in line}
    assert not begun & set("=+-@＝＠")
    (again,) = read_swatch_csv(written, source="mine.csv")
    assert (again.colorant, again.paper) == (row.colorant, row.paper)


@given(TEXT.filter(bool), TEXT)
def test_lightfastness_keeps_its_texts(name: str, source: str) -> None:
    """Who states a class, and of what, comes back as it was."""
    row = FastnessRow(2, "Shoal", name, parse_class("3"), source)
    (again,) = read_lightfastness(write_lightfastness([row]).encode(), source="mine.csv")
    assert (again.color, again.source) == (row.color, row.source)


def test_every_list_may_be_parted_by_semicolons_or_tabs() -> None:
    """A list as a spreadsheet of another language saves it is read like any other."""
    (target,) = read_targets(b"color;note\nKelp;=1\n", source="a")
    assert (target.color, target.note) == ("Kelp", "=1")
    (price,) = read_prices(b"kind\tname\tprice\nsingle\tKelp\t2,50\n", source="a")
    assert price.price == 250
    (fast,) = read_lightfastness(b"range;color;class\nShoal;Kelp;3\n", source="a")
    assert fast.color == "Kelp"


@pytest.mark.parametrize(
    ("text", "said", "hint"),
    [
        ("colour,note\n", "line 1, column 1: there is no column “colour”", "Did you mean color"),
        ("note\nx\n", "line 1: the column “color” is missing", "Needed are color"),
        ("color,Color\n", "line 1, column 2: “Color” stands in column 1", "Keep one"),
        ("color,note\n\nlab:1,2,3\n", "line 3: 3 cells, where the first line", "double quotes"),
        ('color\n"Kelp\n', "line 2: this is not CSV", "quotation mark"),
        ("\n \n", "a list is empty", "at least one row"),
    ],
)
def test_a_bad_table_is_told_by_its_place(text: str, said: str, hint: str) -> None:
    """The line and the column are named, and what to do."""
    with pytest.raises(BadFileError, match=said) as trouble:
        read_csv(text.encode(), "a list", COLUMNS, needed=["color"], most=10**6)
    assert hint in trouble.value.hint


def test_cells_at_the_end_of_a_line_may_be_left_out() -> None:
    """A list needs no commas at the ends of its lines, and may have more than it needs."""
    table = read_csv(b"color,note,,\nKelp\nDune,,,\n", "a list", COLUMNS, most=10**6)
    assert [line["note"] for line in table.lines] == ["", ""]


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


READERS = (read_lightfastness, read_prices, read_swatch_csv, read_targets)


@pytest.mark.parametrize("read", READERS)
@pytest.mark.parametrize("content", [b"x" * 200_000, b'color\n"Kelp\n', b'color\n"Kelp"x\n'])
def test_what_is_no_csv_is_told_in_a_sentence(read: Callable[..., object], content: bytes) -> None:
    """A cell without an end, or a quotation without one, is the file's fault, not ours."""
    with pytest.raises(BadFileError, match=r"x, line [12]"):
        read(content, source="x")


@pytest.mark.parametrize("read", READERS)
def test_a_sentence_stays_short_whatever_it_quotes(read: Callable[..., object]) -> None:
    """A name of a hundred thousand letters is not told back as a whole."""
    with pytest.raises(BadFileError) as trouble:
        read(b"x" * 100_000 + b"\nKelp\n", source="a list.csv")
    assert len(trouble.value.message) <= 1000
    assert trouble.value.message.startswith("a list.csv, line 1")
