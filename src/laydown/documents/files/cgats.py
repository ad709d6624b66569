"""Swatches as CGATS.17 text (ISO 28178): keywords, then tables of named columns.

Read are XYZ, Lab (D50/2°) and spectra in the usual column names, and what was laid in columns of
ours, which the file declares by ``KEYWORD`` as the standard asks: ``LAYDOWN_RANGE`` and so on. A
file of another origin names only patches: its SAMPLE_NAME, or else SAMPLE_ID, becomes the color,
and range and paper are what the user says. Spectra and XYZ are written as two tables, since a
table has no blank numbers; so spectra come first.

Bands are read as ``SPECTRAL_DEC_380`` (0 to 1), ``SPECTRAL_PCT_380`` and ``SPEC_380`` (percent)
and ``SPECTRAL_NM_380`` or ``NM_380`` (percent where any is above 2); those column names are from
memory, not from the standard's text.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from laydown import allowed_sizes
from laydown.documents.files import csv, swatches
from laydown.documents.files.csv import WORDS, XYZ, Table
from laydown.documents.files.measurements import MOST_REFLECTANCE
from laydown.documents.files.text import lenient_text_of, lines_of, not_utf8
from laydown.errors import BadFileError
from laydown.media.swatch import Basis

PREFIX = "LAYDOWN_"
MOST_TABLES = 100
MOST_KEYWORDS = 1_000
"""Of one file; an instrument writes a table or two, and some dozens of keywords."""
UNREAD = "\N{REPLACEMENT CHARACTER}"
_BAND = re.compile(r"(SPECTRAL_DEC|SPECTRAL_PCT|SPECTRAL_NM|SPECTRAL|SPEC|NM)_?(\d{3,4}(?:\.\d+)?)")
_PERCENT = {"SPECTRAL_PCT", "SPEC"}
_DECIMAL = {"SPECTRAL_DEC"}
_COLORS = {f"XYZ_{c}": c for c in XYZ} | {f"LAB_{c.upper()}": c for c in csv.LAB}
_OURS = {PREFIX + word.upper(): word for word in WORDS}
_Set: TypeAlias = tuple[int, Sequence[str]]
"""The line number and the cells of a set of data."""
_TOKEN = re.compile(r'"((?:[^"]|"")*)"|(\S+)')


def read_cgats(
    data: bytes, *, source: str, usual: Mapping[str, str] = swatches.NOTHING_SAID
) -> tuple[swatches.SwatchRow, ...]:
    """Read swatches from CGATS.17 text.

    The usual is taken where the file doesn't say range, paper or medium. Raises `BadFileError`,
    which names line and column, and what to do; nothing is read then.
    """
    text = lenient_text_of(data, source, most=allowed_sizes.SWATCHES)
    tables = cgats_tables(text, source)
    if any(keywords.get("DEVICE_CLASS", "").upper() == "DISPLAY" for _, keywords in tables):
        raise BadFileError(
            f"{source} measures a display (DEVICE_CLASS DISPLAY), not color on paper.",
            hint="Give the measurements of swatches on paper.",
        )
    measured = [t for t, _ in tables if any(c not in WORDS for c in t.columns)]
    if not measured:
        raise BadFileError(
            f"{source} holds no XYZ, Lab or spectra.", hint="Export it with measurements."
        )
    return tuple(row for table in measured for row in swatches.rows_from_table(table, usual))


def cgats_tables(text: str, source: str) -> tuple[tuple[Table, Mapping[str, str]], ...]:
    """Split CGATS text into its tables, each with all keywords that were given up to there.

    Raises `BadFileError` where a section is missing or a set has not as many cells as columns.
    """
    reader = _CgatsReader(source)
    for number, line in enumerate(lines_of(text, source), 1):
        tokens = _tokens(line)
        if tokens:
            reader.take(number, tokens)
    return reader.finish()


def _tokens(line: str) -> list[str]:
    tokens = []
    for match in _TOKEN.finditer(line):
        quoted, bare = match.groups()
        if bare is not None and bare.startswith("#"):
            break
        tokens.append(bare if quoted is None else quoted.replace('""', '"'))
    return tokens


class _CgatsReader:
    """Takes the lines of a file one after the other."""

    def __init__(self, source: str) -> None:
        self._source = source
        self._section = ""
        self._keywords: dict[str, str] = {}
        self._columns: list[str] = []
        self._heading = 0
        self._data: list[str] = []
        self._numbers: list[int] = []
        self._values = self._sets = 0
        self._tables: list[tuple[Table, Mapping[str, str]]] = []

    def take(self, number: int, tokens: list[str]) -> None:
        word = tokens[0]
        if word in {"BEGIN_DATA_FORMAT", "BEGIN_DATA"}:
            self._begin(number, word)
        elif word == "END_DATA_FORMAT":
            self._section = ""
        elif word == "END_DATA":
            self._end_data(number)
        elif self._section:
            self._take_section(number, tokens)
        elif len(tokens) > 1:
            self._keywords[word] = tokens[1]
            self._count(number, MOST_KEYWORDS, len(self._keywords), "keywords")

    def _take_section(self, number: int, tokens: list[str]) -> None:
        if any(UNREAD in token for token in tokens):
            raise not_utf8(number, self._source)
        if self._section == "BEGIN_DATA_FORMAT":
            self._columns += tokens
            self._count(number, csv.MOST_COLUMNS, len(self._columns), "columns")
        else:
            self._data += tokens
            self._numbers += [number] * len(tokens)
            self._count(number, csv.MOST_CELLS, self._values + len(self._data), "values")

    def _count(self, number: int, most: int, count: int, what: str) -> None:
        if count > most:
            raise BadFileError(
                f"{self._source}, line {number}: it has more than {most:,} {what}, the most that "
                f"are read.",
                hint="Split it into smaller files.",
            )

    def finish(self) -> tuple[tuple[Table, Mapping[str, str]], ...]:
        if self._section:
            raise BadFileError(
                f"{self._source} ends in the middle of its data: "
                f"{self._section.replace('BEGIN', 'END')} is missing.",
                hint="The file was cut off; export it again.",
            )
        if not self._tables:
            raise BadFileError(
                f"{self._source} holds no BEGIN_DATA … END_DATA.",
                hint="Give a CGATS.17 file with measurements.",
            )
        return tuple(self._tables)

    def _begin(self, number: int, word: str) -> None:
        self._section = word
        if word == "BEGIN_DATA_FORMAT":
            self._columns, self._heading = [], number + 1
        elif not self._columns:
            raise BadFileError(
                f"{self._source}, line {number}: BEGIN_DATA without BEGIN_DATA_FORMAT before it.",
                hint="The file names no columns; export it again.",
            )

    def _end_data(self, number: int) -> None:
        if self._section != "BEGIN_DATA":
            raise BadFileError(
                f"{self._source}, line {number}: END_DATA without BEGIN_DATA before it.",
                hint="The file is damaged; export it again.",
            )
        self._section = ""
        width = len(self._columns)
        if len(self._data) % width:
            raise self._uneven(width)
        self._values += len(self._data)
        self._sets += len(self._data) // width
        self._count(number, csv.MOST_SWATCHES, self._sets, "sets")
        self._count(number, MOST_TABLES, len(self._tables) + 1, "tables")
        sets = [
            (self._numbers[start], self._data[start : start + width])
            for start in range(0, len(self._data), width)
        ]
        table = _plain_table(self._columns, sets, self._heading, self._source)
        self._tables.append((table, dict(self._keywords)))
        self._data, self._numbers = [], []

    def _uneven(self, width: int) -> BadFileError:
        counts: dict[int, int] = {}
        for number in self._numbers:
            counts[number] = counts.get(number, 0) + 1
        line, count = next((n, c) for n, c in counts.items() if c != width)
        return BadFileError(
            f"{self._source}, line {line}: {count} values, where BEGIN_DATA_FORMAT names "
            f"{width} columns.",
            hint="Put names with spaces in quotation marks; leave no value out.",
        )


def _plain_table(columns: Sequence[str], sets: Sequence[_Set], heading: int, source: str) -> Table:
    """Return a table with our names of its columns, those of other things left out."""
    plain = {name: _plain_name(name) for name in columns}
    repeated = [name for name, times in Counter(columns).items() if times > 1]
    if repeated:
        raise BadFileError(
            f"{source}, line {heading}: the column {repeated[0]} stands there twice.",
            hint="Keep one of the two.",
        )
    named = _with_color_name(plain, columns)
    if not {"color", "paper"} & set(named.values()) and any(named.values()):
        raise BadFileError(
            f"{source}, line {heading}: no column names the patches.",
            hint="Add SAMPLE_NAME or SAMPLE_ID.",
        )
    lines = tuple(
        (number, {named[n]: c for n, c in zip(columns, cells, strict=True) if named[n]})
        for number, cells in sets
    )
    return Table(
        source,
        tuple(column for column in named.values() if column),
        lines,
        heading,
        {ours: theirs for theirs, ours in named.items() if ours},
        full_scale=_full_scale(columns, sets),
    )


def _plain_name(name: str) -> str:
    name = name.upper()
    band = _BAND.fullmatch(name)
    if band:
        return f"r{float(band[2]):g}"
    return _OURS.get(name) or _COLORS.get(name, "")


def _with_color_name(plain: Mapping[str, str], columns: Sequence[str]) -> dict[str, str]:
    """Let the patch's name or number stand for the color where the file has no column of ours."""
    named = dict(plain)
    if "color" not in named.values():
        for name in ("SAMPLE_NAME", "SAMPLE_ID", "SampleName", "SampleID"):
            if name in columns:
                named[name] = "color"
                break
    return named


def _full_scale(columns: Sequence[str], sets: Sequence[_Set]) -> float:
    kinds = {m[1] for name in columns if (m := _BAND.fullmatch(name.upper()))}
    if kinds & _PERCENT:
        return 100.0
    if kinds & _DECIMAL or not kinds:
        return 1.0
    places = [i for i, name in enumerate(columns) if _BAND.fullmatch(name.upper())]
    values = (_number(cells[i]) for _, cells in sets for i in places)
    return 100.0 if any(value > MOST_REFLECTANCE for value in values) else 1.0


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return 0.0


def write_cgats(rows: Sequence[swatches.SwatchRow]) -> bytes:
    """Write swatches as CGATS.17 text in UTF-8; reading it gives the same rows.

    Rows with spectra come first, in a table of their own.
    """
    text = ["CGATS.17", "", 'ORIGINATOR "laydown"', 'DESCRIPTOR "Swatches on paper, D50, 2 degree"']
    declared: set[str] = set()
    for basis in (Basis.SPECTRUM, Basis.XYZ):
        cells = [swatches.cells_of(row) for row in rows if row.basis == basis]
        if cells:
            text += _written_table(cells, declared)
    return ("\n".join(text) + "\n").encode()


def _written_table(rows: Sequence[Mapping[str, str]], declared: set[str]) -> Iterable[str]:
    columns = swatches.columns_of(rows)
    names = [_written_name(column) for column in columns]
    ours = [name for name in names if name.startswith(PREFIX) and name not in declared]
    declared.update(ours)
    yield ""
    yield from (f'KEYWORD "{name}"' for name in ours)
    yield f"NUMBER_OF_FIELDS {len(names) + 1}"
    yield "BEGIN_DATA_FORMAT"
    yield " ".join(["SAMPLE_ID", *names])
    yield "END_DATA_FORMAT"
    yield f"NUMBER_OF_SETS {len(rows)}"
    yield "BEGIN_DATA"
    for number, cells in enumerate(rows, 1):
        yield " ".join([str(number), *(_written(cells.get(c, ""), c) for c in columns)])
    yield "END_DATA"


def _written_name(column: str) -> str:
    if column in WORDS:
        return PREFIX + column.upper()
    return f"XYZ_{column}" if column in XYZ else f"SPECTRAL_DEC_{column[1:]}"


def _written(text: str, column: str) -> str:
    if column not in WORDS:
        return text
    doubled = text.replace('"', '""')
    return f'"{doubled}"'
