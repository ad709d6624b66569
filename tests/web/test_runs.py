"""Shading runs and partners at the bench."""

import re
from collections.abc import Callable

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.cli.main import door

Started = Callable[..., int]


def told(location: str, *command: str) -> bytes:
    """Return what the command line writes with --json."""
    return CliRunner().invoke(door, [*command, "--json", "-q", "--db", location]).stdout_bytes


def test_runs_have_the_bytes_of_the_command_line(
    reef: TestClient, started: Started, location: str
) -> None:
    """What the form asks for is what the other door lists for the same supplies."""
    number = started("/runs", coats="2", shop=["Shoal"], range="Reef", without="Basalt")
    form = reef.get(f"/runs?job={number}").text
    assert 'value="Shoal" checked' in form
    assert re.search('"range:Reef"[^>]* selected', form)
    asked = ["--range", "Reef", "--coats", "2", "--shop", "Shoal", "--without", "Basalt"]
    assert reef.get(f"/runs/found.json?job={number}").content == told(
        location, "run", "list", *asked
    )


def test_a_run_is_a_strip_with_its_rating_in_words(reef: TestClient, started: Started) -> None:
    """The four grays stand side by side, named by value, rated, and each leads to its partners."""
    number = started("/runs", range="Reef")
    page = reef.get(f"/runs/found?job={number}").text
    assert "Foam – Sand eel – Slate – Basalt" in page
    assert "<strong>even</strong>" in page
    runs = page[page.index('id="runs"') :]
    strip = runs[runs.index('class="strip"') : runs.index("</svg>")]
    assert strip.count("<rect") == 1 + 2 * 4
    assert "Slate, value 5." in strip
    assert "color=Reef%2FSlate&amp;range=Reef" in page


def test_each_color_has_its_light_middle_and_dark(reef: TestClient, started: Started) -> None:
    """The triad of each stands in words, what is missing first, and leads to its partners."""
    number = started("/runs", range="Reef")
    page = reef.get(f"/runs/found?job={number}").text
    threes = page[page.index('id="triads"') : page.index('id="runs"')]
    assert threes.index("Anemone</a>") < threes.index("Slate</a>")
    anemone = threes[threes.index("Anemone</a>") : threes.index("</article>")]
    assert re.search(r"<dt>Light</dt><dd>none", anemone)
    assert "2 coats Anemone" in anemone
    assert "color=Reef%2FSlate" in threes
    assert "In no run: Anemone, Weed." in page


def test_runs_are_chosen_by_rating_and_by_name(reef: TestClient, started: Started) -> None:
    """What is left out is counted out, and a choice without runs says so."""
    number = started("/runs", range="Reef")
    every = reef.get(f"/runs/found?job={number}&using=slate").text
    assert "1 run<" in every
    assert "There is no such run here." in reef.get(f"/runs/found?job={number}&rating=rough").text
    assert "0 runs" in reef.get(f"/runs/found?job={number}&using=Kelp").text
    later = reef.get(f"/runs/found?job={number}&skip=20&triads=20").text
    assert 'class="strip"' not in later
    assert reef.get(f"/runs/found?job={number}&skip=-1").status_code == 422


FORMS = {"pdf": b"%PDF-", "csv": b"section", "html": b"<"}


def test_runs_are_handed_over_as_files(reef: TestClient, started: Started) -> None:
    """Each form comes as a download that is called after the range."""
    number = started("/runs", range="Reef")
    for form, begins in FORMS.items():
        file = reef.get("/runs/file", params={"job": number, "form": form})
        assert file.content.startswith(begins)
        assert f'"runs-of-Reef.{form}"' in file.headers["content-disposition"]


def test_runs_stay_when_their_paper_is_gone(reef: TestClient, started: Started) -> None:
    """What was found earlier is still shown, on white, once the paper was removed."""
    number = started("/runs", range="Reef")
    assert reef.post("/range/remove", data={"name": "Reef", "with_swatches": "true"}).is_redirect
    assert reef.post("/range/remove", data={"name": "Shoal", "with_swatches": "true"}).is_redirect
    gone = {"name": "Gannet smooth", "with_swatches": "true"}
    assert reef.post("/paper/remove", data=gone).is_redirect
    assert reef.get(f"/runs/found?job={number}").status_code == 200


def test_partners_have_the_bytes_of_the_command_line(reef: TestClient, location: str) -> None:
    """A colorant's partners are the same at both doors."""
    asked = reef.get("/partners.json?color=Slate&range=Reef&count=1&without=Foam")
    command = ("run", "partners", "Slate", "--range", "Reef", "--count", "1", "--without", "Foam")
    assert asked.content == told(location, *command)


def test_partners_are_shown_with_their_blend(reef: TestClient) -> None:
    """A partner on each side, good ones called so, with the strip where the two meet."""
    page = reef.get("/partners?color=Slate&range=Reef").text
    assert "Light, middle, dark: Sand eel – Slate – Basalt." in page
    lights = page[page.index("For the highlight") : page.index("For the shadow")]
    assert "Sand eel" in lights
    assert "Basalt" not in lights
    assert "A good partner" in page
    assert "where they meet" in page


def test_a_red_has_no_green_for_a_shadow(reef: TestClient) -> None:
    """Where nothing is of its hue there is no partner, and the page says so with what is there."""
    page = reef.get("/partners?color=Anemone&range=Reef&count=10").text
    answer = page[page.index('id="answer"') :]
    assert "Weed" not in answer
    assert answer.count("None: nothing here of about its hue is") == 2


def test_the_page_of_partners_begins_empty(reef: TestClient) -> None:
    """Before a colorant is named there is the form alone, and its JSON says that none was."""
    assert 'class="strip"' not in reef.get("/partners").text
    assert reef.get("/partners.json").json() == {"colorant": ""}


@pytest.mark.parametrize(
    ("path", "status", "sentence"),
    [
        ("/partners?color=Slatte&range=Reef", 404, "Slate"),
        ("/partners?color=Slate&range=Reef&count=99", 422, "“How many of each, at most”"),
        ("/runs/found?job=99", 404, "99"),
        ("/runs/file?job=99", 404, "99"),
    ],
)
def test_a_wrong_question_is_one_sentence(
    reef: TestClient, path: str, status: int, sentence: str
) -> None:
    """What isn't there is named, with a way on."""
    answer = reef.get(path)
    assert answer.status_code == status
    assert sentence in answer.text
    assert 'role="alert"' in answer.text


def test_partners_are_handed_over_as_a_file(reef: TestClient) -> None:
    """The PDF is called after the colorant."""
    file = reef.get("/partners/file?color=Slate&range=Reef")
    assert file.content.startswith(b"%PDF-")
    assert 'filename="partners-for-Slate.pdf"' in file.headers["content-disposition"]


def test_a_gradient_has_the_bytes_of_the_command_line(reef: TestClient, location: str) -> None:
    """What lies between two colors is the same at both doors."""
    asked = reef.get("/gradient.json?first=Anemone&second=Weed&range=Reef&count=2")
    command = ("run", "gradient", "Anemone", "Weed", "--range", "Reef", "--count", "2")
    assert asked.content == told(location, *command)
    assert reef.get("/gradient.json").json() == {"first": "", "second": ""}


def test_mud_between_two_colors_is_told(reef: TestClient) -> None:
    """A red and a green go muddy where they meet, two grays do not, and each step is a recipe."""
    page = reef.get("/gradient?first=Anemone&second=Weed&range=Reef").text
    assert "These two go muddy where they meet. Leave a gap" in page
    assert re.search("coats? Weed, then . coats? Anemone|coats? Anemone, then . coats? Weed", page)
    grays = reef.get("/gradient?first=Foam&second=Slate&range=Reef").text
    assert "These two go muddy" not in grays
    assert "It stays clean" in grays


def test_a_gradient_is_handed_over_as_files(reef: TestClient) -> None:
    """Each form comes as a download called after both colors; one color alone is refused."""
    for form, begins in FORMS.items():
        file = reef.get(f"/gradient/file?first=Foam&second=Slate&range=Reef&form={form}")
        assert file.content.startswith(begins)
        assert f'"from-Foam-to-Slate.{form}"' in file.headers["content-disposition"]
    twice = reef.get("/gradient?first=Foam&second=Foam&range=Reef")
    assert twice.status_code in {400, 422}
    assert "Name two different colors." in twice.text
