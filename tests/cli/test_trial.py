"""The notebook at the command line: noted, found, edited, taken back, explained, learned from."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta, tzinfo
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from click.testing import Result
from PIL import Image, ImageDraw

from laydown.color.screen import lab_from_hex
from laydown.store import columns
from laydown.store.library import open_library

Run = Callable[..., Result]


@pytest.fixture
def kit(shoal: Run) -> Run:
    """The range Shoal as the kit mine."""
    assert shoal("kit", "create", "mine").exit_code == 0
    assert shoal("kit", "own", "mine", "--range", "Shoal").exit_code == 0
    return shoal


HEAVY = (
    ("Kelp", "lab:46.5,-23,25"),
    ("Dune", "lab:79,3.5,26"),
    ("Skiff", "lab:54,-7.5,-34"),
    ("Net", "lab:64,0,3"),
)
"""What a heavy hand gets of one coat each."""


@pytest.fixture
def tried(kit: Run) -> Run:
    """The same with four trials by a heavy hand."""
    for recipe, color in HEAVY:
        result = kit("trial", "add", recipe, color, "--kit", "mine", "--remark", f"bowl {recipe}")
        assert result.exit_code == 0, result.output
    return kit


def test_a_trial_is_noted_shown_and_found(kit: Run) -> None:
    """What was typed is shown again, found by color, by colorant and by words."""
    added = kit(
        "trial", "add", "Kelp*2; Dune", "lab:41,-20,24", "--kit", "mine",
        "--wanted", "lab:44,-18,22", "--remark", "shadow of the bowl",
        "--date", "2026-03-04", "--fill", "refilled",
    )  # fmt: skip
    assert added.exit_code == 0, added.output
    assert "Noted: trial 1, Kelp*2; Dune" in added.stdout
    shown = kit("trial", "show", "1").stdout
    for words in ("Kelp*2; Dune", "2026-03-04", "refilled", "shadow of the bowl", "lab:44,-18,22"):
        assert words in shown
    for question in (["lab:42,-20,24"], ["--colorant", "Dune"], ["--words", "bowl shadow"]):
        assert "Kelp*2; Dune" in kit("trial", "find", *question).stdout
    assert "Nothing like it" in kit("trial", "find", "lab:90,0,0").stderr


def test_a_trial_lays_some_colorant(kit: Run) -> None:
    """What lays no color is no trial, and is refused in a sentence."""
    refused = kit("trial", "add", "solvent by swab", "lab:50,0,0")
    assert refused.exit_code == 1
    assert "No colorant was named" in refused.output


def test_a_kit_is_chosen_for_ones_own_hand(tried: Run, tmp_path: Path) -> None:
    """What trials taught of a kit counts where more is bought for it, as it does in a match."""
    color = "lab:46.5,-23,25"
    (tmp_path / "one.csv").write_text(f'color\n"{color}"\n', encoding="utf-8")
    assert tried("lesson", "new", "one.csv", "-o", "one.txt").exit_code == 0
    limits = ("--kit", "mine", "--steps", "1", "--coats", "1", "--json")
    matched = json.loads(tried("match", color, *limits).stdout)["best"]
    chosen = json.loads(tried("kit", "choose", "one.txt", "--range", "Shoal", *limits).stdout)
    (made,) = chosen["groups"][0]["choice"]["nothing"]["colors"]
    assert made["difference"] == pytest.approx(matched["difference"]["delta_e"], abs=0.05)


def test_xyz_is_taken_too(kit: Run) -> None:
    """XYZ on the scale where white has Y 100."""
    assert kit("trial", "add", "Kelp", "xyz:14.5,20.1,8.8").exit_code == 0
    assert "trial 1" in kit("trial", "show", "1").stdout.casefold()


def test_a_measured_file_is_taken_as_trials(kit: Run, tmp_path: Path) -> None:
    """Each colored row is a trial, bare paper is none."""
    (tmp_path / "mine.csv").write_text(
        "range,medium,color,paper,coats,over,L,a,b\n"
        "Shoal,marker,,Gannet smooth,,,95,0.5,-2\n"
        "Shoal,marker,Dune,Gannet smooth,1,Kelp,45,-20,25\n"
        "Shoal,marker,Net,Gannet smooth,2,,52,0,3\n",
        encoding="utf-8",
    )
    result = kit("trial", "add", "--file", "mine.csv", "--kit", "mine")
    assert "trials 1 to 2" in result.stdout, result.output
    assert "Kelp; Dune" in kit("trial", "show", "1").stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["Kelp", "lab:40,-24"], "three numbers"),
        (["Kelp", "lab:40,200,200"], "no surface"),
        (["Kelp", "40,-24,26"], "lab:L,a,b"),
        (["Kelq", "lab:40,-24,26"], "Kelp"),
        (["Kelp", "lab:40,-24,26", "--date", "yesterday"], "2026-03-04"),
        (["Kelp", "lab:40,-24,26", "--kit", "yours"], "yours"),
        (["Kelp", "lab:40,-24,26", "--paper", "Heron"], "Heron"),
    ],
)
def test_what_cannot_be_noted_is_named(kit: Run, arguments: list[str], said: str) -> None:
    """One sentence, exit code 1, and nothing is noted."""
    result = kit("trial", "add", *arguments)
    assert result.exit_code == 1
    assert said in result.stderr
    assert "no such trials" in kit("trial", "list").stderr


def test_an_edit_keeps_what_was_noted(tried: Run) -> None:
    """Both entries are shown."""
    assert (
        tried("trial", "edit", "2", "--recipe", "Dune*2", "--remark", "miscounted").exit_code == 0
    )
    shown = tried("trial", "show", "2").stdout
    assert "Dune*2" in shown
    assert "entry 1: Dune" in shown


def test_learning_says_so_and_can_be_taken_back(tried: Run) -> None:
    """A match by four trials is another than by swatches; without them it is the first again."""
    wanted = ("match", "Kelp", "--top", "0")
    by_kit, by_range = (*wanted, "--kit", "mine"), (*wanted, "--range", "Shoal")
    taught = tried(*by_kit).stdout
    assert "Learned from 4 trials of yours on Gannet smooth" in taught
    assert "not yet on your work" in taught
    assert "Learned" not in tried(*by_range).stdout
    for number in "1234":
        assert tried("trial", "undo", number).exit_code == 0
    assert "Learned" not in tried(*by_kit).stdout
    assert tried("trial", "undo", "3", "--bring-back").exit_code == 0
    assert "Learned from 1 trial " in tried(*by_kit).stdout


def test_a_prediction_by_trials_is_nearer_to_what_the_hand_gives(
    tried: Run, as_json: Callable[..., Any]
) -> None:
    """With a fifth trial as heavy, Kelp is predicted darker than swatched, as this hand has it."""
    assert tried("trial", "add", "Kelp", "lab:46,-23,25", "--kit", "mine").exit_code == 0
    wanted = ("match", "lab:36,-24,26", "--steps", "1", "--top", "0", "--coats", "1")
    codes = {"by_kit": ("--kit", "mine"), "by_range": ("--range", "Shoal")}
    lightness = {}
    for name, supplies in codes.items():
        result = tried(*wanted, *supplies, "--json")
        found = json.loads(result.stdout)
        lightness[name] = found["best"]["prediction"]["lab"][0]
    assert lightness["by_kit"] < lightness["by_range"] - 3


def test_an_explanation_names_a_cause_and_a_test(tried: Run) -> None:
    """A trial of Kelp that came out like Skiff has its cause, and the test that would tell."""
    assert tried("trial", "add", "Kelp", "lab:54,-7.5,-34", "--kit", "mine").exit_code == 0
    said = tried("trial", "explain", "5").stdout
    assert "Skiff was taken for Kelp" in said
    assert "To tell:" in said
    assert "trial 5" in tried("match", "Kelp", "--kit", "mine", "--top", "0").stdout


def test_a_color_made_before_is_found_and_not_made_anew(tried: Run) -> None:
    """A match for what a trial gave names that trial; for another color it doesn't."""
    assert "You made this before: trial 1, “Kelp”" in tried(
        "match", "lab:46.5,-23,25", "--kit", "mine", "--top", "0").stdout  # fmt: skip
    assert "made this before" not in tried(
        "match", "lab:70,-5,-10", "--kit", "mine", "--top", "0").stdout  # fmt: skip


def test_the_notebook_moves_whole(tried: Run, tmp_path: Path) -> None:
    """Export, then import into an empty library, gives the same export; twice gives nothing new."""
    Image.new("RGB", (40, 30), "#406020").save(tmp_path / "bowl.jpg")
    tried("trial", "add", "Kelp", "lab:47,-22,25", "--photo", "bowl.jpg")
    assert tried("trial", "show", "5", "--photo", "back.jpg").exit_code == 0
    assert (tmp_path / "back.jpg").read_bytes() == (tmp_path / "bowl.jpg").read_bytes()
    assert "no photograph" in tried("trial", "show", "1", "--photo", "x.jpg").stderr
    tried("trial", "edit", "1", "--remark", "again")
    tried("trial", "undo", "2")
    assert tried("trial", "export", "-o", "book.json").exit_code == 0
    first = tried("trial", "import", "book.json", "--db", "other.db")
    assert "5 new trials of 5, 7 new notes" in first.stdout
    assert "0 new trials of 5, 0 new notes" in tried(
        "trial", "import", "book.json", "--db", "other.db").stdout  # fmt: skip
    tried("trial", "export", "-o", "second.json", "--db", "other.db")
    assert (tmp_path / "book.json").read_bytes() == (tmp_path / "second.json").read_bytes()


@pytest.mark.parametrize("content", [b"", b"{}", b"\x00\xff", b'{"form": "laydown trials 1"}'])
def test_a_file_that_is_no_notebook_is_refused(run: Run, tmp_path: Path, content: bytes) -> None:
    """One sentence, exit code 1."""
    (tmp_path / "bad.json").write_bytes(content)
    result = run("trial", "import", "bad.json")
    assert result.exit_code == 1
    assert "bad.json is" in result.stderr


def test_what_to_try_next_has_a_page_to_color(kit: Run, tmp_path: Path) -> None:
    """Trials are named for a lesson's recipes, and laid out as a PDF."""
    result = kit(
        "trial", "next", "--kit", "mine", "--recipe", "Kelp; Dune", "--color", "lab:50,-10,-10",
        "--most", "2", "--sheet", "next.pdf",
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "unsure by" in result.stdout
    assert (tmp_path / "next.pdf").read_bytes().startswith(b"%PDF")


def test_a_colored_sheet_is_taken_as_trials(kit: Run, tmp_path: Path) -> None:
    """The page that says what to try is colored in, scanned, and read as trials."""
    asked = kit(
        "trial", "next", "--kit", "mine", "--recipe", "Kelp; Dune", "--recipe", "Skiff*2",
        "--most", "2", "--sheet", "next.pdf", "--paper", "Gannet smooth",
    )  # fmt: skip
    assert asked.exit_code == 0, asked.output
    library = open_library(tmp_path / "library.db")
    with library.look() as work:
        sheet = work.sheets.get(int(asked.stderr.split("color sheet ")[1].split(",")[0]))
    library.close()
    scale = 8.0
    page = pypdfium2.PdfDocument(tmp_path / "next.pdf")[0].render(scale=scale * 25.4 / 72).to_pil()
    paint = ImageDraw.Draw(page)
    for cell in sheet.cells:
        if not cell.bare:
            box = sheet.box(cell)
            corners = [box.left, box.top, box.left + box.width, box.top + box.height]
            paint.rectangle([side * scale for side in corners], fill="#5f7350")
    page.convert("RGB").save(tmp_path / "scan.png")
    result = kit("trial", "add", "--sheet", "scan.png", "--kit", "mine")
    assert result.exit_code == 0, result.output
    listed = json.loads(kit("trial", "list", "--json").stdout)["trials"]
    assert len(listed) == sum(not cell.bare for cell in sheet.cells) == 2
    assert {trial["measured"] for trial in listed} == {"sheet"}
    for trial in listed:
        assert trial["color"]["lab"] == pytest.approx(lab_from_hex("#5f7350"), abs=8.0)
        assert 5.0 <= trial["noise"] <= 8.0  # of a dull color, read by paper white alone
    whole = json.loads(kit("trial", "export").stdout)
    first, second = (history[0] for history in whole["trials"])
    assert first["picture"] == second["picture"] != ""
    assert 3.0 < first["shared"] < first["spread"]


def test_calibration_shows_each_trial_and_how_far_to_trust_it(tried: Run, tmp_path: Path) -> None:
    """Before and after, plot and table, and that it isn't yet tested on one's own work."""
    result = tried("trial", "calibration", "--kit", "mine", "--plot", "plot.svg")
    assert result.exit_code == 0, result.output
    for words in ("by swatches alone", "by all other trials", "not yet on your work", "Skiff"):
        assert words in result.stdout
    assert (tmp_path / "plot.svg").read_text(encoding="utf-8").startswith("<svg")
    assert "no trial of Shoal" in tried("trial", "calibration", "--range", "Shoal").stderr


def test_trials_are_printed(tried: Run, tmp_path: Path) -> None:
    """One page for all, and none where there is no trial."""
    assert tried("trial", "print", "-o", "trials.pdf").exit_code == 0
    assert (tmp_path / "trials.pdf").read_bytes().startswith(b"%PDF")
    assert tried("trial", "print", "-o", "x.pdf", "--db", "empty.db").exit_code == 1


class _Later(datetime):
    """A clock that is a minute ahead."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]
        """Return the moment that is in a minute."""
        return datetime.now(tz) + timedelta(minutes=1)


def test_a_changed_fill_stays_unsure_until_it_is_swatched_again(
    kit: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The match says which marker is less sure, and after a new swatch no longer does."""
    add = ("trial", "add", "Kelp", "lab:58,-20,22", "--kit", "mine", "--fill", "running dry")
    assert kit(*add).exit_code == 0
    ask = ("match", "Kelp", "--kit", "mine", "--top", "0")
    assert "until swatched again: Kelp (running dry)" in " ".join(kit(*ask).stdout.split())
    monkeypatch.setattr(columns, "datetime", _Later)
    (tmp_path / "again.csv").write_text(
        "range,medium,color,paper,coats,L,a,b\nShoal,marker,Kelp,Gannet smooth,1,58,-20,22\n",
        encoding="utf-8",
    )
    assert kit("swatches", "import", "again.csv").exit_code == 0
    assert "swatched again" not in " ".join(kit(*ask).stdout.split())


def test_two_hands_are_compared_and_recipes_restated(shoal: Run, tmp_path: Path) -> None:
    """A teacher with a lighter hand: the student is told to lay light ones."""
    teacher = (tmp_path / "shoal.csv").read_text(encoding="utf-8")
    for mine, theirs in (("52.0,-22.0,24.0", "62,-18,20"), ("82.0,3.0,22.0", "86,2,17"),
                         ("60.0,-8.0,-30.0", "69,-7,-23"), ("70.0,0.0,3.0", "77,0,2")):  # fmt: skip
        teacher = teacher.replace(mine, theirs)
    (tmp_path / "teacher.csv").write_text(teacher, encoding="utf-8")
    result = shoal("hand", "compare", "teacher.csv", "--range", "Shoal", "--recipe", "Kelp; Dune")
    assert result.exit_code == 0, result.output
    assert "times what they lay" in result.stdout
    assert "Where they lay one coat of Kelp, lay one light coat." in result.stdout
