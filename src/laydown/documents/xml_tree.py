"""XML as a small tree whose elements know their line; no DTD and no entities are let in.

The parser of the standard library that keeps line numbers is expat itself; a document type, where
an attack by nested entities would stand, is refused as soon as it begins. Names are taken without
their prefix and namespaces are not looked up: expat would write out the whole address of one,
which may have megabytes, at every element.
"""

from dataclasses import dataclass, field
from xml.parsers import expat

from laydown.errors import BadFileError
from laydown.media.legible import legible

MOST_PARTS = 500_000
"""Elements and attributes of one file: fifty for each of ten thousand swatches."""
DEEPEST = 50
"""Elements in one another; CxF has ten."""
LONGEST_TAG = 1_000_000
"""Bytes of a tag with its attributes, or of a comment."""
PIECE = 100_000
"""Bytes that are parsed at a time."""


@dataclass(slots=True)
class Element:
    """An element: its name without namespace, attributes, text and children."""

    name: str
    attributes: dict[str, str]
    line: int
    text: str = ""
    children: list["Element"] = field(default_factory=list)

    def all(self, name: str) -> list["Element"]:
        """Return the children of that name."""
        return [child for child in self.children if child.name == name]

    def find(self, *path: str) -> "Element | None":
        """Return the first element down a path of names, or None."""
        here: Element | None = self
        for name in path:
            here = next((c for c in here.children if c.name == name), None) if here else None
        return here


def parse_xml(data: bytes, source: str) -> Element:
    """Return the root element.

    Raises
    ------
    BadFileError
        For XML that isn't well formed, brings a document type, or has more parts, more of them in
        one another or longer ones than are read.
    """
    builder = _Builder(source)
    try:
        builder.parse(data)
    except expat.ExpatError as error:
        raise BadFileError(
            f"{source}, line {error.lineno}: the XML breaks off or is malformed "
            f"({expat.ErrorString(error.code)}).",
            hint="Export the file again.",
        ) from error
    return builder.root


class _Builder:
    def __init__(self, source: str) -> None:
        self._source = source
        self._open: list[Element] = []
        self._texts: list[list[str]] = []
        self._parts = 0
        self.root = Element("", {}, 0)
        self.parser = expat.ParserCreate("utf-8")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.StartDoctypeDeclHandler = self._refuse

    def parse(self, data: bytes) -> None:
        """Parse piece by piece: what began long before the end of a piece is refused."""
        for end in range(PIECE, len(data), PIECE):
            self.parser.Parse(data[end - PIECE : end], False)
            if end - self.parser.CurrentByteIndex > LONGEST_TAG:
                raise self._bad(f"a tag or a comment is longer than {LONGEST_TAG:,} bytes.")
        self.parser.Parse(data[(len(data) - 1) // PIECE * PIECE :], True)

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        told = {key: legible(value) for key, value in attributes.items()}  # from &#x202e; too
        element = Element(name.rpartition(":")[2], told, self.parser.CurrentLineNumber)
        if self._open:
            self._open[-1].children.append(element)
        else:
            self.root = element
        self._open.append(element)
        self._texts.append([])
        self._parts += 1 + len(attributes)
        if self._parts > MOST_PARTS:
            raise self._bad(f"it has more than {MOST_PARTS:,} elements and attributes.")
        if len(self._open) > DEEPEST:
            raise self._bad(f"more than {DEEPEST} elements stand in one another.")

    def _end(self, _name: str) -> None:
        self._open.pop().text = legible("".join(self._texts.pop()))

    def _text(self, text: str) -> None:
        if self._texts:
            self._texts[-1].append(text)

    def _bad(self, problem: str) -> BadFileError:
        return BadFileError(
            f"{self._source}, line {self.parser.CurrentLineNumber}: {problem}",
            hint="Export fewer swatches at a time, or as CSV.",
        )

    def _refuse(self, *_declaration: object) -> None:
        raise BadFileError(
            f"{self._source}, line {self.parser.CurrentLineNumber}: it declares a document type, "
            f"which a CxF file never needs.",
            hint="Remove the DOCTYPE, or export the file again.",
        )
