import numpy as np
import pytest

from laydown.documents.files.lessons import FIRST_LINE, read_lesson, write_lesson
from laydown.errors import BadFileError
from laydown.match.outcome import Origin
from laydown.plan.lesson.lesson import Lesson, LessonColor

GOOD = f"""\
{FIRST_LINE}
title: Two pears
paper: Gannet smooth
note: Invented.

# a remark
passage: pears
color: skin
  role: Midtone
  share: 12 %
  note: in the light
  note: by the window
  xyz: 40 44 12
color: shade
  role: shadow
  screen: #334022
passage: cloth
color: fold
  spectrum: {" ".join(["0.5"] * 36)}
"""


def test_a_lesson_is_read_as_it_is_written() -> None:
    """Passages, roles, shares, notes and the three ways to say a color arrive."""
    lesson = read_lesson(GOOD.encode(), source="pears.txt")
    skin, shade, fold = lesson.colors
    assert (lesson.title, lesson.paper, lesson.notes) == (
        "Two pears",
        "Gannet smooth",
        ("Invented.",),
    )
    assert (skin.passage, skin.role, skin.share) == ("pears", "midtone", 12.0)
    assert skin.note == "in the light by the window"
    assert skin.xyz is not None
    assert skin.xyz.tolist() == [40, 44, 12]
    assert shade.target.origin is Origin.SCREEN
    assert shade.target.covariance[0, 0] == 25.0
    assert fold.passage == "cloth"
    assert fold.lab == pytest.approx([76.07, 0, 0], abs=0.01)


def test_writing_and_reading_gives_the_same_lesson() -> None:
    """What was written once is written the same again."""
    rng = np.random.default_rng(4)
    colors = (
        LessonColor(
            "a", "p", "highlight", "n", 3.5, "Kelp*2", 0.3, reflectance=rng.uniform(0, 1, 36)
        ),
        LessonColor("b", "p", xyz=np.array([30.0, 32.0, 50.0])),
        LessonColor("c", "q", screen="#102030"),
        LessonColor("d", "q", xyz=np.array([30.0, 32.0, 50.0]), known=Origin.SWATCHED),
    )
    lesson = Lesson("T", "P", colors, np.full(36, 0.9), ("one", "two"))
    once = write_lesson(lesson)
    again = read_lesson(once, source="x")
    assert write_lesson(again) == once
    assert again.colors[0].reflectance == pytest.approx(colors[0].reflectance, abs=5e-6)
    assert again.colors[0].lab == pytest.approx(colors[0].lab, abs=1e-3)
    origins = [Origin.MEASURED, Origin.MEASURED, Origin.SCREEN, Origin.SWATCHED]
    assert [target.origin for target in again.targets] == origins


@pytest.mark.parametrize(
    ("line", "text", "words"),
    [
        (1, "laydown lesson 7\n", "begins with the line"),
        (2, f"{FIRST_LINE}\ntittle: x\n", "Did you mean title"),
        (2, f"{FIRST_LINE}\nno colon here\n", "has no colon"),
        (2, f"{FIRST_LINE}\ncolor:\n", "has no name"),
        (3, f"{FIRST_LINE}\ncolor: a\nrole: middle\n", "is no role"),
        (3, f"{FIRST_LINE}\ncolor: a\nshare: 120\n", "from 0 to 100"),
        (3, f"{FIRST_LINE}\ncolor: a\nxyz: 30 32\n", "no XYZ"),
        (3, f"{FIRST_LINE}\ncolor: a\nxyz: 0.30 95 0.1\n", "no XYZ"),
        (3, f"{FIRST_LINE}\ncolor: a\nxyz: 30,5 32 50\n", "decimal comma"),
        (3, f"{FIRST_LINE}\ncolor: a\nxyz: nan 32 50\n", "missing or infinite"),
        (3, f"{FIRST_LINE}\ncolor: a\nxyz: x 32 50\n", "not numbers"),
        (3, f"{FIRST_LINE}\ncolor: a\nspectrum: 0.1 0.2\n", "It has 36"),
        (3, f"{FIRST_LINE}\ncolor: a\nspectrum: {'50 ' * 36}\n", "not percent"),
        (3, f"{FIRST_LINE}\ncolor: a\nspectrum: {'-1 ' * 36}\n", "-1"),
        (3, f"{FIRST_LINE}\ncolor: a\nscreen: red\n", "no screen color"),
        (3, f"{FIRST_LINE}\ncolor: a\nknown: by heart\n", "measured, predicted from swatches"),
        (4, f"{FIRST_LINE}\ncolor: a\nscreen: #101010\nxyz: 30 32 50\n", "numbers twice"),
        (4, f"{FIRST_LINE}\ncolor: a\nscreen: #101010\ncolor: a\n", "two colors"),
        (2, f"{FIRST_LINE}\ncolor: a\n", "has no numbers"),
    ],
)
def test_a_bad_line_is_named(line: int, text: str, words: str) -> None:
    """The message has the line, what is wrong with it and what is allowed."""
    with pytest.raises(BadFileError) as caught:
        read_lesson(text.encode(), source="l.txt")
    assert f"line {line}" in caught.value.message
    assert words in f"{caught.value.message} {caught.value.hint}"


@pytest.mark.parametrize(
    "data", [b"", b"\x00\x01", FIRST_LINE.encode(), "laydown lesson 1\ntitle: é".encode("latin-1")]
)
def test_what_is_no_lesson_is_refused(data: bytes) -> None:
    """Empty, binary, colorless and wrongly encoded files get a sentence."""
    with pytest.raises(BadFileError):
        read_lesson(data, source="l.txt")


def test_notes_may_be_long_but_not_without_end() -> None:
    """Lines of a color's note are joined up to what is read, and a lesson has only so many."""
    head = "laydown lesson 1\n"
    color = "color: sky\nxyz: 30 32 50\n"
    lesson = read_lesson((head + color + "note: a\n" * 5000).encode(), source="it")
    assert len(lesson.colors[0].note) == 9999
    with pytest.raises(BadFileError, match="line 5004: a note of more than 10,000"):
        read_lesson((head + color + "note: a\n" * 5001).encode(), source="it")
    with pytest.raises(BadFileError, match="line 502: more than 500 notes"):
        read_lesson((head + "note: a\n" * 501 + color).encode(), source="it")
