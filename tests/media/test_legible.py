import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.media.legible import legible

STEERING = "\x00\x07\x08\x1b\x7f\x90\x9b\x9d"
TURNING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c"
WIDTHLESS = "\u200b\u200c\u200d\u2060\ufeff\xad\u180e\u3164\U000e0041"

SCRIPTS = [
    "Señal bleu gräulich",
    "e\u0301 a\u0308\u0323",  # combining marks
    "Дюна, ουρανός",
    "כחול שָׁמַיִם",
    "می\u200cخواهم سبز",  # a joiner that Persian needs
    "क\u094d\u200dष नीला",  # and one that Devanagari does
    "สีฟ้า 青い海 하늘색",
    "\U0001f469\u200d\U0001f3a8 \u2764\ufe0f",  # picture signs of several parts
    "\u0600\u0661",  # a sign that stands before an Arabic number
    "first line\nsecond\tcolumn\r\nthird",
]


@pytest.mark.parametrize("text", SCRIPTS)
def test_what_people_write_stays(text: str) -> None:
    """Letters and marks of every script stay as they are, and so do line ends and tabs."""
    assert legible(text) == text


@pytest.mark.parametrize("sign", STEERING + TURNING + WIDTHLESS)
def test_what_nobody_sees_goes(sign: str) -> None:
    """No sign stays that steers a terminal, turns letters around or has no width."""
    assert legible(f"Kelp{sign} dark") == "Kelp dark"


def test_half_a_character_is_told_as_one() -> None:
    """A lone surrogate, which can't be written to any file, becomes the sign for what is none."""
    assert legible("caf\udce9 \ud83d") == "caf\ufffd \ufffd"


def test_a_line_can_not_be_written_over() -> None:
    """A return without a line end becomes one, and breaks of other kinds become blanks."""
    assert legible("true\rfalse\u2028so\x0bwhat") == "true\nfalse so what"


def test_no_sign_at_all_passes_that_has_no_glyph() -> None:
    """Of all characters, no control sign passes, and of format signs only those that are drawn."""
    every = (chr(code) for code in range(sys.maxunicode + 1))
    kept = {sign for sign in every if legible(f"a{sign}") != "a"}
    hidden = {s for s in kept if unicodedata.category(s) in {"Cc", "Cf", "Cs", "Zl", "Zp"}}
    shown = {s for s in hidden if unicodedata.category(s) == "Cf"}
    assert {sign for sign in hidden - shown if legible(sign).strip()} == {
        chr(code) for code in range(0xD800, 0xE000)
    }
    assert {unicodedata.name(s).split()[0] for s in shown} <= {
        *("ARABIC", "SYRIAC", "KAITHI", "EGYPTIAN")
    }


@given(st.text())
def test_legible_text_stays_as_it_is(text: str) -> None:
    """Whatever it was made from, it can be written, and made legible again it is the same."""
    once = legible(text)
    assert legible(once) == once
    assert once.encode().decode() == once
