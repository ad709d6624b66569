"""Plain names for the lights that people color, teach and show by, beside the CIE's own."""

import difflib
from dataclasses import dataclass
from functools import cache

from laydown.color.arrays import FloatArray
from laydown.color.light import light, weights
from laydown.errors import AmbiguousNameError, UnknownNameError
from laydown.reference.tables import load_table

DAY = "D50"
"""The light that matches are made for."""


@dataclass(frozen=True, slots=True)
class NamedLight:
    """A light that people know."""

    name: str
    """In plain words, such as ``evening lamp``."""
    cie: str
    """As the CIE calls it, see `laydown.color.light.light`."""
    kind: str
    """What kind of lamp or sky it stands for."""
    usual: bool
    """Whether a check takes it when no light is named."""

    @property
    def short(self) -> str:
        """Its plain name up to the comma, which still is its own."""
        return self.name.partition(",")[0]

    @property
    def weights(self) -> FloatArray:
        """Shape (36, 3), what it gives to the bands."""
        return _weights_of(self.cie)


@cache
def _weights_of(cie: str) -> FloatArray:
    found = weights(light(cie))
    found.flags.writeable = False
    return found


def named_lights() -> tuple[NamedLight, ...]:
    """Return all lights that have a plain name, daylight first.

    Examples
    --------
    >>> [light.cie for light in named_lights()][:4]
    ['D50', 'D65', 'C', 'A']
    """
    table = load_table("light_names")
    columns = (table.words(column) for column in ("name", "light", "kind", "usual"))
    return tuple(
        NamedLight(name, cie, kind, usual == "yes")
        for name, cie, kind, usual in zip(*columns, strict=True)
    )


def find_light(text: str) -> NamedLight:
    """Find a light by its plain name, the CIE's, or a part of the plain one that only it has.

    Parameters
    ----------
    text
        Capitals and outer blanks don't matter.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        For no light, and for more than one.

    Examples
    --------
    >>> find_light("Lamp").cie, find_light("led-v1").name
    ('A', 'gallery LED, warm')
    """
    asked, every = text.strip().casefold(), named_lights()
    known = {key.casefold(): one for one in every for key in (one.name, one.cie)}
    if asked in known:
        return known[asked]
    found = [one for one in every if asked and asked in one.name.casefold()]
    if len(found) == 1:
        return found[0]
    if found:
        raise AmbiguousNameError(
            f"“{text}” may be {' or '.join(one.short for one in found)}.", hint="Say which."
        )
    near = difflib.get_close_matches(asked, known, n=1)
    names = "; ".join(f"{one.name} ({one.cie})" for one in every)
    raise UnknownNameError(
        f"There is no light called “{text}” here.",
        hint=f"Did you mean {known[near[0]].name}?" if near else f"There are: {names}.",
    )
