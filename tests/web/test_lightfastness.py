"""Classes of lightfastness and window tests at the bench."""

import re
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.app.light.lightfastness import AddWindowTest, WindowTest
from laydown.app.tasks import GivenFile
from laydown.cli.main import door
from laydown.media.light.exposure import Span
from laydown.media.light.window_test import WindowReading
from laydown.media.recipe import Colorant
from laydown.store.records import Job

Over = Callable[[int], Job]

CLASSES = b"range,color,class,source\nShoal,Kelp,3,the label\nShoal,Dune,II,\n"
IN_LIGHT = {"lux": "3000-8000", "hours": "9", "days": "30", "glass": "plain"}


def told(location: str, *command: str) -> bytes:
    """Return what the command line writes as JSON."""
    asked = ["light", *command, "--json", "-q", "--db", location]
    return CliRunner().invoke(door, asked).stdout_bytes


def test_both_doors_list_the_same(shoal: TestClient, location: str) -> None:
    """What is known of a range, and of which colorants nothing is, has the same bytes."""
    shoal.post("/light/rate", data={"grade": "3-4", "pasted": "Kelp", "source": "the label"})
    page = shoal.get("/light/classes.json?range=Shoal")
    assert page.content == told(location, "ratings", "--range", "Shoal")
    unknown = [o["colorant"]["name"] for o in page.json()["colorants"] if o["fastness"] is None]
    assert unknown == ["Dune", "Net", "Skiff"]


def test_classes_are_stated_for_ticked_typed_and_whole_ranges(shoal: TestClient) -> None:
    """Each way names colorants; the page says how many changed, and unknown takes it back."""
    asked = {"grade": "blue wool 2", "tick": ["Shoal/Kelp"], "pasted": "- Dune\n", "range": ""}
    done = shoal.post("/light/rate", data=asked)
    assert "blue wool 2: 2 colors changed." in shoal.get(done.headers["location"]).text
    whole = shoal.post("/light/rate.json", data={"grade": "II", "range": "Shoal"}).json()
    assert len(whole["changed"]) == 4
    shoal.post("/light/rate", data={"grade": "unknown", "pasted": "Net"})
    page = shoal.get("/light/classes?range=Shoal").text
    assert 'name="tick" value="Shoal/Net"' in page
    assert page.count("ASTM D4303 II") == 6


@pytest.mark.parametrize(
    ("fields", "status", "said"),
    [
        ({"grade": "five stars", "pasted": "Kelp"}, 422, "no class of lightfastness"),
        ({"grade": "3"}, 404, "No colorant was named."),
        ({"grade": "3", "pasted": "Kelpp"}, 404, "Kelpp"),
        ({"pasted": "Kelp"}, 422, "grade"),
    ],
)
def test_a_class_that_cant_be_stated_is_a_sentence(
    shoal: TestClient, fields: dict[str, str], status: int, said: str
) -> None:
    """Nothing is stated then."""
    refused = shoal.post("/light/rate", data=fields)
    assert refused.status_code == status
    assert said in refused.text
    assert shoal.get("/light/classes.json").json()["colorants"] == []


def test_a_kit_and_a_range_at_once_are_refused(shoal: TestClient) -> None:
    """As at the command line."""
    assert "not both" in shoal.get("/light/classes?kit=mine&range=Shoal").text


def test_a_list_comes_in_and_goes_out(shoal: TestClient) -> None:
    """All of a file comes in, and what is handed out brings the same in again."""
    done = shoal.post("/light/import", files={"file": ("classes.csv", CLASSES, "text/csv")})
    page = shoal.get(done.headers["location"]).text
    assert "2 of 2 classes and 0 of 0 window readings were new." in page
    file = shoal.get("/light/classes/file?range=Shoal")
    assert 'filename="Shoal-classes.csv"' in file.headers["content-disposition"]
    again = {"file": ("again.csv", file.content, "text/csv")}
    assert shoal.post("/light/import.json", files=again).json() == {
        "classes": 2,
        "new_classes": 0,
        "readings": 0,
        "new_readings": 0,
    }


def test_a_bad_list_is_named_by_its_line(shoal: TestClient) -> None:
    """Nothing of a list with an unknown colorant comes in; an empty library hands out nothing."""
    bad = CLASSES + b"Shoal,Kelpp,3,\n"
    refused = shoal.post("/light/import", files={"file": ("classes.csv", bad, "text/csv")})
    assert refused.status_code == 404
    assert "classes.csv, line 4" in refused.text
    assert shoal.get("/light/classes/file").status_code == 422


def test_a_coat_in_a_window_is_noted_and_forgotten(shoal: TestClient, location: str) -> None:
    """A typed color is compared with its one-coat swatch, listed with its light, and goes again."""
    asked = {"colorant": "Kelp", "after": "lab:57,-17,20", **IN_LIGHT, "remark": "<b>south"}
    noted = shoal.post("/light/window", data=asked)
    assert noted.status_code == 303, noted.text
    page = shoal.get("/light/window").text
    assert re.search(r"Shoal/Kelp moved by \d+\.\d \(CIEDE2000\)", page)
    assert "after 0.81-2.16 million lux hours" in page
    assert "“&lt;b&gt;south”" in page
    assert shoal.get("/light/window.json").content == told(location, "ratings")
    number = shoal.get("/light/window.json").json()["colorants"][0]["tests"][0]["number"]
    gone = shoal.post("/light/forget", data={"number": number})
    assert "Forgotten: Shoal/Kelp" in shoal.get(gone.headers["location"]).text
    assert shoal.post("/light/forget", data={"number": number}).status_code == 404


def test_both_doors_note_the_same(shoal: TestClient, location: str, tmp_path: Path) -> None:
    """A file of swatches measured after light is compared coat by coat; a dose is as good."""
    rows = b"range,medium,color,paper,L,a,b\nShoal,marker,Kelp,Gannet smooth,58,-16,18\n"
    sent = {"file": ("after.csv", rows, "text/csv")}
    noted = shoal.post("/light/window.json", data={"dose": "0.5-1"}, files=sent)
    number = noted.json()["tests"][0]["number"]
    shoal.post("/light/forget", data={"number": number})
    (tmp_path / "after.csv").write_bytes(rows)
    command = ["window", "--file", str(tmp_path / "after.csv"), "--dose", "0.5-1"]
    other = told(location, *command).replace(b'"number": 2', b'"number": 1')
    assert noted.content.split(b'"noted"')[0] == other.split(b'"noted"')[0]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({**IN_LIGHT}, "Name a colorant and type its color now"),
        ({**IN_LIGHT, "colorant": "Kelp"}, "Name a colorant and type its color now"),
        ({"colorant": "Kelp", "after": "lab:57,-17,20"}, "Say the light once."),
        ({**IN_LIGHT, "dose": "1", "colorant": "Kelp", "after": "lab:57,-17,20"}, "Say the light"),
        ({"lux": "300", "colorant": "Kelp", "after": "lab:57,-17,20"}, "For how many days"),
        ({"dose": "lots", "colorant": "Kelp", "after": "lab:57,-17,20"}, "is no dose"),
        ({"dose": "1", "colorant": "Kelp", "after": "green"}, "green"),
        ({"dose": "1", "colorant": "Kelp", "after": "lab:57,-17,20", "noise": "30"}, "noise"),
    ],
)
def test_a_test_that_isnt_clear_is_a_sentence(
    shoal: TestClient, fields: dict[str, str], said: str
) -> None:
    """Nothing is noted, and the sentence says what to do."""
    refused = shoal.post("/light/window", data=fields)
    assert refused.status_code == 422
    assert said in refused.text
    assert shoal.get("/light/window.json").json()["colorants"] == []


def test_no_picture_of_a_sheet_is_a_sentence(shoal: TestClient, jobs: Jobs) -> None:
    """An empty field begins no work."""
    empty = {"pictures": ("", b"", "image/png")}
    refused = shoal.post("/light/window/sheet", data={"dose": "1"}, files=empty)
    assert refused.status_code == 422
    assert jobs.all() == ()


def test_a_sheet_from_the_window_is_read_as_long_work(
    shoal: TestClient, jobs: Jobs, over: Over
) -> None:
    """The work is asked what the command would be; what is no picture ends it with a sentence."""
    sent = {"pictures": ("sheet.png", b"no picture", "image/png")}
    asked = shoal.post("/light/window/sheet", data={**IN_LIGHT, "remark": "south"}, files=sent)
    number = int(asked.headers["location"].rpartition("=")[2])
    picture = GivenFile(b"no picture", "sheet.png")
    light = Span(0.81, 2.16)
    assert jobs.request(number) == AddWindowTest(light, pictures=(picture,), remark="south")
    assert over(number).state == "failed"
    assert "sheet.png" in shoal.get(f"/job?number={number}").text


def test_what_a_sheet_told_is_shown(
    shoal: TestClient, jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each coat with how far it moved, what was known already, and what was passed over."""
    before, after = np.array([52.0, -22.0, 24.0]), np.array([57.0, -17.0, 20.0])
    read = WindowReading(Span(1.0, 2.0), before, after, 0.3, False)
    test = WindowTest(Colorant("Kelp", "Shoal"), "Gannet smooth", read, number=1)
    added = (test,), 1, ("Cell 3 was passed over: it was smudged.",)
    monkeypatch.setattr(jobs, "result", lambda _: added)
    monkeypatch.setattr(jobs, "get", lambda _: SimpleNamespace(task="add_window_test"))
    page = shoal.get("/light/window/noted?job=5").text
    assert "1 reading was kept. 1 was known already." in page
    assert f"Shoal/Kelp moved by {read.difference:.1f}" in page
    assert "Cell 3 was passed over" in page
