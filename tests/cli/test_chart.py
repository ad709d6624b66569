import csv
import io
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from pypdfium2 import PdfDocument

Run = Callable[..., Result]
QUICK = ("--steps", "2", "--coats", "2", "--top", "1")
LESSON = """\
passage,role,color,note
weeds,shadow,Kelp*2,behind
weeds,highlight,"lab:60,-8,-30",
boat,midtone,Net; Dune,
"""


@pytest.mark.parametrize(
    ("ending", "begins"),
    [("pdf", b"%PDF"), ("html", b"<!DOCTYPE html>"), ("csv", b"number,"), ("json", b"{")],
)
def test_a_list_becomes_a_chart_in_every_form(
    shoal: Run, tmp_path: Path, ending: str, begins: bytes
) -> None:
    """The ending of the file's name decides the form; the same request gives the same bytes."""
    (tmp_path / "lesson.csv").write_text(LESSON, encoding="utf-8")
    made = shoal("chart", "lesson.csv", *QUICK, "-o", f"chart.{ending}")
    assert made.exit_code == 0, made.output
    content = (tmp_path / f"chart.{ending}").read_bytes()
    assert content[:20].lower().startswith(begins.lower())
    shoal("chart", "lesson.csv", *QUICK, "-o", f"again.{ending}")
    assert content == (tmp_path / f"again.{ending}").read_bytes()


def test_a_chart_is_one_page_and_its_details_follow_where_asked(shoal: Run, tmp_path: Path) -> None:
    """What lies behind a chart is printed with --details alone."""
    (tmp_path / "lesson.csv").write_text(LESSON, encoding="utf-8")
    shoal("chart", "lesson.csv", *QUICK, "-o", "chart.pdf")
    shoal("chart", "lesson.csv", *QUICK, "--details", "-o", "whole.pdf")
    counts = [len(PdfDocument(tmp_path / f"{name}.pdf")) for name in ("chart", "whole")]
    assert counts[0] == 1
    assert counts[1] > 1
    made = shoal("chart", "lesson.csv", *QUICK, "--details", "--format", "html")
    assert "<details open>" in made.stdout


def test_a_chart_is_in_coloring_order(shoal: Run) -> None:
    """Passages stand as first named, each from light to dark, with roles and names kept."""
    told = shoal("chart", "-", *QUICK, "--format", "csv", stdin=LESSON)
    rows = list(csv.DictReader(io.StringIO(told.stdout)))
    assert [(r["passage"], r["role"]) for r in rows] == [
        ("weeds", "highlight"),
        ("weeds", "shadow"),
        ("boat", "midtone"),
    ]
    assert rows[1]["name"] == "Kelp*2"


def test_a_whole_range_or_kit_can_be_converted(shoal: Run) -> None:
    """Every colorant of a range, or of a kit, is a wanted color."""
    made = json.loads(shoal("chart", "--colors-of", "shoal", *QUICK, "--json").stdout)
    assert [m["target"]["name"] for m in made["matches"]] == ["Dune", "Net", "Skiff", "Kelp"]
    shoal("kit", "create", "mine")
    shoal("kit", "own", "mine", "Net")
    made = json.loads(shoal("chart", "--colors-of-kit", "mine", *QUICK, "--json").stdout)
    assert [m["target"]["name"] for m in made["matches"]] == ["Net"]


def test_a_chart_says_what_it_found(shoal: Run) -> None:
    """What came of it goes to stderr: how many colors, and their verdicts."""
    made = shoal("chart", "--color", "Net", "--color", "lab:54,80,68", *QUICK, "-o", "c.csv")
    assert "2 colors from Shoal on Gannet smooth: " in made.stderr
    assert "1 out of reach" in made.stderr


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("color\n", "names no color"),
        ("colour\nKelp\n", "no column “colour”[^?]*Did you mean color"),
        ("passage\nweeds\n", "line 1: the column “color” is missing"),
        ("color,color\nKelp,Kelp\n", "stands in column 1 already"),
        ("color\nKelp,Dune\n", "line 2: 2 cells"),
        ("passage,color\nweeds,\n", "line 2, column color: it is empty"),
        ("color\nDune\nKlep\n", "line 3: [^?]*Did you mean Kelp"),
        ("color\nlab:1\n", "line 2: “lab:1” is not lab"),
    ],
)
def test_a_bad_list_is_refused_with_its_place(
    shoal: Run, tmp_path: Path, text: str, told: str
) -> None:
    """A list that can't be read is refused with line and column, and no chart is written."""
    (tmp_path / "lesson.csv").write_text(text, encoding="utf-8")
    refused = shoal("chart", "lesson.csv", "-o", "chart.pdf")
    assert refused.exit_code == 1
    assert re.search(r"^lesson\.csv", refused.stderr, flags=re.MULTILINE)
    assert not (tmp_path / "chart.pdf").exists()
    assert re.search(told, refused.stderr), refused.stderr


def test_nothing_to_convert_is_a_usage_error(shoal: Run) -> None:
    """A chart of nothing is not enough said."""
    assert shoal("chart").exit_code == 2


def test_an_unknown_form_is_refused_before_the_work(shoal: Run) -> None:
    """An ending that is no form of a chart is refused with those that are."""
    refused = shoal("chart", "--color", "Kelp", "-o", "chart.docx")
    assert refused.exit_code == 1
    assert ".pdf, .html, .csv, .json" in refused.stderr
