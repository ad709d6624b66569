"""The notebook at the bench: noted, listed, found, edited, taken back, printed, handed on."""

import base64
import io
import json
import re
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from click.testing import CliRunner
from PIL import Image
from starlette.testclient import TestClient

from laydown.cli.main import door

HEAVY = (
    ("Kelp", "lab:46.5,-23,25"),
    ("Dune", "lab:79,3.5,26"),
    ("Skiff", "lab:54,-7.5,-34"),
    ("Net", "lab:64,0,3"),
)
"""What a heavy hand gets of one coat each."""


def photograph() -> bytes:
    """Return a small picture as a phone would send it: lying on its side, and marked so."""
    picture, content = Image.new("RGB", (40, 30), "#406020"), io.BytesIO()
    marks = picture.getexif()
    marks[0x0112], marks[0x013B] = 6, "Ada Okonkwo"
    picture.save(content, "JPEG", exif=marks)
    return content.getvalue()


@pytest.fixture
def kit(shoal: TestClient) -> TestClient:
    """Give the bench with the range Shoal as the kit mine."""
    shoal.post("/kits", data={"name": "mine"})
    shoal.post("/kit/own", data={"kit": "mine", "range": "Shoal"})
    return shoal


@pytest.fixture
def tried(kit: TestClient) -> TestClient:
    """Give the same with four trials by a heavy hand."""
    for recipe, color in HEAVY:
        sent = {"recipe": recipe, "color": color, "kit": "mine", "remark": f"bowl {recipe}"}
        assert kit.post("/notebook", data=sent).status_code == 303
    return kit


def told(location: str, *command: str) -> bytes:
    """Return what the other door writes with --json."""
    return CliRunner().invoke(door, [*command, "--json", "--db", location, "-q"]).stdout_bytes


@pytest.mark.parametrize(
    ("address", "command"),
    [
        ("/notebook.json", ["list", "--latest-first", "--most", "10"]),
        ("/notebook.json?kit=mine&most=2&skip=1", ["list", "--latest-first", "--kit", "mine",
                                                    "--most", "2", "--skip", "1"]),
        ("/trial.json?number=2", ["show", "2"]),
        ("/notebook/found.json?color=lab:54,-8,-33", ["find", "lab:54,-8,-33"]),
        ("/notebook/found.json?colorant=Dune&words=bowl", ["find", "--colorant", "Dune",
                                                            "--words", "bowl"]),
        ("/notebook/file.json", ["export"]),
    ],
)  # fmt: skip
def test_both_doors_tell_the_same(
    tried: TestClient, location: str, address: str, command: list[str]
) -> None:
    """A page's JSON is byte for byte what the command line writes."""
    assert tried.get(address).content == told(location, "trial", *command)


def test_a_trial_is_noted_and_shown_beside_what_was_wanted_and_promised(kit: TestClient) -> None:
    """All that was said is on its page, and three colors adjoin."""
    sent = {
        "recipe": "Kelp*2; Dune", "color": "lab:41,-20,24", "kit": "mine",
        "paper": "Gannet smooth", "wanted": "lab:44,-18,22", "remark": "shadow <of> the bowl",
        "done": "2026-03-04", "fill": "refilled", "noise": "1.5",
    }  # fmt: skip
    made = kit.post("/notebook", data=sent)
    page = kit.get(made.headers["location"]).text
    for words in ("Noted: trial 1.", "2026-03-04", "refilled", "shadow &lt;of&gt; the bowl"):
        assert words in page
    assert "Unsure by 1.5 CIELAB units." in page
    assert 'aria-label="Wanted: ' in page
    assert page.count('height="110"') == 3
    assert "the promise" in page


def test_a_color_from_a_photograph_is_taken_as_rough(kit: TestClient) -> None:
    """What is picked on a screen is noted with a screen's doubt."""
    kit.post("/notebook", data={"recipe": "Kelp", "color": "#4a7a4e", "kit": "mine"})
    assert kit.get("/trial.json?number=1").json()["entries"][-1]["noise"] == 5.0


def test_the_form_begins_with_what_a_match_said(kit: TestClient) -> None:
    """One color leads to a form that holds recipe, kit, paper and what was wanted."""
    page = kit.get("/color?wanted=Kelp&kit=mine").text
    link = page.split('href="/notebook/new?', 1)[1].split('"', 1)[0].replace("&amp;", "&")
    assert parse_qs(link)["wanted"] == ["lab:52.00,-22.00,24.00"]
    form = kit.get(f"/notebook/new?{link}").text
    assert 'name="recipe" value="Shoal/Kelp' in form
    assert re.search('<option value="mine"[^>]* selected>', form)


def test_what_was_made_before_is_said(tried: TestClient) -> None:
    """A trial for a color that an earlier one came near names that one."""
    sent = {"recipe": "Kelp*2", "color": "lab:40,-24,26", "wanted": "lab:46,-23,25", "kit": "mine"}
    noted = tried.post("/notebook", data=sent)
    assert "You came as near before: trial 1, Kelp." in tried.get(noted.headers["location"]).text


def test_a_measured_file_is_noted_row_by_row(kit: TestClient) -> None:
    """Each colored row is a trial; none where one row is bad."""
    rows = (
        "range,medium,color,paper,coats,over,L,a,b\n"
        "Shoal,marker,Dune,Gannet smooth,1,Kelp,45,-20,25\n"
        "Shoal,marker,Net,Gannet smooth,2,,52,0,3\n"
    )
    bad = {"file": ("bad.csv", rows.replace("52,0,3", "52,0"), "text/csv")}
    assert kit.post("/notebook/measured", data={"kit": "mine"}, files=bad).status_code == 422
    good = {"file": ("good.csv", rows, "text/csv")}
    made = kit.post("/notebook/measured", data={"kit": "mine"}, files=good)
    page = kit.get(made.headers["location"]).text
    assert "Noted: trials 1 to 2." in page
    assert page.count('class="pair adjoining"') == 2


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"recipe": "Kelp", "color": "lab:40,-24"}, "three numbers"),
        ({"recipe": "Kelp", "color": "lab:40,200,200"}, "no surface"),
        ({"recipe": "Kelq", "color": "lab:40,-24,26"}, "Kelq"),
        ({"recipe": "Kelp", "color": "#12345"}, "#12345"),
        ({"recipe": "Kelp", "color": "lab:40,-24,26", "done": "soon"}, "no day"),
        ({"recipe": "Kelp", "color": "lab:40,-24,26", "kit": "yours"}, "yours"),
        ({"recipe": "Kelp", "color": "lab:40,-24,26", "paper": "Heron"}, "Heron"),
        ({"recipe": "Kelp", "color": "lab:40,-24,26", "noise": "99"}, "noise"),
        ({"recipe": "Kelp"}, "color"),
    ],
)
def test_what_cannot_be_noted_is_a_sentence(
    kit: TestClient, sent: dict[str, str], said: str
) -> None:
    """What is wrong is named, with a way on, and nothing is noted."""
    refused = kit.post("/notebook", data=sent)
    assert refused.status_code in {404, 422}
    assert said in refused.text
    assert 'class="button"' in refused.text
    assert kit.get("/notebook.json").json()["total"] == 0


def test_a_photograph_is_kept_shown_upright_and_handed_back(kit: TestClient) -> None:
    """The page shows it as a picture of its own making; the file says no more who took it."""
    sent = {"recipe": "Kelp", "color": "lab:46,-23,25"}
    kit.post("/notebook", data=sent, files={"photograph": ("a bowl.jpg", photograph())})
    assert 'src="/trial/photograph?number=1"' in kit.get("/trial?number=1").text
    shown = kit.get("/trial/photograph?number=1")
    assert shown.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(shown.content)).size == (30, 40)
    file = kit.get("/trial/photograph/file?number=1")
    assert b"Ada Okonkwo" in photograph()
    assert b"Ada Okonkwo" not in file.content
    (handed,) = kit.get("/notebook/file").json()["photographs"]
    assert base64.b64decode(handed["content"]) == file.content
    sent, kept = Image.open(io.BytesIO(photograph())), Image.open(io.BytesIO(file.content))
    assert sent.tobytes() == kept.tobytes()
    assert file.headers["content-disposition"].startswith("attachment")


def test_a_trial_is_erased_only_where_that_is_sure(kit: TestClient) -> None:
    """Without the tick nothing goes; with it the photograph goes first, and then the trial."""
    sent = {"recipe": "Kelp", "color": "lab:46,-23,25"}
    kit.post("/notebook", data=sent, files={"photograph": ("a bowl.jpg", photograph())})
    assert "Nothing was erased" in kit.post("/trial/erase", data={"number": 1}).text
    sure = {"number": 1, "sure": "true"}
    kit.post("/trial/erase", data={**sure, "photograph_only": "true"})
    assert "Erased for good: the photograph of trial 1." in kit.get("/trial?number=1").text
    assert kit.get("/trial/photograph?number=1").status_code == 422
    kit.post("/trial/erase", data=sure)
    assert "Erased for good: trial 1." in kit.get("/notebook").text
    assert kit.get("/trial?number=1").status_code == 404


def test_what_is_no_photograph_is_refused(kit: TestClient) -> None:
    """A page under the name of a picture is not kept, and so can never be shown."""
    sent = {"recipe": "Kelp", "color": "lab:46,-23,25"}
    page = {"photograph": ("bowl.html", b"<script>alert(1)</script>", "image/jpeg")}
    assert kit.post("/notebook", data=sent, files=page).status_code == 422
    assert kit.get("/notebook.json").json()["total"] == 0
    assert kit.get("/trial/photograph?number=1").status_code == 404


def test_an_edit_keeps_what_was_noted_and_touches_nothing_else(tried: TestClient) -> None:
    """Only what was changed in the form is another; the first entry stays below."""
    page = tried.get("/trial?number=2").text
    assert 'value="Shoal/Dune"' in page
    sent = {
        "number": "2", "recipe": "Shoal/Dune*2", "color": "", "wanted": "", "kit": "mine",
        "paper": "Gannet smooth", "remark": "bowl Dune", "done": "", "fill": "usual",
    }  # fmt: skip
    assert tried.post("/trial/edit", data=sent).status_code == 303
    first, last = tried.get("/trial.json?number=2").json()["entries"]
    changed = {name for name in last if last[name] != first[name]}
    assert changed - {"recorded"} == {"recipe", "version"}
    assert "Noted before" in tried.get("/trial?number=2").text


def test_a_trial_is_taken_back_and_brought_in_again(tried: TestClient) -> None:
    """It leaves the list but not the notebook, teaches nothing, and comes back whole."""
    taught = tried.get("/color.json?wanted=Kelp&kit=mine&top=0").json()["notes"]
    assert any("Learned from 4 trials" in note for note in taught)
    back = tried.post("/trial/undo", data={"number": "3"})
    assert "nothing is learned from it" in tried.get(back.headers["location"]).text
    assert tried.get("/notebook.json").json()["total"] == 3
    assert tried.get("/notebook.json?all=true").json()["total"] == 4
    fewer = tried.get("/color.json?wanted=Kelp&kit=mine&top=0").json()["notes"]
    assert any("Learned from 3 trials" in note for note in fewer)
    tried.post("/trial/undo", data={"number": "3", "bring_back": "true"})
    assert tried.get("/notebook.json").json()["total"] == 4


def test_the_list_goes_on_from_page_to_page(tried: TestClient) -> None:
    """The latest stands first, and the links lead through all of it."""
    page = tried.get("/notebook?most=3&kit=mine").text
    assert page.index("4 · ") < page.index("3 · ")
    assert "1 to 3 of 4" in page
    link = page.split('rel="next" href="', 1)[1].split('"', 1)[0].replace("&amp;", "&")
    assert parse_qs(urlsplit(link).query)["kit"] == ["mine"]
    assert "4 to 4 of 4" in tried.get(link).text


def test_a_search_says_how_near_and_what_it_needs(tried: TestClient) -> None:
    """The nearest stands first with its distance; an empty search is a sentence."""
    page = tried.get("/notebook/found?color=lab:54,-8,-33&within=100").text
    assert page.index("3 · 1 coat Skiff") < page.index("1 · 1 coat Kelp")
    assert "from the color" in page
    assert page.count('class="pair adjoining"') == 4
    assert "Nothing like it" in tried.get("/notebook/found?color=lab:10,0,0").text
    assert tried.get("/notebook/found").status_code == 422


def test_a_long_search_draws_the_nearest_and_names_the_rest(kit: TestClient) -> None:
    """Ten are drawn, so that the page comes at once; each other is a line that leads to it."""
    for step in range(12):
        kit.post("/notebook", data={"recipe": "Kelp", "color": f"lab:{40 + step},-20,20"})
    page = kit.get("/notebook/found?color=lab:40,-20,20&within=100").text
    assert page.count('class="pair adjoining"') == 10
    assert page.index("And these") < page.index('href="/trial?number=11"')
    assert 'href="/trial?number=12"' in page


def test_a_trial_outlives_what_it_was_made_from(tried: TestClient) -> None:
    """Without its range it is still shown; only the promise can't be told any more."""
    tried.post("/kit/remove", data={"kit": "mine"})
    page = tried.get("/trial?number=1")
    assert page.status_code == 200
    assert "What was promised can’t be told" in page.text
    assert tried.get("/notebook").status_code == 200


def test_a_trial_of_which_nothing_can_be_foretold_is_shown(kit: TestClient) -> None:
    """Solvent over a marker is noted as it was laid, and hides no other trial."""
    for recipe in ("Kelp", "Kelp; solvent by swab"):
        kit.post("/notebook", data={"recipe": recipe, "color": "lab:50,-20,20", "kit": "mine"})
    page = kit.get("/notebook")
    assert page.status_code == 200
    assert page.text.count("Against the promise:") == 1
    assert "What was promised can’t be told" in kit.get("/trial?number=2").text


def test_trials_are_printed(tried: TestClient) -> None:
    """All or those named, on either page, as a PDF to be saved."""
    whole, two = (
        tried.get("/notebook/print"),
        tried.get("/notebook/print?number=1&number=3&page=Letter"),
    )
    assert whole.content.startswith(b"%PDF-")
    assert two.content.startswith(b"%PDF-")
    assert whole.headers["content-disposition"].startswith("attachment")
    assert tried.get("/notebook/print?number=99").status_code == 404


def test_the_notebook_moves_whole(tried: TestClient, tmp_path: Path) -> None:
    """What is handed out comes in elsewhere, the same; here it brings nothing new."""
    tried.post("/trial/undo", data={"number": "2"})
    file = tried.get("/notebook/file")
    assert json.loads(file.text)["form"] == "laydown trials 1"
    book, back = tmp_path / "book.json", tmp_path / "back.json"
    book.write_bytes(file.content)
    elsewhere = ["--db", str(tmp_path / "other.db")]
    first = CliRunner().invoke(door, ["trial", "import", str(book), *elsewhere])
    CliRunner().invoke(door, ["trial", "export", "-o", str(back), *elsewhere])
    assert "4 new trials of 4, 5 new notes" in first.stdout
    assert back.read_bytes() == file.content
    taken = tried.post("/notebook/import", files={"file": ("book.json", file.content)})
    assert "0 new trials of 4, 0 new notes" in tried.get(taken.headers["location"]).text
    refused = tried.post("/notebook/import", files={"file": ("poem.json", b"{}")})
    assert refused.status_code == 422
    assert "no notebook of trials" in refused.text
