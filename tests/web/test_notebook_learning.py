"""What trials teach, at the bench: causes, calibration, what to try next, two hands, sheets."""

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image, ImageDraw
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs, State
from laydown.app.library import Library
from laydown.cli.main import door
from laydown.imaging.files import drawn_page
from laydown.store.records import Job
from laydown.web.desk import Desk

Over = Callable[[int], Job]

HEAVY = (
    ("Kelp", "lab:46.5,-23,25"),
    ("Dune", "lab:79,3.5,26"),
    ("Skiff", "lab:54,-7.5,-34"),
    ("Net", "lab:64,0,3"),
)
"""What a heavy hand gets of one coat each."""
THEIRS = """\
range,medium,color,paper,coats,over,L,a,b
Shoal,marker,,Gannet smooth,,,95.0,0.5,-2.0
Shoal,marker,Kelp,Gannet smooth,1,,44.0,-23.5,25.5
Shoal,marker,Dune,Gannet smooth,1,,77.5,3.8,28.0
Shoal,marker,Skiff,Gannet smooth,1,,50.0,-7.0,-36.0
Shoal,marker,Net,Gannet smooth,1,,60.5,0.0,3.0
"""
"""One coat each by somebody who lays more."""
SCALE = 8.0
"""Of a scan [pixels per mm]."""
SUPPLIES = {"kit": "mine", "paper": "Gannet smooth"}


@pytest.fixture
def tried(shoal: TestClient) -> TestClient:
    """Give the bench with four trials of the kit mine by a heavy hand."""
    shoal.post("/kits", data={"name": "mine"})
    shoal.post("/kit/own", data={"kit": "mine", "range": "Shoal"})
    for recipe, color in HEAVY:
        sent = {"recipe": recipe, "color": color, "kit": "mine"}
        assert shoal.post("/notebook", data=sent).status_code == 303
    return shoal


def colored(library: Library, pdf: bytes, number: int) -> bytes:
    """Return a sheet as it is scanned with each cell colored in."""
    with library.look() as work:
        sheet = work.sheets.get(number)
    page = Image.fromarray(drawn_page(pdf, "sheet.pdf", 1, dpi=SCALE * 25.4)[0].pixels)
    paint = ImageDraw.Draw(page)
    for cell in sheet.cells:
        if not cell.bare:
            box = sheet.box(cell)
            corners = [box.left, box.top, box.left + box.width, box.top + box.height]
            paint.rectangle([side * SCALE for side in corners], fill="#5f7350")
    content = io.BytesIO()
    page.save(content, "PNG")
    return content.getvalue()


def told(location: str, *command: str) -> bytes:
    """Return what the other door writes with --json."""
    done = CliRunner().invoke(door, [*command, "--json", "--db", location, "-q"])
    assert done.exit_code == 0, done.output
    return done.stdout_bytes


def job_of(visit: TestClient, over: Over, path: str, **sent: object) -> int:
    """Send a form that starts a job, wait for it, and return its number."""
    asked = visit.post(path, **sent)  # type: ignore[arg-type]  # fields and files as the client takes them
    assert asked.status_code == 303, asked.text
    number = int(asked.headers["location"].rpartition("=")[2])
    over(number)
    return number


def test_causes_are_ranked_and_a_test_is_named(
    tried: TestClient, over: Over, location: str
) -> None:
    """The page says what may have happened, how likely, and what would tell."""
    far = {"recipe": "Dune", "color": "lab:58.5,-7.8,-30.5", "kit": "mine", "wanted": "lab:82,3,22"}
    tried.post("/notebook", data=far)
    number = job_of(tried, over, "/trial/why", data={"number": "5"})
    assert tried.get(f"/trial/why.json?job={number}").content == told(
        location, "trial", "explain", "5"
    )
    page = tried.get(f"/trial/why?job={number}").text
    assert "Another colorant" in page
    assert "Skiff" in page
    assert "over 95 in 100" in page
    assert "A cheap test that would tell" in page
    assert page.count("Perhaps Skiff") == 1
    assert page.count("Next time:") >= 1
    link = page.split('href="/fix?', 1)[1].split('"', 1)[0].replace("&amp;", "&")
    assert link.startswith("over=Shoal%2FDune")
    assert "Wanted, and what you get" in tried.get(f"/fix?{link}").text


def test_a_muddy_patch_is_asked_about_at_once(tried: TestClient, over: Over) -> None:
    """What was laid and what came out are enough; both are in the notebook, too."""
    sent = {"recipe": "Dune", "color": "#5a4a3a", "kit": "mine", "wanted": "lab:82,3,22"}
    number = job_of(tried, over, "/muddy", data=sent)
    page = tried.get(f"/trial/why?job={number}").text
    assert "Likely causes" in page
    assert "Now:" in page
    assert tried.get("/trial.json?number=5").json()["entries"][-1]["recipe"] == "Shoal/Dune"


def test_no_trial_is_told_on_the_job(tried: TestClient, jobs: Jobs, over: Over) -> None:
    """A number that no trial has ends in a sentence."""
    number = job_of(tried, over, "/trial/why", data={"number": "77"})
    assert jobs.get(number).state is State.FAILED
    assert "no trial number 77" in tried.get(f"/job?number={number}").text
    assert tried.get(f"/trial/why?job={number}").status_code == 404


def test_calibration_says_how_often_a_promise_held(
    tried: TestClient, over: Over, location: str
) -> None:
    """Coverage, scores, the plot in the page, and a plain word on how far to trust them."""
    number = job_of(tried, over, "/notebook/calibration", data=SUPPLIES)
    same = told(location, "trial", "calibration", "--kit", "mine", "--paper", "Gannet smooth")
    assert tried.get(f"/notebook/calibration.json?job={number}").content == same
    page = tried.get(f"/notebook/calibration?job={number}").text
    assert "<svg xmlns" in page
    assert "style=" not in page
    assert "not yet on your work" in page
    assert page.count('<a href="/trial?number=') == 4


def test_without_trials_calibration_says_so(shoal: TestClient, over: Over) -> None:
    """There is nothing to compare, and the job says what to do."""
    number = job_of(shoal, over, "/notebook/calibration", data={"range": "Shoal"})
    assert "There is no trial of Shoal" in shoal.get(f"/job?number={number}").text


def test_what_to_try_next_becomes_a_sheet(tried: TestClient, over: Over, location: str) -> None:
    """The trials are those of the command line, and a sheet to color them on is made and kept."""
    lesson = {"recipes": "Kelp*2; Dune", "pasted": "lab:60,-10,20", "most": "3"}
    number = job_of(tried, over, "/notebook/next", data={**SUPPLIES, **lesson})
    command = ["--recipe", "Kelp*2; Dune", "--color", "lab:60,-10,20", "--most", "3"]
    same = told(location, "trial", "next", *command, "--kit", "mine", "--paper", "Gannet smooth")
    assert tried.get(f"/notebook/suggested.json?job={number}").content == same
    page = tried.get(f"/notebook/suggested?job={number}").text
    assert "I tried it" in page
    assert f"/notebook/suggested?job={number}" in tried.get("/notebook/next").text
    made = tried.post("/notebook/suggested/sheet", data={"job": str(number)})
    assert made.headers["location"].startswith("/sheet?number=")
    assert "What to try next" in tried.get(made.headers["location"]).text


def test_an_empty_lesson_is_a_sentence(tried: TestClient) -> None:
    """Nothing named means nothing to suggest."""
    refused = tried.post("/notebook/next", data=SUPPLIES)
    assert refused.status_code == 422
    assert "No color of the lesson was named." in refused.text


def test_two_hands_are_compared_and_recipes_said_anew(
    tried: TestClient, over: Over, location: str, tmp_path: Path
) -> None:
    """Who lays more is said with its doubt, and their recipe is told in one's own coats."""
    (tmp_path / "teacher.csv").write_text(THEIRS, encoding="utf-8")
    number = job_of(
        tried,
        over,
        "/hand",
        data={**SUPPLIES, "recipes": "Kelp\nKelp; Dune"},
        files={"file": ("teacher.csv", THEIRS, "text/csv")},
    )
    page = tried.get(f"/hand/compared?job={number}").text
    assert "times what they lay" in page
    assert "Their recipes in your hand" in page
    found = tried.get(f"/hand/compared.json?job={number}").content
    command = ["hand", "compare", str(tmp_path / "teacher.csv"), "--kit", "mine"]
    recipes = ["--recipe", "Kelp", "--recipe", "Kelp; Dune", "--paper", "Gannet smooth"]
    assert found == told(location, *command, *recipes)


def test_too_few_swatches_of_theirs_are_told(tried: TestClient, over: Over) -> None:
    """Two shared colorants are not enough for a hand."""
    few = "\n".join(THEIRS.splitlines()[:4])
    files = {"file": ("few.csv", few, "text/csv")}
    number = job_of(tried, over, "/hand", data=SUPPLIES, files=files)
    assert "a hand needs 3" in tried.get(f"/job?number={number}").text


def test_a_colored_sheet_becomes_trials(tried: TestClient, over: Over, desk: Desk) -> None:
    """Its sound cells are noted with recipe and paper, and become no swatches."""
    sheet = {**SUPPLIES, "kind": "list", "recipes": "Kelp\nDune\nNet"}
    made = tried.post("/sheets", data=sheet).headers["location"].rpartition("=")[2]
    before = tried.get("/swatches.json").json()["total"]
    scan = colored(desk.library, tried.get(f"/sheet/file?number={made}").content, int(made))
    picture = {"pictures": ("sheet.png", scan)}
    number = job_of(tried, over, "/notebook/sheet", data={"kit": "mine"}, files=picture)
    page = tried.get(f"/notebook/added?job={number}").text
    assert "3 trials" in page
    assert "1 coat Kelp" in page
    assert "Run again" not in tried.get(f"/job?number={number}").text
    assert tried.get("/swatches.json").json()["total"] == before
    assert tried.get("/notebook.json").json()["total"] == 7


def test_a_row_of_a_chart_leads_to_a_trial(tried: TestClient, started: Callable[..., int]) -> None:
    """Its recipe, kit, paper and color stand in the form already."""
    page = tried.get(f"/chart?job={started('/charts', pasted='Kelp', **SUPPLIES)}").text
    link = page.split('href="/notebook/new?', 1)[1].split('"', 1)[0].replace("&amp;", "&")
    form = tried.get(f"/notebook/new?{link}").text
    assert 'name="recipe" value="Shoal/Kelp' in form
    assert re.search('<option value="mine"[^>]* selected>', form)
    assert 'value="lab:52.00,-22.00,24.00"' in form


def test_no_picture_is_a_sentence(tried: TestClient) -> None:
    """An empty form says what is missing."""
    refused = tried.post("/notebook/sheet", data={"kit": "mine"})
    assert "No picture was chosen." in refused.text
    assert tried.get("/notebook/added?job=9").status_code == 404
