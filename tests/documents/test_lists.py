"""Lists as CSV: prices and lightfastness."""

from datetime import UTC, datetime

import numpy as np
import pytest

from laydown.documents.files import lists as price_csv
from laydown.documents.files.lists import (
    FastnessRow,
    read_lightfastness,
    read_prices,
    write_lightfastness,
)
from laydown.errors import BadFileError
from laydown.media.light.exposure import Span
from laydown.media.light.fading import parse_class
from laydown.media.light.window_test import WindowReading


def test_prices_are_read_in_minor_units() -> None:
    """Singles, sets and extras arrive with whole cents and their contents."""
    text = (
        "kind,name,contents,price,currency\n"
        ",Kelp,,2.5,EUR\nset,Box,Kelp; Dune,12,\nextra,paper,,0.75,\n"
    )
    single, box, paper = read_prices(text.encode(), source="p.csv")
    assert (single.kind, single.price, single.currency) == ("single", 250, "EUR")
    assert (box.contents, box.price) == (("Kelp", "Dune"), 1200)
    assert (paper.kind, paper.price) == ("extra", 75)


@pytest.mark.parametrize("price", ["2,50", "-1", "", "nan", "1.234", "99999999"])
def test_what_is_no_price_is_refused(price: str) -> None:
    """A price is a plain number with at most two decimals, with a point."""
    with pytest.raises(BadFileError, match="line 2"):
        read_prices(f'kind,name,price\nsingle,Kelp,"{price}"\n'.encode(), source="p.csv")


def test_rows_and_contents_of_sets_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """As many as are read are read, and one more is refused."""
    rows = b"kind,name,contents,price\nset,Box,Kelp;Dune,2\nset,Tin,Kelp;Gull,3\n"
    monkeypatch.setattr(price_csv, "MOST_PRICES", 2)
    monkeypatch.setattr(price_csv, "MOST_CONTENTS", 4)
    assert len(read_prices(rows, source="p.csv")) == 2
    with pytest.raises(BadFileError, match="3 prices: allowed are 2"):
        read_prices(rows + b"single,Gull,,1\n", source="p.csv")
    monkeypatch.setattr(price_csv, "MOST_CONTENTS", 3)
    with pytest.raises(BadFileError, match="more than 3 colorants in all"):
        read_prices(rows, source="p.csv")


HUNG = "range,color,dose,ultraviolet,before,after\nShoal,Kelp,0.5-1.5,yes,52 -22 24,{after}\n"


def test_what_is_written_reads_back_the_same() -> None:
    """A class and a reading come back with all that was said of them."""
    reading = WindowReading(
        Span(0.4375, 1.25), np.array([52.1, -22.0, 24.0]), np.array([60.0, -9.5, 20.25]), 0.4, True
    )
    rows = [
        FastnessRow(2, "Shoal", "=Kelp", parse_class("3-4"), "the label"),
        FastnessRow(
            3, "Shoal", "Dune", paper="Gannet, smooth", reading=reading, remark="-north",
            noted=datetime(2026, 3, 4, 12, tzinfo=UTC),
        ),
    ]  # fmt: skip
    first, second = read_lightfastness(write_lightfastness(rows).encode(), source="x.csv")
    assert (first.color, first.fastness, first.source) == ("=Kelp", rows[0].fastness, "the label")
    assert (second.paper, second.remark, second.noted) == (
        "Gannet, smooth",
        "-north",
        rows[1].noted,
    )
    assert second.reading.dose == reading.dose
    assert second.reading.before.tolist() == reading.before.tolist()
    assert second.reading.after.tolist() == reading.after.tolist()
    assert (second.reading.noise, second.reading.filtered) == (0.4, True)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("range,color,stars\nShoal,Kelp,***\n", "line 1, column 3: there is no column “stars”"),
        ("range,color\nShoal,Kelp\n", "line 1: it has neither a column “class” nor"),
        ("range,color,class\nShoal,,3\n", "line 2, column color: it is empty"),
        ("range,color,class\nShoal,Kelp,9\n", "line 2, column class: “9” is no class"),
        ("range,color,class,dose\nShoal,Kelp,3,1\n", "either a class or a dose"),
        ("range,color,class\nShoal,Kelp,\n", "either a class or a dose"),
        ("range,color,class\n", "has 0 lines"),
        (HUNG.format(after="60 -9").replace("0.5-1.5", "none"), "column dose: “none”"),
        (HUNG.format(after="60 -9"), "column after: “60 -9”"),
        (HUNG.format(after="50 200 0"), "column after"),
        (HUNG.format(after="50 nan 0"), "column after"),
        (HUNG.format(after="60 -9 1").replace("yes", "some"), "column ultraviolet"),
    ],
)
def test_a_bad_line_is_named(text: str, said: str) -> None:
    """Line, column and what is wrong stand in one sentence, and what is allowed beside it."""
    with pytest.raises(BadFileError, match=said) as trouble:
        read_lightfastness(text.encode(), source="mine.csv")
    assert trouble.value.hint
