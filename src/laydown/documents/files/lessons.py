"""A lesson as a text file that people can read, write and hand on.

The form is a key, a colon and what it says, one a line::

    laydown lesson 1
    title: Lemons in a blue bowl
    paper: Gannet smooth

    passage: lemons

    color: rind in the light
      role: midtone
      share: 12
      note: the rind's own color
      xyz: 61.2 64.9 12.1

``passage`` holds for all colors below it. A color has a ``spectrum`` (reflectance, 380 to 730 nm by
10), or ``xyz`` (D50, perfect white at Y = 100), or ``screen`` where it was only picked from a
picture. ``known`` says where the spectrum or XYZ comes from, unless it was measured. Blanks at a
line's start, empty lines and lines that begin with # say nothing.
"""

import difflib
import re
import zlib
from base64 import b64decode
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from laydown import allowed_sizes
from laydown.color.arrays import FloatArray
from laydown.color.reconstruction import inside_object_solid
from laydown.color.spectra import WAVELENGTHS
from laydown.documents.files.text import LONGEST_CELL, lines_of, text_of
from laydown.errors import BadFileError
from laydown.match.outcome import Origin
from laydown.media.legible import legible
from laydown.plan.chart import ROLE_ORDER
from laydown.plan.lesson.lesson import Lesson, LessonColor

FIRST_LINE = "laydown lesson 1"
OF_LESSON = ("title", "paper", "paper spectrum", "note")
OF_COLOR = ("role", "share", "note", "made with", "known", "spread", "spectrum", "xyz", "screen")
KNOWN = (Origin.MEASURED, Origin.SWATCHED, Origin.TYPED)
"""Where a spectrum or XYZ may come from."""
MOST = {"share": 100.0, "spread": 30.0}
"""Of a share [percent] and of a spread [CIELAB units]."""
MOST_COLORS = 500
"""A longer lesson is some other file."""
MOST_NOTES = 500
"""Lines of notes on a lesson as a whole."""
BRIGHTEST = 3.0
"""No paper or marker glows more than this, in reflectance."""


@dataclass(slots=True)
class _Reading:
    """What has been read so far."""

    source: str
    passage: str = ""
    title: str = ""
    paper: str = ""
    spectrum: FloatArray | None = None
    notes: list[str] = field(default_factory=list)
    colors: list[tuple[int, LessonColor]] = field(default_factory=list)

    def bad(self, line: int, problem: str, hint: str = "") -> BadFileError:
        return BadFileError(f"{self.source}, line {line}: {problem}", hint=hint)


IN_PAGE = '<script type="text/plain" id="lesson">'
"""Before a lesson's file in a page that answers: deflated, in base 64."""


def lesson_file(data: bytes, *, source: str) -> bytes:
    """Return a lesson's file, taken out of the page that answers where it is in one.

    Parameters
    ----------
    data, source
        As in `read_lesson`.

    Raises
    ------
    BadFileError
        For a page whose lesson is damaged or missing.
    """
    _, within, rest = data.partition(IN_PAGE.encode())
    if not within:
        return data
    unpacking = zlib.decompressobj()
    try:
        held = b64decode(rest.partition(b"<")[0], validate=True)
        lesson = unpacking.decompress(held, allowed_sizes.LESSON)
    except (ValueError, zlib.error):
        lesson = b""
    if not lesson:
        raise BadFileError(
            f"{source} is a page without a lesson that can be read back.",
            hint="Ask for the lesson's own file, or for the page as it was first handed out.",
        )
    return lesson


def read_lesson(data: bytes, *, source: str) -> Lesson:
    r"""Read a lesson.

    Parameters
    ----------
    data
        The file.
    source
        Its name, for messages.

    Raises
    ------
    BadFileError
        Names the line, what is wrong and what is allowed.

    Examples
    --------
    >>> text = b"laydown lesson 1\ntitle: Two\npaper: Gull\ncolor: sky\nxyz: 30 32 50\n"
    >>> read_lesson(text, source="two.txt").colors[0].name
    'sky'
    """
    reading = _Reading(source)
    text = text_of(lesson_file(data, source=source), source, most=allowed_sizes.LESSON)
    for number, key, value in _lines(reading, text):
        _take(reading, number, key, value)
    if not reading.colors:
        raise BadFileError(f"{source} has no color.", hint="Begin one with a line color: NAME.")
    for number, color in reading.colors:
        if color.reflectance is None and color.xyz is None and not color.screen:
            raise reading.bad(
                number,
                f"the color “{color.name}” has no numbers.",
                "Give it a line spectrum:, xyz: or screen:.",
            )
    colors = tuple(color for _, color in reading.colors)
    title, paper = reading.title or "A lesson", reading.paper
    return Lesson(title, paper, colors, reading.spectrum, tuple(reading.notes))


def _lines(reading: _Reading, text: str) -> Iterator[tuple[int, str, str]]:
    lines = lines_of(text, reading.source)
    if next(lines, "").strip().casefold() != FIRST_LINE:
        raise reading.bad(
            1, f"a lesson begins with the line “{FIRST_LINE}”.", "Is this another kind of file?"
        )
    for number, line in enumerate(lines, start=2):
        said = line.strip()
        if not said or said.startswith("#"):
            continue
        key, colon, value = said.partition(":")
        if not colon:
            raise reading.bad(number, f"“{said[:40]}” has no colon.", "Write key: what it says.")
        yield number, " ".join(key.casefold().split()), " ".join(value.split())


def _take(reading: _Reading, number: int, key: str, value: str) -> None:
    if key == "passage":
        reading.passage = value
    elif key == "color":
        _begin(reading, number, value)
    elif reading.colors and key in OF_COLOR:
        last, color = reading.colors[-1]
        reading.colors[-1] = last, _with(reading, number, color, key, value)
    elif not reading.colors and key in OF_LESSON:
        _describe(reading, number, key, value)
    else:
        known = ("passage", "color", *(OF_COLOR if reading.colors else OF_LESSON))
        near = difflib.get_close_matches(key, known, n=1)
        hint = f"Did you mean {near[0]}?" if near else f"Here may stand {', '.join(known)}."
        raise reading.bad(number, f"“{key}” means nothing here.", hint)


def _begin(reading: _Reading, number: int, name: str) -> None:
    if not name:
        raise reading.bad(number, "a color has no name.", "Write color: and what you call it.")
    if any(color.name == name for _, color in reading.colors):
        raise reading.bad(number, f"there are two colors “{name}”.", "Give one another name.")
    if len(reading.colors) >= MOST_COLORS:
        raise reading.bad(number, f"more than {MOST_COLORS} colors.", "Split the lesson.")
    reading.colors.append((number, LessonColor(name, passage=reading.passage)))


def _describe(reading: _Reading, number: int, key: str, value: str) -> None:
    if key == "title":
        reading.title = value
    elif key == "paper":
        reading.paper = value
    elif key == "note":
        if len(reading.notes) == MOST_NOTES:
            raise reading.bad(number, f"more than {MOST_NOTES} notes.", "Make them fewer.")
        reading.notes.append(value)
    else:
        reading.spectrum = _spectrum(reading, number, value)


def _with(reading: _Reading, number: int, color: LessonColor, key: str, value: str) -> LessonColor:
    if key == "role":
        return replace(color, role=_role(reading, number, value))
    if key == "note":
        return replace(color, note=_longer(reading, number, color.note, value))
    if key == "made with":
        return replace(color, made_with=value)
    if key == "known":
        return replace(color, known=_known(reading, number, value))
    if key in MOST:
        found = _number(reading, number, value, key, most=MOST[key])
        return replace(color, share=found) if key == "share" else replace(color, spread=found)
    return _numbered(reading, number, color, key, value)


def _longer(reading: _Reading, number: int, note: str, value: str) -> str:
    longer = f"{note} {value}".strip()
    if len(longer) > LONGEST_CELL:
        raise reading.bad(
            number, f"a note of more than {LONGEST_CELL:,} characters.", "Say it in fewer words."
        )
    return longer


def _numbered(
    reading: _Reading, number: int, color: LessonColor, key: str, value: str
) -> LessonColor:
    if color.reflectance is not None or color.xyz is not None or color.screen:
        raise reading.bad(
            number,
            f"“{color.name}” has numbers twice.",
            "Keep one of spectrum, xyz and screen.",
        )
    if key == "spectrum":
        return replace(color, reflectance=_spectrum(reading, number, value))
    if key == "xyz":
        return replace(color, xyz=_xyz(reading, number, value))
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", value):
        raise reading.bad(number, f"“{value}” is no screen color.", "Write it like #e0b040.")
    return replace(color, screen=value.lower())


def _role(reading: _Reading, number: int, value: str) -> str:
    role = value.casefold()
    if role not in ROLE_ORDER:
        raise reading.bad(number, f"“{value}” is no role.", f"Roles are {', '.join(ROLE_ORDER)}.")
    return role


def _known(reading: _Reading, number: int, value: str) -> Origin:
    said = value.casefold()
    if said not in KNOWN:
        raise reading.bad(number, f"“{value}” is no way to know a color.", f"{', '.join(KNOWN)}.")
    return Origin(said)


def _numbers(reading: _Reading, number: int, value: str) -> FloatArray:
    words = value.split()
    comma = next((word for word in words if re.fullmatch(r"-?\d+,\d+", word)), "")
    if comma:
        raise reading.bad(number, f"“{comma}” has a decimal comma.", "Write points in numbers.")
    try:
        found = np.array([float(word) for word in words])
    except ValueError as error:
        raise reading.bad(
            number, f"“{value[:40]}” are not numbers.", "Part them by blanks."
        ) from error
    if not np.isfinite(found).all():
        raise reading.bad(number, "a number is missing or infinite.", "Measure that color again.")
    return found


def _number(reading: _Reading, number: int, value: str, key: str, *, most: float) -> float:
    found = _numbers(reading, number, value.removesuffix("%"))
    if found.shape != (1,) or not 0 <= found[0] <= most:
        raise reading.bad(number, f"{key} is “{value}”.", f"It is one number from 0 to {most:g}.")
    return float(found[0])


def _spectrum(reading: _Reading, number: int, value: str) -> FloatArray:
    found = _numbers(reading, number, value)
    if found.shape != WAVELENGTHS.shape:
        raise reading.bad(
            number,
            f"{len(found)} numbers in a spectrum.",
            f"It has {len(WAVELENGTHS)}: reflectance from 380 to 730 nm by 10.",
        )
    if found.min() < 0 or found.max() > BRIGHTEST:
        raise reading.bad(
            number,
            f"a reflectance of {found.min() if found.min() < 0 else found.max():g}.",
            f"Reflectance is 0 to 1, up to {BRIGHTEST:g} where a paper glows; not percent.",
        )
    return found


def _xyz(reading: _Reading, number: int, value: str) -> FloatArray:
    found = _numbers(reading, number, value)
    if found.shape != (3,) or not inside_object_solid(found, tolerance=0.5):
        raise reading.bad(
            number,
            f"“{value}” is no XYZ that a surface can have.",
            "Three numbers for D50, on the scale where a perfect white has Y = 100.",
        )
    return found


def write_lesson(lesson: Lesson) -> bytes:
    r"""Write a lesson as a text file; reading it again gives the same lesson.

    Examples
    --------
    >>> sky = LessonColor("sky", xyz=np.array([30.0, 32.0, 50.0]))
    >>> print(write_lesson(Lesson("Two", "Gull", (sky,))).decode().splitlines()[-1])
      xyz: 30.0000 32.0000 50.0000
    """
    lines = [FIRST_LINE, f"title: {_plain(lesson.title)}", f"paper: {_plain(lesson.paper)}"]
    if lesson.paper_reflectance is not None:
        lines.append(f"paper spectrum: {_row(lesson.paper_reflectance, 5)}")
    lines += [f"note: {_plain(note)}" for note in lesson.notes]
    passage = ""
    for color in lesson.colors:
        if color.passage != passage:
            passage = color.passage
            lines += ["", f"passage: {_plain(passage)}"]
        lines += ["", *_color_lines(color)]
    return ("\n".join(lines) + "\n").encode()


def _color_lines(color: LessonColor) -> Iterator[str]:
    yield f"color: {_plain(color.name)}"
    for key, text in (
        ("role", color.role),
        ("share", "" if color.share is None else f"{color.share:g}"),
        ("note", color.note),
        ("made with", color.made_with),
        ("known", "" if color.known is Origin.MEASURED else color.known),
        ("spread", "" if color.spread is None else f"{color.spread:.4g}"),
        ("screen", color.screen),
    ):
        if text:
            yield f"  {key}: {_plain(text)}"
    if color.reflectance is not None:
        yield f"  spectrum: {_row(color.reflectance, 5)}"
    elif color.xyz is not None:
        yield f"  xyz: {_row(color.xyz, 4)}"


def _plain(text: str) -> str:
    return " ".join(legible(text).split())


def _row(numbers: FloatArray, digits: int) -> str:
    return " ".join(f"{float(number):.{digits}f}" for number in numbers)
