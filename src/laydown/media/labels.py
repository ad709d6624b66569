"""Names of ranges, colorants, papers and kits: how they are tidied, compared and refused."""

import unicodedata

from laydown.errors import BadRecipeError
from laydown.media.colorant import Colorant
from laydown.media.laydown import ONE_COAT
from laydown.media.legible import JOINERS, legible
from laydown.media.recipe import Recipe, Step, parse_recipe

LONGEST_NAME = 200
"""Characters that a name may have; a longer one is a file gone wrong."""
LONGEST_COMPOSED = 4 * LONGEST_NAME
"""Characters up to which accents are composed, which takes time by the square of how many stand on
one letter; what is longer is no name, however it is written."""


def tidy_name(text: str) -> str:
    """Write a name with single spaces and composed accents, and nothing in it that is not seen.

    Examples
    --------
    >>> tidy_name("  Gannet   smooth ")
    'Gannet smooth'
    """
    return _composed(" ".join(legible(text).split()))


def name_key(text: str) -> str:
    """Return what two spellings of one name share: no capitals, no odd spacing.

    Examples
    --------
    >>> name_key("Gannet  SMOOTH") == name_key("gannet smooth")
    True
    """
    return _composed(tidy_name(text).casefold())


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text) if len(text) <= LONGEST_COMPOSED else text


def checked_name(text: str, what: str) -> str:
    """Return a tidy name of a range, paper or kit, or say why it can't be one.

    Parameters
    ----------
    text
        The name as written.
    what
        What it names, for the message: ``paper``, ``kit``.

    Raises
    ------
    BadRecipeError
        For an empty name, one over `LONGEST_NAME`, or one with unprintable characters.
    """
    name = tidy_name(text)
    if not name:
        raise BadRecipeError(f"The name of a {what} is empty.", hint="Give it a name.")
    if len(name) > LONGEST_NAME:
        raise BadRecipeError(
            f"The {what} name “{name[:30]}…” has {len(name)} characters: "
            f"allowed are {LONGEST_NAME}.",
        )
    if not name.translate(JOINERS).isprintable():
        raise BadRecipeError(f"The {what} name {name!r} has a character that can't be printed.")
    return name


def checked_colorant_name(text: str, what: str = "colorant") -> str:
    """Return a tidy name of a colorant or range that can stand in the text of a recipe.

    Raises
    ------
    BadRecipeError
        For a name that `checked_name` refuses, or that a recipe would read as something else.

    Examples
    --------
    >>> checked_colorant_name(" Kelp ")
    'Kelp'
    >>> checked_colorant_name("Kelp*2")
    Traceback (most recent call last):
    laydown.errors.BadRecipeError: The colorant name “Kelp*2” would be read as part of a recipe.
    """
    name = checked_name(text, what)
    plain = Recipe((Step(Colorant(name, ""), ONE_COAT),))
    try:
        read = parse_recipe(name, lambda found: Colorant(found, ""))
    except BadRecipeError:
        read = Recipe()
    if read != plain:
        raise BadRecipeError(
            f"The {what} name “{name}” would be read as part of a recipe.",
            hint="Write it without semicolon, asterisk and laydown words in parentheses.",
        )
    return name
