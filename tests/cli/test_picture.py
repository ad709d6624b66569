"""Pictures planned, edited and made from a kit, as a user would."""

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
from click.testing import Result
from PIL import Image

from laydown.demo.lemons import draw_lemons, lemons_png

Run = Callable[..., Result]
AsJson = Callable[..., Any]


@pytest.fixture(scope="session")
def png() -> bytes:
    """Return a small drawing of lemons."""
    return lemons_png(draw_lemons(rows=160, columns=240))


@pytest.fixture
def planned(shoal: Run, tmp_path: Path, png: bytes) -> Run:
    """Return the command line with a picture and its plan beside the range Shoal."""
    (tmp_path / "lemons.png").write_bytes(png)
    made = shoal("picture", "plan", "lemons.png", "--width", "120", "-o", "lemons.plan")
    assert made.exit_code == 0, made.output
    return shoal


def regions(shown: dict[str, Any]) -> dict[int, dict[str, Any]]:
    """Return the regions of a plan by their numbers."""
    return {region["number"]: region for region in shown["regions"]}


def test_a_picture_is_planned_and_told(planned: Run, as_json: AsJson) -> None:
    """Steps, palette and regions in words and numbers, and no pixel among them."""
    told = planned("picture", "show", "lemons.plan")
    assert told.exit_code == 0
    assert "5 value steps" in told.output
    assert "yellow" in told.output
    shown = as_json("picture", "show", "lemons.plan")
    assert (shown["columns"], shown["rows"], shown["height"]) == (240, 160, 80.0)
    assert sum(color["share"] for color in shown["palette"]) == pytest.approx(100.0, abs=1e-3)
    assert len(json.dumps(shown)) < 20_000


def test_without_a_file_a_plan_is_only_told(run: Run, tmp_path: Path, png: bytes) -> None:
    """Standard input is a picture, too, and the next command is named."""
    told = run("picture", "plan", "-", "--values", "3", "--even", stdin=png)
    assert told.exit_code == 0, told.output
    assert "3 value steps, of even height" in told.output
    assert "-o NAME.plan" in told.output
    assert list(tmp_path.glob("*.plan")) == []


def test_a_known_white_changes_what_is_seen(
    planned: Run, as_json: AsJson, tmp_path: Path, png: bytes
) -> None:
    """A wall that is said to be a gray of value 9.5 makes the whole picture lighter."""
    before = as_json("picture", "show", "lemons.plan")["palette"][0]["lab"][0]
    after = as_json("picture", "plan", "lemons.png", "--white", "value:9.5@2%,2%,20%,10%")
    assert after["palette"][0]["lab"][0] > before + 4


def test_regions_are_drawn_with_their_numbers(planned: Run, tmp_path: Path) -> None:
    """With -o the drawing is written and the words still stand on standard output."""
    done = planned("picture", "show", "lemons.plan", "-o", "regions.png")
    assert done.exit_code == 0
    assert "region" in done.stdout
    with Image.open(tmp_path / "regions.png") as drawn:
        assert drawn.size[0] > 1000


def test_a_json_file_gets_the_words_and_not_a_picture(planned: Run, tmp_path: Path) -> None:
    """With -o NAME.json the result is written as JSON, whatever else the command draws."""
    done = planned("picture", "show", "lemons.plan", "-o", "plan.json")
    assert done.exit_code == 0, done.output
    assert json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))["columns"] == 240


def test_edits_change_the_plan_in_place(planned: Run, as_json: AsJson, tmp_path: Path) -> None:
    """Merged, split and named regions are in the file afterwards; with -o in another file."""
    before = regions(as_json("picture", "show", "lemons.plan"))
    bowl = [number for number, region in before.items() if region["lab"][2] < -5]
    first, second = sorted(bowl, key=lambda n: -before[n]["lab"][0])[:2]
    assert planned("picture", "merge", "lemons.plan", str(first), str(second)).exit_code == 0
    merged = regions(as_json("picture", "show", "lemons.plan"))
    assert second not in merged
    assert planned("picture", "split", "lemons.plan", str(first), "-o", "two.plan").exit_code == 0
    assert len(regions(as_json("picture", "show", "two.plan"))) > len(merged)
    assert len(regions(as_json("picture", "show", "lemons.plan"))) == len(merged)
    named = planned("picture", "passage", "lemons.plan", "bowl", str(first), "--role", "shadow")
    assert named.exit_code == 0
    assert regions(as_json("picture", "show", "lemons.plan"))[first]["passage"] == "bowl"


def test_a_list_of_changes_is_made_whole_or_not_at_all(planned: Run, tmp_path: Path) -> None:
    """A change that can't be made leaves the plan as it was."""
    before = (tmp_path / "lemons.plan").read_bytes()
    (tmp_path / "changes.txt").write_text("passage room: 1 2\nmerge 1 99\n", encoding="utf-8")
    refused = planned("picture", "edit", "lemons.plan", "changes.txt")
    assert refused.exit_code == 1
    assert "no region 99" in refused.output
    assert (tmp_path / "lemons.plan").read_bytes() == before
    (tmp_path / "changes.txt").write_text("passage room: 1 2\nrole light: 1\n", encoding="utf-8")
    assert planned("picture", "edit", "lemons.plan", "changes.txt").exit_code == 0
    assert (tmp_path / "lemons.plan").read_bytes() != before


def test_a_plan_becomes_a_lesson(planned: Run, tmp_path: Path) -> None:
    """The lesson file has passages and roles, and can be shown and converted like any other."""
    planned("picture", "passage", "lemons.plan", "room", "1", "2")
    made = planned("picture", "lesson", "lemons.plan", "--title", "Lemons", "-o", "lemons.txt")
    assert made.exit_code == 0, made.output
    shown = planned("lesson", "show", "lemons.txt")
    assert shown.exit_code == 0
    assert "room" in shown.output
    assert "light" in shown.output


def test_the_recipes_promise_what_the_picture_lacks(planned: Run, as_json: AsJson) -> None:
    """Mean loss is the promised difference of each color by its share of the picture."""
    found = as_json("picture", "recipes", "lemons.plan", "--range", "Shoal", code=3)
    (kit,), palette = found["kits"], found["palette"]
    promised = [match["best"]["difference"]["delta_e"] for match in kit["matches"]]
    share = [color["share"] / 100 for color in palette]
    assert kit["lost"]["mean"] == pytest.approx(float(np.dot(promised, share)), abs=0.001)
    assert kit["lost"]["worst"] == pytest.approx(max(promised), abs=1e-5)
    assert kit["lost"]["out_of_reach"] == [
        number
        for number, match in enumerate(kit["matches"], start=1)
        if match["best"]["verdict"] == "out of reach"
    ]


def test_two_kits_stand_side_by_side(planned: Run, tmp_path: Path) -> None:
    """The preview shows the picture, the plan and each kit's, above their values."""
    planned("kit", "create", "few")
    planned("kit", "own", "few", "Kelp", "Net")
    for beside, name in ((), "one.png"), (("--beside", "few"), "two.png"):
        done = planned("picture", "recipes", "lemons.png", "--range", "Shoal", *beside, "-o", name)
        assert done.exit_code == 3, done.output
    assert "from few on Gannet smooth" in done.output
    with Image.open(tmp_path / "one.png") as one, Image.open(tmp_path / "two.png") as two:
        assert two.width == one.width + 240 + 16


def test_values_alone_keep_the_steps_that_colors_lose(planned: Run, as_json: AsJson) -> None:
    """Asked for values only, the kit keeps at least as much of the picture in its steps."""
    command = ("picture", "recipes", "lemons.plan", "--range", "Shoal")
    by_color = as_json(*command, code=3)["kits"][0]["lost"]
    by_value = as_json(*command, "--values-only", code=3)["kits"][0]["lost"]
    assert by_value["out_of_reach"] == [1] < by_color["out_of_reach"]
    assert by_value["mean_value"] <= by_color["mean_value"]
    assert by_value["mean"] >= by_color["mean"]
    assert by_value["steps_kept"] >= by_color["steps_kept"]


@pytest.mark.parametrize(
    ("command", "said"),
    [
        (("plan", "shoal.csv"), "is not a picture"),
        (("plan", "no.png"), "can't be read"),
        (("plan", "lemons.plan"), "is not a picture"),
        (("show", "lemons.png"), "is not a picture's plan"),
        (("merge", "lemons.png", "1", "2"), "is not a picture's plan"),
        (("split", "lemons.plan", "77"), "no region 77"),
        (("edit", "lemons.plan", "lemons.plan"), "lemons.plan"),
        (("lesson", "shoal.csv"), "is not a picture's plan"),
        (("recipes", "lemons.plan", "--range", "Shoal", "--beside", "none"), "none"),
        (("plan", "lemons.png", "--white", "snow@1,1"), "snow"),
    ],
)
def test_what_is_wrong_is_told_in_a_sentence(
    planned: Run, command: tuple[str, ...], said: str
) -> None:
    """Wrong files and names end with exit code 1, a sentence and a hint."""
    result = planned("picture", *command)
    assert result.exit_code == 1, result.output
    assert said in result.output
    assert "fault of laydown" not in result.output


def test_a_plan_from_standard_input_needs_a_place_to_go(planned: Run, tmp_path: Path) -> None:
    """In place is nowhere for standard input; with -o it works."""
    content = (tmp_path / "lemons.plan").read_bytes()
    assert planned("picture", "passage", "-", "room", "1", stdin=content).exit_code == 2
    done = planned("picture", "passage", "-", "room", "1", "-o", "new.plan", stdin=content)
    assert done.exit_code == 0, done.output
    assert (tmp_path / "new.plan").exists()


def test_a_cut_out_picture_leaves_its_ground_bare(
    run: Run, tmp_path: Path, as_json: AsJson
) -> None:
    """What is transparent is neither planned nor counted."""
    pixels = np.zeros((120, 160, 4), np.uint8)
    pixels[20:100, 20:140] = [180, 60, 60, 255]
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    (tmp_path / "cut.png").write_bytes(content.getvalue())
    shown = as_json("picture", "plan", "cut.png")
    assert [region["share"] for region in shown["regions"]] == [100.0]


MM = 72.0 / 25.4


def test_a_plan_is_printed_with_recipes(planned: Run, tmp_path: Path) -> None:
    """The PDF has the page asked for; the words tell recipes and size, and 3 says out of reach."""
    command = ("picture", "print", "lemons.plan", "--range", "Shoal", "--page", "a5")
    done = planned(*command, "-o", "lemons.pdf")
    assert done.exit_code == 3, done.output
    assert "Out of reach" in " ".join(done.stdout.split())
    assert "120 × 80 mm large on a sheet of 148 × 210 mm" in done.stdout
    numbered, *_ = pdfium.PdfDocument(tmp_path / "lemons.pdf")
    assert numbered.get_width() / MM == pytest.approx(148.0, abs=0.1)


def test_without_supplies_the_colors_alone_are_printed(
    run: Run, tmp_path: Path, png: bytes
) -> None:
    """A picture is planned on the way; no library is made or asked."""
    (tmp_path / "lemons.png").write_bytes(png)
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
def test_what_is_wrong_with_a_print_is_told_in_a_sentence(
    planned: Run, arguments: tuple[str, ...], code: int, said: str
) -> None:
    """Wrong files, names and papers end with a sentence and a hint, and nothing is written."""
    result = planned("picture", "print", *arguments)
    assert result.exit_code == code, result.output
    assert said in result.output
    assert "fault of laydown" not in result.output
    assert not Path(arguments[-1]).exists()
