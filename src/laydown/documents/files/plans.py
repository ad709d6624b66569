"""A picture's plan as one file, and the list of changes made to it by hand.

The file is a ZIP archive of three parts, whose names end in ``.plan`` by custom::

    plan.json    title, rules, notes, value steps, and each region with its color and passage
    regions.png  16-bit gray: the number of the region each pixel belongs to, 0 for none
    picture.png  16-bit gray, three planes one below the other: L*, a* and b* in hundredths,
                 a* and b* moved up by 300

Colors of regions are CIELAB under D50, values those of ASTM D1535, lengths millimetres. The
palette is not kept: it follows from the regions. Nothing in the file is run or fetched, and all of
its sizes are checked before anything is unpacked.


The form::

    merge 3 4 5
    split 7 at 6.5
    split 8
    passage lemons: 1 2 3
    role shadow: 3

Empty lines and lines that begin with # say nothing.
"""

import io
import json
import re
import struct
import zipfile
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from laydown import allowed_sizes
from laydown.color.arrays import FloatArray
from laydown.color.typed import typed_color
from laydown.documents.files.text import parse_json, text_of
from laydown.errors import BadFileError
from laydown.media.legible import tidy_name
from laydown.plan.chart import ROLE_ORDER
from laydown.plan.picture.edits import Edit
from laydown.plan.picture.palette import with_palette
from laydown.plan.picture.picture import PicturePlan, PlanRules, Region, ValuePlan

FORM = "laydown picture plan 1"
PARTS = ("plan.json", "regions.png", "picture.png")
NAME_AT = 30
"""Where the name of the first part stands in an archive [bytes]."""
MOST_JSON = 4_000_000
MOST_PNG = 25_000_000
"""Bytes of a part, unpacked."""
MOST_PIXELS = 4_000_000
"""Of the plan; those made here have one million at most."""
MOST_CHUNKS = 10_000
"""Parts of a PNG."""
END_RECORD = 22
"""Bytes at the end of an archive that tell how long the list of its parts is."""
MOST_LISTED = 10_000
"""Bytes of that list."""
MOST_REGIONS = 20_000
MOST_STEPS = 9
SCALE = 100.0
LIFT: FloatArray = np.array([0.0, 300.0, 300.0])
"""L*, a*, b* are kept in hundredths; a* and b* are moved up by this."""
STAMP = (1980, 1, 1, 0, 0, 0)
"""Same plan, same bytes: no part carries a time."""


def is_plan(data: bytes) -> bool:
    r"""Return whether a file may be a plan: an archive that begins with a part of one.

    >>> archive = b"PK\x03\x04" + bytes(26)
    >>> is_plan(archive + b"plan.json{}"), is_plan(archive + b"xl/book.xml"), is_plan(b"\x89PNG")
    (True, False, False)
    """
    names = tuple(name.encode() for name in PARTS)
    return data.startswith(b"PK\x03\x04") and data.startswith(names, NAME_AT)


def write_plan(plan: PicturePlan) -> bytes:
    """Write a plan, without kits; reading it again gives the same plan, colors to a hundredth."""
    content = io.BytesIO()
    parts = (
        json.dumps(_told(plan), ensure_ascii=False, indent=1).encode(),
        _png(plan.values.labels),
        _png(_planes(plan.seen)),
    )
    with zipfile.ZipFile(content, "w", zipfile.ZIP_STORED) as archive:
        for name, part in zip(PARTS, parts, strict=True):
            packed = zipfile.ZIP_DEFLATED if name.endswith(".json") else zipfile.ZIP_STORED
            archive.writestr(zipfile.ZipInfo(name, STAMP), part, packed)
    return content.getvalue()


def _told(plan: PicturePlan) -> dict[str, Any]:
    rules = plan.rules
    return {
        "form": FORM,
        "title": tidy_name(plan.title),
        "steps": rules.steps,
        "even": rules.even,
        "colors": rules.colors,
        "width": rules.width,
        "least": rules.least,
        "tip": rules.tip,
        "boundaries": _rounded(plan.values.boundaries),
        "levels": _rounded(plan.values.levels),
        "regions": [
            {
                "number": r.number,
                "color": r.color,
                "step": r.value_step,
                "lab": _rounded(r.lab),
                "passage": r.passage,
                "role": r.role,
            }
            for r in plan.values.regions
        ],
        "notes": list(plan.notes),
    }


def _rounded(numbers: FloatArray) -> list[float]:
    return [round(float(number), 4) for number in numbers]


def _planes(lab: FloatArray) -> NDArray[np.uint16]:
    lifted = (lab + LIFT) * SCALE
    coded = np.clip(np.rint(lifted), 0, 65535).astype(np.uint16)
    return np.concatenate([coded[..., k] for k in range(3)])


def _png(numbers: NDArray[Any]) -> bytes:
    content = io.BytesIO()
    Image.fromarray(numbers.astype(np.uint16)).save(content, "PNG", compress_level=3)
    return content.getvalue()


def read_plan(data: bytes, *, source: str) -> PicturePlan:
    """Read a plan.

    Raises `BadFileError` for any other file, one that is damaged, and one whose parts do not fit
    together.
    """
    told, labels, planes = _parts(data, source)
    try:
        plan = _assembled(told, labels, planes)
    except (KeyError, TypeError, ValueError, ArithmeticError, AttributeError) as error:
        raise _damaged(source, f"its description is wrong ({error})") from None
    known = {0, *(region.number for region in plan.values.regions)}
    if set(np.unique(labels).tolist()) | {0} != known:
        raise _damaged(source, "its picture and its list name different regions")
    return plan


def _damaged(source: str, how: str) -> BadFileError:
    return BadFileError(
        f"{source} is no plan that can be used: {how}.",
        hint="Make it again from the picture.",
        command="laydown picture plan PICTURE -o NAME.plan",
    )


def _parts(data: bytes, source: str) -> tuple[dict[str, Any], NDArray[np.int32], FloatArray]:
    if not is_plan(data):
        raise BadFileError(
            f"{source} is not a picture's plan.",
            hint="Give a plan as it was made from a picture and saved.",
            command="laydown picture plan PICTURE -o NAME.plan",
        )
    if len(data) > allowed_sizes.PLAN:
        raise _damaged(source, f"it has more than {allowed_sizes.PLAN / 1e6:.0f} MB")
    try:
        _check_directory(data)
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            raw = [_unpacked(archive, name, source) for name in PARTS]
        told = parse_json(raw[0])
        form = told.get("form") if isinstance(told, dict) else None
        if form != FORM:
            raise _damaged(source, f"it says that it is “{str(form)[:40]}”, not “{FORM}”")
        labels, planes = (_pixels(part, source) for part in raw[1:])
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, OSError, EOFError):
        raise _damaged(source, "it is broken, or ends early") from None
    except (KeyError, ValueError, RecursionError, SyntaxError, Image.DecompressionBombError):
        raise _damaged(source, "a part of it is missing or broken") from None
    if planes.shape != (3 * labels.shape[0], labels.shape[1]):
        raise _damaged(source, "its regions and its picture are of different size")
    lab = np.stack(np.split(planes, 3), axis=-1).astype(np.float64)
    lab /= SCALE  # in place: a plan as large as is read has 100 MB of it
    lab -= LIFT
    return told, labels.astype(np.int32), lab


def _check_directory(data: bytes) -> None:
    """Refuse an archive whose list of parts is longer than a plan's: zipfile reads all of it."""
    end = data[-END_RECORD:]
    in_64_bits = data[-END_RECORD - 20 :].startswith(b"PK\x06\x07")
    if not end.startswith(b"PK\x05\x06") or in_64_bits:
        raise zipfile.BadZipFile
    (size,) = struct.unpack_from("<L", end, 12)
    if size > MOST_LISTED:
        raise zipfile.BadZipFile


def _unpacked(archive: zipfile.ZipFile, name: str, source: str) -> bytes:
    most = MOST_JSON if name.endswith(".json") else MOST_PNG
    if archive.getinfo(name).compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise _damaged(source, f"its part {name} is packed in a way that is not read")
    with archive.open(name) as part:
        content = part.read(most + 1)
    if len(content) > most:
        raise _damaged(source, f"its part {name} is larger than {most // 1_000_000} MB")
    return content


def _pixels(content: bytes, source: str) -> NDArray[np.uint16]:
    names = list(_chunks(content))
    if names[:1] != [b"IHDR"] or names.count(b"IHDR") != 1:
        raise _damaged(source, "a picture in it is broken")
    width, height = struct.unpack_from(">II", content, 16)
    if not 0 < width * height <= 3 * MOST_PIXELS:
        raise _damaged(source, f"a picture of {width} × {height} pixels is in it")
    with Image.open(io.BytesIO(content), formats=("PNG",)) as image:
        if image.mode not in ("I;16", "I"):
            raise _damaged(source, "its pictures are not in 16 bits of gray")
        return np.asarray(image).astype(np.uint16)


def _chunks(content: bytes) -> Iterator[bytes]:
    """Yield the names of a PNG's chunks; a file of nothing else would be read one by one."""
    at, count = 8, 0
    while at + 8 <= len(content):
        length, name = struct.unpack_from(">L4s", content, at)
        yield name
        at, count = at + length + 12, count + 1
        if count > MOST_CHUNKS:
            raise ValueError("too many chunks")


def _assembled(told: dict[str, Any], labels: NDArray[np.int32], lab: FloatArray) -> PicturePlan:
    rules = PlanRules(
        steps=_whole(told["steps"], 2, MOST_STEPS),
        even=told["even"] is True,
        colors=None if told["colors"] is None else _whole(told["colors"], 1, 1000),
        width=_number(told["width"], 1.0, 100_000.0),
        least=_number(told["least"], 0.0, 1e9),
        tip=_number(told["tip"], 0.0, 1000.0),
    )
    boundaries = np.array([_number(v, -1.0, 11.0) for v in told["boundaries"]])
    levels = np.array([_number(v, -1.0, 11.0) for v in told["levels"]])
    if len(levels) != len(boundaries) + 1 or len(levels) > MOST_STEPS:
        raise ValueError("levels and boundaries do not fit")
    if (np.diff(boundaries) <= 0).any():
        raise ValueError("boundaries do not rise")
    if not 0 < len(told["regions"]) <= MOST_REGIONS:
        raise ValueError(f"{len(told['regions'])} regions")
    area = np.bincount(labels.ravel(), minlength=65536)
    colored = max(int(area[1:].sum()), 1)
    regions = [_region(r, len(levels), 100.0 * area / colored) for r in told["regions"]]
    if len({region.number for region in regions}) != len(regions):
        raise ValueError("two regions of one number")
    numbered, palette = with_palette(sorted(regions, key=lambda r: r.number))
    values = ValuePlan(labels, boundaries, levels, numbered, rules.width)
    notes = tuple(_text(note, 2000) for note in told["notes"])
    return PicturePlan(_text(told["title"], 200), rules, values, palette, lab, notes=notes)


def _region(told: dict[str, Any], steps: int, share: FloatArray) -> Region:
    number = _whole(told["number"], 1, 65535)
    lab = np.array([_number(part, -300.0, 300.0) for part in told["lab"]])
    role = _text(told["role"], 20)
    if lab.shape != (3,) or role not in ("", *ROLE_ORDER):
        raise ValueError(f"region {number}")
    return Region(
        number,
        _whole(told["color"], 0, 65535),
        _whole(told["step"], 0, steps - 1),
        lab,
        float(share[number]),
        _text(told["passage"], 60),
        role,
    )


def _number(value: Any, least: float, most: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        raise ValueError(f"{str(value)[:20]} where {least:g} to {most:g} is allowed")
    return float(value)


def _whole(value: Any, least: int, most: int) -> int:
    if not isinstance(value, int):
        raise ValueError(f"{str(value)[:20]} where a whole number is due")
    return int(_number(value, least, most))


def _text(value: Any, most: int) -> str:
    if not isinstance(value, str) or len(value) > most:
        raise ValueError(f"a text of more than {most} letters, or none")
    return tidy_name(value)


MOST_LINES = 2000
NUMBERS = r"\d{1,5}(?:[ ,]+\d{1,5})*"
MERGE = re.compile(rf"merge ({NUMBERS})", re.I)
SPLIT = re.compile(r"split (\d{1,5})(?: at (\d{1,2}(?:\.\d+)?))?", re.I)
ASSIGN = re.compile(rf"(passage|role) (.*): ?({NUMBERS})", re.I)
PAINT = re.compile(rf"color (\S.*?)(?: to (\S.*?))?: ?({NUMBERS})", re.I)
HINT = (
    "Write one of: merge 3 4; split 7 at 6.5; passage lemons: 1 2; role shadow: 3;"
    " color lab:71,8,46: 3 4; color lab:90,2,30 to lab:40,9,35: 5 6 7."
)


def read_changes(data: bytes, *, source: str) -> tuple[Edit, ...]:
    r"""Read a list of changes; `BadFileError` names the line that is none.

    >>> read_changes(b"merge 3 4\nmerge 7 8\n", source="changes.txt")[1].numbers
    (7, 8)
    """
    lines = text_of(data, source, most=allowed_sizes.CHANGES).splitlines()
    if len(lines) > MOST_LINES:
        raise BadFileError(f"{source} has {len(lines)} lines; at most {MOST_LINES} are read.")
    said = [(number, " ".join(line.split())) for number, line in enumerate(lines, start=1)]
    return tuple(
        _change(line, f"{source}, line {number}")
        for number, line in said
        if line and not line.startswith("#")
    )


def change_in_words(edit: Edit) -> str:
    """Write a change as the line that `read_changes` reads.

    One that assigns says a passage or a role, not both.

    >>> change_in_words(Edit("merge", (3, 4))), change_in_words(Edit("split", (7,), at=6.5))
    ('merge 3 4', 'split 7 at 6.5')
    >>> change_in_words(Edit("assign", (1, 2), passage="lemons"))
    'passage lemons: 1 2'
    """
    if edit.kind in {"merge", "split"}:
        at = "" if edit.at is None else f" at {_exactly(edit.at)}"
        return f"{edit.kind} {_written(edit.numbers)}{at}"
    if edit.kind == "color":
        ends = (f"lab:{','.join(map(_exactly, lab))}" for lab in (edit.lab, edit.to) if lab)
        return f"color {' to '.join(ends)}: {_written(edit.numbers)}"
    kind, name = ("role", edit.role) if edit.passage is None else ("passage", edit.passage)
    return f"{kind} {' '.join((name or '').split())}: {_written(edit.numbers)}"


def _exactly(value: float) -> str:
    """Write a value so that reading it gives the same one."""
    return np.format_float_positional(value, trim="-")


def _written(numbers: Sequence[int]) -> str:
    return " ".join(str(number) for number in numbers)


def _change(line: str, place: str) -> Edit:
    if found := MERGE.fullmatch(line):
        return Edit("merge", _numbers(found[1]))
    if found := SPLIT.fullmatch(line):
        return Edit("split", (int(found[1]),), float(found[2]) if found[2] else None)
    if found := ASSIGN.fullmatch(line):
        kind, name, numbers = found[1].casefold(), found[2].strip(), _numbers(found[3])
        passage, role = (name, None) if kind == "passage" else (None, name)
        return Edit("assign", numbers, None, passage, role)
    if found := PAINT.fullmatch(line):
        ends = [typed_color(text) for text in (found[1], found[2] or found[1])]
        first, last = (tuple(one[0].tolist()) if one else None for one in ends)
        if first and last:
            return Edit("color", _numbers(found[3]), lab=first, to=last if found[2] else None)
    raise BadFileError(f"{place}: “{line[:40]}” is no change.", hint=HINT)


def _numbers(text: str) -> tuple[int, ...]:
    return tuple(int(number) for number in re.split(r"[ ,]+", text))
