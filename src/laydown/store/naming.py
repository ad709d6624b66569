"""Finding things by what was typed: near misses are suggested, double meanings listed."""

from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches

from laydown.errors import AmbiguousNameError, DuplicateNameError, UnknownNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import name_key
from laydown.media.laydown import Medium

MOST_SUGGESTIONS = 3
MOST_LISTED = 8
NEAR = 0.6
"""Share of matching letters from which on a name is offered for another, see `difflib`."""


def unknown(what: str, text: str, names: Iterable[str]) -> UnknownNameError:
    """Return the error for a name that isn't there, with the nearest names as its hint."""
    message = f"There is no {what} “{text}” here."
    by_key = {name_key(name): name for name in names}
    if by_key:
        return UnknownNameError(message, hint=_hint(text, by_key))
    if what == "kit":
        return UnknownNameError(
            message, hint="There is none yet: make one first.", command="laydown kit create NAME"
        )
    return UnknownNameError(
        message,
        hint="There is none yet: bring in swatches first.",
        command="laydown swatches import FILE",
    )


def of_other_medium(name: str, own: Medium, told: Medium) -> DuplicateNameError:
    """Return the error for colorants of one medium that go by the name of a range of another."""
    return DuplicateNameError(
        f"“{name}” is a set of {own.plural} already.",
        hint=f"Give the {told.plural} a name of their own. If they are the same set, say that "
        f"they are {own.plural}.",
        command=f"--medium {own}",
    )


def _hint(text: str, by_key: Mapping[str, str]) -> str:
    close = get_close_matches(name_key(text), sorted(by_key), n=MOST_SUGGESTIONS, cutoff=NEAR)
    if close:
        return f"Did you mean {' or '.join(by_key[key] for key in close)}?"
    listed = sorted(by_key.values())[:MOST_LISTED]
    more = "" if len(by_key) <= MOST_LISTED else f" and {len(by_key) - MOST_LISTED} more"
    return f"Known: {', '.join(listed)}{more}."


def near_colorants(text: str, colorants: Sequence[Colorant]) -> tuple[str, ...]:
    """Return labels of colorants that may be meant by a text, the likeliest first."""
    key = name_key(text)
    by_key: dict[str, list[str]] = {}
    for colorant in colorants:
        for spelling in {_name(colorant), _label(colorant), _code(colorant)} - {None}:
            by_key.setdefault(str(spelling), []).append(colorant.label)
    close = get_close_matches(key, sorted(by_key), n=MOST_SUGGESTIONS, cutoff=NEAR)
    labels = [label for name in close for label in sorted(by_key[name])]
    return tuple(dict.fromkeys(labels))[:MOST_LISTED]


def pick_colorant(text: str, colorants: Sequence[Colorant]) -> Colorant:
    """Return the one colorant meant: by range and name, else by name, else by its owner's code.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When none or several of them are meant.
    """
    key = name_key(text)
    for spelling in (_label, _name, _code):
        meant = [colorant for colorant in colorants if spelling(colorant) == key]
        if len(meant) > 1:
            raise _ambiguous(text, meant)
        if meant:
            return meant[0]
    names = [c.name for c in colorants] + [c.label for c in colorants]
    raise unknown("colorant", text, names + [c.code for c in colorants if c.code])


def _label(colorant: Colorant) -> str:
    return name_key(colorant.label)


def _name(colorant: Colorant) -> str:
    return name_key(colorant.name)


def _code(colorant: Colorant) -> str | None:
    return name_key(colorant.code) or None


def _ambiguous(text: str, meant: Sequence[Colorant]) -> AmbiguousNameError:
    choices = sorted(colorant.label for colorant in meant)
    return AmbiguousNameError(
        f"“{text}” stands for {len(choices)} colorants: {', '.join(choices)}.",
        hint=f"Write the range too, for example {choices[0]}.",
    )
