"""A swatch as a row of a file, and the way from rows to swatches and back.

The readers (`swatch_csv`, `cgats`, `cxf`) each turn bytes into rows. A row still names what lies
below in words, since those colorants may stand in the library and not in the file;
`swatches_from_rows` settles the names.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from laydown.color.arrays import FloatArray
from laydown.errors import AmbiguousNameError, BadFileError, LaydownError, UnknownNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import name_key
from laydown.media.laydown import ONE_COAT, Laydown
from laydown.media.recipe import Recipe, Step, format_recipe, parse_recipe
from laydown.media.swatch import Basis, Swatch


@dataclass(frozen=True, slots=True, eq=False)
class SwatchRow:
    """One measured patch as a file states it.

    Parameters
    ----------
    line
        Where it stands in the file, from 1, for messages.
    colorant
        What was laid last; None is bare paper, or where `over` says so, a recipe that ends in a
        treatment or in a mixture.
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
    there = _Colorants(rows, source, find)
    return tuple(
        Swatch(
            row.paper,
            _recipe(row, there, source),
            row.reflectance,
            row.basis,
            row.spread,
            row.flags,
        )
        for row in rows
    )


def _recipe(row: SwatchRow, there: "_Colorants", source: str) -> Recipe:
    last = () if row.colorant is None else (Step(row.colorant, row.laydown),)
    range_name = "" if row.colorant is None else row.colorant.range
    try:
        below = parse_recipe(row.over, lambda name: there.find(name, range_name))
    except LaydownError as error:
        raise BadFileError(
            f"{source}, line {row.line}, column over: {error.message}", hint=error.hint
        ) from error
    return Recipe(below.steps + last)


class _Colorants:
    """Whom a name below stands for: the row's own range, then the file, then the library."""

    def __init__(
        self, rows: Sequence[SwatchRow], source: str, find: Callable[[str], Colorant] | None
    ) -> None:
        self._source = source
        self._find = find
        self._in_library: dict[str, Colorant] = {}
        self._by_key: dict[str, list[Colorant]] = {}
        for colorant in _best_told(rows):
            for text in (colorant.label, colorant.name):
                self._by_key.setdefault(name_key(text), []).append(colorant)

    def find(self, name: str, range_name: str) -> Colorant:
        key = name_key(name)
        meant = self._by_key.get(key, [])
        own = [c for c in meant if name_key(c.range) == name_key(range_name)]
        if len(own or meant) == 1:
            return (own or meant)[0]
        if len(meant) > 1:
            raise AmbiguousNameError(
                f"“{name}” stands for {' and '.join(sorted(c.label for c in meant))}.",
                hint=f"Write the range too, for example {meant[0].label}.",
            )
        if self._find is not None:
            if key not in self._in_library:  # which goes through all of the library's colorants
                self._in_library[key] = self._find(name)
            return self._in_library[key]
        raise UnknownNameError(
            f"There is no colorant “{name}” in {self._source}.",
            hint="Add a swatch of it, or write Range/Name.",
        )


def _best_told(rows: Sequence[SwatchRow]) -> Iterable[Colorant]:
    """Return each colorant of the file once, with its code where any row gives one."""
    told: dict[str, Colorant] = {}
    for row in rows:
        if row.colorant is not None:
            before = told.setdefault(name_key(row.colorant.label), row.colorant)
            if row.colorant.code and not before.code:
                told[name_key(row.colorant.label)] = row.colorant
    return told.values()


def rows_from_swatches(swatches: Sequence[Swatch]) -> tuple[SwatchRow, ...]:
    """Return the rows that state these swatches, in their order; lines count from 2.

    What lies below is written with ranges only where it must be.
    """
    return tuple(_row(line, swatch) for line, swatch in enumerate(swatches, 2))


def _row(line: int, swatch: Swatch) -> SwatchRow:
    steps = swatch.recipe.steps
    last = steps[-1] if steps else None
    top = last if isinstance(last, Step) and not last.mixed else None
    below = Recipe(steps if top is None else steps[:-1])
    colorant = None if top is None else top.colorant
    ranges = {c.range for c in below.colorants}
    with_range = colorant is None or ranges != {colorant.range}
    return SwatchRow(
        line=line,
        colorant=colorant,
        paper=swatch.paper,
        reflectance=swatch.reflectance,
        laydown=ONE_COAT if top is None else top.laydown,
        over=format_recipe(below, with_range=with_range),
        basis=swatch.basis,
        spread=swatch.spread,
        flags=swatch.flags,
    )
