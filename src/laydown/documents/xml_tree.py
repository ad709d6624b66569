"""XML as a small tree whose elements know their line; no DTD and no entities are let in.

The parser of the standard library that keeps line numbers is expat itself; a document type, where
an attack by nested entities would stand, is refused as soon as it begins.
"""

from dataclasses import dataclass, field
from xml.parsers import expat

from laydown.errors import BadFileError


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
            here = next(iter(here.all(name)), None) if here else None
        return here


def parse_xml(data: bytes, source: str) -> Element:
    """Return the root element.

    Raises
    ------
    BadFileError
        For XML that isn't well formed or brings a document type.
    """
    builder = _Builder(source)
    try:
        builder.parser.Parse(data, True)
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
        self.root = Element("", {}, 0)
        self.parser = expat.ParserCreate("utf-8", " ")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.StartDoctypeDeclHandler = self._refuse

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        element = Element(name.rpartition(" ")[2], attributes, self.parser.CurrentLineNumber)
        if self._open:
            self._open[-1].children.append(element)
        else:
            self.root = element
        self._open.append(element)

    def _end(self, _name: str) -> None:
        self._open.pop()

    def _text(self, text: str) -> None:
        if self._open:
            self._open[-1].text += text

    def _refuse(self, *_declaration: object) -> None:
        raise BadFileError(
            f"{self._source}, line {self.parser.CurrentLineNumber}: it declares a document type, "
            f"which a CxF file never needs.",
            hint="Remove the DOCTYPE, or export the file again.",
        )
