"""A plan made from kits at the bench: recipes, pictures side by side, prints."""

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.app.pictures.painting import PaintPlan
from laydown.app.pictures.plans import PictureFile, planned, write_plan
from laydown.cli.main import door
from laydown.plan.picture.picture import PlanRules
from laydown.store.records import Job

Over = Callable[[int], Job]

FROM = {"range": "Shoal", "paper": "Gannet smooth", "steps": "1"}


@pytest.fixture(scope="module")
def plan() -> bytes:
    """Return the plan of a picture of a light and a dark half."""
    pixels = np.full((60, 120, 3), 200, np.uint8)
    pixels[:, 60:] = (60, 90, 110)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    rules = PlanRules(steps=2, width=120.0)
    return write_plan(planned(None, PictureFile(content.getvalue(), "halves.png", "", rules)))


def wait(shoal: TestClient, over: Over, path: str, fields: dict[str, str]) -> int:
    """Send a form and wait for its job; return the job's number."""
    asked = shoal.post(path, data=fields)
    assert asked.status_code == 303, asked.text
    number = int(asked.headers["location"].rpartition("=")[2])
    over(number)
    return number


@pytest.fixture
def number(shoal: TestClient, plan: bytes) -> str:
    """Keep the plan; return its number."""
    opened = shoal.post("/pictures/open", files={"file": ("halves.plan", plan)})
    return str(opened.headers["location"].rpartition("=")[2])


@pytest.fixture
def place(plan: bytes, tmp_path: Path) -> str:
    """Write the plan to a file; return its name."""
    (tmp_path / "halves.plan").write_bytes(plan)
    return str(tmp_path / "halves.plan")


def test_recipes_have_the_bytes_of_the_command_line(
    shoal: TestClient, over: Over, number: str, place: str, location: str
) -> None:
    """Two kits side by side, or values alone: what a form asks is what a command answers."""
    shoal.post("/kits", data={"name": "mine"})
    shoal.post("/kit/own", data={"kit": "mine", "tick": ["Shoal/Net", "Shoal/Kelp"]})
    ways = [
        ({"beside": "mine"}, ["--beside", "mine"]),
        ({"values_only": "true"}, ["--values-only"]),
    ]
    for fields, options in ways:
        asked = FROM | fields | {"number": number}
        job = wait(shoal, over, "/picture/recipes", asked)
        command = ["picture", "recipes", place, "--range", "Shoal", "--steps", "1", *options]
        told = CliRunner().invoke(door, [*command, "--json", "-q", "--db", location])
        assert shoal.get(f"/picture/recipes.json?job={job}").content == told.stdout_bytes


def pixels_of(content: bytes) -> np.ndarray:
    """Return the pixels of a picture."""
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"))


def test_the_picture_stands_beside_what_a_kit_makes_of_it(
    shoal: TestClient, over: Over, number: str
) -> None:
    """In color and in values only, with what is lost and each recipe in words."""
    job = wait(shoal, over, "/picture/recipes", FROM | {"number": number, "beside": "Shoal"})
    page = shoal.get(f"/picture/recipes?job={job}").text
    for query in ("what=picture", "what=colors", "what=colors&amp;kit=1", "what=colors&amp;kit=2"):
        assert f'"/picture/view?job={job}&amp;{query}"' in page
        assert f'"/picture/view?job={job}&amp;{query}&amp;values=true"' in page
    assert "What is lost" in page
    assert "Skiff" in page
    assert f'href="/picture?number={number}"' in page
    wanted, made = (
        pixels_of(shoal.get(f"/picture/view?job={job}&{query}").content)
        for query in ("what=colors", "what=colors&kit=1")
    )
    assert wanted.shape == made.shape
    assert len(np.unique(made.reshape(-1, 3), axis=0)) == 2
    assert (wanted != made).any()
    assert shoal.get(f"/picture/view?job={job}&what=colors&kit=3").status_code == 404
    assert shoal.get(f"/picture/preview?job={job}").content.startswith(b"\x89PNG")


def test_a_kit_matched_in_values_alone_is_shown_in_gray(
    shoal: TestClient, over: Over, number: str
) -> None:
    """Whatever hue its recipes have, the picture has none."""
    job = wait(shoal, over, "/picture/recipes", FROM | {"number": number, "values_only": "true"})
    made = pixels_of(shoal.get(f"/picture/view?job={job}&what=colors&kit=1").content)
    assert np.array_equal(made.min(axis=-1), made.max(axis=-1))


def test_a_plan_that_was_changed_is_told(shoal: TestClient, over: Over, number: str) -> None:
    """Recipes belong to the plan as it was; the page says so once it has changed."""
    job = wait(shoal, over, "/picture/recipes", FROM | {"number": number})
    shoal.post(
        "/picture/change",
        data={"number": number, "revision": "0", "do": "role", "regions": "1", "role": "light"},
    )
    page = shoal.get(f"/picture/recipes?job={job}").text
    assert "The plan was changed since" in page


def test_a_plan_is_printed(shoal: TestClient, over: Over, number: str) -> None:
    """With colors alone, as PDF at the page's size; what is printed is told before it is saved."""
    job = wait(shoal, over, "/picture/print", {"number": number, "page": "A5"})
    page = shoal.get(f"/picture/printed?job={job}").text
    assert "on a sheet of" in page
    file = shoal.get(f"/picture/printed/file?job={job}")
    assert file.content.startswith(b"%PDF-")
    assert 'filename="halves.pdf"' in file.headers["content-disposition"]


def test_a_print_with_recipes_is_that_of_the_command_line(
    shoal: TestClient, over: Over, number: str, place: str, location: str
) -> None:
    """The recipes that were found are asked for again in the same way, and printed."""
    painted = wait(shoal, over, "/picture/recipes", FROM | {"number": number})
    fields = {"job": str(painted), "kit": "1", "form": "svg"}
    job = wait(shoal, over, "/picture/print", fields)
    drawn = str(Path(place).with_name("drawn.svg"))
    command = ["picture", "print", place, "--range", "Shoal", "--steps", "1", "-o", drawn]
    done = CliRunner().invoke(door, [*command, "-q", "--db", location])
    assert done.exit_code in {0, 3}, done.output
    assert shoal.get(f"/picture/printed/file?job={job}").content == Path(drawn).read_bytes()
    assert "With the recipes from Shoal" in shoal.get(f"/picture/printed?job={job}").text


def test_usual_recipes_of_a_picture_have_two_steps(shoal: TestClient, number: str) -> None:
    """The form offers what the command line takes for pictures unless told otherwise."""
    page = shoal.get(f"/picture?number={number}").text
    steps = page.partition('id="kits"')[2].partition('name="steps"')[2].partition("</select>")[0]
    assert '<option value="2" selected>' in steps


@pytest.mark.parametrize(
    ("method", "path", "fields", "status"),
    [
        ("POST", "/picture/recipes", {"number": "99"}, 404),
        ("POST", "/picture/print", {}, 404),
        ("POST", "/picture/print", {"number": "1", "page": "A0"}, 422),
        ("GET", "/picture/recipes?job=99", {}, 404),
        ("GET", "/picture/printed/file?job=99", {}, 404),
        ("GET", "/picture/view?what=colors", {}, 404),
        ("GET", "/picture/view?what=nothing&number=1", {}, 422),
    ],
)
def test_what_is_not_there_is_told(
    shoal: TestClient, method: str, path: str, fields: dict[str, str], status: int
) -> None:
    """A number or a name of nothing is one sentence and a way on."""
    answer = shoal.request(method, path, data=fields or None)
    assert answer.status_code == status, answer.text
    assert 'class="button"' in answer.text


def test_a_request_names_the_plan(
    shoal: TestClient, jobs: Jobs, over: Over, number: str, plan: bytes
) -> None:
    """What is kept of the asking is the plan's own file, so that it can be asked again."""
    job = wait(shoal, over, "/picture/recipes", FROM | {"number": number})
    asked = jobs.request(job)
    assert isinstance(asked, PaintPlan)
    assert asked.picture.file == plan
    assert jobs.get(job).title == "halves from Shoal"
