"""Hand out classes of lightfastness and window readings as a file that brings the same in again."""

from dataclasses import dataclass

from laydown.documents.lightfastness_csv import FastnessRow, write_lightfastness
from laydown.errors import NotMeasuredError
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class ExportLightfastness:
    """Of which range; empty for all."""

    range: str = ""


@dataclass(frozen=True, slots=True)
class LightfastnessExported:
    """The file's text, and how many classes and readings it holds."""

    classes: int
    readings: int
    text: str


def export_lightfastness(library: Library, request: ExportLightfastness) -> LightfastnessExported:
    """Write all classes and readings as CSV.

    Raises
    ------
    NotMeasuredError
        Where there are none.
    """
    with library.look() as work:
        wanted = work.find_range(request.range).name if request.range else ""
        rated, tests = work.lightfastness.all(), work.lightfastness.tests()
    classes = [
        FastnessRow(0, r.colorant.range, r.colorant.name, r.fastness, r.source) for r in rated
    ]
    readings = [
        FastnessRow(
            0,
            t.colorant.range,
            t.colorant.name,
            paper=t.paper,
            reading=t.reading,
            remark=t.remark,
            noted=t.noted,
        )
        for t in tests
    ]
    chosen = [row for row in (*classes, *readings) if wanted in {"", row.range}]
    if not chosen:
        raise NotMeasuredError(
            "Nothing is known here of lightfastness.",
            hint="State the class of a colorant first.",
            command="laydown light rate 3 COLORANT",
        )
    held = sum(row.reading is not None for row in chosen)
    return LightfastnessExported(len(chosen) - held, held, write_lightfastness(chosen))
