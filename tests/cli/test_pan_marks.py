"""Marks of pans at the command line."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
AsJson = Callable[..., Any]

POND = """\
range,medium,color,paper,L,a,b
Pond,wash,,Gannet smooth,95,0.5,-2
Pond,wash,Reed,Gannet smooth,78,-4,40
Pond,wash,Silt,Gannet smooth,45,3,10
"""


@pytest.fixture
def pond(run: Run, tmp_path: Path) -> Run:
    """Give a library with two pans."""
    (tmp_path / "pond.csv").write_text(POND, encoding="utf-8")
    assert run("swatches", "import", "pond.csv").exit_code == 0
    return run


def test_a_pan_is_marked_shown_and_unmarked(pond: Run, as_json: AsJson) -> None:
    """Marks stand with the range until others, or none, take their place."""
    told = pond("range", "mark", "pond/silt", "granulating", "opaque")
    assert told.stdout.strip() == "Silt: opaque, granulating"
    (one,) = as_json("range", "show", "Pond", "--quick")["marked"]
    assert (one["colorant"]["name"], one["marks"]) == ("Silt", ["opaque", "granulating"])
    assert "Silt: opaque, granulating" in pond("range", "show", "Pond", "--quick").stdout
    assert pond("range", "mark", "Silt", "none").stdout.strip() == "Silt: not marked"
    assert as_json("range", "show", "Pond", "--quick")["marked"] == []


def test_a_match_that_uses_a_marked_pan_says_what_to_mind(pond: Run, as_json: AsJson) -> None:
    """The note comes with the mark; the recipe and its color stay as they were."""
    asked = ["match", "lab:45,3,10", "--range", "Pond", "--steps", "1", "--coats", "1"]
    before = as_json(*asked)
    pond("range", "mark", "Silt", "granulating", "staining")
    after = as_json(*asked)
    assert not any("Silt granulates" in note for note in before["notes"])
    (note,) = set(after["notes"]) - set(before["notes"])
    assert "Silt granulates" in note
    assert after["best"] == before["best"]


def test_marks_at_odds_are_refused(pond: Run) -> None:
    """The error says which two, and nothing is kept."""
    refused = pond("range", "mark", "Silt", "staining", "lifting")
    assert refused.exit_code == 1
    assert "both staining and lifting" in refused.stderr
    assert "staining" not in pond("range", "show", "Pond", "--quick").stdout
