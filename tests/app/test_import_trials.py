"""A notebook that was meddled with is refused in a sentence, and nothing of it is kept."""

import json
from pathlib import Path
from typing import Any

import pytest

from laydown.app.export_trials import FORM, export_trials
from laydown.app.import_trials import ImportTrials, import_trials
from laydown.app.opening import Library, open_named
from laydown.errors import BadFileError

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
}


@pytest.fixture
def library(tmp_path: Path) -> Library:
    """Give an empty library."""
    return open_named(str(tmp_path / "library.db"))


def taken(library: Library, **changed: object) -> None:
    """Take in a notebook of one entry in which something is otherwise."""
    photographs = changed.pop("photographs", [])
    whole = {"form": FORM, "trials": [[{**ENTRY, **changed}]], "photographs": photographs}
    import_trials(library, ImportTrials(json.dumps(whole).encode(), "book.json"))


def test_a_sound_entry_comes_in_whole(library: Library) -> None:
    """What is handed out again is what came in."""
    taken(library)
    assert json.loads(export_trials(library).text)["trials"] == [[ENTRY]]


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
        {"done": "soon"},
        {"kit": "x" * 201},
        {"remark": "\ud800"},
        {"uid": "\ud800"},
        {"recipe": "Kelp**"},
        {"fill": "half"},
        {"photographs": [{"name": "\ud800", "content": ""}]},
        {"photographs": [{"name": "bowl.jpg", "content": "a"}]},
        {"photographs": 3},
    ],
)
def test_damage_is_told_and_nothing_is_kept(library: Library, changed: dict[str, Any]) -> None:
    """A time, a number or a text that can't be is a damaged file."""
    with pytest.raises(BadFileError, match="damaged notebook"):
        taken(library, **changed)
    assert export_trials(library).trials == 0
