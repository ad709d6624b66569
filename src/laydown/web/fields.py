"""Read what people type into larger fields."""

import re


def lines_of(text: str) -> list[str]:
    r"""Return the names in a pasted list, one a line; empty lines and list marks fall away.

    Examples
    --------
    >>> lines_of("Kelp\n- Dune\n\n")
    ['Kelp', 'Dune']
    """
    names = (re.sub(r"^[-*•]\s+", "", line.strip()) for line in text.splitlines())
    return [name for name in names if name]
