"""A swatch as a row of a file, and the way from rows to swatches and back.

The readers (`swatch_csv`, `cgats`, `cxf`) each turn bytes into rows. A row still names what lies
below in words, since those colorants may stand in the library and not in the file;
`swatches_from_rows` settles the names.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.laydown import ONE_COAT, Laydown
from laydown.media.swatch import Basis, Swatch


@dataclass(frozen=True, slots=True, eq=False)
class SwatchRow:
    """One measured patch as a file states it.

    Parameters
    ----------
    line
        Where it stands in the file, from 1, for messages.
    colorant
        What was laid last; None is bare paper.
    paper
        Name of the paper.
    reflectance
        Shape (36,); where `basis` is XYZ, the smoothest one with that XYZ.
    laydown
        How `colorant` was put down.
    over
        What lies below, bottom first, in the text form of recipes; empty for the bare paper.
    basis
        What was measured.
    spread
        Standard deviation within the patch [CIELAB units]; 0 where unknown.
    flags
        ``above-white``, ``extended-bands``.
    """

    line: int
    colorant: Colorant | None
    paper: str
    reflectance: FloatArray
    laydown: Laydown = ONE_COAT
    over: str = ""
    basis: Basis = Basis.SPECTRUM
    spread: float = 0.0
    flags: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Usual:
    """What the user says of a file that doesn't say it itself.

    Parameters
    ----------
    range, paper, medium
        Taken for rows that leave them blank; empty says nothing.
    """

    range: str = ""
    paper: str = ""
    medium: str = ""


NOTHING_SAID = Usual()


def swatches_from_rows(
    rows: Sequence[SwatchRow],
    *,
    source: str,
    find: Callable[[str], Colorant] | None = None,
) -> tuple[Swatch, ...]:
    """Settle the names in ``over`` and return the swatches, in the order of the rows.

    Parameters
    ----------
    rows
        From one file.
    source
        The file's name, for messages.
    find
        Finds a colorant of the library by what was typed (`Work.find_colorant`); asked after the
        row's own range and the file itself.

    Raises
    ------
    BadFileError
        Names the line whose recipe can't be read.
    """
    raise NotImplementedError


def rows_from_swatches(swatches: Sequence[Swatch]) -> tuple[SwatchRow, ...]:
    """Return the rows that state these swatches, in their order."""
    raise NotImplementedError
