"""Papers, swatches, what is known of a range, and history: shown, changed, taken back."""

from collections.abc import Callable

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.app.demo import add_demo
from laydown.app.jobs import Job
from laydown.app.library import Library
from laydown.cli.main import door

SAME = [
    ("/papers.json", ["paper", "list"]),
    ("/paper.json?name=gannet+smooth", ["paper", "show", "gannet smooth"]),
    ("/paper/anchors.json?range=Shoal&count=2", ["paper", "anchors", "Shoal", "--count", "2"]),
    ("/swatches.json?most=3&skip=2", ["swatches", "list", "--most", "3", "--skip", "2"]),
    ("/range.json?name=Shoal", ["range", "show", "Shoal", "--quick"]),
    ("/range.json?name=Shoal&quick=false", ["range", "show", "Shoal"]),
    ("/history.json", ["library", "history"]),
]


@pytest.mark.parametrize(("address", "command"), SAME)
def test_both_doors_give_the_same_bytes(
    shoal: TestClient, location: str, address: str, command: list[str]
) -> None:
    """The JSON of these pages is what the command line writes."""
    told = CliRunner().invoke(door, [*command, "--json", "--db", location, "-q"])
    page = shoal.get(address)
    assert page.status_code == 200
    assert page.content == told.stdout_bytes


def test_a_paper_is_added_edited_and_removed(visit: TestClient) -> None:
    """Each change leads to the page that shows it, and what is removed is gone."""
    made = visit.post("/papers", data={"name": "Tern & rough"})
    page = visit.get(made.headers["location"]).text
    assert "The paper Tern &amp; rough is there." in page
    visit.post("/paper/edit", data={"name": "tern & rough", "coats_limit": "9"})
    assert visit.get("/papers.json").json()["papers"][0]["coats_limit"] == 9
    visit.post("/paper/edit", data={"name": "tern & rough", "surface": "coated"})
    told = visit.post("/paper/edit", data={"name": "Tern & rough", "color": "lab:72,2,9"})
    assert visit.get("/papers.json").json()["papers"][0]["surface"] == "coated"
    page = visit.get(told.headers["location"]).text
    assert "bears 9 coats in all. Bare it is " in page
    assert "1 bare patch was measured." in page
    refused = visit.post("/paper/edit", data={"name": "Tern & rough", "color": "72"})
    assert (refused.status_code, "no measured color" in refused.text) == (422, True)
    visit.post("/paper/remove", data={"name": "Tern & rough", "with_swatches": "true"})
    assert visit.get("/papers.json").json()["papers"] == []


def test_swatches_come_from_a_file_that_is_sent(visit: TestClient) -> None:
    """A file comes in whole, or names the line that can't be read and nothing comes in."""
    good = b"range,color,paper,L,a,b\nBank,Kelp,Tern rough,50,0,10\nBank,Dune,Tern rough,80,0,20\n"
    sent = visit.post("/swatches/import", files=[("files", ("a.csv", good))])
    page = visit.get(sent.headers["location"]).text
    assert "2 new swatches of 2." in page
    bad = visit.post("/swatches/import.json", files=[("files", ("b.csv", good + b"Bank,Net,,,\n"))])
    assert bad.status_code == 422
    assert "b.csv, line 4" in bad.json()["error"]["message"]
    assert visit.get("/swatches.json").json()["total"] == 2


def test_a_mixture_comes_in_and_goes_out(visit: TestClient) -> None:
    """A file may name washes mixed on the palette; a wrong one is told, with what to write."""
    head = b"range,medium,color,paper,L,a,b\n"
    washes = head + b"Pond,wash,Loam,Tern rough,50,0,10\nPond,wash,Reed,Tern rough,80,0,20\n"
    bad = washes + b"Pond,wash,mix Loam + Reed,Tern rough,65,0,15\n"
    told = visit.post("/swatches/import.json", files=[("files", ("a.csv", bad))]).json()["error"]
    assert "how many parts" in told["message"]
    assert "mix 2 Loam + 1 Reed" in told["hint"]
    good = washes + b"Pond,wash,mix 2 Loam + 1 Reed,Tern rough,65,0,15\n"
    visit.post("/swatches/import", files=[("files", ("a.csv", good))])
    *_, mixed = visit.get("/swatches.json").json()["swatches"]
    assert mixed["swatch"]["recipe"] == "mix 2 Pond/Loam + 1 Pond/Reed"
    handed = visit.get("/swatches/file?form=csv&range=Pond").content
    sent = [("files", ("again.csv", handed))]
    assert visit.post("/swatches/import.json", files=sent).json()["files"][0]["new"] == 0


def test_swatches_go_out_as_they_came(shoal: TestClient) -> None:
    """The file that is handed over brings nothing new when it is brought in again."""
    for form, ending in (("csv", "csv"), ("cgats", "ti3"), ("cxf", "cxf")):
        handed = shoal.get(f"/swatches/file?form={form}&range=Shoal")
        assert f"Shoal.{ending}" in handed.headers["content-disposition"]
        sent = [("files", (f"again.{ending}", handed.content))]
        again = shoal.post("/swatches/import.json", files=sent, data={"form": form}).json()
        assert again["files"][0]["new"] == 0


def test_swatches_are_shown_a_page_at_a_time(shoal: TestClient) -> None:
    """The page links to the next ones and back, and keeps what was asked for."""
    page = shoal.get("/swatches?range=Shoal&most=2&skip=2").text
    assert "3 to 4 of 6" in page
    assert "/swatches?range=Shoal&amp;most=2&amp;skip=4" in page
    assert "/swatches?range=Shoal&amp;most=2&amp;skip=0" in page


def test_a_change_is_taken_back(shoal: TestClient) -> None:
    """Removed swatches come back by one press."""
    numbers = [one["id"] for one in shoal.get("/swatches.json").json()["swatches"]]
    shoal.post("/swatches/remove", data={"number": [str(n) for n in numbers[:3]]})
    assert shoal.get("/swatches.json").json()["total"] == len(numbers) - 3
    shoal.post("/history/undo")
    assert shoal.get("/swatches.json").json()["total"] == len(numbers)


def test_a_copy_of_the_library_is_handed_over(shoal: TestClient) -> None:
    """It is a whole database, under a name of ours."""
    copy = shoal.get("/backup")
    assert copy.content.startswith(b"SQLite format 3\x00")
    assert "laydown backup.db" in copy.headers["content-disposition"].replace("%20", " ")


def test_what_is_invented_is_marked(visit: TestClient, library: Library) -> None:
    """Pages that show the demo's names say that they are invented."""
    add_demo(library)
    for address in (
        "/papers",
        "/paper?name=Heron+laid",
        "/swatches",
        "/range?name=Orchard&paper=Heron+laid",
        "/kits",
        "/kit?name=demo+student",
        "/color",
    ):
        assert "invented" in visit.get(address).text, address
    asked = "/color?kit=demo+student&paper=Gannet+smooth&wanted=Lantern&steps=1&coats=1"
    assert "rests on the demo, which is invented" in visit.get(asked).text


def test_a_range_goes_only_when_its_swatches_may(shoal: TestClient) -> None:
    """Without leave it stays, with it the library has neither."""
    assert shoal.post("/range/remove.json", data={"name": "Shoal"}).status_code == 422
    gone = shoal.post("/range/remove.json", data={"name": "Shoal", "with_swatches": "true"})
    assert gone.json() == {"swatches": 6}
    assert shoal.get("/swatches.json").json()["total"] == 1


def test_a_large_file_comes_in_as_long_work(visit: TestClient, over: Callable[[int], Job]) -> None:
    """What takes a while is watched, kept and begun again like other long work; a bad file told."""
    good = (
        b"\n" * 500_000
        + b"range,color,paper,L,a,b\nBank,Kelp,Tern rough,50,0,10\nBank,Dune,Tern rough,80,0,20\n"
    )
    sent = visit.post("/swatches/import", files=[("files", ("a.csv", good))])
    number = int(sent.headers["location"].removeprefix("/job?number="))
    assert over(number).state == "done"
    assert f'href="/swatches/imported?job={number}"' in visit.get(sent.headers["location"]).text
    assert "2 new swatches of 2." in visit.get(f"/swatches/imported?job={number}").text
    bad = visit.post("/swatches/import.json", files=[("files", ("b.csv", good + b"Bank,Net,,,\n"))])
    failed = over(bad.json()["id"])
    assert "b.csv, line 500004" in failed.message
    assert visit.get("/swatches.json").json()["total"] == 2
