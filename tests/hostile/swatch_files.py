"""The worst files of swatches that could be thought of: CSV, CGATS and CxF.

Those that begin with "within" keep to every bound and have to be read, or all but; the others go
beyond one.
"""

from collections.abc import Iterator
from functools import partial

import numpy as np
from making import DIGITS, MARKS, Make, Read, table
from making import counted as counted_to
from making import filled as filled_to

from laydown import allowed_sizes
from laydown.app.swatches import READERS, form_of_content
from laydown.color.lab import WEIGHTS_D50
from laydown.documents.files.swatches import BANDS, SwatchRow, swatches_from_rows

FULL = allowed_sizes.SWATCHES
MANY = 10_000
filled, counted = partial(filled_to, size=FULL), partial(counted_to, size=FULL)


def swatches(data: bytes) -> object:
    """Read swatches as the library takes them in."""
    usual = {"range": "Range", "paper": "Paper"}
    rows: tuple[SwatchRow, ...] = READERS[form_of_content(data)](data, source="it", usual=usual)
    return swatches_from_rows(rows, source="it")


def colors(*, edge: bool = False) -> Iterator[str]:
    """Yield XYZ as cells: grays, or colors a hair inside the surface of the solid, without end."""
    rng = np.random.default_rng(5)
    while True:
        reflectance = np.full(36, 0.05 + 0.8 * rng.random())
        if edge:
            first, last = sorted(rng.integers(0, 37, 2))
            reflectance = np.zeros(36) + (rng.random() < 0.5)
            reflectance[first:last] = 1 - reflectance[first:last]
            reflectance = 1e-6 + (1 - 2e-6) * reflectance
        yield "{:.6f},{:.6f},{:.6f}".format(*(reflectance @ WEIGHTS_D50))


def xyz(many: int, *, edge: bool = False) -> bytes:
    """Return swatches of which XYZ is known."""
    rows = (f"Kelp {n},{c}" for n, c in zip(range(many), colors(edge=edge), strict=False))
    return table("color,X,Y,Z", rows)


def spectra(many: int) -> bytes:
    """Return spectra with as many digits as we write ourselves."""
    rng = np.random.default_rng(3)
    row = ",".join(repr(value) for value in rng.random(36).tolist())
    rows = (f"Estuary,Kelp {n},Gannet smooth,1,{row}" for n in range(many))
    return table(f"range,color,paper,coats,{','.join(BANDS)}", rows)


def names_of_accents() -> bytes:
    """Return swatches whose names, codes and layers below all are accents out of order."""
    names = (f"{MARKS[:150]}{n:05d}" for n in range(MANY))
    return table("color,code,over,X,Y,Z", (f"{n},{n},{n};{n},9,9,9" for n in names))


def mixtures() -> bytes:
    """Return swatches that each lie over a mixture of twenty."""
    mixed = " + ".join(f"1 K{n}" for n in range(20))
    parts = [f"K{n},wash,,9,9,9" for n in range(20)]
    rows = (f"K,wash,mix {mixed},{9 + n / 1e4},9,9" for n in range(MANY - 20))
    return table("color,medium,over,X,Y,Z", [*parts, *rows])


def half_nanometers(many: int) -> str:
    """Return names of bands, half a nanometer apart."""
    return " ".join(f"{300 + n / 2:g}" for n in range(many))


def fine_spectra() -> bytes:
    """Return as many cells as are read, in very many columns."""
    bands = ",".join(f"r{nm}" for nm in half_nanometers(990).split())
    row = ",".join(["0.123456789012345"] * 990)
    return table(f"color,{bands}", (f"K{n},{row}" for n in range(1000)))


def many_bands_of_one_digit() -> bytes:
    """Return five thousand bands."""
    bands = "".join(f",r{n / 10}" for n in range(3800, 8800))
    return filled(f"color{bands}\n", "K" + ",1" * 5000 + "\n")


CSV: dict[str, Make] = {
    "within: ten thousand spectra": lambda: spectra(MANY),
    "within: ten thousand XYZ": lambda: xyz(MANY),
    "within: XYZ at the solid's surface": lambda: xyz(MANY, edge=True),
    "within: bare paper as white as may be": lambda: table(
        "paper,X,Y,Z", (f"P,{115 - 1e-5 * n},119,98" for n in range(MANY))
    ),
    "within: names of accents": names_of_accents,
    "within: recipes of many steps": lambda: table(
        "color,over,X,Y,Z", (f"K,{'K;' * 29},{9 + n / 1e4},9,9" for n in range(MANY))
    ),
    "within: recipes of mixtures": mixtures,
    "within: spectra by half a nanometer": fine_spectra,
    "within: cells of ten thousand signs": lambda: filled(
        "color,X,Y,Z,flags\n", f"K,9,9,9,{'above-white ' * 830}\n"
    ),
    "within: lines of blank cells": lambda: table(
        "color,X,Y,Z", ["K,9,9,9", *[",,,,,,,,,,,,,,"] * 1_048_000]
    ),
    "spectra to the last byte": lambda: spectra(27_000),
    "XYZ to the last byte": lambda: xyz(500_000),
    "blank lines": lambda: filled("color,X,Y,Z\n", "\n"),
    "lines of blank cells": lambda: filled("color,X,Y,Z\n", ",,,\n"),
    "short lines": lambda: filled("color,X,Y,Z\n", "K,1,1,1\n"),
    "one line of commas": lambda: filled("color,X,Y,Z\n", ","),
    "a heading of commas": lambda: filled("color,X,Y,Z", ",", "\nK,1,1,1\n"),
    "a heading of bands": lambda: counted("color", ",r380.%09d", "\nK\n"),
    "bands of one digit": many_bands_of_one_digit,
    "an unclosed quote": lambda: filled('color,X,Y,Z\n"', "K,1,1,1\n"),
    "quotes in quotes": lambda: filled("color,X,Y,Z\n", '"""",'),
    "one huge cell": lambda: filled("color,X,Y,Z\n", "K"),
    "huge cells": lambda: filled("color,X,Y,Z\n", "K" * 99_000 + ",1,1,1\n"),
    "long numbers": lambda: filled("color,X,Y,Z\n", f"K,{DIGITS},1,1\n"),
    "exponents": lambda: filled("color,X,Y,Z\n", "K,1e999999,1,1\n"),
    "accents out of order in names": lambda: filled("color,X,Y,Z\n", f"{MARKS},9,9,9\n"),
    "accents out of order in codes": lambda: filled("color,code,X,Y,Z\n", f"K,{MARKS},9,9,9\n"),
    "recipes without end": lambda: filled("color,over,X,Y,Z\n", f"K,{'K;' * 60_000},9,9,9\n"),
    "recipes of very many steps": lambda: filled("color,over,X,Y,Z\n", f"K,{'K;' * 900},9,9,9\n"),
    "a number of coats of many digits": lambda: filled(
        "color,over,X,Y,Z\n", f"K,K*{'9' * 5000},9,9,9\n"
    ),
    "headings": lambda: filled("", "color,X,Y,Z\n"),
    "carriage returns": lambda: filled("color,X,Y,Z\r", "K,1,1,1\r"),
    "line ends of other alphabets": lambda: filled("color,X,Y,Z\n", "K,1,1,1\u2028"),
    "bytes of zero": lambda: filled("color,X,Y,Z\n", "\0"),
    "marks of byte order": lambda: filled("color,X,Y,Z\n", "\ufeff"),
    "UTF-16 in the middle": lambda: (
        filled("color,X,Y,Z\n", "K,1\n", size=FULL // 2) + "K,1\n".encode("utf-16") * (FULL // 20)
    ),
    "blanks": lambda: filled("", " "),
}


def cgats(columns: str, data: str, end: str = "\nEND_DATA\n", *, size: int = FULL) -> bytes:
    """Return a CGATS file of one table whose data repeat."""
    head = f"CGATS.17\nBEGIN_DATA_FORMAT\n{columns}\nEND_DATA_FORMAT\nBEGIN_DATA\n"
    return filled(head, data, end, size=size)


COLUMNS = "SAMPLE_NAME XYZ_X XYZ_Y XYZ_Z"
TABLES = "CGATS.17\nBEGIN_DATA_FORMAT\nA\nEND_DATA_FORMAT\n"
EMPTY = "BEGIN_DATA\nEND_DATA\n"


def hundred_tables() -> bytes:
    """Return as many keywords, tables, columns and sets as are read."""
    more = "".join(f" C{n}" for n in range(90))
    sets = ("K 9 9 9" + " 1" * 90 + "\n") * 100
    one = f"BEGIN_DATA_FORMAT\n{COLUMNS}{more}\nEND_DATA_FORMAT\nBEGIN_DATA\n{sets}END_DATA\n"
    keywords = "".join(f"K{n} 1\n" for n in range(999))
    return f"CGATS.17\n{keywords}{one * 100}".encode()


CGATS: dict[str, Make] = {
    "within: spectra by half a nanometer": lambda: cgats(
        "SAMPLE_ID " + " ".join(f"NM_{nm}" for nm in half_nanometers(990).split()),
        "K " + "0.123456789012345678 " * 990 + "\n",
    ),
    "within: ten thousand sets": lambda: cgats(COLUMNS, "K 9 9 9\n", size=80_000),
    "within: a hundred tables": hundred_tables,
    "short sets": lambda: cgats(COLUMNS, "K 1 1 1\n"),
    "one line of sets": lambda: cgats(COLUMNS, "K 1 1 1 "),
    "one column": lambda: cgats("A", "1\n"),
    "bands": lambda: counted("CGATS.17\nBEGIN_DATA_FORMAT\n", "NM_380.%d\n"),
    "columns": lambda: counted("CGATS.17\nBEGIN_DATA_FORMAT\n", "C%d\n"),
    "keywords times tables": lambda: (
        counted("CGATS.17\n", "K%d 1\n", size=FULL // 2) + filled(TABLES, EMPTY, size=FULL // 2)
    ),
    "columns times tables": lambda: (
        filled("CGATS.17\nBEGIN_DATA_FORMAT\n", "A\n", "END_DATA_FORMAT\n", size=FULL // 2)
        + filled("", EMPTY, size=FULL // 2)
    ),
    "tables": lambda: filled(TABLES, EMPTY),
    "measured tables": lambda: filled(
        "CGATS.17\n",
        f"BEGIN_DATA_FORMAT\n{COLUMNS}\nEND_DATA_FORMAT\nBEGIN_DATA\nK 9 9 9\nEND_DATA\n",
    ),
    "data that end and never begin": lambda: b"CGATS.17\nEND_DATA\n",
    "blank lines": lambda: filled("CGATS.17\n", "\n", "BEGIN_DATA\n"),
    "short lines": lambda: filled("CGATS.17\n", "ab\n"),
    "a quote that ends nowhere": lambda: filled('CGATS.17\nBEGIN_DATA "', "a"),
    "doubled quotes": lambda: filled('CGATS.17\nBEGIN_DATA "', '""'),
    "one long token": lambda: filled("CGATS.17\nBEGIN_DATA ", "a"),
    "blanks": lambda: filled("CGATS.17\nBEGIN_DATA", " "),
    "long numbers": lambda: cgats(COLUMNS, f"K {DIGITS} 1 1\n"),
    "accents out of order": lambda: cgats(COLUMNS, f"{MARKS} 20 20 20\n"),
    "bytes that are no UTF-8": lambda: b"CGATS.17\n" + b"\xff" * (FULL - 10),
}

HEAD = '<CxF xmlns="http://colorexchangeformat.com/CxF3-core"><Resources><ObjectCollection>'
SPECS = (
    '</ObjectCollection><ColorSpecificationCollection><ColorSpecification Id="S">'
    '<MeasurementSpec><WavelengthRange StartWL="380" Increment="10"/></MeasurementSpec>'
    "</ColorSpecification></ColorSpecificationCollection></Resources></CxF>"
)
LAB = (
    '<Object Name="K%d"><ColorValues><ColorCIELab><L>50</L><A>0</A><B>0</B></ColorCIELab>'
    "</ColorValues></Object>"
)


def measured(spectrum: str, start: str = "380", name: str = "K%d") -> str:
    """Return an object with a spectrum, with a place for a number in its name."""
    return (
        f'<Object Name="{name}"><ColorValues><ReflectanceSpectrum ColorSpecification="S" '
        f'StartWL="{start}">{spectrum}</ReflectanceSpectrum></ColorValues></Object>'
    )


def objects(unit: str, many: int, specifications: str = SPECS) -> bytes:
    """Return so many objects."""
    return (
        HEAD + "".join(unit.replace("%d", str(n)) for n in range(many)) + specifications
    ).encode()


def specified(parts: int) -> str:
    """Return a specification of so many parts, to be looked through for each object."""
    return SPECS.replace('Id="S">', 'Id="S">' + "<a/>" * parts)


def named_elements() -> bytes:
    """Return as many elements as are read, each with a name of its own."""
    return f"<CxF>{''.join(f'<a{n:030d}/>' for n in range(499_998))}</CxF>".encode()


def named_attributes() -> bytes:
    """Return as many attributes as are read, each with a name of its own."""
    nine = (" ".join(f"b{n + m:022d}=''" for m in range(9)) for n in range(0, 449_000, 9))
    return f"<CxF>{''.join(f'<a {attributes}/>' for attributes in nine)}</CxF>".encode()


def one_spectrum() -> bytes:
    """Return a spectrum of as many bands as there is room for."""
    before, after = measured("\n").split("\n")
    return filled(HEAD + before, "1 ", after + SPECS)


LONG = " ".join(["0.1234567890123456"] * 999)
CXF: dict[str, Make] = {
    "within: a specification of many parts": lambda: objects(
        measured("1 " * 36), 9_990, specified(420_000)
    ),
    "within: objects with Lab": lambda: objects(LAB, MANY),
    "within: a thousand bands": lambda: objects(measured(LONG), 1_000),
    "within: bands here and there": lambda: objects(measured("0.12 " * 36, "3%d.5"), 90),
    "within: named elements": named_elements,
    "within: named attributes": named_attributes,
    "text between empty elements": lambda: filled("<CxF>", "a<b/>", "</CxF>"),
    "nested elements": lambda: b"<a>" * (FULL // 3),
    "empty elements": lambda: filled("<CxF>", "<a/>", "</CxF>"),
    "elements of as many names": lambda: counted("<CxF>", "<a%d/>", "</CxF>"),
    "many attributes": lambda: counted("<CxF ", "a%d='' ", "/>"),
    "elements with attributes": lambda: filled("<CxF>", "<a b='' c='' d='' e=''/>", "</CxF>"),
    "one long attribute": lambda: filled("<CxF a='", "a", "'/>"),
    "one long name": lambda: filled("<", "a", "/>"),
    "a long namespace on short elements": lambda: filled(
        f"<CxF xmlns='{'a' * 900_000}'>", "<b/>", "</CxF>"
    ),
    "namespaces": lambda: counted("<CxF ", "xmlns:a%d='b' ", "/>"),
    "namespaces in each other": lambda: b"<a xmlns='b'>" * (FULL // 13),
    "comments": lambda: filled("<CxF>", "<!---->", "</CxF>"),
    "one long comment": lambda: filled("<CxF><!--", "a", "--></CxF>"),
    "instructions": lambda: filled("<CxF>", "<?a?>", "</CxF>"),
    "sections of plain text": lambda: filled("<CxF>", "<![CDATA[a]]>", "</CxF>"),
    "character references": lambda: filled("<CxF>", "&#65;", "</CxF>"),
    "entities of entities": lambda: b'<!DOCTYPE a [<!ENTITY a "&b;"><!ENTITY b "b">]><a>&a;</a>',
    "a document type without end": lambda: filled("<!DOCTYPE a [", "<!ENTITY a 'b'>"),
    "line ends": lambda: filled("<CxF>", "\r\n", "</CxF>"),
    "a declaration of UTF-16": lambda: filled(
        "<?xml version='1.0' encoding='UTF-16'?><CxF>", "\u00e9", "</CxF>"
    ),
    "a spectrum of many bands": one_spectrum,
    "spectra with no band in common": lambda: counted(
        HEAD, measured("1 1 1 1", "%d.5", "K"), SPECS
    ),
    "spectra over one another": lambda: filled(
        HEAD + '<Object Name="K"><ColorValues>',
        f'<ReflectanceSpectrum ColorSpecification="S" StartWL="380">{"1 " * 999}'
        "</ReflectanceSpectrum>",
        "</ColorValues></Object>" + SPECS,
    ),
    "objects": lambda: filled(HEAD, "<Object/>", SPECS),
    "objects with Lab": lambda: counted(HEAD, LAB, SPECS),
    "an object of many tags": lambda: filled(
        HEAD + '<Object Name="K"><TagCollection Name="laydown">',
        '<Tag Name="color" Value="a"/>',
        "</TagCollection></Object>" + SPECS,
    ),
    "specifications": lambda: counted(
        HEAD + "</ObjectCollection><ColorSpecificationCollection>",
        "<ColorSpecification Id='a%d'/>",
        "</ColorSpecificationCollection></Resources></CxF>",
    ),
    "accents out of order": lambda: filled(HEAD, measured(" ".join(["1"] * 36), name=MARKS), SPECS),
    "long numbers": lambda: filled(HEAD, measured(f"{DIGITS} " * 36, name="K"), SPECS),
}

KINDS: dict[str, tuple[Read, dict[str, Make]]] = {
    "csv": (swatches, CSV),
    "cgats": (swatches, CGATS),
    "cxf": (swatches, CXF),
}
