from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import Result

Run = Callable[..., Result]
AsJson = Callable[..., Any]


def _colors(listed: Any) -> list[tuple[str, str, np.ndarray]]:
    return [
        (s["paper"], s["recipe"], 100 * np.array(s["reflectance"]))
        for s in (stored["swatch"] for stored in listed["swatches"])
    ]


@pytest.mark.parametrize("ending", ["csv", "ti3", "cxf"])
def test_export_then_import_gives_the_same_library(
    shoal: Run, as_json: AsJson, tmp_path: Path, ending: str
) -> None:
    """Swatches handed out in each form and brought into a new library are the same swatches."""
    assert shoal("swatches", "export", "-o", f"all.{ending}").exit_code == 0
    new = ["--db", str(tmp_path / "new.db")]
    taken = shoal("swatches", "import", f"all.{ending}", *new)
    assert taken.exit_code == 0, taken.output
    old_colors = _colors(as_json("swatches", "list"))
    new_colors = _colors(as_json("swatches", "list", *new))
    assert [c[:2] for c in old_colors] == [c[:2] for c in new_colors]
    for (*_, old), (*_, other) in zip(old_colors, new_colors, strict=True):
        assert old == pytest.approx(other, abs=0.01)


def test_importing_twice_adds_nothing(shoal: Run, as_json: AsJson) -> None:
    """A file taken in twice is reported line by line and skipped."""
    again = shoal("swatches", "import", "shoal.csv")
    assert again.stdout.startswith("shoal.csv: 0 new swatches of 7.")
    assert "Here already, and skipped: lines 2, 3, 4, 5, 6, 7, 8." in again.stdout
    assert len(as_json("swatches", "list")["swatches"]) == 7


def test_what_a_file_leaves_blank_is_told_by_options(run: Run, as_json: AsJson) -> None:
    """Range and paper that a file doesn't name are taken from the options."""
    text = "color,L,a,b\nGull,70,0,0\n"
    told = run("swatches", "import", "-", "--range", "Cliff", "--paper", "Heron laid", stdin=text)
    assert told.exit_code == 0, told.output
    (listed,) = as_json("swatches", "list")["swatches"]
    assert (listed["swatch"]["recipe"], listed["swatch"]["paper"]) == ("Cliff/Gull", "Heron laid")


def test_a_list_can_be_narrowed(shoal: Run, as_json: AsJson) -> None:
    """Swatches are listed by range, paper and colorant."""
    assert shoal("paper", "add", "Heron laid").exit_code == 0
    assert len(as_json("swatches", "list", "--color", "kelp")["swatches"]) == 2
    assert len(as_json("swatches", "list", "--range", "shoal")["swatches"]) == 6
    assert as_json("swatches", "list", "--paper", "heron laid")["swatches"] == []


def test_a_list_tells_color_in_words_and_numbers(shoal: Run) -> None:
    """A line has what was laid, the value, Lab and the color's name."""
    lines = shoal("swatches", "list", "--color", "Dune").stdout.splitlines()
    words = lines[1].split()
    assert words[:4] == ["4", "Gannet", "smooth", "Shoal/Dune"]
    assert words[5:8] == ["82.0", "3.0", "22.0"]
    assert "XYZ only" in lines[1]


def test_swatches_are_removed_by_number(shoal: Run, as_json: AsJson) -> None:
    """Numbers from the list remove just those swatches; an unknown number removes none."""
    assert shoal("swatches", "remove", "2", "99").exit_code == 1
    assert shoal("swatches", "remove", "2").stdout == "Removed 1 swatch.\n"
    assert 2 not in [s["id"] for s in as_json("swatches", "list")["swatches"]]


def test_a_form_nobody_knows_is_refused(shoal: Run) -> None:
    """An ending that is no form of swatches is refused with those that are."""
    refused = shoal("swatches", "export", "-o", "all.xls")
    assert refused.exit_code == 1
    assert ".csv" in refused.stderr


def test_an_export_to_a_file_leaves_stdout_alone(shoal: Run, tmp_path: Path) -> None:
    """With -o the file has the swatches and stdout nothing; without it stdout has the same."""
    told = shoal("swatches", "export", "-o", "all.csv")
    assert told.stdout == ""
    assert "7 swatches as csv." in told.stderr
    assert (tmp_path / "all.csv").read_text(encoding="utf-8") == shoal("swatches", "export").stdout


def test_a_folder_that_cannot_be_written_is_named(shoal: Run, tmp_path: Path) -> None:
    """A place that can't be written is an error with the place in it."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    refused = shoal("swatches", "export", "-o", "file/all.csv")
    assert refused.exit_code == 1
    assert "file/all.csv can't be written" in refused.stderr


def test_ranges_are_shown_with_what_is_missing(shoal: Run, as_json: AsJson) -> None:
    """A range says what is measured, what is assumed and which swatches are missing."""
    shown = as_json("range", "show", "shoal")
    assert [c["colorant"]["name"] for c in shown["colorants"]] == ["Dune", "Net", "Skiff", "Kelp"]
    assumed = {e["name"]: e["assumed"] for e in shown["effects"]}
    assert assumed["later coat"]
    assert assumed["lift"]
    assert shown["missing"]
    told = shoal("range", "show", "Shoal").stdout
    assert "Missing for a full answer" in told
    assert "assumed" in told


def test_an_export_can_be_narrowed(shoal: Run) -> None:
    """Only the swatches of a range or on a paper are handed out; none is an error."""
    text = "range,color,paper,L,a,b\nCliff,Gull,Heron laid,60,-8,-30\n"
    shoal("swatches", "import", "-", stdin=text)
    assert shoal("swatches", "export", "--range", "cliff").stderr.startswith("1 swatch as csv.")
    assert shoal("swatches", "export", "--paper", "heron laid").stderr.startswith("1 swatch as")
    assert shoal("swatches", "export", "--range", "shoal").stderr.startswith("6 swatches as")
    empty = shoal("swatches", "export", "--range", "cliff", "--paper", "Gannet smooth")
    assert empty.exit_code == 1


def test_names_that_a_spreadsheet_would_run_come_back(shoal: Run, as_json: AsJson) -> None:
    """A colorant called like a formula goes out behind an apostrophe, and comes in without it."""
    names = ["=1+1", "'=1+1", "+x", "-x", "@x"]
    rows = "".join(f"Cells,'{name},Gannet smooth,{50 + i},5,6\n" for i, name in enumerate(names))
    assert shoal("swatches", "import", "-", stdin=f"range,color,paper,L,a,b\n{rows}").exit_code == 0
    told = shoal("swatches", "export", "--range", "Cells", "-q").stdout
    assert sorted(line.split(",")[2] for line in told.splitlines()[1:]) == sorted(
        f"'{name}" for name in names
    )
    assert shoal("range", "remove", "Cells", "--with-swatches").exit_code == 0
    assert shoal("swatches", "import", "-", stdin=told).exit_code == 0
    listed = as_json("swatches", "list", "--range", "Cells")["swatches"]
    assert {stored["swatch"]["recipe"] for stored in listed} == {f"Cells/{name}" for name in names}
