"""Texts and names without signs that nobody sees: so they come in, and so they go out.

A text from elsewhere may hold signs that steer a terminal, turn the order of letters around, or
make two names look alike. Letters and marks of every script stay, and so do line ends and tabs.
"""

import re
import unicodedata

from laydown.errors import BadRecipeError

UNSEEN = re.compile(
    "["
    "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029"  # control signs, those of terminals too
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # what turns the order of letters around
    "\xad\u034f\u115f\u1160\u17b4\u17b5\u180e\u200b\u2060-\u2065\u206a-\u206f\u3164\ufeff\uffa0"
    "\ufff9-\ufffb\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e007f"  # of no width
    "\ud800-\udfff"  # halves of characters, of which no file and no screen knows the other half
    "]"
)
_BREAKS = {"\x0b", "\x0c", "\x85", "\u2028", "\u2029"}
_LONE_RETURN = re.compile("\r(?!\n)")
JOINERS = {0x200C: None, 0x200D: None}
"""Signs that join letters or keep them apart, for `str.translate` to leave out."""
_A_JOINER = re.compile("[\u200c\u200d]")
_VIRAMA = 9
"""The combining class of the mark behind which Indic scripts join letters or keep them apart."""


def legible(text: str) -> str:
    r"""Return a text without control signs, turned order, and signs of no width.

    Joiners stay where a script or a picture sign needs them. Odd line breaks become line ends or
    blanks, and half a character becomes U+FFFD.

    >>> legible("Ke\x1b[31mlp\u200b"), legible("Señal\nДюна"), legible("caf\udce9")
    ('Ke[31mlp', 'Señal\nДюна', 'caf\ufffd')
    """
    if text.isascii() and text.isprintable():
        return text
    shown = UNSEEN.sub(_instead, _LONE_RETURN.sub("\n", text))
    return _A_JOINER.sub(lambda joiner: joiner[0] if _is_needed(joiner) else "", shown)


def capital(words: str) -> str:
    """Begin words with a capital letter."""
    return words[:1].upper() + words[1:]


def _instead(unseen: re.Match[str]) -> str:
    if unseen[0] in _BREAKS:
        return " "
    return "\ufffd" if "\ud800" <= unseen[0] <= "\udfff" else ""


def _is_needed(joiner: re.Match[str]) -> bool:
    """Return whether a joiner follows a virama, an Arabic letter or a picture sign."""
    for sign in reversed(joiner.string[: joiner.start()]):
        if unicodedata.combining(sign) == _VIRAMA:
            return True
        if unicodedata.category(sign) != "Mn":
            return unicodedata.bidirectional(sign) == "AL" or unicodedata.category(sign)[0] == "S"
    return False


LONGEST_NAME = 200
"""Characters that a name may have; a longer one is a file gone wrong."""
LONGEST_COMPOSED = 4 * LONGEST_NAME
"""Characters up to which accents are composed, which takes time by the square of how many stand on
one letter; what is longer is no name, however it is written."""


def tidy_name(text: str) -> str:
    """Write a name with single spaces and composed accents, and nothing in it that is not seen.

    >>> tidy_name("  Gannet   smooth ")
    'Gannet smooth'
    """
    return _composed(" ".join(legible(text).split()))


def name_key(text: str) -> str:
    """Return what two spellings of one name share: no capitals, no odd spacing.

    >>> name_key("Gannet  SMOOTH") == name_key("gannet smooth")
    True
    """
    return _composed(tidy_name(text).casefold())


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text) if len(text) <= LONGEST_COMPOSED else text


def checked_name(text: str, what: str) -> str:
    """Return a tidy name of a range, paper or kit, or say why it can't be one.

    `text`: the name as written. `what`: what it names, for the message: ``paper``, ``kit``. Raises
    BadRecipeError for an empty name, one over `LONGEST_NAME`, or one with unprintable characters.
    """
    name = tidy_name(text)
    if not name:
        raise BadRecipeError(f"The name of a {what} is empty.", hint="Give it a name.")
    if len(name) > LONGEST_NAME:
        raise BadRecipeError(
            f"The {what} name “{name[:30]}…” has {len(name)} characters: "
            f"allowed are {LONGEST_NAME}."
        )
    if not name.translate(JOINERS).isprintable():
        raise BadRecipeError(f"The {what} name {name!r} has a character that can't be printed.")
    return name
