"""A plan that is kept at the bench: changed by hand, in two windows, and handed over as files."""

import io
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image
from starlette.testclient import TestClient

from laydown.app.library import open_named
from laydown.app.pictures.plans import PictureFile, kept_file, planned, write_plan
from laydown.cli.main import door
from laydown.documents.files.plans import read_plan
from laydown.plan.picture.picture import PlanRules

RULES = PlanRules(steps=3, width=120.0)


@pytest.fixture(scope="module")
def plan() -> bytes:
    """Return the plan of a picture of a light, a middle, and a dark part that grows lighter."""
    pixels = np.full((80, 120, 3), 230, np.uint8)
    pixels[:, 40:80] = (150, 130, 60)
    pixels[:, 80:] = (40, 50, 90)
    pixels[:40, 80:] = (58, 70, 115)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    return write_plan(planned(None, PictureFile(content.getvalue(), "stripes.png", "", RULES)))


@pytest.fixture
def number(shoal: TestClient, plan: bytes) -> str:
    """Keep the plan; return its number."""
    opened = shoal.post("/pictures/open", files={"file": ("stripes.plan", plan)})
    return str(opened.headers["location"].rpartition("=")[2])


def change(shoal: TestClient, number: str, revision: int, **fields: str) -> tuple[int, str]:
    """Send a change; return the status of the answer, and the page that it leads to."""
    sent = {"number": number, "revision": str(revision), **fields}
    answer = shoal.post("/picture/change", data=sent)
    if answer.status_code != 303:
        return answer.status_code, answer.text
    return 303, shoal.get(answer.headers["location"].partition("#")[0]).text


def regions(shoal: TestClient, number: str) -> dict[int, dict[str, object]]:
    """Return the regions of a plan by their numbers."""
    shown = shoal.get(f"/picture.json?number={number}").json()
    return {region["number"]: region for region in shown["regions"]}


def test_changes_are_those_of_the_command_line(
    shoal: TestClient, number: str, plan: bytes, tmp_path: Path
) -> None:
    """The text of what was changed does the same to the plan's file at the command line."""
    for revision, fields in enumerate(
        [
            {"do": "split", "regions": "1", "at": "2.6"},
            {"do": "merge", "regions": "1, 2"},
            {"do": "passage", "regions": "1", "passage": "sky: high"},
            {"do": "role", "regions": "1", "role": "light"},
        ]
    ):
        status, page = change(shoal, number, revision, **fields)
        assert status == 303, page
    assert "Done: role light: 1." in page
    assert regions(shoal, number)[1]["passage"] == "sky: high"
    lines = shoal.get(f"/picture/changes?number={number}")
    assert "stripes-changes.txt" in lines.headers["content-disposition"]
    place, text = tmp_path / "stripes.plan", tmp_path / "changes.txt"
    place.write_bytes(plan)
    text.write_bytes(lines.content)
    done = CliRunner().invoke(door, ["picture", "edit", str(place), str(text), "-q"])
    assert done.exit_code == 0, done.output
    assert shoal.get(f"/picture/file?number={number}").content == place.read_bytes()


def test_areas_are_given_a_color_or_a_run(shoal: TestClient, number: str) -> None:
    """One's own color by its name, or even steps between two in the order chosen; it can be undone.

    Region 1 gets a marker's measured color. Over three, the middle one gets the mean of both ends.
    """
    status, page = change(shoal, number, 0, do="color", regions="1", color="kelp")
    assert (status, "Done: color lab:52,-22,24: 1." in page) == (303, True), page
    ends = {"color": "lab:90,2,30", "to": "lab:40,8,10"}
    status, page = change(shoal, number, 1, do="color", regions="3 1 2", **ends)
    assert status == 303, page
    colors = {n: region["lab"] for n, region in regions(shoal, number).items()}
    assert colors == {3: [90, 2, 30], 1: [65, 5, 20], 2: [40, 8, 10]}
    drawn = shoal.get(f"/picture/view?number={number}&what=colors")
    with Image.open(io.BytesIO(drawn.content)) as image:
        assert len(image.convert("RGB").getcolors()) == 3
    shoal.post("/picture/back", data={"number": number, "revision": "2"})
    assert regions(shoal, number)[1]["lab"] == [52, -22, 24]


def test_the_last_change_is_taken_back(shoal: TestClient, number: str, plan: bytes) -> None:
    """One after the other, until the plan is byte for byte what it began as."""
    change(shoal, number, 0, do="merge", regions="1 2")
    change(shoal, number, 1, do="role", regions="1", role="light")
    shoal.post("/picture/back", data={"number": number, "revision": "2"})
    assert (len(regions(shoal, number)), regions(shoal, number)[1]["role"]) == (2, "")
    back = shoal.post("/picture/back", data={"number": number, "revision": "3"})
    assert "The last change is taken back." in shoal.get(back.headers["location"]).text
    assert shoal.get(f"/picture/file?number={number}").content == plan
    none = shoal.post("/picture/back", data={"number": number, "revision": "4"})
    assert "Nothing was changed" in none.text


def test_a_second_window_overwrites_nothing(shoal: TestClient, number: str) -> None:
    """A change to a plan as it was before another's change is refused, and nothing is lost."""
    change(shoal, number, 0, do="passage", regions="1", passage="sky")
    status, page = change(shoal, number, 0, do="merge", regions="1 2")
    assert (status, "changed in another window" in page) == (422, True)
    assert len(regions(shoal, number)) == 3
    status, _ = change(shoal, number, 1, do="merge", regions="1 2")
    assert status == 303


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"do": "merge", "regions": ""}, "No region is chosen."),
        ({"do": "merge", "regions": "1 two"}, "is no number of a region"),
        ({"do": "merge", "regions": "1"}, "Only one region"),
        ({"do": "merge", "regions": "1 3"}, "touches none"),
        ({"do": "merge", "regions": "1 99"}, "There is no region 99"),
        ({"do": "split", "regions": "1 2"}, "2 regions are chosen."),
        ({"do": "split", "regions": "3"}, "nothing to split"),
        ({"do": "split", "regions": "1", "at": "12"}, "at"),
        ({"do": "passage", "regions": "1", "passage": "x" * 61}, "at most 60"),
        ({"do": "role", "regions": "1", "role": "sky"}, "role"),
        ({"do": "paint", "regions": "1"}, "do"),
        ({"do": "color", "regions": "1"}, "No color was named."),
        ({"do": "color", "regions": "1", "color": "lab:71,8"}, "three numbers"),
        ({"do": "color", "regions": "1 99", "color": "Kelp"}, "There is no region 99"),
    ],
)
def test_a_wrong_change_is_told_in_a_sentence(
    shoal: TestClient, number: str, fields: dict[str, str], told: str
) -> None:
    """It says what is wrong, and the plan stays as it was."""
    status, page = change(shoal, number, 0, **fields)
    assert (status, told in page) == (422, True), page
    assert len(regions(shoal, number)) == 3


def test_a_lesson_is_that_of_the_command_line(
    shoal: TestClient, number: str, plan: bytes, tmp_path: Path
) -> None:
    """The lesson file has the plan's colors, under the title that was given."""
    change(shoal, number, 0, do="passage", regions="1 2", passage="sky")
    made = shoal.get(f"/picture/lesson?number={number}&title=Sky+%26+sea")
    assert 'filename="Sky-sea.lesson.txt"' in made.headers["content-disposition"]
    place = tmp_path / "stripes.plan"
    place.write_bytes(shoal.get(f"/picture/file?number={number}").content)
    told = CliRunner().invoke(door, ["picture", "lesson", str(place), "--title", "Sky & sea", "-q"])
    assert told.output.strip() == made.text.strip()
    assert "passage" in made.text
    sent = {"number": number, "title": "Sky & sea"}
    kept = shoal.post("/picture/lesson", data=sent).headers["location"]
    page = shoal.get(kept).text
    assert "is among your lessons" in page
    assert shoal.post("/picture/lesson", data=sent).headers["location"] == kept


def test_regions_are_listed_and_can_be_chosen_by_number(shoal: TestClient, number: str) -> None:
    """Without any script the drawing, its numbers and the form are all there."""
    page = shoal.get(f"/picture?number={number}").text
    assert f"number={number}&amp;what=numbers" in page
    assert 'id="region-3"' in page
    assert 'name="regions"' in page
    shoal.cookies.set("look", "light values")
    gray = shoal.get(f"/picture?number={number}").text
    assert "what=numbers&amp;values=true" in gray


def test_a_plan_is_the_same_after_a_restart(
    shoal: TestClient, number: str, location: str, plan: bytes
) -> None:
    """What was changed lies in the library, not in the process."""
    change(shoal, number, 0, do="merge", regions="1 2")
    library = open_named(location)
    file = kept_file(library, int(number))
    library.close()
    assert len(read_plan(file, source="it").values.regions) == 2
    assert file != plan
