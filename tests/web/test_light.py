"""Other lights at the bench: what holds, what breaks, and what to lay instead."""

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
LIST = b'passage,role,color\nweeds,shadow,Kelp\nsand,midtone,"lab:70,20,30"\nsea,highlight,Skiff\n'


@pytest.fixture
def checked(shoal: TestClient, started: Started) -> Started:
    """Give a function that asks for a check of colors from Shoal, and waits for it."""

    def check(*, file: bytes = b"", **fields: str | list[str]) -> int:
        files = {"file": ("list.csv", file, "text/csv")} if file else None
        return started("/light/check", files=files, **{"range": "Shoal", **fields})

    return check


def told(location: str, *command: str) -> bytes:
    """Return what the command line writes as JSON."""
    asked = [*command, "--range", "Shoal", "--json", "-q", "--db", location]
    return CliRunner().invoke(door, asked).stdout_bytes


def test_one_color_has_the_bytes_of_the_command_line(
    shoal: TestClient, checked: Started, location: str
) -> None:
    """The lights ticked beforehand are those that the command line takes without being told."""
    form = shoal.get("/light").text
    ticked = re.findall(r'name="light" value="([^"]+)" checked', form)
    assert len(ticked) == 6
    number = checked(pasted="lab:60,-10,20", light=ticked)
    page = shoal.get(f"/light/checked.json?job={number}")
    assert page.content == told(location, "light", "check", "lab:60,-10,20")


def test_a_list_has_the_bytes_of_the_command_line(
    shoal: TestClient,
    checked: Started,
    location: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A file is read as on the command line, and only under the lights named."""
    number = checked(file=LIST, light=["A", "LED-V1"])
    (tmp_path / "list.csv").write_bytes(LIST)
    monkeypatch.chdir(tmp_path)
    lights = ["--light", "A", "--light", "LED-V1"]
    page = shoal.get(f"/light/checked.json?job={number}")
    assert page.content == told(location, "light", "check", "list.csv", *lights)


def test_one_color_is_shown_large_in_each_light(shoal: TestClient, checked: Started) -> None:
    """By day and under each lamp both colors adjoin, with their values and what is said of them."""
    number = checked(pasted="lab:60,-10,20", light=["A", "D65"])
    page = shoal.get(f"/light/checked?job={number}").text
    assert page.count('<figure class="sight">') % 3 == 0
    for said in ("noon daylight", "by day", "evening lamp", "window, north sky", "index "):
        assert said in page
    assert "Estimated, since of the color wanted no spectrum is known" in page


def test_what_breaks_has_another_recipe_beside_it(shoal: TestClient, checked: Started) -> None:
    """A recipe that holds better is shown in each light, too; where there is none it is said."""
    number = checked(pasted="lab:66,-6,-4\n5P 5/4", light=["A", "LED-B1"])
    with_other, without = shoal.get(f"/light/checked.json?job={number}").json()["colors"]
    assert with_other["instead"]
    assert not without["instead"]
    page = shoal.get(f"/light/checked?job={number}&color=1").text
    assert "Instead: " in page
    assert page.count('<figure class="sight">') == 6
    page = shoal.get(f"/light/checked?job={number}&color=2").text
    assert "Nothing here holds better" in page
    assert page.count('<figure class="sight">') == 3


def test_a_list_is_shown_in_pages_and_by_verdict(shoal: TestClient, checked: Started) -> None:
    """Twelve colors at once; those of one verdict alone; each leads to its own page."""
    colors = "\n".join(f"lab:{40 + n},0,{n}" for n in range(14))
    number = checked(pasted=colors, light="A")
    first = shoal.get(f"/light/checked?job={number}").text
    assert "1 to 12 of 14" in first
    second = shoal.get(f"/light/checked?job={number}&skip=12").text
    assert "13 to 14 of 14" in second
    assert f'rel="prev" href="/light/checked?job={number}&amp;skip=0"' in second
    counted = 0
    for only in ("holds", "drifts", "breaks"):
        page = shoal.get(f"/light/checked?job={number}&only={only}").text
        counted += page.count('<li class="under">')
    assert counted == 14
    assert f'href="/light/checked?job={number}&amp;color=3"' in first
    assert "lab:42,0,2:" in shoal.get(f"/light/checked?job={number}&color=3").text


def test_places_that_are_not_there_show_nothing(shoal: TestClient, checked: Started) -> None:
    """A page beyond the end is a page all the same."""
    number = checked(pasted="Kelp\nDune", light="A")
    for place in ("skip=99", "color=99", f"skip={2**31 - 1}"):
        assert shoal.get(f"/light/checked?job={number}&{place}").status_code == 200


def test_a_check_is_handed_over_as_a_file(shoal: TestClient, checked: Started) -> None:
    """Each form comes as a download under what was asked."""
    number = checked(pasted="Kelp\nDune", light="A")
    begins = {"pdf": b"%PDF-", "html": b"<!DOCTYPE", "csv": b"passage", "json": b"{"}
    for form, first in begins.items():
        file = shoal.get("/light/checked/file", params={"job": number, "form": form})
        assert file.content.startswith(first), form
        name = f'filename="Colors-under-other-lights.{form}"'
        assert name in file.headers["content-disposition"]


def test_a_printed_check_is_that_of_the_command_line(
    shoal: TestClient, checked: Started, location: str, tmp_path: Path
) -> None:
    """The PDF has the bytes of the command line's, on either page."""
    number = checked(pasted="Kelp", light="A")
    path = tmp_path / "lights.pdf"
    command = ["light", "check", "Kelp", "--light", "A", "--range", "Shoal", "--page", "Letter"]
    CliRunner().invoke(door, [*command, "-o", str(path), "-q", "--db", location])
    file = shoal.get("/light/checked/file", params={"job": number, "page": "Letter"})
    assert file.content == path.read_bytes()


@pytest.mark.parametrize(
    ("fields", "status", "said"),
    [
        ({}, 422, "No color was named."),
        ({"pasted": "Kelp", "light": "moon"}, 404, "no light called “moon”"),
        ({"pasted": "Kelp", "light": "D50"}, 404, "no other light was named"),
        ({"pasted": "Kelp", "chart": "77"}, 404, "77"),
        ({"pasted": "Kelp", "kit": "mine"}, 422, "a kit or ranges, not both"),
        ({"pasted": "Kelp\n" * 2001}, 413, "2000 are taken at once"),
        ({"pasted": "Kelp", "light": ["A"] * 21}, 422, "Give at most 20 in"),
    ],
)
def test_what_cant_be_asked_is_a_sentence(
    shoal: TestClient, fields: dict[str, str], status: int, said: str
) -> None:
    """A slip in the form is told at once, and no work is begun."""
    refused = shoal.post("/light/check", data={"range": "Shoal", **fields})
    assert refused.status_code == status
    assert said in refused.text
    assert 'role="alert"' in refused.text
    assert shoal.get("/light.json").json() == {"jobs": []}


def test_a_name_that_is_not_there_ends_the_job(shoal: TestClient, over: Over) -> None:
    """A color that nobody has is told on the job's page."""
    asked = shoal.post("/light/check", data={"range": "Shoal", "pasted": "Kelp\nKelpp"})
    number = int(asked.headers["location"].rpartition("=")[2])
    assert over(number).state == "failed"
    assert "Kelpp" in shoal.get(f"/job?number={number}").text


def test_a_job_of_another_kind_is_no_check(shoal: TestClient, checked: Started) -> None:
    """A number that checked no light is told so, and so is a chart that is none."""
    number = checked(pasted="Kelp", light="A")
    assert shoal.get(f"/light/lasting?job={number}").status_code == 404
    assert shoal.get(f"/light?chart={number}").status_code == 404
    assert shoal.get("/light/checked?job=99").status_code == 404
