"""What to buy, at the bench."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.cli.main import door
from laydown.store.records import Job

Over = Callable[[int], Job]
Started = Callable[..., int]

BANK = """\
laydown lesson 1
title: The bank

color: sand
  xyz: 59.4 60.3 32.7

color: weed
  xyz: 15.8 20.5 8.8

color: water
  xyz: 25.2 28.1 43.1
"""
"""An invented lesson: three colors, near one coat of Dune, Kelp and Skiff."""
FILE = ("bank.txt", BANK.encode(), "text/plain")
PRICES = "single,Shoal,,2.50,EUR\nset,Two,Skiff; Dune,4.00,\nextra,solvent,,6.00,\n"
HEAD = "kind,name,contents,price,currency\n"


@pytest.fixture
def kept(reef: TestClient) -> TestClient:
    """Give the bench with the ranges Shoal and Reef, and the lesson kept as number 1."""
    assert reef.post("/lessons", files={"file": FILE}).status_code == 303
    return reef


def told(location: str, *command: str) -> bytes:
    """Return what the command line writes with --json."""
    return CliRunner().invoke(door, [*command, "--json", "-q", "--db", location]).stdout_bytes


def test_a_choice_has_the_bytes_of_the_command_line(
    kept: TestClient, started: Started, location: str, tmp_path: Path
) -> None:
    """A lesson that is kept and typed prices give what the files give at the other door."""
    assert 'href="/choosing?lesson=1"' in kept.get("/lesson?number=1").text
    assert 'name="lesson" value="1" checked' in kept.get("/choosing?lesson=1").text
    number = started(
        "/choosing", lesson="1", range="Shoal", aim="cheapest", prices=PRICES, never="Net"
    )
    (tmp_path / "bank.txt").write_text(BANK, encoding="utf-8")
    (tmp_path / "prices.csv").write_text(HEAD + PRICES, encoding="utf-8")
    files = [str(tmp_path / "bank.txt"), "--prices", str(tmp_path / "prices.csv")]
    asked = ["--range", "Shoal", "--aim", "cheapest", "--never", "Net"]
    found = told(location, "kit", "choose", *files, *asked)
    assert kept.get(f"/chosen.json?job={number}").content == found


def test_a_choice_says_what_to_buy_and_how_sure_it_is(kept: TestClient, started: Started) -> None:
    """The set is cheaper; proof, one fewer, more and nothing bought stand beside it."""
    number = started("/choosing", lesson="1", range="Shoal", aim="cheapest", prices=PRICES)
    page = kept.get(f"/chosen?job={number}").text
    assert "Two <small>(Dune, Skiff)</small> · 4.00 EUR" in page
    assert "Kelp · 2.50 EUR" in page
    assert "solvent · 6.00 EUR" in page
    assert "Buy these 2 for 12.50 EUR; they make 3 of the 3 colors." in page
    assert "No other choice does better." in page
    for way in ("nothing", "1 fewer", "the choice", "as many"):
        assert f'<th scope="row">{way}</th>' in page
    assert "Buying more brings nothing nearer." in page
    assert page.count('class="pair"') == 3
    assert re.findall(r'<svg class="dab" viewBox="0 0 (\d+)', page) == ["48", "92"]
    assert 'href="/color?wanted=Shoal%2FKelp" aria-label="Kelp"' in page


def test_a_smaller_choice_says_how_much_smaller_it_is(kept: TestClient, started: Started) -> None:
    """Where one color costs two colorants, the best with less than three is one: two fewer."""
    mixed = kept.get("/color.json?wanted=Kelp; Skiff&range=Shoal&over=&steps=2").json()
    lab = ",".join(str(value) for value in mixed["best"]["prediction"]["lab"])
    number = started("/choosing", colors=f"lab:{lab}\nDune", range="Shoal")
    page = kept.get(f"/chosen?job={number}").text
    assert re.search(r'<th scope="row">2 fewer</th>\s*<td data-head="How many">1</td>', page)
    assert "With 2 fewer (1 to buy) you make 1 of the 2 colors" in page


def test_ranges_stand_side_by_side(kept: TestClient, started: Started) -> None:
    """Each range has its own list, and a table compares them; one of them can't make it all."""
    number = started("/choosing", lesson="1", range=["Shoal", "Reef"], apart="true")
    page = kept.get(f"/chosen?job={number}").text
    assert page.index('href="#group-1">Shoal') < page.index('href="#group-2">Reef')
    assert "Too far off, whatever you buy:" in page[page.index('id="group-2"') :]
    for form, begins in {"pdf": b"%PDF-", "csv": b"section"}.items():
        file = kept.get("/chosen/file", params={"job": number, "form": form})
        assert file.content.startswith(begins)
        assert f'filename="supplies.{form}"' in file.headers["content-disposition"]


def test_what_is_owned_is_not_bought(kept: TestClient, started: Started) -> None:
    """With the range owned nothing is left to buy, and the page says what is there already."""
    kept.post("/kits", data={"name": "mine"})
    kept.post("/kit/own", data={"kit": "mine", "range": "Shoal"})
    number = started("/choosing", lesson="1", range="Shoal", kit="mine")
    page = kept.get(f"/chosen?job={number}").text
    assert "<li>nothing</li>" in page
    assert "4 of them are yours already" in page


def test_a_travel_set_is_taken_out_of_a_box(kept: TestClient, started: Started) -> None:
    """The best two of a box that is all swatched, never what is used up; no lesson is needed."""
    kept.post("/kits", data={"name": "mine"})
    kept.post("/kit/own", data={"kit": "mine", "range": "Shoal"})
    used = {"kit": "mine", "colorant": "Shoal/Kelp", "stock": "used up"}
    kept.post("/kit/mark", data=used)
    assert 'name="out_of" value="mine"' in kept.get("/box?kit=mine").text
    number = started("/choosing", out_of="mine", aim="best", most="2")
    found = kept.get(f"/chosen.json?job={number}").json()
    taken = found["groups"][0]["choice"]["chosen"]["bought"]
    assert found["out_of"] == "mine"
    assert found["lessons"] == ["all of mine"]
    assert len(taken) == 2
    assert "Shoal/Kelp" not in str(taken)
    page = kept.get(f"/chosen?job={number}").text
    assert "<h1>What to take of mine</h1>" in page
    assert "Take these 2; they make" in page
    of_lesson = started("/choosing", out_of="mine", aim="best", most="1", lesson="1")
    assert "Take this one; it makes" in kept.get(f"/chosen?job={of_lesson}").text


def test_typed_colors_are_a_lesson_too(kept: TestClient, started: Started) -> None:
    """Colors one a line are chosen for, with the best of a number as the rule."""
    number = started("/choosing", colors="Kelp\nlab:82,3,22\n", range="Shoal", aim="best", most="1")
    chosen = kept.get(f"/chosen.json?job={number}").json()["groups"][0]["choice"]["chosen"]
    assert [made["name"] for made in chosen["colors"]] == ["Kelp", "lab:82,3,22"]
    assert len(chosen["bought"]) == 1


def test_a_question_can_be_asked_again_with_other_rules(kept: TestClient, started: Started) -> None:
    """The form keeps what was asked; lessons and prices need not be named once more."""
    number = started(
        "/choosing", lesson="1", range="Shoal", aim="cheapest", prices=PRICES, budget="30"
    )
    form = kept.get(f"/choosing?job={number}").text
    assert 'value="Shoal" checked' in form
    assert 'value="cheapest" checked' in form
    assert 'value="30.00"' in form
    assert "The bank.lesson.txt" in form
    again = started("/choosing", before=str(number), range="Shoal", must="Net", aim="cheapest")
    chosen = kept.get(f"/chosen.json?job={again}").json()["groups"][0]["choice"]["chosen"]
    assert "Shoal/Net" in {offer["name"] for offer in chosen["bought"]}
    assert chosen["price"] > 1250


def test_steps_and_coats_have_to_earn_their_keep_as_in_a_match(
    kept: TestClient, started: Started, location: str, tmp_path: Path
) -> None:
    """What a step and a coat must bring can be said here too, at both doors, and a plainer recipe
    comes of it; the form keeps it.
    """
    reed = BANK[: BANK.index("color: weed")].replace("59.4 60.3 32.7", "52.7 53.2 25.1")
    assert kept.post("/lessons", files={"file": ("reed.txt", reed.encode())}).status_code == 303
    rules = {"lesson": "2", "range": "Shoal", "tolerance": "sketch"}
    jobs = [started("/choosing", step_effort=e, coat_effort=e, **rules) for e in ("0", "5")]
    found = [kept.get(f"/chosen.json?job={job}") for job in jobs]
    choices = [each.json()["groups"][0]["choice"]["chosen"]["colors"] for each in found]
    assert [color["recipe"] for (color,) in choices] == ["Shoal/Dune*2", "Shoal/Dune"]
    (tmp_path / "reed.txt").write_text(reed, encoding="utf-8")
    said = ["--range", "Shoal", "--tolerance", "sketch", "--step-effort", "5"]
    file = str(tmp_path / "reed.txt")
    command = ["kit", "choose", file, *said, "--coat-effort", "5"]
    assert found[1].content == told(location, *command)
    kept_in_form = 'name="coat_effort" min="0" max="20" step="any" value="5.0"'
    assert kept_in_form in kept.get(f"/choosing?job={jobs[1]}").text


@pytest.mark.parametrize(
    ("fields", "status", "sentence"),
    [
        ({}, 422, "No lesson and no color was named."),
        ({"lesson": "99"}, 404, "99"),
        ({"lesson": "1", "most": "many"}, 422, "“How many, at most”"),
        ({"lesson": "1", "seconds": "1e9"}, 422, "“Seconds to search”"),
        ({"lesson": "1", "budget": "nan"}, 422, "“Spend at most”"),
        ({"lesson": "1", "before": "77"}, 404, "77"),
        ({"colors": "nosuchcolor"}, 404, "nosuchcolor"),
    ],
)
def test_a_wrong_form_is_one_sentence(
    kept: TestClient, fields: dict[str, str], status: int, sentence: str
) -> None:
    """What can't be asked is told at once, with a way on."""
    refused = kept.post("/choosing", data=fields)
    assert refused.status_code == status, refused.text
    assert sentence in refused.text
    assert 'role="alert"' in refused.text


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"aim": "best"}, "The best of how many purchases?"),
        ({"aim": "cheapest"}, "There is no price for any colorant of Shoal."),
        ({"prices": "single,Kelp,,two,"}, "line 2, column price"),
    ],
)
def test_what_the_rules_lack_is_told_by_the_job(
    kept: TestClient, over: Over, fields: dict[str, str], sentence: str
) -> None:
    """The job fails with the sentence, and leads back to the form that keeps what was asked."""
    asked = kept.post("/choosing", data={"lesson": "1", "range": "Shoal", **fields})
    number = int(asked.headers["location"].rpartition("=")[2])
    assert sentence in over(number).message
    assert f'href="/choosing?job={number}"' in kept.get(f"/job?number={number}").text
