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
from collections.abc import Iterator, Sequence
from dataclasses import replace

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
IN_PAGE = '<script type="text/plain" id="lesson">'
"""Before a lesson's file in a page that answers: deflated, in base 64."""


def lesson_file(data: bytes, *, source: str) -> bytes:
    """Return a lesson's file, taken out of the page that answers where it is in one.

    Raises `BadFileError` for a page whose lesson is damaged or missing.
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
    r"""Read a lesson; `BadFileError` names the line, what is wrong and what is allowed.

    >>> text = b"laydown lesson 1\ntitle: Two\npaper: Gull\ncolor: sky\nxyz: 30 32 50\n"
    >>> read_lesson(text, source="two.txt").colors[0].name
    'sky'
    """
    text = text_of(lesson_file(data, source=source), source, most=allowed_sizes.LESSON)
    lesson, passage, begun = Lesson("", "", ()), "", list[int]()
    for number, line in enumerate(lines_of(text, source), start=1):
        try:
            lesson, passage = _taken(lesson, passage, line, first=number == 1)
        except BadFileError as error:
            raise error.told_as(f"{source}, line {number}: {error.message}") from error
        begun += [number] * (len(lesson.colors) - len(begun))
    if not begun:
        raise BadFileError(f"{source} has no color.", hint="Begin one with a line color: NAME.")
    for number, color in zip(begun, lesson.colors, strict=True):
        if color.reflectance is None and color.xyz is None and not color.screen:
            raise BadFileError(
                f"{source}, line {number}: the color “{color.name}” has no numbers.",
                hint="Give it a line spectrum:, xyz: or screen:.",
            )
    return replace(lesson, title=lesson.title or "A lesson")


def _taken(lesson: Lesson, passage: str, line: str, *, first: bool) -> tuple[Lesson, str]:
    """Return a lesson with what a line adds to it, and the passage from there on.

    What is wrong is told without its place.
    """
    said = line.strip()
    if first and said.casefold() != FIRST_LINE:
        raise BadFileError(
            f"a lesson begins with the line “{FIRST_LINE}”.", hint="Is this another kind of file?"
        )
    if first or not said or said.startswith("#"):
        return lesson, passage
    key, colon, value = said.partition(":")
    if not colon:
        raise BadFileError(f"“{said[:40]}” has no colon.", hint="Write key: what it says.")
    key, value = " ".join(key.casefold().split()), " ".join(value.split())
    if key == "passage":
        return lesson, value
    if key == "color":
        return replace(lesson, colors=(*lesson.colors, _begun(lesson, passage, value))), passage
    if lesson.colors and key in OF_COLOR:
        *before, color = lesson.colors
        return replace(lesson, colors=(*before, _with(color, key, value))), passage
    if not lesson.colors and key in OF_LESSON:
        return _described(lesson, key, value), passage
    known = ("passage", "color", *(OF_COLOR if lesson.colors else OF_LESSON))
    near = difflib.get_close_matches(key, known, n=1)
    hint = f"Did you mean {near[0]}?" if near else f"Here may stand {', '.join(known)}."
    raise BadFileError(f"“{key}” means nothing here.", hint=hint)


def _begun(lesson: Lesson, passage: str, name: str) -> LessonColor:
    if not name:
        raise BadFileError("a color has no name.", hint="Write color: and what you call it.")
    if any(color.name == name for color in lesson.colors):
        raise BadFileError(f"there are two colors “{name}”.", hint="Give one another name.")
    if len(lesson.colors) >= MOST_COLORS:
        raise BadFileError(f"more than {MOST_COLORS} colors.", hint="Split the lesson.")
    return LessonColor(name, passage=passage)


def _described(lesson: Lesson, key: str, value: str) -> Lesson:
    if key in {"title", "paper"}:
        return replace(lesson, title=value) if key == "title" else replace(lesson, paper=value)
    if key == "paper spectrum":
        return replace(lesson, paper_reflectance=_spectrum(value))
    if len(lesson.notes) == MOST_NOTES:
        raise BadFileError(f"more than {MOST_NOTES} notes.", hint="Make them fewer.")
    return replace(lesson, notes=(*lesson.notes, value))


def _with(color: LessonColor, key: str, value: str) -> LessonColor:
    if key == "role":
        return replace(color, role=_one_of(ROLE_ORDER, value, "role", "Roles are "))
    if key == "note":
        return replace(color, note=_longer(color.note, value))
    if key == "made with":
        return replace(color, made_with=value)
    if key == "known":
        return replace(color, known=Origin(_one_of(KNOWN, value, "way to know a color")))
    if key in MOST:
        found = _number(value, key, most=MOST[key])
        return replace(color, share=found) if key == "share" else replace(color, spread=found)
    return _numbered(color, key, value)


def _longer(note: str, value: str) -> str:
    longer = f"{note} {value}".strip()
    if len(longer) > LONGEST_CELL:
        raise BadFileError(
            f"a note of more than {LONGEST_CELL:,} characters.", hint="Say it in fewer words."
        )
    return longer


def _numbered(color: LessonColor, key: str, value: str) -> LessonColor:
    if color.reflectance is not None or color.xyz is not None or color.screen:
        raise BadFileError(
            f"“{color.name}” has numbers twice.", hint="Keep one of spectrum, xyz and screen."
        )
    if key == "spectrum":
        return replace(color, reflectance=_spectrum(value))
    if key == "xyz":
        return replace(color, xyz=_xyz(value))
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", value):
        raise BadFileError(f"“{value}” is no screen color.", hint="Write it like #e0b040.")
    return replace(color, screen=value.lower())


def _one_of(known: Sequence[str], value: str, what: str, said: str = "") -> str:
    if value.casefold() not in known:
        raise BadFileError(f"“{value}” is no {what}.", hint=f"{said}{', '.join(known)}.")
    return value.casefold()


def _numbers(value: str) -> FloatArray:
    words = value.split()
    comma = next((word for word in words if re.fullmatch(r"-?\d+,\d+", word)), "")
    if comma:
        raise BadFileError(f"“{comma}” has a decimal comma.", hint="Write points in numbers.")
    try:
        found = np.array([float(word) for word in words])
    except ValueError:
        raise BadFileError(
            f"“{value[:40]}” are not numbers.", hint="Part them by blanks."
        ) from None
    if not np.isfinite(found).all():
        raise BadFileError("a number is missing or infinite.", hint="Measure that color again.")
    return found


def _number(value: str, key: str, *, most: float) -> float:
    found = _numbers(value.removesuffix("%"))
    if found.shape != (1,) or not 0 <= found[0] <= most:
        raise BadFileError(f"{key} is “{value}”.", hint=f"It is one number from 0 to {most:g}.")
    return float(found[0])


def _spectrum(value: str) -> FloatArray:
    found = _numbers(value)
    if found.shape != WAVELENGTHS.shape:
        raise BadFileError(
            f"{len(found)} numbers in a spectrum.",
            hint=f"It has {len(WAVELENGTHS)}: reflectance from 380 to 730 nm by 10.",
        )
    if found.min() < 0 or found.max() > BRIGHTEST:
        raise BadFileError(
            f"a reflectance of {found.min() if found.min() < 0 else found.max():g}.",
            hint=f"Reflectance is 0 to 1, up to {BRIGHTEST:g} where a paper glows; not percent.",
        )
    return found


def _xyz(value: str) -> FloatArray:
    found = _numbers(value)
    if found.shape != (3,) or not inside_object_solid(found, tolerance=0.5):
        raise BadFileError(
            f"“{value}” is no XYZ that a surface can have.",
            hint="Three numbers for D50, on the scale where a perfect white has Y = 100.",
        )
    return found


def write_lesson(lesson: Lesson) -> bytes:
    r"""Write a lesson as a text file; reading it again gives the same lesson.

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
