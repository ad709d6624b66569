"""A notebook that was meddled with is refused in a sentence, and nothing of it is kept."""

import base64
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from laydown.app.library import Library, open_named
from laydown.app.notebook.trials import FORM, checked_day, export_trials, import_trials
from laydown.errors import BadFileError, BadRecipeError

ENTRY: dict[str, Any] = {
    "uid": "0123456789abcdef0123456789abcdef",
    "version": 1,
    "withdrawn": False,
    "recorded": "2026-03-04T10:00:00+00:00",
    "kit": "mine",
    "paper": "Gannet smooth",
    "recipe": "Shoal/Kelp*2; Shoal/Dune",
    "reflectance": [0.3] * 36,
    "basis": "xyz",
    "spread": 1.5,
    "measured": "typed",
    "wanted": "Kelp",
    "intended": [40.0, -24.0, 26.0],
    "remark": "shadow of the bowl",
    "done": "2026-03-04",
    "fill": "usual",
    "photograph": "",
    "picture": "",
    "shared": 0.0,
    "made_by": "",
}


@pytest.fixture
def library(tmp_path: Path, lay_library: Callable[[Path], Path]) -> Library:
    """Give an empty library."""
    return open_named(str(lay_library(tmp_path / "library.db")))


def taken(library: Library, **changed: object) -> None:
    """Take in a notebook of one entry in which something is otherwise."""
    photographs = changed.pop("photographs", [])
    whole = {"form": FORM, "trials": [[{**ENTRY, **changed}]], "photographs": photographs}
    import_trials(library, json.dumps(whole).encode(), "book.json")


def test_a_sound_entry_comes_in_whole(library: Library) -> None:
    """What is handed out again is what came in."""
    taken(library)
    assert json.loads(export_trials(library))["trials"] == [[ENTRY]]


@pytest.mark.parametrize(
    "changed",
    [
        {"reflectance": [0.3] * 35},
        {"reflectance": [1e200] * 36},
        {"reflectance": ["dark"] * 36},
        {"reflectance": [float("nan")] * 36},
        {"intended": [1.0]},
        {"intended": [float("inf")] * 3},
        {"spread": -1.0},
        {"spread": 1e300},
        {"recorded": "2026-03-04T10:00:00"},
        {"recorded": "9999-12-31T23:59:59-23:00"},
        {"recorded": 7},
        {"version": float("inf")},
        {"version": 10**14},
        {"version": 1e300},
        {"version": "2"},
        {"reflectance": ["0.3"] * 36},
        {"withdrawn": "no"},
        {"withdrawn": 0},
        {"kit": ["mine"]},
        {"remark": {"a": 1}},
        {"photograph": 7},
        {"photographs": [{"name": 7, "content": ""}]},
        {"photographs": [{"name": "bowl.jpg", "content": 7}]},
        {"photographs": [{"name": "bowl.jpg", "content": "!!!!aaaa"}]},
        {"done": "soon"},
        {"kit": "x" * 201},
        {"recipe": "Kelp**"},
        {"fill": "half"},
        {"photographs": [{"name": "bowl.jpg", "content": "a"}]},
        {"photographs": 3},
        {"recipe": "Shoal/Kelp*" + "9" * 5000},
        {"recipe": "Shoal/Kelp;" * 31},
        {"recipe": "Shoal/" + "K" * 500},
    ],
)
def test_damage_is_told_and_nothing_is_kept(library: Library, changed: dict[str, Any]) -> None:
    """A time, a number or a text that can't be is a damaged file."""
    with pytest.raises(BadFileError, match="damaged notebook"):
        taken(library, **changed)
    assert json.loads(export_trials(library))["trials"] == []


@pytest.mark.parametrize(
    "content",
    [
        b"[" * 1_000_000,
        b'{"a":' * 100_000,
        b"[" + b"0," * 4_000_000 + b"0]",
        b'{"form": ' + b"9" * 50_000 + b"}",
        b"[" + b"9" * 4_301 + b"]",
        b"\xff\xfe\x00",
        b"",
    ],
)
def test_what_no_notebook_is_like_is_refused(library: Library, content: bytes) -> None:
    """However deep, wide or long, it is answered in one short sentence."""
    with pytest.raises(BadFileError, match=r"^x is no notebook of trials[.,]"):
        import_trials(library, content, "x")


@pytest.mark.parametrize(
    "content",
    [b"9" * 5000, b'{"form": "laydown trials 1", "trials": [' + b"9" * 5000 + b"]}", b"[" * 3000],
)
def test_numbers_and_lists_beyond_reading_are_no_notebook(library: Library, content: bytes) -> None:
    """A number of thousands of digits is no fault of the program's."""
    with pytest.raises(BadFileError, match="no notebook of trials"):
        import_trials(library, content, "book.json")


def test_a_photograph_is_lifted_out_and_comes_in_whole(library: Library) -> None:
    """Large ones and small ones are kept as they were, whatever a remark looks like."""
    pictures = [
        {"name": "large.jpg", "content": base64.b64encode(bytes(range(256)) * 9).decode()},
        {"name": "small.jpg", "content": base64.b64encode(b"small").decode()},
    ]
    remark = '"content": "' + "A" * 2000
    taken(library, photographs=pictures, remark=remark)
    with library.look() as work:
        for picture in pictures:
            content = base64.b64decode(picture["content"])
            kept = work.notebook.photograph(hashlib.sha256(content).hexdigest())
            assert kept == (picture["name"], content)
    assert json.loads(export_trials(library))["trials"][0][0]["remark"] == remark


@pytest.mark.parametrize("content", ["@7", "@-9", "@", "@x"])
def test_a_photograph_that_was_never_there_is_damage(library: Library, content: str) -> None:
    """What stands for a photograph while a notebook is read can't be forged."""
    with pytest.raises(BadFileError, match="damaged notebook"):
        taken(library, photographs=[{"name": "bowl.jpg", "content": content}])


@pytest.mark.parametrize("most", ["LARGEST_TEXT", "MOST_VALUES"])
def test_a_notebook_with_too_much_beside_its_photographs_is_refused(
    library: Library, monkeypatch: pytest.MonkeyPatch, most: str
) -> None:
    """Its text and its values are counted before they are read."""
    monkeypatch.setattr(f"laydown.app.notebook.trials.{most}", 50)
    with pytest.raises(BadFileError, match="too large a one"):
        taken(library)


@pytest.mark.parametrize("text", ["2026-13-01", "4.3.2026", "x"])
def test_what_is_no_day_is_refused(text: str) -> None:
    """A day is year-month-day."""
    with pytest.raises(BadRecipeError, match="no day"):
        checked_day(text)
