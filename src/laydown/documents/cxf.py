"""Swatches as CxF3 (ISO 17972): an XML file of objects with spectra, XYZ or Lab.

What was laid stands in a tag collection ``laydown`` of each object. A file of another origin has
only named objects: the name becomes the color, and range and paper are what the user says. Objects
without a spectrum, XYZ or Lab for D50/2° are passed over, as long as any has one.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from xml.etree import ElementTree

from laydown.documents.swatch_rows import NOTHING_SAID, SwatchRow, Usual
from laydown.documents.swatch_table import BANDS, cells_of, rows_from_table
from laydown.documents.tables import LAB, WORDS, XYZ, Line, Table, bands_of
from laydown.documents.text_files import text_of
from laydown.documents.xml_tree import Element, parse_xml
from laydown.errors import BadFileError

NAMESPACE = "http://colorexchangeformat.com/CxF3-core"
TAGS = "laydown"
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)
_SPECIFICATION = "D50-2deg"


def read_cxf(data: bytes, *, source: str, usual: Usual = NOTHING_SAID) -> tuple[SwatchRow, ...]:
    """Read swatches from CxF3.

    Parameters
    ----------
    data
        The whole file.
    source
        Its name, for messages.
    usual
        What to take where the file doesn't say range, paper or medium.

    Raises
    ------
    BadFileError
        Names the line, and what to do; nothing is read then.
    """
    root = parse_xml(text_of(data, source).encode(), source)
    resources = root.find("Resources")
    if root.name != "CxF" or resources is None:
        raise BadFileError(
            f"{source} is XML, but not CxF3: its outermost element is {root.name}.",
            hint="Give a CxF3 file (ISO 17972).",
        )
    collection = resources.find("ObjectCollection")
    specifications = _specifications(resources)
    objects = [] if collection is None else collection.all("Object")
    lines = [_line(thing, specifications, source) for thing in objects]
    measured = tuple(line for line in lines if set(line.cells) - set(WORDS))
    if not measured:
        raise BadFileError(
            f"{source} holds no object with a reflectance spectrum, XYZ or Lab for D50/2°.",
            hint="Export it with one of these.",
        )
    return rows_from_table(_table(source, measured), usual)


def _table(source: str, lines: tuple[Line, ...]) -> Table:
    there = {column for line in lines for column in line.cells}
    columns = [c for c in (*WORDS, *LAB, *XYZ) if c in there] + list(bands_of(sorted(there)))
    return Table(source, tuple(columns), lines, lines[0].number, {})


def _specifications(resources: Element) -> dict[str, Element]:
    collection = resources.find("ColorSpecificationCollection")
    found = [] if collection is None else collection.all("ColorSpecification")
    return {spec.attributes.get("Id", ""): spec for spec in found}


def _line(thing: Element, specifications: Mapping[str, Element], source: str) -> Line:
    cells: dict[str, str] = {}
    values = thing.find("ColorValues")
    for value in [] if values is None else values.children:
        spec = specifications.get(value.attributes.get("ColorSpecification", ""))
        if value.name == "ReflectanceSpectrum":
            cells |= _spectrum(value, spec, source)
        elif value.name == "ColorCIEXYZ" and _for_d50(spec):
            cells |= _numbers(value, XYZ, XYZ)
        elif value.name == "ColorCIELab" and _for_d50(spec):
            cells |= _numbers(value, ("L", "A", "B"), LAB)
    named = _tags(thing) or {"color": thing.attributes.get("Name", "").strip()}
    if cells and not any(named.values()):
        raise BadFileError(
            f"{source}, line {thing.line}: a measured object has no name.",
            hint="Give each object a Name.",
        )
    return Line(thing.line, cells | named)


def _numbers(value: Element, names: Sequence[str], columns: Sequence[str]) -> dict[str, str]:
    found = [value.find(name) for name in names]
    return {c: e.text.strip() for c, e in zip(columns, found, strict=True) if e is not None}


def _for_d50(spec: Element | None) -> bool:
    """Return whether a color is for D50/2°, which is also what it is taken for untold."""
    light = spec.find("TristimulusSpec", "Illuminant") if spec else None
    observer = spec.find("TristimulusSpec", "Observer") if spec else None
    return (light is None or light.text.strip() == "D50") and (
        observer is None or observer.text.strip() == "2_Degree"
    )


def _spectrum(value: Element, spec: Element | None, source: str) -> dict[str, str]:
    numbers = value.text.split()
    span = spec.find("MeasurementSpec", "WavelengthRange") if spec else None
    told = {} if span is None else span.attributes
    try:
        start = float(value.attributes.get("StartWL", told.get("StartWL", "")))
        step = float(told.get("Increment", ""))
    except ValueError:
        raise BadFileError(
            f"{source}, line {value.line}: the spectrum doesn't say at which wavelength it starts "
            f"and how far apart its bands are.",
            hint="Its ColorSpecification needs a WavelengthRange with StartWL and Increment.",
        ) from None
    return {f"r{start + i * step:.10g}": number for i, number in enumerate(numbers)}


def _tags(thing: Element) -> dict[str, str]:
    return {
        tag.attributes["Name"]: tag.attributes.get("Value", "")
        for collection in thing.all("TagCollection")
        if collection.attributes.get("Name") == TAGS
        for tag in collection.all("Tag")
        if tag.attributes.get("Name") in WORDS
    }


def write_cxf(rows: Sequence[SwatchRow], *, made: datetime = LONG_AGO) -> bytes:
    """Write swatches as CxF3 in UTF-8; reading it gives the same rows.

    Parameters
    ----------
    rows
        In the order to write them.
    made
        The moment of writing, which the format asks for; the same moment gives the same bytes.
    """
    root = ElementTree.Element("CxF", {"xmlns": NAMESPACE})
    moment = made.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    about = ElementTree.SubElement(root, "FileInformation")
    for name, text in (
        ("Creator", "laydown"),
        ("CreationDate", moment),
        ("Description", "Swatches on paper"),
    ):
        ElementTree.SubElement(about, name).text = text
    resources = ElementTree.SubElement(root, "Resources")
    objects = ElementTree.SubElement(resources, "ObjectCollection")
    for number, row in enumerate(rows, 1):
        _write_object(objects, number, cells_of(row), moment)
    _write_specification(resources)
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
    if BANDS[0] in cells:
        spectrum = {"ColorSpecification": _SPECIFICATION, "StartWL": BANDS[0][1:]}
        text = " ".join(cells[band] for band in BANDS)
        ElementTree.SubElement(values, "ReflectanceSpectrum", spectrum).text = text
    else:
        color = ElementTree.SubElement(
            values, "ColorCIEXYZ", {"ColorSpecification": _SPECIFICATION}
        )
        for axis in XYZ:
            ElementTree.SubElement(color, axis).text = cells[axis]
    tags = ElementTree.SubElement(thing, "TagCollection", {"Name": TAGS})
    for word, text in _filled(cells):
        ElementTree.SubElement(tags, "Tag", {"Name": word, "Value": text})


def _filled(cells: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    return ((word, cells[word]) for word in WORDS if cells.get(word))


def _write_specification(resources: ElementTree.Element) -> None:
    collection = ElementTree.SubElement(resources, "ColorSpecificationCollection")
    spec = ElementTree.SubElement(collection, "ColorSpecification", {"Id": _SPECIFICATION})
    color = ElementTree.SubElement(spec, "TristimulusSpec")
    for name, text in (
        ("Illuminant", "D50"),
        ("Observer", "2_Degree"),
        ("Method", "E308_Table5"),
    ):
        ElementTree.SubElement(color, name).text = text
    measured = ElementTree.SubElement(spec, "MeasurementSpec")
    ElementTree.SubElement(measured, "MeasurementType").text = "Spectrum_Reflectance"
    geometry = ElementTree.SubElement(measured, "GeometryChoice")
    angle = ElementTree.SubElement(geometry, "SingleAngle")
    for name, text in (
        ("SingleAngleConfiguration", "Annular"),
        ("IlluminationAngle", "45.0"),
        ("MeasurementAngle", "0.0"),
    ):
        ElementTree.SubElement(angle, name).text = text
    ElementTree.SubElement(
        measured, "WavelengthRange", {"StartWL": BANDS[0][1:], "Increment": "10"}
    )
