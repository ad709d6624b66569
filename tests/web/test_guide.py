"""The guide: short pages that the bench and the docs share."""

import re
from importlib.resources import files
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from laydown.web.pages.first import ORDER, guide_page
from laydown.web.rendering import GUIDED

DOCS = Path(__file__).parents[2] / "docs" / "guide"
FOLDER = files("laydown.web")
SHORT, SMALL = 230, 20_000
"""Words of a page, and bytes of a picture."""


@pytest.mark.parametrize("name", ORDER)
def test_a_page_is_shown_with_its_picture(visit: TestClient, name: str) -> None:
    """Each has a picture that is there and small, and leads on to pages that are there."""
    page = visit.get(f"/guide?page={name}").text
    assert f"<h1>{guide_page(name)['title']}</h1>" in page.replace("&quot;", '"')
    pictures = re.findall(r'src="(/static/guide/[^"]+)"', page)
    assert len(pictures) == 1
    assert len(visit.get(pictures[0]).content) < SMALL
    for address in re.findall(r'href="(/[^"]*)"', page.partition("<article")[2]):
        assert visit.get(address).status_code == 200, address


@pytest.mark.parametrize("name", ORDER)
def test_a_page_is_short_and_stands_in_the_docs(name: str) -> None:
    """The docs hold the same words, without links into the bench; pictures lie where they say."""
    text = guide_page(name)["text"]
    assert len(text.split()) < SHORT
    copy = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    assert _words(copy) == _words(text)
    assert "](/" not in copy
    for linked in re.findall(r"\]\(([^)]+)\)", copy):
        assert (DOCS / linked).is_file(), linked


def _words(text: str) -> str:
    return re.sub(r"\]\([^)]*\)|[\[\]]", "", text)


def test_every_file_of_the_guide_is_listed() -> None:
    """No page is left out of the contents, and no page is named that isn't there."""
    there = {entry.name.removesuffix(".md") for entry in (FOLDER / "guide").iterdir()}
    assert there == set(ORDER)
    assert set(GUIDED.values()) <= there


def test_a_page_that_is_not_there_is_told(visit: TestClient) -> None:
    """A wrong name leads to the contents."""
    wrong = visit.get("/guide?page=nonsense")
    assert wrong.status_code == 404
    assert "The guide has no page nonsense." in wrong.text
