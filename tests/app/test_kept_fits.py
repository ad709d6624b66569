"""Fits that another program meddled with: made anew, and never believed."""

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from laydown.app.fits import Supplies, set_up
from laydown.app.library import open_named
from laydown.app.notebook.trials import AddTrial, add_trial
from laydown.media.kit.fit import predict
from laydown.media.recipe import Colorant, Medium, Recipe, Step
from laydown.media.swatch import Swatch

PAPER = "Gannet smooth"
KELP, MOSS = Colorant("Kelp", "Shoal"), Colorant("Moss", "Bank", Medium.PENCIL)
SUPPLIES = Supplies(ranges=("Shoal", "Bank"), paper=PAPER)


@pytest.fixture(scope="module")
def kept(filled: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[float]]:
    """Make a library with markers and a pencil that keeps fits, and ask it, once for all."""
    path = shutil.copyfile(filled, tmp_path_factory.mktemp("kept") / "library.db")
    with closing(open_named(str(path))) as library:
        with library.work("fill") as work:
            work.add_swatches([Swatch(PAPER, Recipe((Step(MOSS),)), np.linspace(0.4, 0.5, 36))])
        add_trial(library, AddTrial(recipe="Kelp", color="lab:60,1,2", paper=PAPER))
        set_up(library, SUPPLIES)
    return path, predicted(str(path))


def predicted(location: str) -> list[float]:
    """Return what a library that is opened anew expects a coat of a marker and a pencil to be."""
    with closing(open_named(location)) as opened:
        fit = set_up(opened, SUPPLIES).whole
    labs = [predict(fit, Recipe((Step(colorant),))).lab for colorant in (KELP, MOSS)]
    return np.concatenate(labs).tolist()


def spoil(location: str, change: Callable[[str], str]) -> int:
    """Change every fit that is kept; return how many there are."""
    with closing(sqlite3.connect(location)) as connection, connection:
        kept = connection.execute("select id, payload from fits").fetchall()
        for number, payload in kept:
            spoiled = change(payload)
            assert spoiled != payload
            connection.execute("update fits set payload = ? where id = ?", (spoiled, number))
    return len(kept)


def field(name: str, value: object) -> Callable[[str], str]:
    """Return what puts another value into a field of a fit."""

    def change(payload: str) -> str:
        fit, notes = json.loads(payload)
        return json.dumps([{**fit, name: value}, notes])

    return change


SPOILED: dict[str, Callable[[str], str]] = {
    "nothing": lambda _: "",
    "no JSON": lambda payload: payload[:-9],
    "a list": lambda _: "[]",
    "a number": lambda _: "7",
    "nested": lambda _: "[" * 200_000,
    "many lists": lambda _: '{"colorants": [' + "[]," * 200_000 + "[]]}",
    "many numbers": lambda _: '{"colorants": [' + "1," * 1_000_000 + "1]}",
    "a field too many": field("crew", 7),
    "no covariance": field("covariance", []),
    "covariance of texts": field("covariance", [["a"]]),
    "strengths that are none": field("most_coats", [[2], [float("nan")] * 2]),
    "a hand of text": field("hand", "steady"),
    "a hand without end": field("hand", float("inf")),
    "other colorants": field("colorants", [{"name": "Gull", "range": "Cliff"}]),
    "colorants of text": field("colorants", "Kelp"),
    "another paper": field("paper", {"name": "Heron laid", "reflectance": [[36], [0.9] * 36]}),
    "paper of two bands": field("paper", {"name": PAPER, "reflectance": [[2], [0.9] * 2]}),
    "swatched what is none": field("swatched", [{"steps": [{"treatment": "prayer", "tool": ""}]}]),
    "notes of numbers": field("notes", [1, 2]),
    "told a number": lambda payload: payload[: payload.rindex("[")] + "[7]]",
    "another model": field("model_version", 3),
}


@pytest.mark.parametrize("kind", SPOILED)
def test_a_fit_that_was_meddled_with_is_made_anew(
    kept: tuple[Path, list[float]], tmp_path: Path, kind: str
) -> None:
    """The answer is what it was before, and what is kept is sound again."""
    path, before = kept
    asked = str(shutil.copyfile(path, tmp_path / "library.db"))
    assert spoil(asked, SPOILED[kind]) == 3
    assert predicted(asked) == pytest.approx(before, abs=1e-9)
    with closing(sqlite3.connect(asked)) as connection:
        for (payload,) in connection.execute("select payload from fits"):
            assert json.loads(payload)
    assert predicted(asked) == pytest.approx(before, abs=1e-9)
