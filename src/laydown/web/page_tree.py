"""A page of ours as a tree of its elements, each with its place in the text, so as to change few.

It reads what our own templates write: elements that are closed, but for options and such that have
no content at all.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html import escape
from html.parser import HTMLParser

EMPTY = frozenset({"br", "hr", "img", "input", "link", "meta"})
"""Elements without content (HTML, section 13.1.2), of those that our pages have."""

Attributes = Mapping[str, str | None]


@dataclass(slots=True, eq=False)
class PageElement:
    """An element of a page.

    Parameters
    ----------
    tag, attributes
        As written; an attribute without a value has None.
    parent
        What it lies in; None for the page itself.
    begins, inner, ends
        Where in the text it begins, its content begins, and its content ends.
    content
        Elements and texts, in their order.
    """

    tag: str
    attributes: Attributes
    parent: "PageElement | None"
    begins: int = 0
    inner: int = 0
    ends: int = 0
    content: "list[PageElement | str]" = field(default_factory=list)

    def get(self, name: str) -> str:
        """Return the value of an attribute; empty where it has none."""
        return self.attributes.get(name) or ""

    def all(self, *tags: str) -> "Iterator[PageElement]":
        """Yield the elements in it, those of some tags or all, in the order of the page."""
        for part in self.content:
            if isinstance(part, PageElement):
                if not tags or part.tag in tags:
                    yield part
                yield from part.all(*tags)

    def around(self, tag: str) -> "Iterator[PageElement]":
        """Yield the elements of a tag that it lies in, the nearest first."""
        above = self.parent
        while above is not None:
            if above.tag == tag:
                yield above
            above = above.parent

    def text(self, *, but: frozenset[str] = frozenset()) -> str:
        """Return the text in it, without that of some tags."""
        parts = (
            part if isinstance(part, str) else "" if part.tag in but else part.text(but=but)
            for part in self.content
        )
        return " ".join(" ".join(parts).split())


def start_tag(tag: str, attributes: Attributes) -> str:
    """Write a start tag.

    Examples
    --------
    >>> start_tag("input", {"value": "<a>", "checked": None})
    '<input value="&lt;a&gt;" checked>'
    """
    told = (
        name if value is None else f'{name}="{escape(value)}"' for name, value in attributes.items()
    )
    return f"<{' '.join([tag, *told])}>"


def read_page(page: str) -> PageElement:
    """Read a page."""
    reader = _PageReader(page)
    reader.feed(page)
    reader.close()
    return reader.root


class _PageReader(HTMLParser):
    """Builds the tree of a page while it is read."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.root = self._open = PageElement("", {}, None, ends=len(page))
        self._lines = [0]
        for line in page.split("\n"):
            self._lines.append(self._lines[-1] + len(line) + 1)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == self._open.tag == "option":
            self._close(self._here())
        begins = self._here()
        made = PageElement(tag, dict(attrs), self._open, begins)
        made.inner = made.ends = begins + len(self.get_starttag_text() or "")
        self._open.content.append(made)
        if tag not in EMPTY:
            self._open = made

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self._close(self._here())

    def handle_endtag(self, tag: str) -> None:
        if tag == self._open.tag or any(self._open.around(tag)):
            while self._open.tag != tag:
                self._close(self._here())
            self._close(self._here())

    def handle_data(self, data: str) -> None:
        self._open.content.append(data)

    def _close(self, ends: int) -> None:
        self._open.ends = ends
        self._open = self._open.parent or self.root

    def _here(self) -> int:
        line, column = self.getpos()
        return self._lines[line - 1] + column
