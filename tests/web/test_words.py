"""What a page says to people is said in the words of the trade."""

import re
from importlib.resources import files

import pytest

TEMPLATES = files("laydown.web") / "templates"
PAGES = {
    f"{folder.name}/{entry.name}": entry.read_text(encoding="utf-8")
    for folder in (TEMPLATES, TEMPLATES / "parts")
    for entry in folder.iterdir()
    if entry.name.endswith(".j2")
}
FOLDED = r"CIEDE2000|standard deviation|in 100\b|take it back|look so|put it away|do it again"
"""What is folded away, or has a known word of its own."""
FILED = r"\b(?:colorants?|kits?|tolerances?|ΔE)\b"
"""What stands for programs: the command line's words."""


def said(text: str) -> str:
    """Return what a template shows of itself: no tags, no names in addresses, nothing filled in."""
    return re.sub(r"\{[{%#].*?[}%#]\}|<[^>]*>", " ", text, flags=re.DOTALL)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_speaks_the_words_of_the_trade(page: str) -> None:
    """No measure stands in front by its standard's name, and supplies are a box or a set."""
    assert not re.findall(FOLDED, PAGES[page], flags=re.IGNORECASE)
    assert not re.findall(FILED, said(PAGES[page]), flags=re.IGNORECASE)
