"""CxF3 (ISO 17972): swatches read and written, from an XML tree that is bounded."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from xml.etree import ElementTree
from xml.parsers import expat

from laydown import allowed_sizes
from laydown.documents.files import csv, swatches
from laydown.documents.files.csv import WORDS, XYZ
from laydown.documents.files.text import LONGEST_LINE, text_of
from laydown.errors import BadFileError
from laydown.media.legible import legible

# XML as a small tree whose elements know their line; no DTD and no entities are let in.
#
# The parser of the standard library that keeps line numbers is expat itself; a document type,
# where an attack by nested entities would stand, is refused as soon as it begins. Names are taken
# without their prefix and namespaces are not looked up: expat would write out the whole address
# of one, which may have megabytes, at every element.

MOST_PARTS = 500_000
"""Elements and attributes of one file: fifty for each of ten thousand swatches."""
DEEPEST = 50
"""Elements in one another; CxF has ten."""
LONGEST_TAG = 1_000_000
"""Bytes of a tag with its attributes, or of a comment."""
PIECE = 100_000
"""Bytes that are parsed at a time."""
LINE = " line"
"""The attribute that holds an element's line; no XML can have one of that name."""


def parse_xml(data: bytes, source: str) -> ElementTree.Element:
    """Return the root element, all names without namespace and each with its `LINE`.

    Raises `BadFileError` for XML that isn't well formed, brings a document type, or has more parts,
    more of them in one another or longer ones than are read.
    """
    try:
        return _Builder(source).parse(data)
    except expat.ExpatError as error:
        raise BadFileError(
            f"{source}, line {error.lineno}: the XML breaks off or is malformed "
            f"({expat.ErrorString(error.code)}).",
            hint="Export the file again.",
        ) from error


class _Builder:
    def __init__(self, source: str) -> None:
        self._source = source
        self._tree = ElementTree.TreeBuilder()
        self._parts = self._depth = 0
        self.parser = expat.ParserCreate("utf-8")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._tree.data
        self.parser.StartDoctypeDeclHandler = self._refuse

    def parse(self, data: bytes) -> ElementTree.Element:
        """Parse piece by piece: what began long before the end of a piece is refused."""
        for end in range(PIECE, len(data), PIECE):
            self.parser.Parse(data[end - PIECE : end], False)
            if end - self.parser.CurrentByteIndex > LONGEST_TAG:
                raise self._bad(f"a tag or a comment is longer than {LONGEST_TAG:,} bytes.")
        self.parser.Parse(data[(len(data) - 1) // PIECE * PIECE :], True)
        return self._tree.close()

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        told = {key: legible(value) for key, value in attributes.items()}  # from &#x202e; too
        self._tree.start(name.rpartition(":")[2], {**told, LINE: self._line})
        self._depth += 1
        self._parts += 1 + len(attributes)
        if self._parts > MOST_PARTS:
            raise self._bad(f"it has more than {MOST_PARTS:,} elements and attributes.")
        if self._depth > DEEPEST:
            raise self._bad(f"more than {DEEPEST} elements stand in one another.")

    def _end(self, name: str) -> None:
        ended = self._tree.end(name.rpartition(":")[2])
        parts = (ended.text, *(child.tail for child in ended))
        ended.text = legible("".join(filter(None, parts)))
        self._depth -= 1

    @property
    def _line(self) -> str:
        return str(self.parser.CurrentLineNumber)

    def _bad(self, problem: str) -> BadFileError:
        return BadFileError(
            f"{self._source}, line {self._line}: {problem}",
            hint="Export fewer swatches at a time, or as CSV.",
        )

    def _refuse(self, *_declaration: object) -> None:
        raise BadFileError(
            f"{self._source}, line {self._line}: it declares a document type, "
            f"which a CxF file never needs.",
            hint="Remove the DOCTYPE, or export the file again.",
        )


# Swatches as CxF3 (ISO 17972): an XML file of objects with spectra, XYZ or Lab.
#
# What was laid stands in a tag collection ``laydown`` of each object. A file of another origin
# has only named objects: the name becomes the color, and range and paper are what the user says.
# Objects without a spectrum, XYZ or Lab for D50/2° are passed over, as long as any has one.

NAMESPACE = "http://colorexchangeformat.com/CxF3-core"
TAGS = "laydown"
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)
_SPECIFICATION = "D50-2deg"


def read_cxf(
    data: bytes, *, source: str, usual: Mapping[str, str] = swatches.NOTHING_SAID
) -> tuple[swatches.SwatchRow, ...]:
    """Read swatches from CxF3.

    The usual is taken where the file doesn't say range, paper or medium. Raises `BadFileError`,
    which names the line, and what to do; nothing is read then.
    """
    root = parse_xml(text_of(data, source, most=allowed_sizes.SWATCHES).encode(), source)
    resources = root.find("Resources")
    if root.tag != "CxF" or resources is None:
        raise BadFileError(
            f"{source} is XML, but not CxF3: its outermost element is {root.tag}.",
            hint="Give a CxF3 file (ISO 17972).",
        )
    reader = _CxfReader(source, _specifications(resources))
    lines = [reader.line(thing) for thing in resources.iterfind("ObjectCollection/Object")]
    measured = [line for line in lines if set(line[1]) - set(WORDS)]
    if not measured:
        raise BadFileError(
            f"{source} holds no object with a reflectance spectrum, XYZ or Lab for D50/2°.",
            hint="Export it with one of these.",
        )
    return swatches.rows_from_table(_table(source, measured), usual)


def _table(source: str, lines: Sequence[csv.Cells]) -> csv.Table:
    there = {column for line in lines for column in line[1]}
    columns = [c for c in (*WORDS, *csv.LAB, *XYZ) if c in there] + list(
        csv.bands_of(sorted(there))
    )
    measured = csv.bounded(lines, source, columns=len(columns))
    return csv.Table(source, tuple(columns), measured, lines[0][0], {})


_Specification = tuple[bool, str, str]
"""Whether a color is for D50/2°, and where its bands start and how far they lie apart."""
UNTOLD: _Specification = (True, "", "")


def _specifications(resources: ElementTree.Element) -> dict[str, _Specification]:
    specified = resources.iterfind("ColorSpecificationCollection/ColorSpecification")
    return {spec.get("Id", ""): _specification(spec) for spec in specified}


def _specification(spec: ElementTree.Element) -> _Specification:
    light = spec.find("TristimulusSpec/Illuminant")
    observer = spec.find("TristimulusSpec/Observer")
    span = spec.find("MeasurementSpec/WavelengthRange")
    told = {} if span is None else span.attrib
    return (
        (light is None or _text(light) == "D50")
        and (observer is None or _text(observer) == "2_Degree"),
        told.get("StartWL", ""),
        told.get("Increment", ""),
    )


class _CxfReader:
    """Takes the objects of a file one after the other, and counts what they measure."""

    def __init__(self, source: str, specifications: Mapping[str, _Specification]) -> None:
        self._source = source
        self._specifications = specifications
        self._values = 0

    def line(self, thing: ElementTree.Element) -> csv.Cells:
        cells: dict[str, str] = {}
        values = thing.find("ColorValues")
        for value in [] if values is None else values:
            measured = self._measured(value)
            self._values += len(measured)
            if self._values > csv.MOST_CELLS:
                raise self._bad(value, f"it has more than {csv.MOST_CELLS:,} values.")
            cells |= measured
        named = _tags(thing) or {"color": thing.get("Name", "").strip()}
        if cells and not any(named.values()):
            raise self._bad(thing, "a measured object has no name.", "Give each object a Name.")
        return int(thing.get(LINE, 0)), cells | named

    def _measured(self, value: ElementTree.Element) -> dict[str, str]:
        told = value.get("ColorSpecification", "")
        spec = self._specifications.get(told, UNTOLD)
        if value.tag == "ReflectanceSpectrum":
            return self._spectrum(value, spec)
        if value.tag == "ColorCIEXYZ" and spec[0]:
            return _numbers(value, XYZ, XYZ)
        if value.tag == "ColorCIELab" and spec[0]:
            return _numbers(value, ("L", "A", "B"), csv.LAB)
        return {}

    def _spectrum(self, value: ElementTree.Element, spec: _Specification) -> dict[str, str]:
        text = value.text or ""
        numbers = text.split() if len(text) <= LONGEST_LINE else []
        if len(text) > LONGEST_LINE or len(numbers) > csv.MOST_COLUMNS:
            raise self._bad(value, f"the spectrum has more than {csv.MOST_COLUMNS:,} bands.")
        try:
            start = float(value.get("StartWL", spec[1]))
            step = float(spec[2])
        except ValueError:
            raise self._bad(
                value,
                "the spectrum doesn't say at which wavelength it starts and how far apart its "
                "bands are.",
                "Its ColorSpecification needs a WavelengthRange with StartWL and Increment.",
            ) from None
        return {f"r{start + i * step:.10g}": number for i, number in enumerate(numbers)}

    def _bad(self, where: ElementTree.Element, problem: str, hint: str = "") -> BadFileError:
        return BadFileError(
            f"{self._source}, line {where.get(LINE)}: {problem}",
            hint=hint or "Export fewer swatches at a time, or one band every 10 nm.",
        )


def _numbers(
    value: ElementTree.Element, names: Sequence[str], columns: Sequence[str]
) -> dict[str, str]:
    found = [value.find(name) for name in names]
    return {c: _text(e) for c, e in zip(columns, found, strict=True) if e is not None}


def _text(element: ElementTree.Element) -> str:
    return (element.text or "").strip()


def _tags(thing: ElementTree.Element) -> dict[str, str]:
    return {
        tag.get("Name", ""): tag.get("Value", "")
        for tag in thing.iterfind(f"TagCollection[@Name='{TAGS}']/Tag")
        if tag.get("Name") in WORDS
    }


SPECIFICATIONS = f"""<ColorSpecificationCollection><ColorSpecification Id="{_SPECIFICATION}">
<TristimulusSpec>
<Illuminant>D50</Illuminant><Observer>2_Degree</Observer><Method>E308_Table5</Method>
</TristimulusSpec>
<MeasurementSpec>
<MeasurementType>Spectrum_Reflectance</MeasurementType>
<GeometryChoice><SingleAngle>
<SingleAngleConfiguration>Annular</SingleAngleConfiguration>
<IlluminationAngle>45.0</IlluminationAngle><MeasurementAngle>0.0</MeasurementAngle>
</SingleAngle></GeometryChoice>
<WavelengthRange StartWL="{swatches.BANDS[0][1:]}" Increment="10"/>
</MeasurementSpec>
</ColorSpecification></ColorSpecificationCollection>"""
"""How all of them are measured."""


def write_cxf(rows: Sequence[swatches.SwatchRow], *, made: datetime = LONG_AGO) -> bytes:
    """Write swatches as CxF3 in UTF-8, in their order; reading it gives the same rows.

    The format asks for the moment when it was made; the same moment gives the same bytes.
    """
    root = ElementTree.Element("CxF", {"xmlns": NAMESPACE})
    moment = made.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    about = ElementTree.SubElement(root, "FileInformation")
    ElementTree.SubElement(about, "Creator").text = "laydown"
    ElementTree.SubElement(about, "CreationDate").text = moment
    ElementTree.SubElement(about, "Description").text = "Swatches on paper"
    resources = ElementTree.SubElement(root, "Resources")
    objects = ElementTree.SubElement(resources, "ObjectCollection")
    for number, row in enumerate(rows, 1):
        _write_object(objects, number, swatches.cells_of(row), moment)
    resources.append(ElementTree.fromstring(SPECIFICATIONS))
    ElementTree.indent(root)
    return bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)) + b"\n"


def _write_object(
    objects: ElementTree.Element, number: int, cells: Mapping[str, str], moment: str
) -> None:
    name = cells.get("color") or cells["paper"]
    kind = "Colorant" if cells.get("color") else "Substrate"
    thing = ElementTree.SubElement(
        objects, "Object", {"ObjectType": kind, "Name": name, "Id": f"swatch-{number}"}
    )
    ElementTree.SubElement(thing, "CreationDate").text = moment
    values = ElementTree.SubElement(thing, "ColorValues")
    if swatches.BANDS[0] in cells:
        spectrum = {"ColorSpecification": _SPECIFICATION, "StartWL": swatches.BANDS[0][1:]}
        text = " ".join(cells[band] for band in swatches.BANDS)
        ElementTree.SubElement(values, "ReflectanceSpectrum", spectrum).text = text
    else:
        color = ElementTree.SubElement(
            values, "ColorCIEXYZ", {"ColorSpecification": _SPECIFICATION}
        )
        for axis in XYZ:
            ElementTree.SubElement(color, axis).text = cells[axis]
    tags = ElementTree.SubElement(thing, "TagCollection", {"Name": TAGS})
    for word in WORDS:
        if cells.get(word):
            ElementTree.SubElement(tags, "Tag", {"Name": word, "Value": cells[word]})
