import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
AsJson = Callable[..., Any]
USUAL = ["D65", "A", "FL11", "LED-B1", "LED-B3", "LED-V1"]
ASK = ("--range", "Shoal", "--paper", "Gannet smooth", "--steps", "2")


def test_one_color_is_told_light_by_light(shoal: Run) -> None:
    """A table names each light, its verdict, the color's own look there, and the index."""
    told = shoal("light", "check", "lab:60,-15,10", *ASK)
    assert told.exit_code in {0, 3}, told.output
    for word in (
        "noon daylight",
        "evening lamp",
        "gallery LED, warm",
        "color wanted looks",
        "index",
    ):
        assert word in told.stdout
    assert "Estimated, since of the color wanted no spectrum is known" in told.stdout


def test_a_color_from_its_own_kit_does_not_break(shoal: Run) -> None:
    """Kelp made from a kit with Kelp in it is borne under every light, estimated as it is."""
    told = shoal("light", "check", "Kelp", *ASK)
    assert told.exit_code == 0, told.output
    assert "breaks" not in told.stdout
    assert "no spectrum was measured of Kelp" in " ".join(told.stdout.split())


def test_a_list_is_told_as_a_table(shoal: Run, as_json: AsJson, tmp_path: Path) -> None:
    """Every color has a line, and the whole is counted; the exit code says whether one breaks."""
    text = 'color,name\nDune,one\n"lab:60,-15,10",two\n"lab:50,30,20",three\n'
    (tmp_path / "boats.csv").write_text(text, encoding="utf-8")
    told = shoal("light", "check", "boats.csv", *ASK)
    assert "Of 3 matches" in told.stdout
    lines = [line.split()[0] for line in told.stdout.splitlines() if line]
    assert {"one", "two", "three"} <= set(lines)
    broken = "break" in told.stdout.partition("Of 3 matches")[2].partition("\n")[0]
    assert told.exit_code == (3 if broken else 0)
    found = as_json("light", "check", "boats.csv", *ASK, code=told.exit_code)
    assert [one["cie"] for one in found["lights"]] == USUAL
    for color in found["colors"]:
        for seen in color["check"]["lights"]:
            low, high = seen["index_range"]
            assert seen["holding"] in {"holds", "drifts", "breaks"}
            assert 0 <= low <= high
            assert 0 <= seen["acceptance"] <= 1


def test_lights_are_named_plainly_or_as_the_cie_does(shoal: Run, as_json: AsJson) -> None:
    """“lamp” is enough for the evening lamp; A is the same light and counts once."""
    words = ("light", "check", "Kelp", *ASK, "--light", "lamp", "--light", "a", "--light", "FL2")
    assert [one["cie"] for one in as_json(*words)["lights"]] == ["A", "FL2"]


@pytest.mark.parametrize("form", ["pdf", "html", "csv", "json"])
def test_the_answer_is_written_as_a_document(shoal: Run, tmp_path: Path, form: str) -> None:
    """With -o the check goes into a file of each form."""
    done = shoal("light", "check", "lab:60,-15,10", *ASK, "--light", "lamp", "-o", f"l.{form}")
    assert done.exit_code in {0, 3}, done.output
    content = (tmp_path / f"l.{form}").read_bytes()
    if form == "csv":
        rows = list(csv.DictReader(content.decode().splitlines()))
        assert [row["cie"] for row in rows] == ["D50", "A"]
    elif form == "json":
        assert json.loads(content)["day"]["cie"] == "D50"
    else:
        assert len(content) > 1000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("Kelp", "--light", "candel"), "no light called"),
        (("Kelp", "--light", "LED"), "may be home LED or"),
        (("Kelp", "--light", "D50"), "no other light was named"),
        (("Kelpp",), "Kelp"),
        (("nothere.csv",), "can't be read"),
        (("lab:60,-15", "--light", "lamp"), "three numbers"),
        (("Kelp", "-o", "l.doc"), "can't be written as .doc"),
    ],
)
def test_what_can_be_mended_is_said_in_a_sentence(shoal: Run, words: Any, said: str) -> None:
    """A wrong light, color, file or form ends with exit code 1 and says what is known."""
    told = shoal("light", "check", *words, *ASK)
    assert told.exit_code == 1
    assert said in told.stderr
    assert "Traceback" not in told.stderr
