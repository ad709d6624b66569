import csv
import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from pypdfium2 import PdfDocument

Run = Callable[..., Result]
AsJson = Callable[..., Any]


def _recipe(answer: Any) -> str:
    return str(answer["best"]["prediction"]["recipe"])


def test_a_color_that_one_marker_has_is_that_marker(shoal: Run) -> None:
    """One coat's own color is matched by one coat, which depends on nothing assumed."""
    found = shoal("match", "lab:60,-8,-30")
    assert found.exit_code == 0, found.output
    assert "Recipe     Skiff" in found.stdout
    assert "Lay one even coat of Skiff" in found.stdout
    assert "Verdict    same" in found.stdout
    assert "in 80 of 100" in found.stdout
    assert "Assumed" not in found.stdout


def test_a_color_out_of_reach_is_an_answer_with_exit_code_3(shoal: Run, as_json: AsJson) -> None:
    """Out of reach is an answer in full, told by the exit code as well."""
    found = shoal("match", "lab:54,80,68")
    assert found.exit_code == 3
    assert "Verdict    out of reach" in found.stdout
    assert as_json("match", "lab:54,80,68", code=3)["best"]["verdict"] == "out of reach"


@pytest.mark.parametrize(
    ("typed", "origin"),
    [
        ("lab:60,-8,-30", "typed"),
        ("5GY 6/4", "typed"),
        ("N 5/", "typed"),
        ("#3060a0", "screen estimate"),
        ("skiff", "measured"),
        ("Shoal/Skiff", "measured"),
        ("Kelp*2", "measured"),
        ("Dune; Skiff", "predicted from swatches"),
    ],
)
def test_a_wanted_color_takes_every_form(
    shoal: Run, as_json: AsJson, typed: str, origin: str
) -> None:
    """A color is wanted as Lab, notation, screen color, name or recipe; it says which it was."""
    assert shoal("paper", "list").exit_code == 0
    code = shoal("match", typed, "--steps", "1", "--json").exit_code
    answer = as_json("match", typed, "--steps", "1", code=code)
    assert answer["target"]["origin"] == origin
    assert answer["target"]["name"] == typed


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("lab:60,-8", "is not lab: and three numbers"),
        ("lab:60;8;3", "is not lab: and three numbers"),
        ("lab:nan,0,0", "is not lab: and three numbers"),
        ("lab:60,-150,10", "no surface can have"),
        ("lab:120,0,0", "no surface can have"),
        ("#12345", "#12345"),
        ("5GY 6/99", "5GY 6/99"),
        ("Skif", "Skiff"),
        ("Dune*12", "12 coats"),
        ("", "No color was named"),
        ("solvent by swab", "No color was named"),
    ],
)
def test_what_is_no_color_is_refused(shoal: Run, typed: str, told: str) -> None:
    """What can't be read as a color is one sentence and a hint, and exit code 1."""
    refused = shoal("match", typed)
    assert refused.exit_code == 1
    assert told in refused.stderr
    assert refused.stdout == ""


def test_supplies_are_what_the_user_says(shoal: Run, as_json: AsJson) -> None:
    """Only colorants of the kit are used, and none that is left out."""
    shoal("kit", "create", "mine")
    shoal("kit", "own", "mine", "Dune", "Net", "Skiff")
    answer = as_json("match", "Kelp", "--kit", "mine", code=3)
    assert "Kelp" not in _recipe(answer)
    assert answer["kit"] == "mine"
    answer = as_json("match", "Skiff", "--kit", "mine", "--without", "skiff", code=3)
    assert "Skiff" not in _recipe(answer)


def test_limits_hold(shoal: Run, as_json: AsJson) -> None:
    """Steps and coats limit what is searched; the paper's own limit counts, too."""
    assert as_json("match", "Kelp", "--steps", "1", "--coats", "1")["considered"] == 5
    assert as_json("match", "Kelp", "--steps", "1", "--coats", "3")["considered"] == 13
    shoal("paper", "edit", "Gannet smooth", "--coats-limit", "2")
    assert as_json("match", "Kelp", "--steps", "1", "--coats", "3")["considered"] == 9


def test_over_starts_from_what_lies_there(shoal: Run) -> None:
    """With --over every recipe begins with what is there and says only what to add."""
    found = shoal("match", "Kelp*2", "--over", "Kelp")
    assert "Lies there Kelp\nRecipe     Kelp; Kelp" in found.stdout
    assert found.stdout.count("Lay one even coat of Kelp") == 1


def test_the_same_question_gives_the_same_bytes(shoal: Run) -> None:
    """JSON of the same question is the same twice: once fitted anew, once from the kept fit."""
    assert shoal("swatches", "import", "shoal.csv", "--db", "new.db").exit_code == 0
    asked = ("match", "lab:60,-8,-30", "--db", "new.db", "--json")
    first = shoal(*asked)
    assert json.loads(first.stdout)["best"]
    assert first.stdout_bytes == shoal(*asked).stdout_bytes


def test_a_kit_and_a_range_at_once_is_a_usage_error(shoal: Run) -> None:
    """A kit and a range name the supplies twice."""
    assert shoal("match", "Kelp", "--kit", "mine", "--range", "Shoal").exit_code == 2


def test_an_empty_library_says_what_to_do(run: Run) -> None:
    """Without any swatches the answer is what to do first."""
    refused = run("match", "lab:50,0,0")
    assert refused.exit_code == 1
    assert "laydown swatches import" in refused.stderr


def test_several_papers_must_be_told_apart(shoal: Run) -> None:
    """With two papers the paper must be named; the hint lists them."""
    shoal("paper", "add", "Heron laid")
    refused = shoal("match", "Kelp")
    assert refused.exit_code == 1
    assert "Say which paper: Gannet smooth, Heron laid (--paper)." in refused.stderr


def test_a_color_of_another_paper_can_be_wanted(shoal: Run, as_json: AsJson) -> None:
    """A name is wanted as it looks on the paper of --from-paper, matched on the one of --paper."""
    text = "range,color,paper,coats,L,a,b\nShoal,Kelp,Heron laid,1,60,-8,-30\n"
    shoal("swatches", "import", "-", stdin=text)
    answer = as_json("match", "Kelp", "--paper", "Gannet smooth", "--from-paper", "Heron laid")
    assert _recipe(answer) == "Shoal/Skiff"


def test_top_says_how_many_others(shoal: Run, as_json: AsJson) -> None:
    """As many alternatives are given as were asked for."""
    assert shoal("paper", "list").exit_code == 0
    asked = [as_json("match", "Skiff", "--steps", "1", "--top", str(n)) for n in (0, 2)]
    assert [len(answer["alternatives"]) for answer in asked] == [0, 2]


def test_tolerance_moves_acceptance(shoal: Run, as_json: AsJson) -> None:
    """A looser tolerance is met more often, by the same recipe."""
    assert shoal("paper", "list").exit_code == 0
    chances = [
        as_json("match", "Skiff", "--steps", "1", "--tolerance", tolerance)["best"]["acceptance"]
        for tolerance in ("sketch", "class", "close")
    ]
    assert chances[0] > chances[1] > chances[2]


def test_kl_moves_the_ranking_and_not_the_verdict(shoal: Run, as_json: AsJson) -> None:
    """A recipe costs more where lightness weighs more; its difference is at kL 1 all the same."""
    assert shoal("paper", "list").exit_code == 0
    asked = ("match", "lab:66,-8,-30", "--steps", "1", "--coats", "1", "--step-effort", "0")
    asked += ("--coat-effort", "0")
    code = shoal(*asked, "--json").exit_code
    first, by_eye = (as_json(*asked, "--kl", factor, code=code)["best"] for factor in ("0.5", "1"))
    assert first["prediction"]["recipe"] == by_eye["prediction"]["recipe"]
    assert first["cost"] > 1.2 * by_eye["cost"]
    assert first["difference"] == by_eye["difference"]
    assert 0 < by_eye["cost"] - by_eye["difference"]["delta_e"] < 1.0


def test_effort_makes_shorter_recipes_win(shoal: Run, as_json: AsJson) -> None:
    """A step that must bring twenty units of CIEDE2000 is not worth laying."""
    wanted = ("match", "Dune; Skiff", "--range", "Shoal")
    assert ";" in as_json(*wanted)["best"]["prediction"]["recipe"]
    single = as_json(*wanted, "--step-effort", "20", code=3)
    assert ";" not in single["best"]["prediction"]["recipe"]
    assert shoal(*wanted, "--coat-effort", "-1").exit_code == 2


def test_each_other_color_is_laid_over_one_and_under_it(shoal: Run) -> None:
    """All but the color itself stand in both tables, and in both lists of the JSON."""
    told = shoal("run", "over", "Kelp", "--range", "Shoal").stdout
    over, under = told.split("\n\n")
    found = json.loads(shoal("run", "over", "Kelp", "--range", "Shoal", "--json").stdout)
    for table, laid in ((over, found["over"]), (under, found["under"])):
        names = {one["other"]["name"] for one in laid}
        assert "Kelp" not in names
        assert len(names) > 1
        lines = table.splitlines()[1:]
        assert len(lines) == len(names)
        assert all(any(line.startswith(name) for line in lines) for name in names)
        muddy = {one["other"]["name"] for one in laid if one["muddy"]}
        assert {line.split("  ")[0] for line in lines if line.endswith("muddy")} == muddy


QUICK = ("--steps", "2", "--coats", "2", "--top", "1")
LESSON = """\
passage,role,color,note
weeds,shadow,Kelp*2,behind
weeds,highlight,"lab:60,-8,-30",
boat,midtone,Net; Dune,
"""


@pytest.mark.parametrize(
    ("ending", "begins"),
    [("pdf", b"%PDF"), ("html", b"<!DOCTYPE html>"), ("csv", b"number,"), ("json", b"{")],
)
def test_a_list_becomes_a_chart_in_every_form(
    shoal: Run, tmp_path: Path, ending: str, begins: bytes
) -> None:
    """The ending of the file's name decides the form; the same request gives the same bytes."""
    (tmp_path / "lesson.csv").write_text(LESSON, encoding="utf-8")
    made = shoal("chart", "lesson.csv", *QUICK, "-o", f"chart.{ending}")
    assert made.exit_code == 0, made.output
    content = (tmp_path / f"chart.{ending}").read_bytes()
    assert content[:20].lower().startswith(begins.lower())
    shoal("chart", "lesson.csv", *QUICK, "-o", f"again.{ending}")
    assert content == (tmp_path / f"again.{ending}").read_bytes()


def test_a_chart_is_one_page_and_its_details_follow_where_asked(shoal: Run, tmp_path: Path) -> None:
    """What lies behind a chart is printed with --details alone."""
    (tmp_path / "lesson.csv").write_text(LESSON, encoding="utf-8")
    shoal("chart", "lesson.csv", *QUICK, "-o", "chart.pdf")
    shoal("chart", "lesson.csv", *QUICK, "--details", "-o", "whole.pdf")
    counts = [len(PdfDocument(tmp_path / f"{name}.pdf")) for name in ("chart", "whole")]
    assert counts[0] == 1
    assert counts[1] > 1
    made = shoal("chart", "lesson.csv", *QUICK, "--details", "--format", "html")
    assert "<details open>" in made.stdout


def test_a_chart_is_in_coloring_order(shoal: Run) -> None:
    """Passages stand as first named, each from light to dark, with roles and names kept."""
    told = shoal("chart", "-", *QUICK, "--format", "csv", stdin=LESSON)
    rows = list(csv.DictReader(io.StringIO(told.stdout)))
    assert [(r["passage"], r["role"]) for r in rows] == [
        ("weeds", "highlight"),
        ("weeds", "shadow"),
        ("boat", "midtone"),
    ]
    assert rows[1]["name"] == "Kelp*2"


def test_a_whole_range_or_kit_can_be_converted(shoal: Run) -> None:
    """Every colorant of a range, or of a kit, is a wanted color."""
    made = json.loads(shoal("chart", "--colors-of", "shoal", *QUICK, "--json").stdout)
    assert [m["target"]["name"] for m in made["matches"]] == ["Dune", "Net", "Skiff", "Kelp"]
    shoal("kit", "create", "mine")
    shoal("kit", "own", "mine", "Net")
    made = json.loads(shoal("chart", "--colors-of-kit", "mine", *QUICK, "--json").stdout)
    assert [m["target"]["name"] for m in made["matches"]] == ["Net"]


def test_a_chart_says_what_it_found(shoal: Run) -> None:
    """What came of it goes to stderr: how many colors, and their verdicts."""
    made = shoal("chart", "--color", "Net", "--color", "lab:54,80,68", *QUICK, "-o", "c.csv")
    assert "2 colors from Shoal on Gannet smooth: " in made.stderr
    assert "1 out of reach" in made.stderr


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("color\n", "names no color"),
        ("colour\nKelp\n", "no column “colour”[^?]*Did you mean color"),
        ("passage\nweeds\n", "line 1: the column “color” is missing"),
        ("color,color\nKelp,Kelp\n", "stands in column 1 already"),
        ("color\nKelp,Dune\n", "line 2: 2 cells"),
        ("passage,color\nweeds,\n", "line 2, column color: it is empty"),
        ("color\nDune\nKlep\n", "line 3: [^?]*Did you mean Kelp"),
        ("color\nlab:1\n", "line 2: “lab:1” is not lab"),
    ],
)
def test_a_bad_list_is_refused_with_its_place(
    shoal: Run, tmp_path: Path, text: str, told: str
) -> None:
    """A list that can't be read is refused with line and column, and no chart is written."""
    (tmp_path / "lesson.csv").write_text(text, encoding="utf-8")
    refused = shoal("chart", "lesson.csv", "-o", "chart.pdf")
    assert refused.exit_code == 1
    assert re.search(r"^lesson\.csv", refused.stderr, flags=re.MULTILINE)
    assert not (tmp_path / "chart.pdf").exists()
    assert re.search(told, refused.stderr), refused.stderr


def test_nothing_to_convert_is_a_usage_error(shoal: Run) -> None:
    """A chart of nothing is not enough said."""
    assert shoal("chart").exit_code == 2


def test_an_unknown_form_is_refused_before_the_work(shoal: Run) -> None:
    """An ending that is no form of a chart is refused with those that are."""
    refused = shoal("chart", "--color", "Kelp", "-o", "chart.docx")
    assert refused.exit_code == 1
    assert ".pdf, .html, .csv, .json" in refused.stderr
