"""Ranges at the bench: listed, and two of them compared."""

import re
from collections.abc import Callable

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.cli.main import door
from laydown.store.records import Job

Over = Callable[[int], Job]
Started = Callable[..., int]


def told(location: str, *command: str) -> bytes:
    """Return what the command line writes with --json."""
    return CliRunner().invoke(door, [*command, "--json", "-q", "--db", location]).stdout_bytes


@pytest.fixture
def compared(reef: TestClient, started: Started) -> int:
    """Compare Reef with Shoal; return the number of the job."""
    return started("/ranges/compare", first="Reef", second="Shoal", tolerance="close")


def test_ranges_are_listed_as_at_the_command_line(reef: TestClient, location: str) -> None:
    """The list has the other door's bytes, and leads to what is known of each on its papers."""
    assert reef.get("/ranges.json").content == told(location, "range", "list")
    page = reef.get("/ranges").text
    assert 'href="/range?name=Reef&amp;paper=Gannet%20smooth"' in page
    known = reef.get("/range?name=Shoal&paper=Gannet smooth").text
    assert 'href="/ranges?first=Shoal&amp;paper=Gannet%20smooth"' in known
    form = reef.get("/ranges?first=Shoal").text
    first, second = (form[form.index(f'name="{name}"') :] for name in ("first", "second"))
    for name, field in (("Shoal", first), ("Reef", second)):
        chosen = re.search(f'"{name}"[^>]* selected', field)
        assert chosen
        assert chosen.start() < field.index("</select>")


def test_a_set_of_the_same_medium_is_proposed_beside_one(reef: TestClient) -> None:
    """Pencils come before markers in the list, and aren't what converts them unless chosen."""
    rows = "range,medium,color,paper,coats,L,a,b\nBramble,pencil,Fig,Gannet smooth,1,40,9,9\n"
    reef.post("/swatches/import", files={"files": ("pencils.csv", rows.encode(), "text/csv")})
    form = reef.get("/ranges?first=Shoal").text
    assert re.findall(r'name="range" value="(\w+)" checked', form) == ["Reef"]
    alone = reef.get("/ranges?first=Bramble").text
    assert re.findall(r'name="range" value="(\w+)" checked', alone) == ["Reef"]


def test_an_empty_library_leads_to_swatches(visit: TestClient) -> None:
    """Where there is no range there is nothing to compare, and two ways on."""
    page = visit.get("/ranges").text
    assert "There are no sets yet." in page
    assert 'action="/ranges/compare"' not in page


def test_a_box_is_laid_out_as_at_the_command_line(reef: TestClient, location: str) -> None:
    """The page has the other door's bytes, shows each colorant by name, and hands over a print."""
    asked = "range=Shoal&paper=Gannet smooth"
    command = ("kit", "page", "--range", "Shoal", "--paper", "Gannet smooth")
    assert reef.get(f"/box.json?{asked}").content == told(location, *command)
    page = reef.get(f"/box?{asked}").text
    assert all(name in page for name in ("Kelp", "Dune", "Skiff", "Net"))
    assert " style=" not in page
    assert reef.get(f"/box/file?{asked}").content.startswith(b"%PDF-")


def test_a_comparison_has_the_bytes_of_the_command_line(
    reef: TestClient, compared: int, location: str
) -> None:
    """The form's answer is the other door's for the same two ranges."""
    assert '"close" selected' in reef.get(f"/ranges?job={compared}").text
    page = reef.get(f"/ranges/compared.json?job={compared}")
    assert page.content == told(
        location, "range", "compare", "Reef", "Shoal", "--tolerance", "close"
    )


def test_a_comparison_is_shown_in_words_numbers_and_plots(reef: TestClient, compared: int) -> None:
    """Sentences, a table of both, two plots with a dot for each colorant, hues by value, pairs."""
    page = reef.get(f"/ranges/compared?job={compared}").text
    assert "is the more muted." in page or "are as vivid as each other." in page
    assert "What Reef makes and Shoal can't" in page
    plots = page.split('class="plot"')[1:]
    assert len(plots) == 2
    for plot in plots:
        drawn = plot[: plot.index("</svg>")]
        assert drawn.count('fill="none"') == 4
        assert drawn.count("<rect") == 1 + 6 + 4
    assert "Pairs that agree worst" in page
    assert " style=" not in page


def test_values_only_takes_the_hue_out_of_plots_too(reef: TestClient, compared: int) -> None:
    """Every dot of a plot is then a gray."""
    reef.cookies.set("look", "dim values")
    page = reef.get(f"/ranges/compared?job={compared}").text
    drawn = page[page.index('class="plot"') : page.index("</svg>", page.index('class="plot"'))]
    fills = [part[:7] for part in drawn.split('fill="')[2:] if part.startswith("#")]
    dots = [fill for fill in fills if fill != "#262624"]
    assert len(dots) == 6
    assert all(fill[1:3] == fill[3:5] == fill[5:7] for fill in dots)


FORMS = {"pdf": b"%PDF-", "svg": b"<svg", "csv": b"section", "html": b"<"}


def test_a_comparison_is_handed_over_as_files(reef: TestClient, compared: int) -> None:
    """Each form comes as a download; the plots alone as one drawing."""
    for form, begins in FORMS.items():
        file = reef.get("/ranges/file", params={"job": compared, "form": form})
        assert file.content.startswith(begins)
        assert f'"Reef-and-Shoal-compared.{form}"' in file.headers["content-disposition"]


def test_a_range_compared_with_itself_has_nothing_alone(reef: TestClient, started: Started) -> None:
    """All its pairs agree, and the page has them all as the best."""
    number = started("/ranges/compare", first="Shoal", second="Shoal")
    page = reef.get(f"/ranges/compared?job={number}").text
    assert "Nothing of what Shoal makes, Shoal can&#39;t." in page
    assert page.count("<p>off by 0.0</p>") == 4


@pytest.mark.parametrize(
    ("fields", "told_of"), [({"first": "Reef"}, "second"), ({"first": "", "second": "x"}, "first")]
)
def test_a_missing_name_is_told(reef: TestClient, fields: dict[str, str], told_of: str) -> None:
    """A form with an empty name is refused by the name of its field."""
    refused = reef.post("/ranges/compare", data=fields)
    assert refused.status_code == 422
    assert told_of in refused.text


def test_an_unknown_range_fails_as_a_job_in_one_sentence(reef: TestClient, over: Over) -> None:
    """The job ends with the sentence that the command line would have told."""
    asked = reef.post("/ranges/compare", data={"first": "Reef", "second": "Reeef"})
    assert "Reeef" in over(int(asked.headers["location"].rpartition("=")[2])).message
