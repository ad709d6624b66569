"""What is wider than a narrow page scrolls by itself, and by keyboard as well."""

import re
from importlib.resources import files

import pytest

TEMPLATES = files("laydown.web") / "templates"
OPENED = r'<[a-z]+ [^>]*class="(?:[^"]* )?scroll(?: [^"]*)?"(?:[^>{]|\{\{.*?\}\}|\{%.*?%\})*>'
SCROLLING = [
    (f"{folder.name}/{entry.name}", opened)
    for folder in (TEMPLATES, TEMPLATES / "parts")
    for entry in folder.iterdir()
    if entry.name.endswith(".j2")
    for opened in re.findall(OPENED, entry.read_text(encoding="utf-8"))
]


def test_there_is_something_that_scrolls() -> None:
    """What pages lay out themselves is found, and the table that more than ten share."""
    assert len({place for place, _ in SCROLLING}) > 5
    assert "parts/lists.html.j2" in {place for place, _ in SCROLLING}
    pages = [entry.read_text(encoding="utf-8") for entry in TEMPLATES.iterdir() if entry.is_file()]
    assert sum("{% call table(" in page for page in pages) > 10


@pytest.mark.parametrize(("place", "opened"), SCROLLING)
def test_what_scrolls_is_reached_by_keyboard_and_says_what_it_is(place: str, opened: str) -> None:
    """It takes the focus, so that arrow keys move it, and a screen reader tells its name."""
    assert 'tabindex="0"' in opened, place
    assert 'role="region"' in opened, place
    assert re.search('aria-label="[^"]+', opened), place
