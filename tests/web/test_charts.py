"""Charts at the bench."""

import html
import re
from collections.abc import Callable

import pytest
from click.testing import CliRunner
from pypdfium2 import PdfDocument
from starlette.testclient import TestClient

from laydown.cli.main import door
from laydown.media.legible import UNSEEN
from laydown.store.records import Job

Over = Callable[[int], Job]


def made(shoal: TestClient, over: Over, **fields: str) -> int:
    """Ask for a chart and wait for it; return the number of its job."""
    asked = shoal.post("/charts", data={"range": "Shoal", **fields})
    assert asked.status_code == 303, asked.text
    number = int(asked.headers["location"].rpartition("=")[2])
    over(number)
    return number


def test_a_chart_has_the_bytes_of_the_command_line(
    shoal: TestClient, over: Over, location: str
) -> None:
    """What a form asks for is what the command line gives for the same colors."""
    number = made(shoal, over, title="Two", pasted="Net\nlab:60,-10,20")
    colors = ["--color", "Net", "--color", "lab:60,-10,20", "--title", "Two"]
    told = CliRunner().invoke(
        door, ["chart", *colors, "--range", "Shoal", "--json", "-q", "--db", location]
    )
    assert shoal.get(f"/chart.json?job={number}").content == told.stdout_bytes


def test_a_chart_that_failed_is_mended_without_typing_anew(shoal: TestClient, over: Over) -> None:
    """The page of a job that failed leads to the form with all that was typed."""
    number = made(shoal, over, title="Two", pasted="Net\nNonsuch", steps="2")
    assert f'href="/charts?job={number}"' in shoal.get(f"/job?number={number}").text
    form = shoal.get(f"/charts?job={number}").text
    assert "Net\nNonsuch</textarea>" in form
    assert 'value="Two"' in form
    assert '<option value="2" selected>' in form


def test_what_was_wrong_is_told_shortly(shoal: TestClient, over: Over) -> None:
    """A name of ten thousand characters doesn't fill the page that says it is unknown."""
    number = made(shoal, over, pasted="x" * 10_000)
    for address in (f"/job?number={number}", "/jobs"):
        assert "x" * 600 not in shoal.get(address).text


def test_a_list_may_come_as_a_file(shoal: TestClient, over: Over) -> None:
    """A CSV file is read as on the command line, and its rows are on the page."""
    file = {"file": ("lesson.csv", b"passage,color\nweeds,Kelp\nsand,Dune\n", "text/csv")}
    asked = shoal.post("/charts", data={"range": "Shoal"}, files=file)
    number = int(asked.headers["location"].rpartition("=")[2])
    over(number)
    page = shoal.get(f"/chart?job={number}").text
    assert "weeds" in page
    assert "2 colors from Shoal" in page


def test_rows_are_chosen_and_ordered(shoal: TestClient, over: Over) -> None:
    """Only one verdict, or the farthest off first; the rest is left out or moved, not changed."""
    number = made(shoal, over, pasted="Kelp\nNet\nlab:54,80,68")
    far = shoal.get("/chart", params={"job": number, "only": "out of reach"}).text
    assert "1 shown" in far
    by_off = shoal.get("/chart", params={"job": number, "order": "off"}).text
    assert by_off.index("lab:54,80,68</h3>") < by_off.index("Kelp</h3>")


@pytest.mark.parametrize(
    ("form", "begins"),
    [("pdf", b"%PDF-"), ("html", b"<!doctype"), ("csv", b"number"), ("json", b"{")],
)
def test_a_chart_is_handed_over_as_a_file(
    shoal: TestClient, over: Over, form: str, begins: bytes
) -> None:
    """Each form comes as a download under the chart's title."""
    number = made(shoal, over, title="Weeds & sand", pasted="Kelp")
    file = shoal.get("/chart/file", params={"job": number, "form": form})
    assert file.content.lower().startswith(begins.lower())
    assert f'filename="Weeds-sand.{form}"' in file.headers["content-disposition"]


def test_details_are_printed_only_where_asked(shoal: TestClient, over: Over) -> None:
    """The page of a chart links to the one page for the table, and to the same with its numbers."""
    number = made(shoal, over, pasted="Kelp")
    links = re.findall(
        r'href="(/chart/file[^"]*form=pdf[^"]*)"', shoal.get(f"/chart?job={number}").text
    )
    counts = {
        "details" in link: len(PdfDocument(shoal.get(html.unescape(link)).content))
        for link in links
    }
    assert counts[False] == 1
    assert counts[True] > 1


def test_no_color_is_a_sentence(shoal: TestClient) -> None:
    """An empty form is answered with what to do."""
    refused = shoal.post("/charts", data={"range": "Shoal"})
    assert refused.status_code == 422
    assert "No color was named." in refused.text


def test_a_job_of_another_kind_is_no_chart(shoal: TestClient) -> None:
    """A number that made no chart is told so."""
    assert shoal.get("/chart?job=12").status_code == 404


def test_a_chart_from_the_demo_is_marked(visit: TestClient, over: Over) -> None:
    """What rests on the demo's colorants says so, on the page and in what is printed from it."""
    visit.post("/demo")
    number = made(visit, over, range="Orchard", paper="Gannet smooth", pasted="Quince", coats="1")
    assert "rests on the demo, which is invented" in visit.get(f"/chart?job={number}").text
    printed = visit.get(f"/chart/file?job={number}&form=html").text
    assert "Invented data: these supplies belong to the demo." in printed


def test_a_chart_of_ones_own_is_not_marked(shoal: TestClient, over: Over) -> None:
    """Where nothing of the demo is used, nothing is called invented."""
    number = made(shoal, over, pasted="Net")
    for address in (f"/chart?job={number}", f"/chart/file?job={number}&form=html"):
        assert "the demo" not in shoal.get(address).text


def test_a_page_holds_nothing_that_is_not_seen(shoal: TestClient, over: Over) -> None:
    """A title that steers a screen, or turns letters around, stands on the page as it is seen."""
    number = made(shoal, over, title="Se\u202ea\x1b[31m\u200b", pasted="Net")
    page = shoal.get(f"/chart?job={number}").text
    assert not UNSEEN.search(page)
    assert "Sea[31m" in page
    assert not UNSEEN.search(shoal.get(f"/chart.json?job={number}").text)


@pytest.mark.parametrize("name", ["Kelp", "Dune", "Skiff", "Net"])
def test_a_color_of_the_range_is_answered_by_itself(shoal: TestClient, name: str) -> None:
    """Who owns the marker is told to lay it, in one coat."""
    answer = shoal.get(f"/color.json?wanted={name}&range=Shoal").json()
    assert answer["best"]["prediction"]["recipe"] == f"Shoal/{name}"
