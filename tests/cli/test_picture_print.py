"""A picture's plan printed, as a user would."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from click.testing import Result

from laydown.demo.lemons import draw_lemons, lemons_png

Run = Callable[..., Result]
AsJson = Callable[..., Any]
MM = 72.0 / 25.4


@pytest.fixture
def planned(shoal: Run, tmp_path: Path) -> Run:
    """Return the command line with a plan of lemons beside the range Shoal."""
    (tmp_path / "lemons.png").write_bytes(lemons_png(draw_lemons(rows=160, columns=240)))
    made = shoal("picture", "plan", "lemons.png", "--width", "120", "-o", "lemons.plan")
    assert made.exit_code == 0, made.output
    return shoal


def test_a_plan_is_printed_with_recipes(planned: Run, tmp_path: Path) -> None:
    """The PDF has the page asked for; the words tell recipes and size, and 3 says out of reach."""
    command = ("picture", "print", "lemons.plan", "--range", "Shoal", "--page", "a5")
    done = planned(*command, "-o", "lemons.pdf")
    assert done.exit_code == 3, done.output
    assert "Out of reach" in " ".join(done.stdout.split())
    assert "120 × 80 mm large on a sheet of 148 × 210 mm" in done.stdout
    numbered, *_ = pdfium.PdfDocument(tmp_path / "lemons.pdf")
    assert numbered.get_width() / MM == pytest.approx(148.0, abs=0.1)


def test_without_supplies_the_colors_alone_are_printed(run: Run, tmp_path: Path) -> None:
    """A picture is planned on the way; no library is made or asked."""
    (tmp_path / "lemons.png").write_bytes(lemons_png(draw_lemons(rows=160, columns=240)))
    done = run("picture", "print", "lemons.png", "-o", "lemons.svg")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "lemons.svg").read_text(encoding="utf-8").startswith("<svg ")
    assert not (tmp_path / "library.db").exists()


def test_without_a_file_it_is_told(planned: Run) -> None:
    """On standard output there are words, and the next command is named."""
    done = planned("picture", "print", "lemons.plan")
    assert done.exit_code == 0, done.output
    assert "120 × 80 mm large" in done.stdout
    assert "-o NAME.pdf" in done.stderr


def test_json_has_the_places_of_the_numbers(planned: Run, as_json: AsJson, tmp_path: Path) -> None:
    """Each region has a number within the picture, the same with --json and in a .json file."""
    told = as_json("picture", "print", "lemons.plan")
    plan, numbers = told["plan"], told["numbers"]
    assert {n["region"] for n in numbers} == {r["number"] for r in plan["regions"]}
    assert all(0 < n["x"] < plan["width"] and 0 < n["y"] < plan["height"] for n in numbers)
    planned("picture", "print", "lemons.plan", "-o", "lemons.json")
    assert json.loads((tmp_path / "lemons.json").read_text(encoding="utf-8")) == told


def test_two_kits_stand_side_by_side_on_a_page(planned: Run, tmp_path: Path) -> None:
    """HTML lists the recipes of both; a printed list holds one kit's, and says so."""
    planned("kit", "create", "few")
    planned("kit", "own", "few", "Kelp", "Net")
    command = ("picture", "print", "lemons.plan", "--range", "Shoal", "--beside", "few", "-o")
    done = planned(*command, "lemons.html")
    assert done.exit_code == 3, done.output
    page = (tmp_path / "lemons.html").read_text(encoding="utf-8")
    assert "Recipes from Shoal" in page
    assert "Recipes from few" in page
    refused = planned(*command, "lemons.pdf")
    assert refused.exit_code == 1
    assert "one kit" in refused.output
    assert not (tmp_path / "lemons.pdf").exists()


def test_values_alone_are_printed_as_such(planned: Run, tmp_path: Path) -> None:
    """The list says that hues are whatever the kit holds."""
    command = ("picture", "print", "lemons.plan", "--range", "Shoal", "--values-only")
    done = planned(*command, "-o", "lemons.svg")
    assert done.exit_code == 3, done.output
    assert "whatever hues" in (tmp_path / "lemons.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (("lemons.plan", "-o", "lemons.gif"), 1, "can't be written as .gif"),
        (("lemons.plan", "-o", "lemons"), 1, "End the name in .pdf"),
        (("lemons.plan", "--page", "postcard"), 1, "is no paper"),
        (("shoal.csv", "-o", "lemons.pdf"), 1, "is not a picture"),
        (("no.plan", "-o", "lemons.pdf"), 1, "can't be read"),
        (("lemons.plan", "--kit", "nobody's", "-o", "lemons.pdf"), 1, "nobody's"),
        (("lemons.plan", "--beside", "Shoal", "-o", "lemons.html"), 2, "--kit"),
        (("lemons.plan", "--values-only", "-o", "lemons.html"), 2, "--kit"),
    ],
)
def test_what_is_wrong_is_told_in_a_sentence(
    planned: Run, arguments: tuple[str, ...], code: int, said: str
) -> None:
    """Wrong files, names and papers end with a sentence and a hint, and nothing is written."""
    result = planned("picture", "print", *arguments)
    assert result.exit_code == code, result.output
    assert said in result.output
    assert "fault of laydown" not in result.output
    assert not Path(arguments[-1]).exists()
