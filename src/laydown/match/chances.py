"""A chance in words, at every door the same: never in more digits than are known."""

CLOSENESS = (
    (0.20, "probably not close enough"),
    (0.50, "may pass"),
    (0.75, "probably close"),
)
"""What is said of a match whose chance to be accepted, in steps of .05, is at most that."""
LIKELY, PERHAPS = CLOSENESS[1][0], CLOSENESS[0][0]


def in_steps(chance: float) -> float:
    """Return a chance in the steps in which it is told: a word never disagrees with the number."""
    return round(20 * chance) / 20


def likely(chance: float) -> bool:
    """Whether a match is likelier accepted than not, as its chance is told: *close* or *probably*.

    Examples
    --------
    >>> likely(0.52), likely(0.53)
    (False, True)
    """
    return in_steps(chance) > LIKELY


def may_pass(chance: float) -> bool:
    """Whether a match may pass at least, as its chance is told.

    Examples
    --------
    >>> may_pass(0.22), may_pass(0.23)
    (False, True)
    """
    return in_steps(chance) > PERHAPS


def chance_words(chance: float) -> str:
    """Say a chance in steps of five in a hundred.

    Examples
    --------
    >>> chance_words(0.643), chance_words(0.01), chance_words(0.998)
    ('about 65 in 100', 'under 5 in 100', 'over 95 in 100')
    """
    rounded = 5 * round(20 * chance)
    if rounded > 95:
        return "over 95 in 100"
    return f"about {rounded} in 100" if rounded >= 5 else "under 5 in 100"


def closeness(chance: float) -> str:
    """Say how close a match is, by its chance to be accepted.

    Examples
    --------
    >>> closeness(0.62), closeness(0.99)
    ('probably close', 'close')
    """
    return next((word for most, word in CLOSENESS if in_steps(chance) <= most), "close")


def acceptance_words(chance: float, tolerance: str = "") -> str:
    """Say how likely an observer accepts a match, and how close it has to come where that is told.

    Examples
    --------
    >>> acceptance_words(0.62), acceptance_words(0.99, "class")
    ('probably close: accepted by about 60 in 100', 'close: accepted by over 95 in 100 (class)')
    """
    return f"{closeness(chance)}: accepted by {chance_words(chance)}" + (
        f" ({tolerance})" if tolerance else ""
    )
