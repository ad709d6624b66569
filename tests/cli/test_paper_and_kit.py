from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from laydown.store.library import open_library

Run = Callable[..., Result]
AsJson = Callable[..., Any]


def test_a_paper_is_added_listed_edited_and_removed(run: Run, as_json: AsJson) -> None:
    """A paper goes through its whole life by name, whatever its capitals."""
    assert "bears 6 coats" in run("paper", "add", "Heron laid").stdout
    assert run("paper", "edit", "heron LAID", "--coats-limit", "4").exit_code == 0
    (listed,) = as_json("paper", "list")["papers"]
    assert (listed["name"], listed["coats_limit"], listed["measured"]) == ("Heron laid", 4, False)
    assert "Removed Heron laid and 0 swatches." in run("paper", "remove", "Heron laid").stdout
    assert "There are no papers yet." in run("paper", "list").stderr


def test_a_paper_is_said_to_be_coated_when_added_or_later(run: Run, as_json: AsJson) -> None:
    """What was said shows, another word takes its place, and nothing is said of other papers."""
    assert run("paper", "add", "Heron laid", "--surface", "coated").exit_code == 0
    assert "surface  coated" in run("paper", "show", "Heron laid").stdout
    assert run("paper", "edit", "Heron laid", "--coats-limit", "4").exit_code == 0
    assert as_json("paper", "show", "Heron laid")["surface"] == "coated"
    assert run("paper", "edit", "Heron laid", "--surface", "uncoated").exit_code == 0
    assert as_json("paper", "show", "Heron laid")["surface"] == "uncoated"
    assert run("paper", "add", "Tern").exit_code == 0
    assert as_json("paper", "show", "Tern")["surface"] == ""
    assert "surface" not in run("paper", "show", "Tern").stdout


def test_a_papers_measured_color_goes_before_what_pictures_said(run: Run, as_json: AsJson) -> None:
    """Typed with a new paper or later, it takes the place of earlier colors, not of a spectrum."""
    assert run("paper", "add", "Heron laid", "--color", "lab:86,0,1").exit_code == 0
    assert as_json("paper", "show", "Heron laid")["measured"]
    told = run("paper", "edit", "Heron laid", "--color", "lab:70,2,9")
    assert "6 coats in all; bare it is" in told.stdout
    shown = as_json("paper", "show", "Heron laid")
    assert shown["color"]["lab"] == [70, 2, 9]
    assert shown["bare_swatches"] == 1
    assert run("library", "undo").exit_code == 0
    assert as_json("paper", "show", "Heron laid")["color"]["lab"] == [86, 0, 1]
    assert run("paper", "edit", "Heron laid").exit_code == 2
    for wrong in ("#bbaa99", "lab:70", "lab:99,80,80"):
        assert run("paper", "edit", "Heron laid", "--color", wrong).exit_code == 1
        assert run("paper", "add", "Tern", "--color", wrong).exit_code == 1
    assert [p["name"] for p in as_json("paper", "list")["papers"]] == ["Heron laid"]


def test_a_typed_color_does_not_replace_a_papers_spectrum(run: Run, tmp_path: Path) -> None:
    """What an instrument said in 36 bands stays, and it is said how to remove it."""
    bands = range(380, 740, 10)
    head = "paper," + ",".join(f"r{band}" for band in bands)
    row = "Heron laid," + ",".join("0.5" for _ in bands)
    (tmp_path / "bare.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    assert run("swatches", "import", "bare.csv").exit_code == 0
    refused = run("paper", "edit", "Heron laid", "--color", "lab:70,2,9")
    assert refused.exit_code == 1
    assert "A spectrum of bare Heron laid is in the library" in refused.stderr


def test_a_paper_twice_is_refused(run: Run) -> None:
    """A name that is taken is refused with exit code 1."""
    run("paper", "add", "Heron laid")
    assert run("paper", "add", "heron laid").exit_code == 1


def test_an_unknown_paper_gets_a_suggestion(shoal: Run) -> None:
    """A paper's name mistyped is answered with the nearest name."""
    missed = shoal("paper", "show", "Ganet smooth")
    assert missed.exit_code == 1
    assert "Gannet smooth" in missed.stderr


def test_a_paper_with_swatches_stays_unless_told(shoal: Run) -> None:
    """A paper that has swatches is removed only together with them."""
    assert shoal("paper", "remove", "Gannet smooth").exit_code == 1
    gone = shoal("paper", "remove", "Gannet smooth", "--with-swatches")
    assert gone.stdout == "Removed Gannet smooth and 7 swatches.\n"


def test_a_paper_is_shown_in_words_and_numbers(shoal: Run) -> None:
    """A paper's color is told in words, value and Lab, with what was swatched on it."""
    told = shoal("paper", "show", "Gannet smooth").stdout
    assert "white, value 9." in told
    assert "L* 95.0 a* 0.5 b* -2.0" in told
    assert "Shoal: 6 swatches of 4 colorants" in told


def test_a_kit_is_filled_by_name_range_and_list(
    shoal: Run, as_json: AsJson, tmp_path: Path
) -> None:
    """Colorants come into a kit by name, by Range/Name, from a list, and as a whole range."""
    assert shoal("kit", "create", "mine").exit_code == 0
    assert as_json("kit", "own", "mine", "kelp", "Shoal/Dune")["colorants"] == 2
    (tmp_path / "names.txt").write_text("Skiff\n\nKelp\n", encoding="utf-8-sig")
    told = as_json("kit", "own", "mine", "--from", "names.txt")
    assert [c["name"] for c in told["changed"]] == ["Skiff"]
    assert [c["name"] for c in told["unchanged"]] == ["Kelp"]
    assert as_json("kit", "own", "mine", "--range", "shoal")["colorants"] == 4
    names = [c["colorant"]["name"] for c in as_json("kit", "show", "mine")["colorants"]]
    assert names == ["Dune", "Kelp", "Net", "Skiff"]


def test_a_list_of_names_may_come_from_standard_input(shoal: Run) -> None:
    """A list named - is read from standard input."""
    shoal("kit", "create", "mine")
    told = shoal("kit", "own", "mine", "--from", "-", stdin="Kelp\nDune\n")
    assert told.stdout.startswith("Now in mine: 2 colorants.")


def test_one_unknown_name_changes_nothing(shoal: Run, as_json: AsJson) -> None:
    """Of several names, nothing is owned when one is unknown; a near one is suggested."""
    shoal("kit", "create", "mine")
    missed = shoal("kit", "own", "mine", "Dune", "Klep")
    assert missed.exit_code == 1
    assert "Kelp" in missed.stderr
    assert as_json("kit", "show", "mine")["colorants"] == []


def test_disowning_takes_out_what_was_in(shoal: Run, as_json: AsJson) -> None:
    """Colorants leave a kit and stay in the library; a kit removed leaves them, too."""
    shoal("kit", "create", "mine")
    shoal("kit", "own", "mine", "--range", "Shoal")
    assert as_json("kit", "disown", "mine", "Net")["colorants"] == 3
    assert shoal("kit", "remove", "mine").exit_code == 0
    assert shoal("kit", "show", "mine").exit_code == 1
    assert as_json("range", "list")["ranges"][0]["colorants"] == 4


OF_PAPER = ("--paper", "Gannet smooth", "--add-to", "Shoal", "--medium", "pencil")
TAKEN = "range,medium,color,paper,coats,L,a,b\nShoal,pencil,Fig,Gannet smooth,1,40,9,9\n"


@pytest.mark.parametrize(
    "command",
    [
        ("swatches", "import", "-"),
        ("kit", "own", "mine", "Fig", "--add-to", "Shoal", "--medium", "pencil"),
        ("kit", "begin", "shoal", "Fig", "--paper", "Gannet smooth", "--medium", "pencil"),
        ("sheet", "print", "list", "Fig", "--range", "Shoal", *OF_PAPER),
        ("sheet", "card", "-", "--grid", "1x2", "--names", "card.txt", *OF_PAPER),
    ],
)
def test_pencils_are_never_stored_as_markers(
    shoal: Run, tmp_path: Path, command: tuple[str, ...]
) -> None:
    """Whichever way they come in under the name of a set of markers, one sentence asks."""
    shoal("kit", "create", "mine")
    (tmp_path / "card.txt").write_text("Fig\npaper\n", encoding="utf-8")
    asked = shoal(*command, stdin=TAKEN)
    assert asked.exit_code == 1
    assert asked.stderr.startswith("“Shoal” is a set of markers already.\nGive the pencils a name")
    assert "Fig" not in shoal("swatches", "list", "--json").stdout


def test_owning_nothing_is_a_usage_error(shoal: Run) -> None:
    """A kit and no colorant is not enough said."""
    shoal("kit", "create", "mine")
    missed = shoal("kit", "own", "mine")
    assert missed.exit_code == 2
    assert "Say which colorants" in missed.stderr


def test_a_list_in_another_encoding_is_refused(shoal: Run, tmp_path: Path) -> None:
    """A list of names that is no UTF-8 is refused with its place."""
    shoal("kit", "create", "mine")
    (tmp_path / "names.txt").write_bytes("Fünf".encode("latin-1"))
    missed = shoal("kit", "own", "mine", "--from", "names.txt")
    assert missed.exit_code == 1
    assert missed.stderr.startswith("names.txt, byte 2: this is not UTF-8 text.")


@pytest.mark.parametrize("noun", ["paper", "kit", "range", "swatches"])
def test_an_empty_library_is_no_error(run: Run, tmp_path: Path, noun: str) -> None:
    """Listing what isn't there yet says so and names the next command."""
    open_library(tmp_path / "library.db").close()
    listed = run(noun, "list")
    assert listed.exit_code == 0
    assert "Next: laydown" in listed.stderr
    assert run(noun, "list", "-q").stderr == ""


POND = """\
range,medium,color,paper,L,a,b
Pond,wash,,Gannet smooth,95,0.5,-2
Pond,wash,Reed,Gannet smooth,78,-4,40
Pond,wash,Silt,Gannet smooth,45,3,10
"""


@pytest.fixture
def pond(run: Run, tmp_path: Path) -> Run:
    """Give a library with two pans."""
    (tmp_path / "pond.csv").write_text(POND, encoding="utf-8")
    assert run("swatches", "import", "pond.csv").exit_code == 0
    return run


def test_a_pan_is_marked_shown_and_unmarked(pond: Run, as_json: AsJson) -> None:
    """Marks stand with the range until others, or none, take their place."""
    told = pond("range", "mark", "pond/silt", "granulating", "opaque")
    assert told.stdout.strip() == "Silt: opaque, granulating"
    (one,) = as_json("range", "show", "Pond", "--quick")["marked"]
    assert (one["colorant"]["name"], one["marks"]) == ("Silt", ["opaque", "granulating"])
    assert "Silt: opaque, granulating" in pond("range", "show", "Pond", "--quick").stdout
    assert pond("range", "mark", "Silt", "none").stdout.strip() == "Silt: not marked"
    assert as_json("range", "show", "Pond", "--quick")["marked"] == []


def test_a_match_that_uses_a_marked_pan_says_what_to_mind(pond: Run, as_json: AsJson) -> None:
    """The note comes with the mark; the recipe and its color stay as they were."""
    asked = ["match", "lab:45,3,10", "--range", "Pond", "--steps", "1", "--coats", "1"]
    before = as_json(*asked)
    pond("range", "mark", "Silt", "granulating", "staining")
    after = as_json(*asked)
    assert not any("Silt granulates" in note for note in before["notes"])
    (note,) = set(after["notes"]) - set(before["notes"])
    assert "Silt granulates" in note
    assert after["best"] == before["best"]


def test_marks_at_odds_are_refused(pond: Run) -> None:
    """The error says which two, and nothing is kept."""
    refused = pond("range", "mark", "Silt", "staining", "lifting")
    assert refused.exit_code == 1
    assert "both staining and lifting" in refused.stderr
    assert "staining" not in pond("range", "show", "Pond", "--quick").stdout
