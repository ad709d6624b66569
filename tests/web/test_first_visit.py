"""The first visit: from an empty library by one short sheet to an answer; and the demo."""

import io
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image
from starlette.testclient import TestClient

from laydown.app.encoding import to_text
from laydown.app.jobs import Jobs
from laydown.app.library import Library
from laydown.app.sheets.printing import find_sheet
from laydown.app.sheets.reading import ReadSheet
from laydown.cli.main import door
from laydown.demo.files import STUDENTS_RANGE, read_rows
from laydown.demo.photograph import colored_and_photographed
from laydown.imaging.files import open_photographs

Ended = Callable[[int], dict[str, Any]]
OWNED = [r["color"] for r in read_rows("colorants.csv") if r["range"] == STUDENTS_RANGE][:12]


@pytest.fixture
def begun(visit: TestClient) -> int:
    """Begin with a dozen markers of the simulated bench; return the first sheet's number."""
    fields = {
        "names": "\n".join(OWNED),
        "paper": "Tern rough",
        "wanted": "#c8a050",
        "kit": "Orchard",
    }
    made = visit.post("/begin", data={**fields, "kit": "Orchard"})
    assert made.status_code == 303
    return int(made.headers["location"].rpartition("=")[2])


@pytest.fixture(scope="module")
def photographed() -> dict[str, bytes]:
    """Hold the photographs that were made, by what is on the sheet: they take long."""
    return {}


@pytest.fixture
def photograph(
    visit: TestClient, library: Library, begun: int, photographed: dict[str, bytes]
) -> bytes:
    """Return a photograph of the printed sheet that somebody colored in."""
    sheet = find_sheet(library, begun)
    if (key := to_text(sheet)) not in photographed:
        printed = visit.get(f"/sheet/file?number={begun}").content
        pixels = next(open_photographs(printed, source="sheet.pdf")).pixels
        content = io.BytesIO()
        Image.fromarray(colored_and_photographed(sheet, pixels)).save(content, "JPEG", quality=90)
        photographed[key] = content.getvalue()
    return photographed[key]


def test_the_demo_is_offered_to_who_began_with_their_own(visit: TestClient) -> None:
    """Whoever began with a set of their own can still put the demo in, until it is in."""
    visit.post("/begin", data={"names": "Kelp", "paper": "Tern rough"})
    assert 'action="/demo"' in visit.get("/").text
    visit.post("/demo")
    page = visit.get("/").text
    assert 'action="/demo"' not in page
    assert "(36, invented)" in page


def test_known_colors_can_be_put_on_a_sheet(visit: TestClient) -> None:
    """Eight colors of a set that is known stand beside what was asked for, to read it by."""
    visit.post("/demo")
    assert "Put in eight known colors of" in visit.get("/sheets").text
    asked = {"kind": "list", "paper": "Gannet smooth", "recipes": "Kelp*2", "known": "Orchard"}
    made = visit.post("/sheets.json", data={**asked, "range": "Estuary"}).json()
    cells = [cell["recipe"] for cell in made["cells"] if cell["recipe"]]
    ranges = [str(recipe).partition("/")[0] for recipe in cells]
    assert sorted(ranges) == ["Estuary", *["Orchard"] * 8]


def test_what_is_missing_is_named_once(visit: TestClient) -> None:
    """Fields left empty are each named once, in words for people."""
    refused = visit.post("/begin.json", data={}).json()["error"]
    assert refused["message"] == "Fill in “names”. Fill in “paper”."


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("/color?coats=99", "Write at most 3 in “Coats of a step, at most”."),
        ("/color?coats=many", "Write a number in “Coats of a step, at most”."),
        ("/sheet?number=0", "Write at least 1 in “number”."),
        (f"/color?wanted={'x' * 9999}", "Shorten “Wanted” to at most 1000 characters."),
        (
            "/color?tolerance=odd",
            "&#39;class&#39; or &#39;close&#39; in “How close is close enough”.",
        ),
    ],
)
def test_a_field_is_refused_in_plain_words(visit: TestClient, address: str, told: str) -> None:
    """A number or a text that a field can't take is named with what it can."""
    assert told in visit.get(address).text


def test_an_empty_library_offers_both_ways_in(visit: TestClient) -> None:
    """One form for what one owns, one press for the demo, which says that it is invented."""
    page = visit.get("/").text
    assert 'action="/begin"' in page
    assert 'action="/demo"' in page
    assert "invented" in page


def test_a_photograph_whose_bare_paper_comes_out_dark_says_what_to_do(
    visit: TestClient, photograph: bytes, ended: Ended
) -> None:
    """As a phone lifts dark tones and holds back light ones; it is said before anything is kept."""
    with Image.open(io.BytesIO(photograph)) as image:
        content = io.BytesIO()
        image.point(lambda level: 200 * (level / 255) ** 0.7).save(content, "JPEG", quality=90)
    sent = [("files", ("photo.jpg", content.getvalue()))]
    read = visit.post("/sheet/read.json", data={"way": "profile"}, files=sent).json()
    assert ended(read["id"])["state"] == "done"
    page = visit.get(f"/sheet/reading?job={read['id']}").text
    assert "photograph it again in even daylight: bare Tern rough comes out too dark" in page
    assert "Not kept as bare paper: see above." in page
    assert 'href="/paper?name=Tern%20rough#bare"' in page


def test_grays_named_in_a_photograph_of_a_sheet_are_looked_for(
    visit: TestClient, photograph: bytes, ended: Ended
) -> None:
    """One that lies outside the picture is told in a sentence, so the field has come through."""
    sent = [("files", ("photo.jpg", photograph))]
    named = {"grays": "gray@50%,50%; gray@101%,50%"}
    read = visit.post("/sheet/read.json", data=named, files=sent).json()
    assert "outside the picture" in ended(read["id"])["message"]


def test_a_photograph_whose_paper_looks_tinted_is_taken_only_when_one_says_so(
    visit: TestClient, photograph: bytes, ended: Ended
) -> None:
    """It is said why, and the box that takes it all the same isn't ticked beforehand."""
    with Image.open(io.BytesIO(photograph)) as image:
        warm = np.asarray(image.convert("RGB")) * np.array([1.0, 0.9, 0.7])
    content = io.BytesIO()
    Image.fromarray(warm.astype(np.uint8)).save(content, "JPEG", quality=90)
    sent = [("files", ("photo.jpg", content.getvalue()))]
    read = visit.post("/sheet/read.json", data={"way": "paper"}, files=sent).json()
    assert ended(read["id"])["state"] == "done"
    page = visit.get(f"/sheet/reading?job={read['id']}").text
    assert "The paper looks tinted" in page
    assert '<input type="checkbox" name="accept_rough" value="true"> Take them' in page


def test_a_short_sheet_leads_to_the_first_answer(
    visit: TestClient, jobs: Jobs, begun: int, photograph: bytes, ended: Ended
) -> None:
    """Names, a printed sheet, its photograph, a look, and a recipe for the color wanted."""
    assert "waits to be colored in" in visit.get("/").text
    assert "second time with a second coat" in visit.get(f"/sheet?number={begun}").text
    assert visit.get(f"/sheet/file?number={begun}").content.startswith(b"%PDF")
    read = visit.post("/sheet/read.json", files=[("files", ("photo.jpg", photograph))]).json()
    assert ended(read["id"])["state"] == "done"
    assert visit.get("/swatches.json").json()["total"] == 0
    page = visit.get(f"/sheet/reading?job={read['id']}").text
    assert 'src="/sheet/proof?job=' in page
    proof = visit.get(f"/sheet/proof?job={read['id']}")
    assert proof.headers["content-type"] == "image/png"
    cells = visit.get(f"/sheet/reading.json?job={read['id']}").json()["cells"]
    left, taken, *_ = (cell["number"] for cell in cells if cell["recipe"])
    fields = {"job": str(read["id"]), "redo": str(left), "accept": str(taken)}
    kept = visit.post("/sheet/settle.json", data=fields).json()
    assert ended(kept["id"])["state"] == "done"
    asked = jobs.request(kept["id"])
    assert isinstance(asked, ReadSheet)
    assert (asked.accept, asked.redo, asked.keep) == ({taken}, {left}, True)
    page = visit.get(f"/sheet/reading?job={kept['id']}").text
    assert {f"Orchard/{name}" for name in OWNED} <= {cell["recipe"] for cell in cells}
    assert f"{len(cells) - 1} cells were taken over." in page
    assert 'value="#c8a050"' in page
    assert '<input type="hidden" name="kit" value="Orchard">' in page
    shown = visit.get(f"/sheet.json?number={begun}").json()["cells"]
    assert {cell["number"] for cell in shown if not cell["taken"]} == {left}
    answer = visit.get("/color?wanted=%23c8a050&kit=Orchard&paper=Tern+rough&steps=1&coats=1")
    assert answer.status_code == 200
    assert "What to do" in answer.text


def test_both_doors_tell_the_same_of_sheets(visit: TestClient, location: str, begun: int) -> None:
    """What is listed and shown of sheets is what the command line writes."""
    for address, command in (
        ("/sheets.json", ["sheet", "list"]),
        (f"/sheet.json?number={begun}", ["sheet", "show", str(begun)]),
    ):
        told = CliRunner().invoke(door, [*command, "--json", "--db", location, "-q"])
        assert visit.get(address).content == told.stdout_bytes


def test_a_picture_without_a_sheet_is_told_as_one(visit: TestClient, ended: Ended) -> None:
    """The job ends with a sentence and a way on, and nothing is kept."""
    content = io.BytesIO()
    Image.new("RGB", (600, 800), "white").save(content, "PNG")
    sent = visit.post("/sheet/read.json", files=[("files", ("wall.png", content.getvalue()))])
    job = sent.json()["id"]
    found = ended(job)
    assert found["state"] == "failed"
    assert "wall.png: no sheet was found" in found["message"]
    assert visit.get(f"/sheet/reading?job={job}").status_code == 404
    assert visit.post("/sheet/read", data={"way": "auto"}).status_code == 422


@pytest.mark.parametrize("kind", ["first", "kit", "pairs", "list", "anchors"])
def test_sheets_of_every_kind_are_made(shoal: TestClient, kind: str) -> None:
    """Each leads to the page of the sheet; one that has nothing to ask for says so."""
    fields = {"kind": kind, "range": "Shoal", "paper": "Gannet smooth", "recipes": "Kelp*2; Dune"}
    made = shoal.post("/sheets", data=fields)
    assert made.status_code == 303
    assert "What to lay" in shoal.get(made.headers["location"]).text


def test_the_demo_comes_and_goes_with_one_press_each(visit: TestClient) -> None:
    """In it is marked as invented; out of it nothing is left."""
    assert visit.post("/demo").headers["location"] == "/"
    page = visit.get("/").text
    assert "all of it is invented" in page
    assert visit.get("/demo/lesson").content.startswith(b"passage,role,color")
    visit.post("/demo/remove")
    assert visit.get("/index.json").json()["colorants"] == 0
