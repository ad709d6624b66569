"""Kits: put in by ticking, by typing and by a list; near misses are asked about."""

import re

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.cli.main import door


@pytest.fixture
def mine(shoal: TestClient) -> TestClient:
    """Give the bench with an empty kit beside the range Shoal."""
    shoal.post("/kits", data={"name": "mine"})
    return shoal


def held(visit: TestClient) -> list[str]:
    """Return the names that the kit holds."""
    return [c["colorant"]["name"] for c in visit.get("/kit.json?name=mine").json()["colorants"]]


def test_both_doors_tell_the_same_of_a_kit(mine: TestClient, location: str) -> None:
    """The page's JSON is what the command line writes, whatever is searched for beside it."""
    mine.post("/kit/own", data={"kit": "mine", "range": "Shoal"})
    told = CliRunner().invoke(door, ["kit", "show", "mine", "--json", "--db", location, "-q"])
    assert mine.get("/kit.json?name=mine").content == told.stdout_bytes


def test_typing_offers_what_the_kit_has_not(mine: TestClient) -> None:
    """A part of a name is enough, what was ticked stays ticked, what is in it is not offered."""
    mine.post("/kit/own", data={"kit": "mine", "tick": "Shoal/Net"})
    page = mine.get("/kit?name=mine&typed=E&tick=Shoal/Skiff").text
    offers = page[page.index('id="offers"') : page.index("Or paste a list")]
    assert 'value="Shoal/Skiff" checked' in offers
    assert 'value="Shoal/Kelp">' in offers
    assert 'value="Shoal/Dune">' in offers
    assert "Shoal/Net" not in offers


def test_many_are_put_in_and_taken_out(mine: TestClient) -> None:
    """Ticked and pasted names go in together, and ticked ones out."""
    pasted = "- Dune\n\n* kelp\n"
    mine.post("/kit/own", data={"kit": "mine", "tick": ["Shoal/Net"], "pasted": pasted})
    assert held(mine) == ["Dune", "Kelp", "Net"]
    mine.post("/kit/disown", data={"kit": "mine", "tick": ["Shoal/Net", "Shoal/Dune"]})
    assert held(mine) == ["Kelp"]


def test_near_misses_are_asked_about_and_nothing_is_lost(mine: TestClient) -> None:
    """A list with a slip puts nothing in yet, offers what may be meant, and keeps the rest."""
    asked = mine.post("/kit/own", data={"kit": "mine", "pasted": "Kelp\nDunne\n<b>Zzz"})
    assert held(mine) == []
    assert "1 names are clear, 2 are not" in asked.text
    assert '<option value="Shoal/Dune">' in asked.text
    assert "<b>Zzz" not in asked.text
    told = {"kit": "mine", "tick": ["Shoal/Kelp", "Shoal/Dune", "Zzz", ""], "new_range": "mine"}
    assert mine.post("/kit/own", data=told).status_code == 303
    assert held(mine) == ["Zzz", "Dune", "Kelp"]


def test_a_program_is_told_of_the_first_unknown_name(mine: TestClient) -> None:
    """In JSON a slip is an error with its hint, and nothing is put in."""
    answer = mine.post("/kit/own.json", data={"kit": "mine", "pasted": "Kelp\nDunne"})
    assert answer.status_code == 404
    assert "Dune" in answer.json()["error"]["hint"]
    assert held(mine) == []


def test_a_list_is_no_longer_than_can_be_waited_for(mine: TestClient) -> None:
    """A list of hundreds too many is refused in a sentence that says how many are taken."""
    pasted = "\n".join(f"Name {n}" for n in range(401))
    answer = mine.post("/kit/own.json", data={"kit": "mine", "pasted": pasted, "new_range": "New"})
    assert answer.status_code == 413
    assert "400 are taken at once" in answer.json()["error"]["message"]
    fewer = mine.post("/kit/own", data={"kit": "mine", "pasted": pasted[:-9], "new_range": "New"})
    assert fewer.status_code == 303
    assert len(held(mine)) == 400


@pytest.fixture
def swatched(visit: TestClient) -> TestClient:
    """Give the bench with the demo in it, whose student's box is swatched."""
    visit.post("/demo")
    return visit


def test_a_touch_says_what_runs_low_is_used_up_or_on_loan(swatched: TestClient) -> None:
    """Its patch wears the word, a match leaves out what is away, and Undo takes it back."""
    kit = {"kit": "demo student"}
    for name, stock in [("Quince", "running low"), ("Squash", "used up"), ("Dew", "on loan")]:
        told = kit | {"colorant": f"Orchard/{name}", "stock": stock}
        led = swatched.post("/kit/mark", data=told).headers["location"]
        page = swatched.get(led).text
        assert f"{name} <small>{stock}</small>" in page
        assert f'value="{stock}"' in page
    asked = kit | {"wanted": "Orchard/Squash", "paper": "Gannet smooth"}
    away = swatched.get("/color.json", params=asked).json()
    assert away["notes"][0] == "Left out: Dew (on loan), Squash (used up)."
    assert "Squash" not in str(away["best"]["prediction"]["recipe"])
    low = swatched.get("/color.json", params=asked | {"wanted": "Orchard/Quince"}).json()
    assert "Running low: Quince." in low["notes"]
    for _ in range(2):
        swatched.post("/history/undo")
    assert swatched.get("/color.json", params=asked).json()["notes"][:1] != away["notes"][:1]


def test_a_box_that_is_all_away_is_told_of(mine: TestClient) -> None:
    """A match says that all is on loan, and how to mend it; the box still shows what is in it."""
    mine.post("/kit/own", data={"kit": "mine", "tick": "Shoal/Kelp"})
    told = {"kit": "mine", "colorant": "Shoal/Kelp", "stock": "on loan"}
    assert mine.post("/kit/mark.json", data=told).json()["stock"] == "on loan"
    answer = mine.get("/color.json?kit=mine&wanted=Kelp")
    assert answer.json()["error"]["message"] == "All that is in mine is used up or on loan."
    unknown = mine.post("/kit/mark.json", data=told | {"colorant": "Zzz"})
    assert unknown.status_code == 404


MOST_BYTES = 60_000
"""Of a page."""
FLEET = "".join(
    f"Fleet,marker,Boat {n},Gannet smooth,{20 + n % 70},{n % 61 - 30},{n % 47 - 20}\n"
    for n in range(200)
)


@pytest.fixture
def fleet(visit: TestClient) -> TestClient:
    """Give the bench with 200 colors in a box."""
    rows = f"range,medium,color,paper,L,a,b\nFleet,marker,,Gannet smooth,95,0,-2\n{FLEET}"
    visit.post("/swatches/import", files={"files": ("fleet.csv", rows.encode(), "text/csv")})
    visit.post("/kits", data={"name": "mine"})
    visit.post("/kit/own", data={"kit": "mine", "range": "Fleet"})
    return visit


def test_pages_of_a_large_box_stay_small(fleet: TestClient) -> None:
    """A page that shows a box shows a part of 200 at a time, and leads to the rest of it."""
    box = "kit=mine&paper=Gannet smooth"
    color = "Fleet/Boat 7"
    for path in (
        "/",
        f"/box?{box}",
        f"/box?{box}&mark=used up",
        f"/color?{box}",
        f"/lay?{box}&recipe={color}",
        f"/fix?{box}&over={color}",
        f"/over?{box}&color={color}",
        f"/grid?{box}",
        f"/twins?{box}",
        "/range?name=Fleet&paper=Gannet smooth",
    ):
        assert len(fleet.get(path).content) <= MOST_BYTES, path
    for path in (f"/box?{box}", f"/lay?{box}&recipe={color}"):
        first = fleet.get(path).text
        rest = first.split('rel="next" href="')[1].partition('"')[0].replace("&amp;", "&")
        both = first + fleet.get(rest).text
        assert len(set(re.findall(r">(Boat \d+)</a>", both))) == 200, path
    plot = fleet.get(f"/box/file?{box}&form=svg")
    assert plot.text.count("<rect") == 400
    under = fleet.get(f"/over?{box}&color={color}&under=true").text
    assert "It over another</h2>" in under
    assert "Another over it</h2>" not in under
