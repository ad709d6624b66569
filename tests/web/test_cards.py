"""Cards of one's own: a picture, a grid, names; looked at, mended, kept."""

import io
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

Ended = Callable[[int], dict[str, Any]]

BARE = (0, 3, 8)
NAMES = ["paper" if place in BARE else f"Tint {place}" for place in range(12)]
CORNERS = {"x": ["60", "820", "820", "60"], "y": ["60", "60", "620", "620"]}


@pytest.fixture(scope="module")
def picture() -> bytes:
    """Return a picture of a card of three rows and four columns."""
    pixels = np.full((700, 900, 3), 235, np.uint8)
    colors = np.random.default_rng(1).integers(30, 200, (12, 3))
    for place in set(range(12)) - set(BARE):
        top, left = 60 + 200 * (place // 4), 60 + 200 * (place % 4)
        pixels[top : top + 160, left : left + 160] = colors[place]
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    return content.getvalue()


def sent(visit: TestClient, picture: bytes, **fields: object) -> int:
    """Send a card and return the job that reads it."""
    usual = {"rows": "3", "columns": "4", "names": "\n".join(NAMES), "paper": "Old card"}
    answer = visit.post(
        "/card.json",
        data={**usual, "add_to": "Tints", **CORNERS, **fields},
        files=[("file", ("card.png", picture))] if picture else [],
    )
    assert answer.status_code == 200, answer.text
    return int(answer.json()["id"])


def test_a_card_is_read_looked_at_and_kept(visit: TestClient, picture: bytes, ended: Ended) -> None:
    """Nothing is a swatch before it was looked at; kept it is, with what is assumed marked."""
    job = sent(visit, picture, coats_unknown="true")
    assert ended(job)["state"] == "done"
    assert visit.get("/swatches.json").json()["total"] == 0
    page = visit.get(f"/card/reading?job={job}").text
    assert "Is the grid in the right place?" in page
    assert visit.get(f"/card/proof?job={job}").headers["content-type"] == "image/png"
    kept = visit.post("/card/settle.json", data={"job": str(job), "accept_rough": "true"}).json()
    assert ended(kept["id"])["state"] == "done"
    assert "12 places were taken over." in visit.get(f"/card/reading?job={kept['id']}").text
    swatches = visit.get("/swatches.json?range=Tints").json()["swatches"]
    assert len(swatches) == 9
    assert {flag for one in swatches for flag in one["swatch"]["flags"]} == {"coats unknown"}


def test_a_card_whose_bare_paper_comes_out_dark_leaves_the_paper_unmeasured(
    visit: TestClient, picture: bytes, ended: Ended
) -> None:
    """It is said before anything is kept; afterwards a button leads to where its color is given."""
    with Image.open(io.BytesIO(picture)) as image:
        content = io.BytesIO()
        image.point(lambda level: 0.8 * level).save(content, "PNG")
    job = sent(visit, content.getvalue(), way="profile")
    assert ended(job)["state"] == "done"
    page = visit.get(f"/card/reading?job={job}").text
    assert "photograph it again in even daylight: bare Old card comes out too dark" in page
    assert page.count("Not kept as bare paper: see above.") == len(BARE)
    kept = visit.post("/card/settle.json", data={"job": str(job)}).json()
    assert ended(kept["id"])["state"] == "done"
    page = visit.get(f"/card/reading?job={kept['id']}").text
    assert "9 places were taken over." in page
    assert 'href="/paper?name=Old%20card#bare"' in page
    assert "a usual white is assumed" in visit.get("/paper?name=Old+card").text
    visit.post("/paper/edit", data={"name": "Old card", "color": " lab:80,1,2"})
    assert visit.get("/paper.json?name=Old+card").json()["color"]["lab"] == [80, 1, 2]


def test_what_went_wrong_is_mended_without_sending_the_picture_again(
    visit: TestClient, picture: bytes, ended: Ended
) -> None:
    """The form comes back with what was asked and the picture upright, to place the grid on."""
    job = sent(visit, picture, names="paper\nTint 1")
    failed = ended(job)
    assert failed["state"] == "failed"
    assert "12 places" in failed["message"]
    assert f'href="/card?job={job}"' in visit.get(f"/job?number={job}").text
    page = visit.get(f"/card?job={job}").text
    assert "paper\nTint 1</textarea>" in page
    assert 'name="x" step="any" value="820.0"' in page
    shown = visit.get(f"/card/picture?job={job}")
    assert Image.open(io.BytesIO(shown.content)).size == (900, 700)
    again = sent(visit, b"", job=str(job))
    assert ended(again)["state"] == "done"


def test_grays_in_the_picture_tell_the_camera(
    visit: TestClient, picture: bytes, ended: Ended
) -> None:
    """A card is read by the grays that a person names in its picture; the form keeps them, and one
    that lies outside is told in a sentence.
    """
    named = "value:9.2@850,350; value:9.2@30,350"
    job = sent(visit, picture, grays=named)
    assert ended(job)["state"] == "done"
    told = visit.get(f"/card/reading.json?job={job}").json()["pages"][0]["accuracy"]
    assert told["conversion"] == "cells of known color"
    assert told["basis"].startswith("2 grays beside the sheet")
    assert f'name="grays" value="{named}"' in visit.get(f"/card?job={job}").text
    failed = ended(sent(visit, picture, grays="gray@950,350"))
    assert "outside the picture" in failed["message"]


@pytest.mark.parametrize(
    ("x", "y"),
    [
        (["60", "820", "820", ""], CORNERS["y"]),
        (["60", "820", "820"], ["60", "60", "620"]),
        (["60", "nan", "820", "60"], CORNERS["y"]),
        (["60", "1e9", "820", "60"], CORNERS["y"]),
        (["wide", "820", "820", "60"], CORNERS["y"]),
    ],
)
def test_corners_are_eight_numbers(
    visit: TestClient, picture: bytes, x: list[str], y: list[str]
) -> None:
    """Anything else is told in a sentence, and no job is begun."""
    fields = {"rows": "3", "columns": "4", "names": "paper", "paper": "Old card", "x": x, "y": y}
    answer = visit.post("/card.json", data=fields, files=[("file", ("card.png", picture))])
    assert answer.status_code == 422
    assert "four corners" in answer.json()["error"]["message"]
    assert visit.get("/jobs.json").json() == {"jobs": []}


@pytest.mark.parametrize(
    ("x", "y"),
    [
        (["60"] * 4, ["60"] * 4),
        (["60", "820", "60", "820"], ["60", "60", "620", "620"]),
        (["60", "400", "820", "60"], ["60", "60", "60", "620"]),
    ],
)
def test_corners_go_round_a_card(
    visit: TestClient, picture: bytes, x: list[str], y: list[str], ended: Ended
) -> None:
    """Corners in a heap, crosswise or in one line are an error to mend, not a fault."""
    job = ended(sent(visit, picture, x=x, y=y))
    assert job["state"] == "failed"
    assert "not those of a grid" in job["message"]
