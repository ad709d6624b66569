from importlib import resources
from types import ModuleType

import colour_cxf
import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.documents.files import csv as tables
from laydown.documents.files import cxf as cxf_module
from laydown.documents.files import cxf as xml_tree
from laydown.documents.files.cxf import read_cxf, write_cxf
from laydown.documents.files.swatches import SwatchRow
from laydown.errors import BadFileError
from laydown.media.recipe import Colorant
from laydown.media.swatch import Basis

PATCHES = {"range": "Patches", "paper": "Chart", "medium": "marker"}
KELP = Colorant("Kelp", "Estuary")
SPECTRUM = np.linspace(0.1, 0.9, 36)


def read(data: bytes | str) -> tuple[SwatchRow, ...]:
    """Read with a range and paper told by the user."""
    data = data.encode() if isinstance(data, str) else data
    return read_cxf(data, source="mine.cxf", usual=PATCHES)


def cxf(values: str, span: str = 'StartWL="380" Increment="10"', light: str = "D50") -> str:
    """Return a small file of another origin with one object."""
    return (
        '<?xml version="1.0"?>\n<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core">'
        "<cc:Resources><cc:ObjectCollection>\n"
        f'<cc:Object Name="Reed" Id="1"><cc:ColorValues>{values}</cc:ColorValues></cc:Object>\n'
        "</cc:ObjectCollection><cc:ColorSpecificationCollection>"
        f'<cc:ColorSpecification Id="S"><cc:TristimulusSpec><cc:Illuminant>{light}'
        "</cc:Illuminant><cc:Observer>2_Degree</cc:Observer></cc:TristimulusSpec>"
        f"<cc:MeasurementSpec><cc:WavelengthRange {span}/></cc:MeasurementSpec>"
        "</cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources></cc:CxF>"
    )


def spectrum(numbers: str, start: str = "") -> str:
    """Return a spectrum element."""
    return (
        f'<cc:ReflectanceSpectrum ColorSpecification="S"{start}>{numbers}</cc:ReflectanceSpectrum>'
    )


LAB = '<cc:ColorCIELab ColorSpecification="S"><cc:L>50</cc:L><cc:A>5</cc:A><cc:B>6</cc:B></cc:ColorCIELab>'  # noqa: E501 - one element
XYZ = '<cc:ColorCIEXYZ ColorSpecification="S"><cc:X>20</cc:X><cc:Y>25</cc:Y><cc:Z>10</cc:Z></cc:ColorCIEXYZ>'  # noqa: E501 - the same


def test_a_published_sample_agrees_with_its_own_lab() -> None:
    """Spectra of 144 measured patches give the Lab stored beside them: CIEDE2000 at most .06 in
    the mean and .2 in any.
    """
    data = (resources.files("colour_cxf") / "tests/resources/sample.cxf").read_bytes()
    rows = read(data)
    stored = [
        [float(lab.l), float(lab.a), float(lab.b)]
        for thing in colour_cxf.read_cxf(data).resources.object_collection.object_value
        for lab in thing.color_values.choice
        if type(lab).__name__ == "ColorCielab"
    ]
    assert len(rows) == len(stored) == 144
    assert rows[0].flags == {"extended-bands"}
    lab = lab_from_reflectance(np.array([row.reflectance for row in rows]))
    off = ciede2000(lab, np.array(stored))
    assert off.mean() <= 0.06
    assert off.max() <= 0.2


def test_another_reader_reads_what_we_write() -> None:
    """An independent CxF3 reader finds our objects, spectra and what was laid."""
    rows = (SwatchRow(2, KELP, "Gannet smooth", SPECTRUM, over="Dune*2"),)
    found = colour_cxf.read_cxf(write_cxf(rows)).resources
    (thing,) = found.object_collection.object_value
    (values,) = thing.color_values.choice
    assert (thing.name, thing.object_type) == ("Kelp", "Colorant")
    assert (values.start_wl, values.color_specification) == (380, "D50-2deg")
    np.testing.assert_allclose(np.array(values.value, dtype=float), SPECTRUM, rtol=0, atol=0)
    (tags,) = thing.tag_collection
    assert {tag.name: tag.value for tag in tags.tag} == {
        "range": "Estuary",
        "medium": "marker",
        "color": "Kelp",
        "paper": "Gannet smooth",
        "coats": "1",
        "over": "Dune*2",
    }
    (spec,) = found.color_specification_collection.color_specification
    assert spec.measurement_spec.wavelength_range.increment == 10


def test_an_object_of_another_origin_is_named_by_its_name() -> None:
    """Its color is its name; range and paper are what the user says."""
    (row,) = read(cxf(XYZ))
    assert (row.colorant, row.paper, row.basis) == (Colorant("Reed", "Patches"), "Chart", Basis.XYZ)


def test_a_spectrum_counts_before_xyz_and_lab() -> None:
    """What was measured counts before what was computed from it."""
    (row,) = read(cxf(LAB + XYZ + spectrum(" ".join(map(str, SPECTRUM)))))
    assert np.array_equal(row.reflectance, SPECTRUM)


def test_a_spectrum_may_say_its_own_start() -> None:
    """The start told with the spectrum counts before that of its specification."""
    numbers = " ".join(str(nm / 1000) for nm in range(400, 701, 10))
    (row,) = read(cxf(spectrum(numbers, ' StartWL="400"')))
    np.testing.assert_allclose(row.reflectance[2:33], np.arange(0.4, 0.701, 0.01))


def test_colors_for_another_light_do_not_count() -> None:
    """XYZ for D65 are not XYZ here; a spectrum holds for any light."""
    with pytest.raises(BadFileError, match="no object with a reflectance spectrum, XYZ or Lab"):
        read(cxf(XYZ, light="D65"))
    numbers = " ".join(map(str, SPECTRUM))
    assert read(cxf(XYZ + spectrum(numbers), light="D65"))[0].basis == Basis.SPECTRUM


ENTITIES = '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ("", "is empty"),
        (cxf(XYZ).replace("Reed", ""), "line 3: a measured object has no name"),
        ("<cxf/>", "outermost element is cxf"),
        ("<CxF><Resources></CxF>", "line 1: the XML breaks off or is malformed"),
        (cxf(XYZ)[:-9], "the XML breaks off or is malformed"),
        (cxf(XYZ).replace("<cc:CxF", ENTITIES + "<cc:CxF", 1), "line 2: .*document type"),
        (cxf(XYZ).replace("20", "&b;"), "malformed"),
        (cxf(XYZ).encode("utf-16"), "UTF-16"),
        (cxf(spectrum("0.5 0.5", ""), span=""), "line 3: the spectrum doesn't say at which"),
        (cxf(spectrum(" ".join(["45"] * 36))), "line 3, column r380: .*percent"),
        (cxf(spectrum("0.5 0.x " + "0.5 " * 34)), "line 3, column r390: “0.x” is not a number"),
        ("<a>" * 200, "line 1: more than 50 elements stand in one another"),
        ("<CxF>" + "<a/>" * 500_001, "line 1: it has more than 500,000 elements"),
        (cxf(XYZ.replace("25", "95")), "line 3: XYZ 20, 95, 10 .*no surface"),
    ],
)
def test_a_bad_file_is_told_in_one_sentence(data: str | bytes, says: str) -> None:
    """Line and fault are said, and no entity is ever opened."""
    with pytest.raises(BadFileError, match=says) as trouble:
        read(data)
    assert trouble.value.hint


def test_the_same_rows_are_the_same_bytes() -> None:
    """Without a moment told, the file carries a fixed one."""
    rows = (SwatchRow(2, KELP, "Gannet smooth", SPECTRUM),)
    assert write_cxf(rows) == write_cxf(rows)
    assert b"1970-01-01T00:00:00Z" in write_cxf(rows)


@pytest.mark.parametrize(
    ("module", "most", "value", "says"),
    [
        (xml_tree, "MOST_PARTS", 10, "more than 10 elements and attributes"),
        (xml_tree, "DEEPEST", 4, "more than 4 elements stand in one another"),
        (tables, "MOST_COLUMNS", 35, "line 3: the spectrum has more than 35 bands"),
        (tables, "MOST_CELLS", 35, "line 3: it has more than 35 values"),
        (cxf_module, "LONGEST_LINE", 100, "the spectrum has more than"),
    ],
)
def test_more_than_is_read_is_refused(
    monkeypatch: pytest.MonkeyPatch, module: ModuleType, most: str, value: int, says: str
) -> None:
    """Elements, their depth, bands and values are counted while they are read."""
    whole = cxf(spectrum(" ".join(["0.5"] * 36)))
    assert len(read(whole)) == 1
    monkeypatch.setattr(module, most, value)
    with pytest.raises(BadFileError, match=says):
        read(whole)


@pytest.mark.parametrize("long", ["<!--{}-->", "<a b='{}'/>", "<{}/>"])
def test_a_tag_without_end_is_refused_before_it_ends(
    monkeypatch: pytest.MonkeyPatch, long: str
) -> None:
    """A file is parsed in pieces, and what lasts over many of them is refused; text may be long."""
    monkeypatch.setattr(xml_tree, "PIECE", 50)
    monkeypatch.setattr(xml_tree, "LONGEST_TAG", 500)
    assert len(read(cxf(XYZ + "a" * 5000 + long.format("a" * 300)))) == 1
    with pytest.raises(BadFileError, match="line 3: a tag or a comment is longer than 500"):
        read(cxf(XYZ + long.format("a" * 5000)))


def test_text_of_an_element_is_whole_around_others() -> None:
    """Comments and elements within part it, and it comes back as one."""
    parted = "0.5 " * 18 + "<!-- half -->" + "<![CDATA[0.5 ]]>" * 9 + "<x/>" + "0.5 " * 9
    (row,) = read(cxf(spectrum(parted)))
    np.testing.assert_allclose(row.reflectance, 0.5)
