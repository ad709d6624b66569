"""Changes to a picture's plan as a text file, a line each.

The form::

    merge 3 4 5
    split 7 at 6.5
    split 8
    passage lemons: 1 2 3
    role shadow: 3

Empty lines and lines that begin with # say nothing.
"""

import re
from collections.abc import Sequence

import numpy as np

from laydown import allowed_sizes
from laydown.documents.text_files import text_of
from laydown.errors import BadFileError
from laydown.plan.picture_edits import Assign, Edit, Merge, Split

MOST_LINES = 2000
NUMBERS = r"\d{1,5}(?:[ ,]+\d{1,5})*"
MERGE = re.compile(rf"merge ({NUMBERS})", re.I)
SPLIT = re.compile(r"split (\d{1,5})(?: at (\d{1,2}(?:\.\d+)?))?", re.I)
ASSIGN = re.compile(rf"(passage|role) (.*): ?({NUMBERS})", re.I)
HINT = "Write one of: merge 3 4; split 7 at 6.5; passage lemons: 1 2; role shadow: 3."


def read_changes(data: bytes, *, source: str) -> tuple[Edit, ...]:
    r"""Read a list of changes.

    Parameters
    ----------
    data
        The file.
    source
        Its name, for messages.

    Raises
    ------
    BadFileError
        Names the line that is no change.

    Examples
    --------
    >>> read_changes(b"merge 3 4\nsplit 7 at 6.5\n", source="changes.txt")
    (Merge(numbers=(3, 4)), Split(number=7, at=6.5))
    """
    lines = text_of(data, source, most=allowed_sizes.CHANGES).splitlines()
    if len(lines) > MOST_LINES:
        raise BadFileError(f"{source} has {len(lines)} lines; at most {MOST_LINES} are read.")
    said = [(number, " ".join(line.split())) for number, line in enumerate(lines, start=1)]
    return tuple(
        _change(line, f"{source}, line {number}")
        for number, line in said
        if line and not line.startswith("#")
    )


def change_in_words(edit: Edit) -> str:
    """Write a change as the line that `read_changes` reads.

    Parameters
    ----------
    edit
        The change; one that assigns says a passage or a role, not both.

    Examples
    --------
    >>> change_in_words(Merge((3, 4))), change_in_words(Split(7, 6.5))
    ('merge 3 4', 'split 7 at 6.5')
    >>> change_in_words(Assign((1, 2), passage="lemons"))
    'passage lemons: 1 2'
    """
    if isinstance(edit, Merge):
        return f"merge {_written(edit.numbers)}"
    if isinstance(edit, Split):
        return f"split {edit.number}" + ("" if edit.at is None else f" at {_exactly(edit.at)}")
    kind, name = ("role", edit.role) if edit.passage is None else ("passage", edit.passage)
    return f"{kind} {' '.join((name or '').split())}: {_written(edit.numbers)}"


def _exactly(value: float) -> str:
    """Write a value so that reading it gives the same one."""
    return np.format_float_positional(value, trim="-")


def _written(numbers: Sequence[int]) -> str:
    return " ".join(str(number) for number in numbers)


def _change(line: str, place: str) -> Edit:
    if found := MERGE.fullmatch(line):
        return Merge(_numbers(found[1]))
    if found := SPLIT.fullmatch(line):
        return Split(int(found[1]), float(found[2]) if found[2] else None)
    if found := ASSIGN.fullmatch(line):
        kind, name, numbers = found[1].casefold(), found[2].strip(), _numbers(found[3])
        return Assign(numbers, **{kind: name})
    raise BadFileError(f"{place}: “{line[:40]}” is no change.", hint=HINT)


def _numbers(text: str) -> tuple[int, ...]:
    return tuple(int(number) for number in re.split(r"[ ,]+", text))
