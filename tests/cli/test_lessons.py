"""Lessons, runs, comparisons and choices tried as a user would."""

import contextlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from laydown.cli.main import door

pytestmark = pytest.mark.long

Run = Callable[..., Result]
AsJson = Callable[..., Any]

LIST = """\
color,passage,role,note
Dune,bank,highlight,in the sun
Kelp,bank,shadow,
Dune; Skiff,water,midtone,
#405060,water,shadow,from a picture
"""


@pytest.fixture(scope="module")
def bank(shoal_library: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a lesson from the range Shoal once, for all tests to copy."""
    folder = tmp_path_factory.mktemp("bank")
    shutil.copytree(shoal_library, folder, dirs_exist_ok=True)
    (folder / "bank.csv").write_text(LIST, encoding="utf-8")
    with contextlib.chdir(folder):
        command = ["lesson", "new", "bank.csv", "--note", "Invented.", "-o", "bank.txt"]
        made = CliRunner().invoke(door, [*command, "--db", "library.db"])
    assert made.exit_code == 0, made.output
    return folder


@pytest.fixture
def taught(run: Run, tmp_path: Path, bank: Path) -> Run:
    """Return the command line with a lesson file beside the range Shoal."""
    shutil.copytree(bank, tmp_path, dirs_exist_ok=True)
    return run


def test_a_lesson_needs_none_of_the_teachers_colorants(taught: Run, tmp_path: Path) -> None:
    """The file holds XYZ where no more was measured, paper, roles and notes."""
    text = (tmp_path / "bank.txt").read_text(encoding="utf-8")
    assert text.startswith("laydown lesson 1\ntitle: bank\npaper: Gannet smooth\n")
    assert text.count("xyz:") == 3
    assert "screen: #405060" in text
    assert "note: in the sun" in text
    shown = taught("lesson", "show", "bank.txt")
    assert shown.exit_code == 0
    assert "screen estimate" in shown.output


def test_a_lesson_says_how_each_color_is_known(
    taught: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """Measured is what was swatched; layers that never were are predicted, numbers are typed."""
    (tmp_path / "bank.csv").write_text(f'{LIST}"lab:60,10,5",,,\n', encoding="utf-8")
    assert taught("lesson", "new", "bank.csv", "-o", "bank.txt").exit_code == 0
    shown = as_json("lesson", "show", "bank.txt")["lesson"]["colors"]
    known = ["measured", "measured", "predicted from swatches", "#405060", "typed"]
    assert [color["screen"] or color["known"] for color in shown] == known
    assert shown[2]["made_with"] == "Dune; Skiff"


@pytest.mark.parametrize("form", ["pdf", "html", "csv", "json"])
def test_a_lesson_is_converted_into_a_chart(taught: Run, tmp_path: Path, form: str) -> None:
    """With -o the whole goes into a chart of each form."""
    done = taught(
        "lesson", "convert", "bank.txt", "--turns", "0", "--steps", "2", "-o", f"b.{form}"
    )
    assert done.exit_code in {0, 3}, done.output
    assert (tmp_path / f"b.{form}").stat().st_size > 200


def test_the_three_answers_stand_in_json(taught: Run, as_json: AsJson) -> None:
    """Color by color, as a whole with cost and bound, and the turns."""
    found = as_json("lesson", "convert", "bank.txt", "--turns", "2", "--steps", "2")
    whole = found["conversion"]
    assert whole["optimum"]["bound"] <= whole["optimum"]["cost"] + 1e-6
    assert len(whole["broken"]) <= len(whole["broken_singly"])
    assert len(found["turned"]) == 2
    assert len(found["names"]) == len(whole["recipes"]) == 4


def test_a_turned_palette_can_be_charted(taught: Run, tmp_path: Path) -> None:
    """A turn that was offered is charted; one that wasn't is refused."""
    words = ("lesson", "convert", "bank.txt", "--steps", "2", "--turns", "1", "--as", "turned")
    assert taught(*words, "-o", "t.csv").exit_code in {0, 3}
    assert "Dune" in (tmp_path / "t.csv").read_text(encoding="utf-8")
    assert taught(*words, "--turn", "2", "-o", "u.csv").exit_code == 2


def test_a_pack_is_two_files(taught: Run, tmp_path: Path) -> None:
    """A PDF and one page without script or request, with cautions and the way without solvent."""
    done = taught("lesson", "pack", "bank.txt", "--range", "Shoal", "--steps", "2", "-o", "pack")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "pack.pdf").read_bytes().startswith(b"%PDF")
    page = (tmp_path / "pack.html").read_text(encoding="utf-8")
    for title in ("Supplies from Shoal", "Value strip", "Blend strips", "Without solvent"):
        assert title in page
    assert "<script" not in page
    assert "Take care" in page
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org", "")


def test_a_classs_returns_keep_person_and_paper(
    taught: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """Returns merge by the colors' names; what is missing or unknown is told."""
    text = (tmp_path / "bank.txt").read_text(encoding="utf-8")
    (tmp_path / "ana.txt").write_text(text, encoding="utf-8")
    ben = (
        "laydown lesson 1\npaper: Heron laid\ncolor: Dune\nxyz: 30 32 20\n"
        "color: Moss\nxyz: 30 32 20\n"
    )
    (tmp_path / "ben.txt").write_text(ben, encoding="utf-8")
    words = ("lesson", "gather", "bank.txt", "Ana=ana.txt", "Ben=ben.txt")
    first, second = as_json(*words)["people"]
    assert (first["person"], first["paper"], len(first["colors"])) == ("Ana", "Gannet smooth", 4)
    assert first["mean"] == 0
    assert (second["person"], second["paper"], len(second["colors"])) == ("Ben", "Heron laid", 1)
    assert second["value"] < -1
    assert second["missing"] == ["Kelp", "Dune; Skiff", "#405060"]
    assert second["unknown"] == ["Moss"]
    assert taught(*words, "-o", "class.csv").exit_code == 0
    assert len((tmp_path / "class.csv").read_text(encoding="utf-8").splitlines()) == 6
    assert taught("lesson", "gather", "bank.txt", "A=ana.txt", "A=ana.txt").exit_code == 1
    assert taught("lesson", "gather", "bank.txt", "ana.txt").exit_code == 2


def test_runs_and_partners_are_listed(shoal: Run, as_json: AsJson) -> None:
    """Every colorant is in a run or named as lonely; partners have their blend."""
    found = as_json("run", "list", "--range", "Shoal")
    in_runs = {s["name"] for run in found["runs"] for s in run["shades"]}
    assert in_runs | {s["name"] for s in found["alone"]} == {"Kelp", "Dune", "Skiff", "Net"}
    partners = as_json("run", "partners", "Net", "--range", "Shoal")["partners"]
    assert {p["role"] for p in partners} <= {"highlight", "shadow"}
    assert shoal("run", "list", "--range", "Shoal", "-o", "r.pdf").exit_code == 0
    assert shoal("run", "partners", "Nett", "--range", "Shoal").exit_code == 1


def test_a_box_is_laid_out_on_a_page(shoal: Run, as_json: AsJson, tmp_path: Path) -> None:
    """Every colorant is told with its value, and drawn in every form."""
    found = as_json("kit", "page", "--range", "Shoal")
    assert {shade["name"] for shade in found["shades"]} == {"Kelp", "Dune", "Skiff", "Net"}
    told = shoal("kit", "page", "--range", "Shoal").stdout
    assert all(shade["name"] in told for shade in found["shades"])
    for form, begins in (("pdf", b"%PDF"), ("html", b"<!DOCTYPE"), ("csv", b"section")):
        assert shoal("kit", "page", "--range", "Shoal", "-o", f"box.{form}").exit_code == 0
        assert (tmp_path / f"box.{form}").read_bytes().startswith(begins)


def test_a_range_compared_with_itself_reaches_nothing_alone(
    shoal: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """All pairs agree, and nothing is out of the other's reach."""
    found = as_json("range", "compare", "Shoal", "Shoal")
    made = found["comparison"]
    assert all(pair["difference"] == 0 for pair in made["agreements"])
    assert sum(reach["alone"] for reach in made["first"]["reach"]) == 0
    assert found["svg"][0].startswith("<svg")
    assert shoal("range", "compare", "Shoal", "Shoal", "-o", "c.svg").exit_code == 0
    drawn = (tmp_path / "c.svg").read_text(encoding="utf-8")
    assert drawn.count("<rect") == 2 * 2 * 4
    assert "Value over hue" in drawn
    assert "Hue and chroma" in drawn
    assert shoal("range", "compare", "Shoal", "Shoal", "-o", "c.doc").exit_code == 1


def test_a_kit_is_chosen_with_prices_and_proof(
    taught: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """The cheapest purchase is proven, extras counted, and nothing bought is told."""
    (tmp_path / "prices.csv").write_text(
        "kind,name,contents,price,currency\n"
        "single,Kelp,,2.50,EUR\nsingle,Dune,,2.50,EUR\nsingle,Skiff,,2.50,EUR\n"
        "set,Both,Skiff; Dune,4.00,\nextra,paper,,3.00,\n",
        encoding="utf-8",
    )
    words = ("kit", "choose", "bank.txt", "--range", "Shoal", "--prices", "prices.csv")
    found = as_json(*words, "--aim", "cheapest", "--seconds", "3600", code=3)
    choice = found["groups"][0]["choice"]
    assert choice["chosen"]["proven"] is True
    assert [o["name"] for o in choice["chosen"]["bought"]] == ["Shoal/Kelp", "Both"]
    assert choice["chosen"]["price"] == 250 + 400 + 300
    assert choice["unreachable"] == ["#405060"]
    told = taught(*words, "--aim", "cheapest", "--seconds", "3600")
    assert "No other choice does better" in told.output
    assert "With nothing bought" in told.output
    assert taught(*words, "-o", "buy.pdf").exit_code == 3
    assert "Skiff" in json.dumps(choice)


def test_what_short_recipes_cannot_make_is_no_more_out_of_reach_than_converted(
    taught: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """A color that a longer recipe makes is told with that recipe; out of reach is what the lesson
    converted to all that is for sale calls so.
    """
    wanted = 'color,name\nKelp; Net; Skiff,glade\n"lab:60,70,40",flame\n'
    (tmp_path / "glade.csv").write_text(wanted, encoding="utf-8")
    assert taught("lesson", "new", "glade.csv", "-o", "glade.txt").exit_code == 0
    choose = ("kit", "choose", "glade.txt", "--range", "Shoal", "--coats", "1", "--seconds", "5")
    told = taught(*choose)
    said = " ".join(told.output.split())
    assert told.exit_code == 3
    assert "Too far off, whatever you buy: flame." in said
    assert "A longer recipe makes glade: 1 coat Kelp, then 1 coat Net" in said
    choice = as_json(*choose, code=3)["groups"][0]["choice"]
    converted = as_json("lesson", "convert", "glade.txt", "--turns", "0")["singly"]["matches"]
    out = [m["target"]["name"] for m in converted if m["best"]["verdict"] == "out of reach"]
    assert choice["unreachable"] == out == ["flame"]


def test_what_is_owned_is_not_bought(taught: Run, as_json: AsJson) -> None:
    """With all of the range owned nothing is left to buy."""
    assert taught("kit", "create", "mine").exit_code == 0
    assert taught("kit", "own", "mine", "--range", "Shoal").exit_code == 0
    found = as_json("kit", "choose", "bank.txt", "--range", "Shoal", "--kit", "mine", code=3)
    assert found["groups"][0]["choice"]["chosen"]["bought"] == []


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("kind,name,cost\n", "line 1"),
        ("kind,name,contents,price\nsingle,Kelp,,two\n", "line 2, column price"),
        ("kind,name,contents,price\nbox,Kelp,,2\n", "line 2, column kind"),
        ("kind,name,contents,price\nset,Box,,2\n", "line 2, column contents"),
        ("kind,name,price,currency\nsingle,Kelp,2,EUR\nsingle,Dune,2,SEK\n", "one currency"),
        ("kind,name,price\nsingle,Kelp,2\nsingle,Shoal/Kelp,3\n", "two prices"),
    ],
)
def test_a_bad_price_list_is_named_by_its_line(
    taught: Run, tmp_path: Path, line: str, words: str
) -> None:
    """The sentence has line and column, and nothing is chosen."""
    (tmp_path / "p.csv").write_text(line, encoding="utf-8")
    done = taught("kit", "choose", "bank.txt", "--range", "Shoal", "--prices", "p.csv")
    assert done.exit_code == 1
    assert words in done.output


def test_the_best_needs_a_number(taught: Run) -> None:
    """The best N purchases without N is a misuse."""
    assert taught("kit", "choose", "bank.txt", "--aim", "best").exit_code == 2


MEADOW = """\
range,medium,color,paper,coats,pressure,dilution,over,L,a,b
Meadow,pencil,Fern,Gannet smooth,,,,,62.0,-22.0,24.0
Meadow,pencil,Root,Gannet smooth,,,,,42.0,4.0,12.0
Meadow,pencil,Thistle,Gannet smooth,,,,,70.0,12.0,-14.0
Pond,wash,Reed,Gannet smooth,,,,,78.0,-4.0,30.0
Pond,wash,Silt,Gannet smooth,,,,,45.0,3.0,10.0
"""


def test_lessons_runs_ranges_and_kits_work_with_all_media(
    taught: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """What is planned for markers is planned for pencils, washes and mixed kits."""
    (tmp_path / "meadow.csv").write_text(MEADOW, encoding="utf-8")
    assert taught("swatches", "import", "meadow.csv", "-q").exit_code == 0
    assert taught("kit", "create", "all", "-q").exit_code == 0
    ranges = [word for name in ("Shoal", "Meadow", "Pond") for word in ("--range", name)]
    assert taught("kit", "own", "all", *ranges, "-q").exit_code == 0
    convert = ("lesson", "convert", "bank.txt", "--steps", "2", "--turns", "1")
    converted = taught(*convert, "--kit", "all")
    assert converted.exit_code in {0, 3}, converted.output
    drawn = taught(*convert, "--range", "Meadow")
    assert drawn.exit_code in {0, 3}, drawn.output
    assert "Fern" in drawn.output
    packed = taught("lesson", "pack", "bank.txt", "--kit", "all", "--steps", "2", "-o", "p.html")
    assert packed.exit_code == 0
    found = as_json("run", "list", "--kit", "all")
    named = {s["name"] for run in found["runs"] for s in run["shades"]}
    named |= {s["name"] for s in found["alone"]}
    assert {"Fern", "Reed", "Kelp"} <= named
    assert taught("run", "partners", "Fern", "--kit", "all").exit_code == 0
    assert as_json("range", "compare", "Meadow", "Pond")["comparison"]
    bought = taught("kit", "choose", "bank.txt", "--range", "Meadow", "--seconds", "3600")
    assert bought.exit_code in {0, 3}, bought.output
    assert "Fern" in bought.output
    every = as_json("kit", "choose", "bank.txt", "--seconds", "3600", code=3)
    assert every["groups"][0]["label"] == "Meadow and Pond and Shoal"


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
