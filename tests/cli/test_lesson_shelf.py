"""Lessons kept in the library, as a user would keep them."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
AsJson = Callable[..., Any]
TWO = "laydown lesson 1\ntitle: Two\npaper: Gull\ncolor: sky\nxyz: 30 32 50\n"


@pytest.fixture
def kept(shoal: Run, tmp_path: Path) -> Run:
    """Return the command line with a lesson that is kept."""
    (tmp_path / "two.txt").write_text(TWO, encoding="utf-8")
    told = shoal("lesson", "keep", "two.txt")
    assert told.exit_code == 0, told.output
    assert "Lesson 1: “Two”, 1 color." in told.output
    return shoal


def test_a_lesson_that_is_kept_needs_no_file(kept: Run, tmp_path: Path) -> None:
    """It is listed, and written out letter by letter."""
    (tmp_path / "two.txt").unlink()
    assert "Gull" in kept("lesson", "list").output
    kept("lesson", "fetch", "1", "-o", "again.txt")
    assert (tmp_path / "again.txt").read_text(encoding="utf-8") == TWO


def test_removal_is_taken_back_by_undo(kept: Run, as_json: AsJson) -> None:
    """A lesson that was removed by mistake comes back under its number."""
    assert "“Two” is gone." in kept("lesson", "remove", "1").output
    assert "No lesson is kept yet." in kept("lesson", "list").output
    kept("library", "undo")
    assert [one["number"] for one in as_json("lesson", "list")["lessons"]] == [1]


def test_what_is_no_lesson_is_not_kept(kept: Run, tmp_path: Path) -> None:
    """A file of another kind is told by its first line; a number that none has, too."""
    (tmp_path / "list.csv").write_text("color\nKelp\n", encoding="utf-8")
    assert "a lesson begins with the line" in kept("lesson", "keep", "list.csv").output
    assert "There is no lesson 9 here." in kept("lesson", "fetch", "9").output
