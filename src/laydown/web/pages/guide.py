"""The guide: ten short pages, kept as Markdown beside the bench."""

import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated

from fastapi import APIRouter, Query
from markdown_it import MarkdownIt

from laydown.errors import UnknownNameError
from laydown.web.asking import LONGEST
from laydown.web.faces import Beside, shows

router = APIRouter()
FOLDER = files("laydown.web") / "guide"
ORDER = (
    "swatch-your-box",
    "photograph-it",
    "ask-for-a-color",
    "read-an-answer",
    "why-colors-go-muddy",
    "light-middle-dark",
    "fix-what-is-on-the-paper",
    "teach-from-one-palette",
    "buy-only-what-helps",
    "learn-from-what-you-tried",
)
"""Its pages, as they are read one after the other."""


@dataclass(frozen=True, slots=True)
class GuidePage:
    """A page of the guide."""

    title: str
    text: str
    """As Markdown."""


@cache
def guide_page(name: str) -> GuidePage:
    """Return a page of the guide by its name."""
    text = (FOLDER / f"{name}.md").read_text(encoding="utf-8")
    return GuidePage(text.partition("\n")[0].removeprefix("# "), text)


def as_html(text: str) -> str:
    r"""Turn a page into HTML, its links and pictures into those of the bench.

    Examples
    --------
    >>> as_html("See [the next](photograph-it.md).")
    '<p>See <a href="/guide?page=photograph-it">the next</a>.</p>\n'
    """
    text = re.sub(r"\]\(([\w-]+)\.md\)", r"](/guide?page=\1)", text)
    text = re.sub(r"\]\(([\w-]+\.webp)\)", r"](/static/guide/\1)", text)
    return str(MarkdownIt("commonmark", {"html": False}).render(text))


def _around() -> Beside:
    return {"titles": {name: guide_page(name).title for name in ORDER}, "as_html": as_html}


@shows(router, "/guide", "guide.html.j2", beside=_around)
def guide(page: Annotated[str, Query(max_length=LONGEST)] = ORDER[0]) -> GuidePage:
    """Show a page of the guide."""
    if page not in ORDER:
        raise UnknownNameError(
            f"The guide has no page {page}.", hint="Choose one from its list, at /guide."
        )
    return guide_page(page)
