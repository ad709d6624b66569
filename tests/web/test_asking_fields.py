"""What a step and a coat must earn, and the sense of the trade, in every form that asks a match."""

import re
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.cli.main import door

SENT = {"kl": "0.8", "step_effort": "2.5", "coat_effort": "", "sense": "false"}
LESSON = "laydown lesson 1\ntitle: Two\npaper: Gannet smooth\ncolor: sky\nxyz: 30 32 50\n"
COLOR = "/color?range=Shoal&step_effort=2.5&coat_effort=0.4&sense=false"


def field_of(page: str, path: str, name: str) -> str:
    """Return a field of the form that is sent to a path, as the page has it."""
    form = re.search(rf'<form[^>]*action="{path}".*?</form>', page, re.DOTALL)
    assert form, path
    found = re.search(rf'<(input|select)[^>]*name="{name}".*?(?=</label>)', form[0], re.DOTALL)
    assert found, (path, name)
    return found[0]


@pytest.mark.parametrize(
    ("page", "path", "fields"),
    [
        ("/charts", "/charts", {"pasted": "Kelp", "range": "Shoal"}),
        ("/lesson?number=1", "/lesson/convert", {"number": 1, "range": "Shoal"}),
        ("/lesson?number=1", "/lesson/pack", {"number": 1, "range": "Shoal"}),
        ("/lesson?number=1", "/lesson/page", {"number": 1, "range": "Shoal"}),
        ("/ranges", "/range/page", {"name": "Reef", "range": "Shoal"}),
    ],
)
def test_every_form_asks_what_steps_must_earn_and_sends_it(
    reef: TestClient, jobs: Jobs, over: Any, page: str, path: str, fields: dict[str, Any]
) -> None:
    """Its fields reach what is asked; one that is left empty is what is usual."""
    reef.post("/lessons", data={"pasted": LESSON})
    shown = reef.get(page).text
    for name in SENT:
        assert field_of(shown, path, name)
    sent = reef.post(path, data={**fields, "paper": "Gannet smooth", **SENT})
    assert sent.status_code == 303, sent.text
    number = int(sent.headers["location"].rpartition("=")[2])
    over(number)
    asking = jobs.request(number).asking  # type: ignore[attr-defined]
    assert (asking.k_L, asking.step, asking.coat, asking.sense) == (0.8, 2.5, None, False)


def test_what_was_asked_stands_in_the_form_again(shoal: TestClient) -> None:
    """The numbers and the choice are kept beside the answer, and what was empty is empty."""
    page = shoal.get(f"{COLOR}&wanted=Kelp").text
    assert 'value="2.5"' in field_of(page, "/color", "step_effort")
    assert 'value="0.4"' in field_of(page, "/color", "coat_effort")
    assert 'value="false" selected' in field_of(page, "/color", "sense")
    blank = shoal.get("/color?range=Shoal&wanted=Kelp&step_effort=&coat_effort=").text
    assert 'value=""' in field_of(blank, "/color", "step_effort")
    assert 'value="true" selected' in field_of(blank, "/color", "sense")


def test_what_is_on_the_paper_is_fixed_as_asked(shoal: TestClient) -> None:
    """Its form has the fields, and a step that must earn much lays none."""
    asked = "/fix?range=Shoal&over=Dune&wanted=lab:76,4,30"
    usual, plain = (shoal.get(asked + more).text for more in ("", "&step_effort=20&kl=0.8"))
    assert "You can fix it" in usual
    assert "You can fix it" not in plain
    for name in (*SENT, "tolerance"):
        assert field_of(plain, "/fix", name)
    assert 'value="0.8"' in field_of(plain, "/fix", "kl")


def test_an_effort_that_is_none_is_told_by_its_label(shoal: TestClient) -> None:
    """It is named as the form names it."""
    told = shoal.get("/color?range=Shoal&step_effort=99").text
    assert "Write at most 20 in “Add a layer only if it comes closer by”." in told


def test_choosing_what_to_buy_asks_them_too(reef: TestClient, jobs: Jobs, over: Any) -> None:
    """Its form has each field, and what was sent is what is asked and stands there again."""
    for name in SENT:
        assert field_of(reef.get("/choosing").text, "/choosing", name)
    sent = reef.post("/choosing", data={"colors": "Kelp", "range": "Shoal", **SENT})
    number = int(sent.headers["location"].rpartition("=")[2])
    over(number)
    asked = jobs.request(number)
    assert (asked.k_L, asked.step, asked.coat, asked.sense) == (0.8, 2.5, None, False)  # type: ignore[attr-defined]
    again = reef.get(f"/choosing?job={number}").text
    assert 'value="0.8"' in field_of(again, "/choosing", "kl")
    assert 'value="false" selected' in field_of(again, "/choosing", "sense")


def test_how_lightness_weighs_is_usual_where_it_is_left_empty(shoal: TestClient) -> None:
    """An emptied field is no mistake."""
    page = shoal.get("/color?range=Shoal&wanted=Kelp&kl=").text
    assert 'value="0.5"' in field_of(page, "/color", "kl")


def test_a_page_of_a_range_takes_them_at_both_doors(
    reef: TestClient, over: Any, location: str
) -> None:
    """The command line's options make the page that the form's fields make, and not the usual."""
    usual = ["range", "page", "Reef", "--from", "Shoal", "--paper", "Gannet smooth"]
    limits = ["--steps", "1", "--coats", "1", "--step-effort", "2", "--coat-effort", "0"]
    pages = [
        CliRunner().invoke(door, [*command, "-q", "--db", location]).stdout_bytes
        for command in (usual, [*usual, *limits, "--no-sense"])
    ]
    fields = {"name": "Reef", "range": "Shoal", "paper": "Gannet smooth", "sense": "false"}
    asked = {"steps": 1, "coats": 1, "step_effort": 2, "coat_effort": 0}
    sent = reef.post("/range/page", data={**fields, **asked})
    number = int(sent.headers["location"].rpartition("=")[2])
    over(number)
    assert reef.get(f"/page/file?job={number}").content.strip() == pages[1].strip()
    assert pages[0].strip() != pages[1].strip()
