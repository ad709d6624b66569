"""Finished works at the bench: kept, listed as pictures, shown, removed and undone."""

import io
import re
from pathlib import Path
from urllib.parse import parse_qs

import pytest
from click.testing import CliRunner
from PIL import Image
from starlette.testclient import TestClient

from laydown.cli.main import door

SENT = {
    "title": "Lemons & <bowl>", "paper": "Gannet smooth", "recipes": "Kelp*2; Dune\n- Net",
    "done": "2026-03-04", "remark": "for the hall",
}  # fmt: skip
LESSON = """laydown lesson 1
title: Shore
paper: Gull
color: weed
made with: Shoal/Kelp*2
xyz: 20 24 18
color: far
made with: Teacher/Dusk
xyz: 30 32 50
"""


def photograph() -> bytes:
    """Return a small picture as a phone would send it: lying on its side, and marked."""
    picture, content = Image.new("RGB", (40, 30), "#406020"), io.BytesIO()
    marks = picture.getexif()
    marks[0x0112], marks[0x013B] = 6, "Ada Okonkwo"
    picture.save(content, "JPEG", exif=marks)
    return content.getvalue()


@pytest.fixture
def done(shoal: TestClient) -> TestClient:
    """Give the bench with one finished work."""
    files = {"photograph": ("lemons.jpg", photograph(), "image/jpeg")}
    assert shoal.post("/finished", data=SENT, files=files).status_code == 303
    return shoal


def titles(visit: TestClient) -> list[str]:
    """Return the titles of all that is listed."""
    return [one["title"] for one in visit.get("/finished.json").json()["finished"]]


def test_a_finished_work_is_listed_as_a_picture_and_shown(done: TestClient) -> None:
    """Its page has all that was said, its recipes in words, and its photograph upright."""
    listed = done.get("/finished").text
    assert '<img src="/finished/photograph?number=1&amp;small=true"' in listed
    page = done.get("/finished/work?number=1").text
    for words in ("Lemons &amp; &lt;bowl&gt;", "2026-03-04, on Gannet smooth", "for the hall"):
        assert words in page
    laid = re.findall("<li>(.*?)</li>", page)[-2:]
    assert laid == ["2 coats Kelp, then 1 coat Dune", "1 coat Net"]
    with Image.open(io.BytesIO(done.get("/finished/photograph?number=1").content)) as shown:
        assert shown.size == (30, 40)


def test_a_photograph_says_nothing_of_who_took_it(done: TestClient) -> None:
    """The file that is kept and handed out is the picture alone."""
    kept = done.get("/finished/photograph/file?number=1").content
    assert b"Okonkwo" in photograph()
    assert b"Okonkwo" not in kept


def test_both_doors_tell_the_same_of_finished_works(done: TestClient, location: str) -> None:
    """A page's JSON is byte for byte what the command line writes."""
    for address, command in (
        ("/finished.json", ["list"]),
        ("/finished/work.json?number=1", ["show", "1"]),
    ):
        written = CliRunner().invoke(door, ["finished", *command, "--json", "--db", location, "-q"])
        assert done.get(address).content == written.stdout_bytes


def test_removal_is_undone_with_the_photograph(done: TestClient) -> None:
    """What was removed by mistake comes back whole, and keeping it is undone as well."""
    done.post("/finished/remove", data={"number": "1"})
    assert titles(done) == []
    done.post("/history/undo")
    assert titles(done) == [SENT["title"]]
    assert done.get("/finished/photograph?number=1").status_code == 200
    done.post("/history/undo")
    assert titles(done) == []


def test_a_photograph_is_erased_for_good_where_that_is_asked(
    done: TestClient, location: str
) -> None:
    """Undo brings back the work without it, and nothing of it stays in the library's file."""
    part = done.get("/finished/photograph/file?number=1").content[-80:]
    assert part in Path(location).read_bytes()
    done.post("/finished/remove", data={"number": "1", "erase_photograph": "true"})
    assert part not in Path(location).read_bytes()
    done.post("/history/undo")
    assert done.get("/finished/work.json?number=1").json()["photograph"] == ""
    assert done.get("/finished/photograph?number=1").status_code == 422


def test_an_erased_trial_leaves_the_photograph_of_a_finished_work(done: TestClient) -> None:
    """One picture kept for both stays until neither shows it."""
    files = {"photograph": ("lemons.jpg", photograph(), "image/jpeg")}
    noted = {"recipe": "Kelp", "color": "lab:46,-23,25", "paper": "Gannet smooth"}
    assert done.post("/notebook", data=noted, files=files).status_code == 303
    done.post("/trial/erase", data={"number": "1", "sure": "true", "photograph_only": "false"})
    assert done.get("/finished/photograph?number=1").status_code == 200


def test_the_recipes_of_a_lesson_are_taken_over(shoal: TestClient) -> None:
    """All of them, also what its teacher laid with markers that aren't here."""
    shoal.post("/lessons", data={"pasted": LESSON})
    assert ">Shore</option>" in shoal.get("/finished").text
    shoal.post("/finished", data={"title": "Shore", "recipes": "Net", "lesson": "1"})
    page = shoal.get("/finished/work?number=1").text
    assert re.findall("<li>(.*?)</li>", page)[-3:] == ["1 coat Net", "2 coats Kelp", "1 coat Dusk"]


def test_a_typed_recipe_must_be_of_colorants_that_are_here(shoal: TestClient) -> None:
    """A misspelled marker is told, and nothing is kept."""
    told = shoal.post("/finished.json", data=SENT | {"recipes": "Klep"})
    assert told.status_code == 404
    assert "Klep" in told.text
    assert titles(shoal) == []


def test_an_answer_begins_the_form(shoal: TestClient) -> None:
    """Title, paper and recipes of an answer stand in the form already."""
    said = "title=Shore&paper=Gannet%20smooth&recipes=Shoal%2FKelp*2%0AShoal%2FNet"
    page = shoal.get(f"/finished?{said}").text
    assert f">{parse_qs(said)['recipes'][0]}</textarea>" in page
    assert 'name="title" value="Shore"' in page
