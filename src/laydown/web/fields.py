"""Read what people type into larger fields."""

import re

from laydown.errors import TooLargeError

MOST_NAMES = 400
"""In one list: more than anybody owns of one range."""


def lines_of(text: str) -> list[str]:
    r"""Return the names in a pasted list, one a line; empty lines and list marks fall away.

    Examples
    --------
    >>> lines_of("Kelp\n- Dune\n\n")
    ['Kelp', 'Dune']
    """
    names = (re.sub(r"^[-*•]\s+", "", line.strip()) for line in text.splitlines())
    return [name for name in names if name]


def names_of(text: str) -> tuple[str, ...]:
    """Return the names in a pasted list, as `lines_of` does.

    Raises
    ------
    TooLargeError
        For a list that is too long to be looked up while somebody waits.
    """
    names = tuple(lines_of(text))
    if len(names) > MOST_NAMES:
        raise TooLargeError(
            f"There are {len(names)} names in this list; {MOST_NAMES} are taken at once.",
            hint="Paste it in parts.",
        )
    return names
