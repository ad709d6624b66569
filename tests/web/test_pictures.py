"""Pictures at the bench: sent, planned, looked at, kept, opened again."""

import html
import io
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.app.pictures.plans import PictureFile
from laydown.cli.main import door
from laydown.store.records import Job
from laydown.web.pages.pictures import said_of, white_of

Over = Callable[[int], Job]


def drawing() -> bytes:
    """Return a picture of a light half, a dark half, and a middle one between them, as a PNG."""
    pixels = np.full((80, 120, 3), 230, np.uint8)
    pixels[:, 40:80] = (150, 130, 60)
    pixels[:, 80:] = (40, 50, 90)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    return content.getvalue()


def sent(shoal: TestClient, over: Over, **fields: str) -> int:
    """Send the drawing and wait for its plan; return the number of the job."""
    file = {"file": ("stripes.png", drawing(), "image/png")}
    asked = shoal.post("/pictures", data={"width": "120", "steps": "3", **fields}, files=file)
    assert asked.status_code == 303, asked.text
    return over(int(asked.headers["location"].rpartition("=")[2])).id


def kept(shoal: TestClient, over: Over, **fields: str) -> str:
    """Send the drawing and keep its plan; return the number of the plan."""
    made = shoal.post("/picture/keep", data={"job": str(sent(shoal, over, **fields))})
    return made.headers["location"].rpartition("=")[2]


def test_a_plan_has_the_bytes_of_the_command_line(
    shoal: TestClient, over: Over, tmp_path: Path
) -> None:
    """Planned by a form or by a command, a picture gives the same result, and the same file."""
    number = sent(shoal, over, colors="3", title="Stripes")
    picture, plan = tmp_path / "stripes.png", tmp_path / "stripes.plan"
    picture.write_bytes(drawing())
    rules = ["--values", "3", "--colors", "3", "--width", "120", "--title", "Stripes"]
    command = ["picture", "plan", str(picture), *rules, "--json", "-q"]
    told = CliRunner().invoke(door, command)
    assert shoal.get(f"/picture/planned.json?job={number}").content == told.stdout_bytes
    CliRunner().invoke(door, [*command, "-o", str(plan)])
    keep = shoal.post("/picture/keep", data={"job": str(number)})
    here = keep.headers["location"].rpartition("=")[2]
    assert shoal.get(f"/picture/file?number={here}").content == plan.read_bytes()
    shown = CliRunner().invoke(door, ["picture", "show", str(plan), "--json", "-q"])
    assert shoal.get(f"/picture.json?number={here}").content == shown.stdout_bytes


def test_values_come_first(shoal: TestClient, over: Over) -> None:
    """The page shows the value plan before the palette, and leads on from both."""
    number = sent(shoal, over)
    page = shoal.get(f"/picture/planned?job={number}").text
    assert (
        page.index("Its values") < page.index("Its palette") < page.index("Step 1 from the light")
    )
    assert "3 regions worth coloring" in page
    assert f"job={number}&amp;what=steps" in page


def test_other_steps_are_taken_from_the_same_picture(shoal: TestClient, over: Over) -> None:
    """Neither the picture nor what was said of it has to be sent again."""
    number = sent(shoal, over, title="Stripes")
    asked = shoal.post("/picture/steps", data={"job": str(number), "steps": "2"})
    again = over(int(asked.headers["location"].rpartition("=")[2])).id
    plan = shoal.get(f"/picture/planned.json?job={again}").json()
    assert (len(plan["levels"]), plan["title"], plan["width"]) == (2, "Stripes", 120.0)


def test_the_form_can_be_mended(shoal: TestClient, over: Over) -> None:
    """A place outside the picture fails in one sentence; the form keeps everything for a repair."""
    number = sent(shoal, over, light="gray", places="120%,5%", title="Stripes")
    job = shoal.get(f"/job?number={number}").text
    assert "lies outside the picture" in job
    assert f'href="/pictures?job={number}"' in job
    form = shoal.get(f"/pictures?job={number}").text
    assert 'value="120%,5%"' in form
    assert 'value="Stripes"' in form
    assert shoal.get(f"/pictures/sent?job={number}").content[8:12] == b"WEBP"
    mended = {"job": str(number), "light": "gray", "places": "90%,50%", "steps": "3"}
    asked = shoal.post("/pictures", data=mended)
    again = over(int(asked.headers["location"].rpartition("=")[2])).id
    notes = shoal.get(f"/picture/planned.json?job={again}").json()["notes"]
    assert any("a gray card" in note for note in notes)


def test_what_is_bare_paper_is_named_by_the_library(
    shoal: TestClient, jobs: Jobs, over: Over
) -> None:
    """Bare paper of one's own is balanced to the color that was measured of it."""
    number = sent(shoal, over, light="paper", places="10%,50%", paper="Gannet smooth")
    assert "bare paper, Gannet smooth" in shoal.get(f"/picture/planned?job={number}").text
    request = jobs.request(number)
    assert isinstance(request, PictureFile)
    assert request.white == ("paper@10%,50%",)


def test_many_places_may_be_named() -> None:
    """Four places of paper take uneven light out; each is said on its own."""
    named = white_of("white", None, " 5%,5%;95%,5% ;\n5%,95%; 95%,95%;")
    assert named == ("90%@5%,5%", "90%@95%,5%", "90%@5%,95%", "90%@95%,95%")


def test_a_gray_of_known_value_is_named(shoal: TestClient, over: Over) -> None:
    """The demo's drawing is planned by the value of its wall, and the form says so again."""
    asked = shoal.post("/pictures/demo")
    number = over(int(asked.headers["location"].rpartition("=")[2])).id
    page = shoal.get(f"/picture/planned?job={number}").text
    assert "a gray of value 8.8" in page
    assert "<h1>Lemons in a blue bowl (invented)</h1>" in page
    form = shoal.get(f"/pictures?job={number}").text
    assert 'name="known" min="0.1" max="10" step="any" value="8.8"' in form
    assert 'value="2%,2%,20%,15%"' in form
    assert 'value="value" checked' in form


@pytest.mark.parametrize(
    ("light", "known", "places"),
    [("paper", None, "5%,5%"), ("white", None, "5%,5%; 9%,9%"), ("value", 5.25, "40,60,10,10")],
)
def test_what_was_said_of_the_light_is_said_again(
    light: str, known: float | None, places: str
) -> None:
    """Whatever the form sends, it shows again when it is to be mended."""
    assert said_of(white_of(light, known, places)) == (light, known, places)


def test_a_plan_is_opened_again_from_its_file(shoal: TestClient, over: Over) -> None:
    """A file that was saved leads to its plan; the same file is not kept twice."""
    number = kept(shoal, over)
    file = shoal.get(f"/picture/file?number={number}").content
    opened = shoal.post("/pictures/open", files={"file": ("saved.plan", file)})
    assert opened.headers["location"] == f"/picture?number={number}"
    shoal.post("/picture/remove", data={"number": number})
    assert shoal.get(f"/picture?number={number}").status_code == 404
    opened = shoal.post("/pictures/open", files={"file": ("saved.plan", file)})
    assert "is kept here" in shoal.get(opened.headers["location"]).text


def test_all_that_was_begun_is_listed(shoal: TestClient, over: Over) -> None:
    """Whoever comes back finds the plans that are kept and the pictures that were planned."""
    number = kept(shoal, over, title="Stripes")
    page = shoal.get("/pictures").text
    assert f'href="/picture?number={number}"' in page
    assert "Planning Stripes" in page


@pytest.mark.parametrize("what", ["picture", "steps", "colors", "numbers", "map"])
@pytest.mark.parametrize("values", ["", "&values=true"])
def test_every_view_is_a_picture(shoal: TestClient, over: Over, what: str, values: str) -> None:
    """Each comes from here, in the shape of the plan, gray where values are asked for."""
    number = sent(shoal, over)
    answer = shoal.get(f"/picture/view?job={number}&what={what}{values}")
    assert answer.headers["content-type"] in {"image/png", "image/webp"}
    image = Image.open(io.BytesIO(answer.content))
    assert image.width * 80 == image.height * 120
    if what == "steps" or (values and what != "map"):
        pixels = np.asarray(image.convert("RGB")).astype(int)
        assert np.ptp(pixels, axis=-1).max() <= 2


def test_a_kept_plan_weighs_little_with_all_its_pictures(shoal: TestClient, over: Over) -> None:
    """The demo's lemons, with each picture, style sheet and script of the page: below 250 kB."""
    asked = shoal.post("/pictures/demo")
    job = over(int(asked.headers["location"].rpartition("=")[2])).id
    made = shoal.post("/picture/keep", data={"job": str(job)})
    page = shoal.get(made.headers["location"])
    held = set(re.findall(r'<(?:img|script|link)[^>]* (?:src|href)="([^"]+)"', page.text))
    assert sum("/picture/view" in address for address in held) == 6
    weights = [len(shoal.get(html.unescape(address)).content) for address in held]
    assert len(page.content) + sum(weights) < 250_000


def test_a_view_of_regions_tells_each_pixels_own(shoal: TestClient, over: Over) -> None:
    """The map's red and green say which region a pixel belongs to."""
    number = sent(shoal, over)
    answer = shoal.get(f"/picture/view?job={number}&what=map")
    pixels = np.asarray(Image.open(io.BytesIO(answer.content)).convert("RGB")).astype(int)
    assert set(np.unique(256 * pixels[..., 0] + pixels[..., 1])) == {1, 2, 3}


@pytest.mark.parametrize(
    ("path", "fields", "status", "told"),
    [
        ("/pictures", {}, 422, "No picture was chosen."),
        ("/pictures", {"job": "1", "light": "gray"}, 422, "Say where it is"),
        ("/pictures", {"job": "1", "light": "value", "places": "5%,5%"}, 422, "which value"),
        ("/pictures", {"job": "7"}, 404, "7"),
        ("/pictures", {"job": "1", "steps": "12"}, 422, "“Steps of value”"),
        ("/picture/steps", {"job": "1", "steps": "1"}, 422, "steps"),
        ("/picture/keep", {"job": "99"}, 404, "99"),
    ],
)
def test_wrong_forms_are_told_in_a_sentence(
    shoal: TestClient, over: Over, path: str, fields: dict[str, str], status: int, told: str
) -> None:
    """What can't be done says why, and a way on stands beside it."""
    sent(shoal, over)
    refused = shoal.post(path, data=fields)
    assert (refused.status_code, told in refused.text) == (status, True), refused.text
    assert 'role="alert"' in refused.text


def test_the_way_on_leads_back(shoal: TestClient) -> None:
    """A form that is gone leads to the page that a person came from, or to the first."""
    came = {"referer": "http://127.0.0.1:8017/pictures"}
    refused = shoal.post("/picture/keep", data={"job": "9"}, headers=came)
    assert '<a class="button" href="/pictures">' in refused.text
    lost = {"referer": "http://127.0.0.1:8017/picture?number=9"}
    gone = shoal.get("/picture?number=9", headers=lost)
    assert '<a class="button" href="/">' in gone.text


def test_what_is_no_picture_fails_in_a_sentence(shoal: TestClient, over: Over) -> None:
    """A file of something else is told by its job; a plan that is none is not kept."""
    asked = shoal.post("/pictures", files={"file": ("notes.png", b"no picture", "image/png")})
    number = over(int(asked.headers["location"].rpartition("=")[2])).id
    assert "notes.png" in shoal.get(f"/job?number={number}").text
    assert shoal.get(f"/pictures/sent?job={number}").status_code == 422
    opened = shoal.post("/pictures/open", files={"file": ("x.plan", b"PK\x03\x04 no plan")})
    assert opened.status_code == 422
    assert "x.plan is not a picture" in opened.text
