"""What nobody sees neither comes in by the command line nor goes out to a terminal."""

import io
import json
import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import Result
from PIL import Image

from laydown.media.legible import UNSEEN

Run = Callable[..., Result]
AsJson = Callable[..., Any]

STEERED = "dark\x1b]owned\x07\x1b[31m \u202edaer\u200b\x9b0m"
SEEN = "dark]owned[31m daer0m"


def seen(told: Result) -> str:
    """Return what a command writes, and require that all of it can be seen."""
    assert not UNSEEN.search(told.stdout + told.stderr), told.output
    return told.stdout + told.stderr


@pytest.fixture
def tried(shoal: Run) -> Run:
    """Note a trial whose remark steers the terminal."""
    noted = ("trial", "add", "Kelp", "lab:52,-22,24", "--remark", STEERED)
    assert "Noted" in seen(shoal(*noted))
    return shoal


def test_a_remark_comes_in_as_it_is_seen(tried: Run, as_json: AsJson, tmp_path: Path) -> None:
    """What was typed is kept without what nobody sees."""
    assert SEEN in seen(tried("trial", "show", "1"))
    with closing(sqlite3.connect(tmp_path / "library.db")) as opened:
        assert opened.execute("select remark from trial_entries").fetchall() == [(SEEN,)]


def test_lines_of_a_remark_stay(shoal: Run, as_json: AsJson) -> None:
    """A remark may have several lines."""
    shoal("trial", "add", "Kelp", "lab:52,-22,24", "--remark", "first\nsecond")
    assert as_json("trial", "show", "1")["entries"][-1]["remark"] == "first\nsecond"


def test_a_notebook_that_was_taken_in_steers_nothing(
    tried: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """A remark of a file from elsewhere is kept as it is seen, half a character as none."""
    tried("trial", "export", "-o", "book.json")
    book = json.loads((tmp_path / "book.json").read_text("utf-8"))
    book["trials"][0][0] |= {"remark": STEERED + "\ud83d", "uid": "0" * 32, "wanted": STEERED}
    (tmp_path / "book.json").write_text(json.dumps(book), encoding="utf-8")
    assert "1 new trial" in seen(tried("trial", "import", "book.json"))
    found = as_json("trial", "show", "2")["entries"][-1]
    assert (found["remark"], found["wanted"]) == (SEEN + "\ufffd", SEEN)


def test_a_library_from_elsewhere_steers_nothing(tried: Run, tmp_path: Path) -> None:
    """What was kept before, or by somebody else, goes to the terminal as it is seen."""
    with closing(sqlite3.connect(tmp_path / "library.db")) as opened:
        opened.execute("update trial_entries set remark = ?", [STEERED])
        opened.commit()
    assert SEEN in seen(tried("trial", "show", "1"))
    seen(tried("trial", "export"))
    found = tried("trial", "show", "1", "--json")
    seen(found)
    assert json.loads(found.stdout)["entries"][-1]["remark"] == STEERED


@pytest.mark.parametrize(
    "command",
    [
        ("match", STEERED),
        ("paper", STEERED),
        ("swatches", "import", STEERED),
        ("kit", "show", STEERED),
        ("paper", "list", "--db", STEERED),
        ("kit", "create", STEERED, "--debug"),
        ("chart", "--color", "Kelp", "-o", f"{STEERED}.doc"),
    ],
)
def test_messages_steer_nothing(shoal: Run, command: tuple[str, ...]) -> None:
    """A name, a value or a file's name that is told back in a message is told as it is seen."""
    assert "daer" in seen(shoal(*command))


def test_a_file_whose_name_is_no_text_is_told(run: Run) -> None:
    """A byte of a file's name that is no letter shows as one that can't be read."""
    told = run("swatches", "import", os.fsdecode(b"caf\xe9.csv"))
    assert told.exit_code == 1
    assert "caf\ufffd.csv can't be read" in seen(told)


CXF = """<?xml version="1.0"?>
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:Resources><cc:ObjectCollection>
<cc:Object Name="Ree&#x202e;d" Id="1"><cc:ColorValues><cc:ColorCIELab ColorSpecification="S">
<cc:L>50</cc:L><cc:A>5</cc:A><cc:B>6</cc:B></cc:ColorCIELab></cc:ColorValues></cc:Object>
</cc:ObjectCollection><cc:ColorSpecificationCollection><cc:ColorSpecification Id="S">
<cc:TristimulusSpec><cc:Illuminant>D50</cc:Illuminant><cc:Observer>2_Degree</cc:Observer>
</cc:TristimulusSpec></cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources>
</cc:CxF>"""


def test_files_come_in_as_they_are_seen(shoal: Run, as_json: AsJson, tmp_path: Path) -> None:
    """Names of a list, a table or a tree of swatches are taken in without what nobody sees."""
    (tmp_path / "reed.cxf").write_text(CXF, encoding="utf-8")
    table = "range,color,paper,L,a,b\nMoor,Bo\u200bg\u202e,Gannet smooth,40,5,20\n"
    (tmp_path / "bog.csv").write_text(table, encoding="utf-8")
    usual = ("--range", "Moor", "--paper", "Gannet smooth")
    seen(shoal("swatches", "import", "reed.cxf", "bog.csv", *usual))
    names = {
        stored["swatch"]["recipe"]
        for stored in as_json("swatches", "list", "--range", "Moor")["swatches"]
    }
    assert names == {"Moor/Reed", "Moor/Bog"}
    (tmp_path / "list.csv").write_text("color,name\nKelp,sh\u202eade\n", encoding="utf-8")
    made = shoal("lesson", "new", "list.csv", "--title", STEERED, "-o", "lesson.txt")
    assert SEEN in seen(made)
    assert not UNSEEN.search((tmp_path / "lesson.txt").read_text("utf-8"))
    assert "shade" in seen(shoal("lesson", "show", "lesson.txt"))


@pytest.mark.parametrize("form", ["html", "csv", "json"])
def test_charts_hold_nothing_that_is_not_seen(shoal: Run, tmp_path: Path, form: str) -> None:
    """A title and a kit's name stand in a chart as they are seen."""
    title = f"{STEERED}\ud83d"
    made = shoal("chart", "--color", "Kelp", "--title", title, "-o", f"chart.{form}")
    seen(made)
    assert made.exit_code == 0
    assert not UNSEEN.search((tmp_path / f"chart.{form}").read_text("utf-8"))


def test_pictures_keep_the_name_of_their_file(run: Run, tmp_path: Path) -> None:
    """A plan is called by its picture's file, of whose name what can be read is kept."""
    file = os.fsdecode(b"caf\xe9 \x1b[31m.png")
    pixels = np.full((60, 120), 255, np.uint8)
    pixels[:, 60:] = 30
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    (tmp_path / file).write_bytes(content.getvalue())
    made = run("picture", "plan", file, "--values", "2", "-o", "cafe.plan")
    assert made.exit_code == 0, made.output
    assert "caf\ufffd [31m" in seen(run("picture", "show", "cafe.plan"))
