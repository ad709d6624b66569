import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.cli.main import door
from laydown.web.desk import Desk
from laydown.web.faces import json_address
from laydown.web.pages import PAGES
from laydown.web.serving import create_application

ADDRESSES = [
    ("/color?wanted=lab:60,-10,20&range=Shoal", ["match", "lab:60,-10,20", "--range", "Shoal"]),
    ("/kits", ["kit", "list"]),
    ("/", ["library", "path"]),
]


@pytest.mark.parametrize(("address", "command"), ADDRESSES)
def test_both_doors_give_the_same_bytes(
    shoal: TestClient, location: str, address: str, command: list[str]
) -> None:
    """The page's other face is byte for byte what the command line writes with --json."""
    path, _, query = address.partition("?")
    page = shoal.get(f"{json_address(path)}?{query}")
    told = CliRunner().invoke(door, [*command, "--json", "--db", location, "-q"])
    assert page.status_code == 200
    assert page.content == told.stdout_bytes


def test_a_change_leads_to_the_page_that_shows_it(shoal: TestClient) -> None:
    """A form's answer is the page of what was made, which says so once."""
    made = shoal.post("/kits", data={"name": "a/b é"})
    assert made.status_code == 303
    page = shoal.get(made.headers["location"])
    assert "The kit a/b é is there." in page.text
    assert "is there." not in shoal.get(made.headers["location"]).text


def test_a_change_by_a_program_gives_its_result(shoal: TestClient) -> None:
    """The form's address plus .json takes the same fields and gives the task's result."""
    assert shoal.post("/kits.json", data={"name": "mine"}).json() == {"name": "mine"}


@pytest.mark.parametrize(
    ("path", "status", "told"),
    [
        ("/kit?name=mine", 404, "mine"),
        ("/color?wanted=lab:1", 422, "lab:1"),
        ("/color?wanted=Kelp&steps=9", 422, "at most 3"),
        ("/nowhere", 404, "no such page"),
    ],
)
def test_an_error_is_one_sentence_and_a_way_on(
    shoal: TestClient, path: str, status: int, told: str
) -> None:
    """What can't be done is told in its form or with a way on, and in JSON by the same words."""
    page = shoal.get(path)
    assert page.status_code == status
    assert told in page.text
    assert 'role="alert"' in page.text
    address, _, query = path.partition("?")
    error = shoal.get(f"{address}.json?{query}").json()["error"]
    assert set(error) == {"slug", "message", "hint"}
    assert told in error["message"]


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("/trial?number=99", "Choose one from the list of trials."),
        ("/lesson?number=99", "Choose one from the list of lessons."),
        ("/notebook/print", "Note one first."),
    ],
)
def test_a_page_names_no_command(shoal: TestClient, path: str, told: str) -> None:
    """A page tells the way on without what the command line would have one type."""
    page = shoal.get(path).text
    assert f'<p class="sentence">{told}</p>' in page
    assert "laydown trial" not in page
    assert "laydown lesson" not in page


@pytest.mark.parametrize("came", ["http://[", "http://[::1", "http://127.0.0.1:8017]/", "://"])
def test_a_page_that_one_cannot_have_come_from_leads_to_the_first(
    visit: TestClient, came: str
) -> None:
    """What a browser says of the page before may be no address at all."""
    lost = visit.get("/nowhere", headers={"Referer": came})
    assert lost.status_code == 404
    assert 'href="/"' in lost.text


def test_a_notebook_of_absurd_numbers_is_the_files_fault(visit: TestClient) -> None:
    """Fifty thousand digits are answered in a sentence, by page and data alike."""
    absurd = {"file": ("book.json", b'{"form": ' + b"9" * 50_000 + b"}")}
    for path in ("/notebook/import", "/notebook/import.json"):
        answer = visit.post(path, files=absurd)
        assert answer.status_code == 422
        assert "book.json is no notebook of trials." in answer.text


def test_a_notice_is_text_and_never_markup(shoal: TestClient) -> None:
    """What people type comes back as what they typed."""
    name = "<script>alert(1)</script>"
    made = shoal.post("/kits", data={"name": name})
    assert name not in shoal.get(made.headers["location"]).text


def test_no_pages_fields_are_read_twice(desk: Desk) -> None:
    """The bench takes the pages' routes as they are: reading them anew takes half a second."""
    taken = {id(route) for route in create_application(desk).router.routes}
    assert {id(route) for router in PAGES for route in router.routes} <= taken
