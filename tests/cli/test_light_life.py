"""Lightfastness and life on a wall, from the command line."""

import importlib.util
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from click.testing import Result

from laydown.color.lab import ciede2000

Run = Callable[..., Result]
SHOAL = ["--range", "Shoal"]
WALL = ["--lux", "100-200", "--glass", "filter"]


def by_path(name: str, path: Path) -> ModuleType:
    """Return a module of the tests by its file, once."""
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="module")
def sheets() -> ModuleType:
    """Return the tests of sheets, which print and photograph them."""
    return by_path("laydown_test_sheets", Path(__file__).parent / "test_sheet.py")


def done(result: Result) -> str:
    """Return what a command gave, once it went well."""
    assert result.exit_code == 0, result.output
    return result.stdout


def test_a_class_is_stated_listed_and_undone(shoal: Run) -> None:
    """Stating it changes the list, and one undo takes it back."""
    assert "blue wool 3: 2 colorants changed" in done(shoal("light", "rate", "3", "Kelp", "Dune"))
    text = done(shoal("light", "ratings", *SHOAL))
    assert "Shoal/Kelp  blue wool 3" in text
    assert "Nothing is known of 2 colorants: Net, Skiff." in text
    done(shoal("library", "undo"))
    assert "Nothing is known of 4 colorants" in done(shoal("light", "ratings", *SHOAL))


@pytest.mark.parametrize("grade", ["9", "***", "very good"])
def test_a_makers_own_words_are_no_class(shoal: Run, grade: str) -> None:
    """They are refused with what is allowed, and nothing changes."""
    result = shoal("light", "rate", grade, "Kelp")
    assert result.exit_code == 1
    assert "is no class of lightfastness" in result.stderr
    assert "I to V" in result.stderr


def test_a_list_of_classes_comes_in_and_goes_out(shoal: Run, tmp_path: Path) -> None:
    """What goes out is what came in, both stated classes and window readings."""
    text = "range,color,class,source\nShoal,Kelp,2,label\nShoal,Dune,II,tube\n"
    (tmp_path / "classes.csv").write_text(text, encoding="utf-8")
    assert "2 of 2 classes" in done(shoal("light", "import", "classes.csv"))
    out = done(shoal("light", "export"))
    assert [line.split(",")[:4] for line in out.splitlines()[1:]] == [
        ["Shoal", "Dune", "II", "tube"],
        ["Shoal", "Kelp", "2", "label"],
    ]


def test_a_window_test_is_noted_listed_and_forgotten(shoal: Run) -> None:
    """Two readings over time are kept with their numbers, and a number can be forgotten."""
    light = ["--lux", "2000-8000", "--hours", "9", "--glass", "plain"]
    first = ["light", "window", "Kelp", "--after", "lab:54,-20,22", *light, "--days", "10"]
    assert "1  Shoal/Kelp: moved by" in done(shoal(*first))
    done(shoal("light", "window", "Kelp", "--after", "lab:58,-15,19", "--dose", "0.5-2"))
    text = done(shoal("light", "ratings"))
    assert "window test, 2 readings" in text
    assert "0.18-0.72" in text
    done(shoal("light", "forget", "1"))
    assert "window test, 1 reading " in done(shoal("light", "ratings"))
    missing = shoal("light", "forget", "1")
    assert (missing.exit_code, "number 1" in missing.stderr) == (1, True)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["window", "Kelp", "--dose", "1"], "--after"),
        (["window", "--after", "lab:50,0,0", "--dose", "1"], "COLORANT"),
        (["window", "Kelp", "--after", "lab:50,0,0"], "--dose"),
        (["window", "Kelp", "--after", "lab:50,0,0", "--lux", "100"], "--days"),
        (["life", "Kelp", *SHOAL], "--lux"),
        (["rate", "3"], "Name colorants"),
    ],
)
def test_what_is_missing_is_asked_for(shoal: Run, arguments: list[str], said: str) -> None:
    """A command without its light, its days or its colorant says which option is missing."""
    result = shoal("light", *arguments)
    assert result.exit_code == 2
    assert said in result.stderr


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--lux", "bright", "is no light in lux"),
        ("--lux", "200-100", "is no light in lux"),
        ("--lux", "0", "is no light in lux"),
        ("--lux", "9999999", "9,999,999 lux"),
        ("--hours", "25", "25 hours"),
        ("--days", "-3", "-3 days"),
    ],
)
def test_light_that_cannot_be_is_refused(shoal: Run, option: str, value: str, said: str) -> None:
    """One sentence says what is wrong and what is allowed."""
    result = shoal("light", "life", "--laid", "Kelp", "--lux", "100", option, value)
    assert result.exit_code == 1
    assert said in result.stderr


def test_life_tells_a_range_what_goes_first_and_how_to_show_it(shoal: Run) -> None:
    """The weakest part stands first, with its colorant in plain words; its class stands below."""
    done(shoal("light", "rate", "1", "Dune"))
    done(shoal("light", "rate", "4", "Kelp"))
    text = " ".join(
        done(shoal("light", "life", "--laid", "Kelp", "--laid", "Dune*2", *WALL)).split()
    )
    assert "First goes Dune twice: just noticeable about" in text
    assert re.search(r"Within a year [12] of 2 may change that much\.", text)
    fast, slow = "Dune goes first (fades very fast)", "Kelp goes first (fades slowly)"
    assert text.index(fast) < text.index(slow) < text.index("Dune: blue wool 1. Kelp: blue wool 4.")
    assert re.search(r"noticeable about \d+ weeks to \d+ (months|years);[^.]*\. Dune goes", text)
    for words in ("How to show it", "no promise", "secondary sources"):
        assert words in text


def test_an_unknown_class_gets_no_forecast(shoal: Run, as_json: Callable[..., Any]) -> None:
    """Neither years nor doses are told, and the next command names the colorant."""
    result = shoal("light", "life", "--laid", "Kelp", *WALL)
    assert "no known lightfastness: Kelp" in done(result)
    assert 'light rate CLASS "Shoal/Kelp"' in result.stderr
    (part,) = as_json("light", "life", "--laid", "Kelp", *WALL)["parts"]
    assert (part["noticeable"], part["clear"]) == (None, None)
    assert part["life"]["noticeable"] is None


def test_a_list_is_matched_and_written_as_a_report(
    shoal: Run, tmp_path: Path, as_json: Callable[..., Any]
) -> None:
    """Each color of a list is a part; the report is a PDF where the name asks for it."""
    (tmp_path / "weeds.csv").write_text("passage,role,color\nweeds,light,Dune\n,,Kelp\n")
    done(shoal("light", "rate", "3", *SHOAL))
    fast = ["--steps", "1", "--coats", "2", *SHOAL, *WALL]
    found = as_json("light", "life", "weeds.csv", *fast)
    assert {(p["passage"], p["name"]) for p in found["parts"]} == {("weeds", "Dune"), ("", "Kelp")}
    done(shoal("light", "life", "weeds.csv", *fast, "-o", "life.pdf"))
    assert (tmp_path / "life.pdf").read_bytes().startswith(b"%PDF")


def test_a_sheet_that_hung_in_a_window_is_its_own_record(
    shoal: Run, photos: ModuleType, sheets: ModuleType, tmp_path: Path
) -> None:
    """Read before and photographed after, its plain coats become window readings, no swatches."""
    number = sheets.printed(shoal, "kit", *sheets.RANGE)
    sheets.photographed(photos, tmp_path, number)
    early = shoal("light", "window", "--sheet", "photo.jpg", "--dose", "1-3")
    assert (early.exit_code, "before and after" in early.stderr) == (1, True)
    done(shoal("sheet", "read", "photo.jpg"))
    before = json.loads(done(shoal("swatches", "list", "--json")))
    sheets.photographed(photos, tmp_path, number, darker=1.25)
    told = done(shoal("light", "window", "--sheet", "photo.jpg", "--dose", "1-3"))
    assert "moved by" in told
    readings = json.loads(done(shoal("light", "ratings", "--json")))["colorants"]
    assert {one["colorant"]["range"] for one in readings} == {"Shoal"}
    taken = [test["reading"] for one in readings for test in one["tests"]]
    seen = np.array([(r["before"], r["after"]) for r in taken])
    assert ciede2000(seen[:, 0], seen[:, 1]).min() > 2.0
    assert json.loads(done(shoal("swatches", "list", "--json"))) == before
