"""Life on a wall at the bench: what goes first, when, and what would help."""

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.cli.main import door

Started = Callable[..., int]
LIST = b"passage,role,color\nweeds,shadow,Kelp\nsand,midtone,Dune\nsea,highlight,Skiff\n"
LIGHT = {"lux": "100-200", "glass": "filter"}


@pytest.fixture
def rated(shoal: TestClient) -> TestClient:
    """Give the bench with classes for three of Shoal's four markers."""
    for grade, names in (("1", "Skiff"), ("4", "Kelp\nDune")):
        done = shoal.post("/light/rate", data={"grade": grade, "pasted": names})
        assert done.status_code == 303
    return shoal


@pytest.fixture
def forecast(rated: TestClient, started: Started) -> Started:
    """Give a function that asks for a forecast of colors from Shoal, and waits for it."""

    def ask(*, file: bytes = b"", **fields: str) -> int:
        files = {"file": ("list.csv", file, "text/csv")} if file else None
        return started("/light/wall", files=files, **{"range": "Shoal", **LIGHT, **fields})

    return ask


def told(location: str, *command: str) -> bytes:
    """Return what the command line writes as JSON."""
    light = ["--lux", "100-200", "--glass", "filter", "--range", "Shoal"]
    asked = ["light", "life", *command, *light, "--json", "-q", "--db", location]
    return CliRunner().invoke(door, asked).stdout_bytes


def test_both_doors_forecast_the_same(rated: TestClient, forecast: Started, location: str) -> None:
    """The page's JSON is the command line's, for wanted colors and for recipes as laid."""
    number = forecast(pasted="lab:60,-10,20", laid="Kelp*2; Dune\nSkiff", hours="6")
    page = rated.get(f"/light/lasting.json?job={number}")
    laid = ["--laid", "Kelp*2; Dune", "--laid", "Skiff", "--hours", "6"]
    assert page.content == told(location, "lab:60,-10,20", *laid)


def test_what_goes_first_stands_first(rated: TestClient, forecast: Started) -> None:
    """Parts come in the order of their going, each with its range in words and as a line."""
    number = forecast(laid="Kelp\nSkiff\nDune")
    page = rated.get(f"/light/lasting?job={number}").text
    assert "100-200 lux for 8 hours on 365 days a year, ultraviolet kept out" in page
    assert page.index("1. Skiff") < page.index("2. ")
    assert page.count('<svg class="lifeline"') == 3
    assert "Skiff goes first (fades very fast)" in page
    assert "Skiff: blue wool 1." in page
    assert "Half the light, or half the hours, is twice the time." in page


def test_an_unknown_class_has_no_forecast(rated: TestClient, forecast: Started) -> None:
    """Of a colorant nobody rated no time is told; its class can be stated on the spot."""
    number = forecast(laid="Net")
    page = rated.get(f"/light/lasting?job={number}").text
    assert "No forecast" in page
    assert 'class="lifeline"' not in page
    assert 'name="tick" value="Shoal/Net"' in page
    assert "unknown is no reason to hope" in page
    rated.post("/light/rate", data={"grade": "II", "tick": "Shoal/Net", "source": "the label"})
    number = forecast(laid="Net")
    page = rated.get(f"/light/lasting?job={number}").text
    assert "Net goes first (fades slowly)" in page
    assert "Net: ASTM D4303 II." in page


def test_a_more_lasting_recipe_is_told_or_that_there_is_none(
    rated: TestClient, forecast: Started
) -> None:
    """For the part that goes first the page says what to lay instead, as the forecast has it."""
    number = forecast(file=LIST)
    swaps = rated.get(f"/light/lasting.json?job={number}").json()["swaps"]
    page = rated.get(f"/light/lasting?job={number}").text
    assert swaps
    assert "What to lay instead" in page
    assert "instead of Skiff" in page


def test_many_parts_come_in_pages(rated: TestClient, forecast: Started) -> None:
    """Twenty-five parts at once, the rest after them, and none beyond the end."""
    laid = "\n".join(f"Kelp*{n % 3 + 1}; Dune*{n % 2 + 1}" for n in range(30))
    number = forecast(laid=laid)
    first = rated.get(f"/light/lasting?job={number}").text
    assert first.count('<svg class="lifeline"') == 25
    assert "1 to 25 of 30" in first
    second = rated.get(f"/light/lasting?job={number}&skip=25").text
    assert second.count('<svg class="lifeline"') == 5
    assert "<h3>26. " in second
    assert rated.get(f"/light/lasting?job={number}&skip=2147483647").status_code == 200


def test_a_forecast_is_handed_over_as_a_file(
    rated: TestClient, forecast: Started, location: str, tmp_path: Path
) -> None:
    """Each form comes as a download, and the PDF has the command line's bytes."""
    number = forecast(laid="Kelp\nSkiff")
    begins = {"html": b"<!DOCTYPE", "csv": b"section", "json": b"{"}
    for form, first in begins.items():
        file = rated.get("/light/lasting/file", params={"job": number, "form": form})
        assert file.content.startswith(first), form
    path = tmp_path / "life.pdf"
    laid = ["--laid", "Kelp", "--laid", "Skiff", "--range", "Shoal", "-o", str(path)]
    light = ["--lux", "100-200", "--glass", "filter"]
    CliRunner().invoke(door, ["light", "life", *laid, *light, "-q", "--db", location])
    assert rated.get(f"/light/lasting/file?job={number}").content == path.read_bytes()


@pytest.mark.parametrize(
    ("fields", "status", "said"),
    [
        ({"lux": "150"}, 422, "Nothing was named that hangs on the wall."),
        ({"lux": "bright", "pasted": "Kelp"}, 422, "“bright” is no light in lux."),
        ({"lux": "1e9", "pasted": "Kelp"}, 422, "is no light in lux"),
        ({"lux": "999999", "pasted": "Kelp"}, 422, "allowed is more than 0"),
        ({"lux": "150", "pasted": "Kelp", "hours": "25"}, 422, "“Hours a day”"),
        ({"lux": "150", "pasted": "Kelp", "years": "nan"}, 422, "“Years it should look unchanged”"),
        ({"lux": "150", "laid": "Kelp\n" * 201}, 413, "200 are taken at once"),
        ({"pasted": "Kelp"}, 422, "“Light on it, in lux”"),
    ],
)
def test_what_cant_be_asked_is_a_sentence(
    shoal: TestClient, fields: dict[str, str], status: int, said: str
) -> None:
    """A slip in the form is told at once, and no work is begun."""
    refused = shoal.post("/light/wall", data=fields)
    assert refused.status_code == status
    assert said in refused.text
    assert 'role="alert"' in refused.text
    assert shoal.get("/light/wall.json").json() == {"jobs": []}
