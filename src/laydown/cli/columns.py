"""Plain tables for a terminal: columns parted by two blanks, no lines, nothing in color."""

from collections.abc import Sequence


def columns(header: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """Lay rows out under a header; numbers to the right, words to the left.

    Examples
    --------
    >>> print(columns(["name", "value"], [["Kelp", 3.5], ["Dune", 10]]))
    name  value
    Kelp    3.5
    Dune     10
    """
    texts = [list(header), *([str(cell) for cell in row] for row in rows)]
    widths = [max(len(row[i]) for row in texts) for i in range(len(header))]
    right = [all(_is_number(row[i]) for row in rows) and bool(rows) for i in range(len(header))]
    return "\n".join(
        "  ".join(
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(row, widths, right, strict=True)
        ).rstrip()
        for row in texts
    )


def _is_number(cell: object) -> bool:
    return isinstance(cell, int | float) and not isinstance(cell, bool)


def counted(number: int, thing: str) -> str:
    """Say how many there are of a thing.

    Examples
    --------
    >>> counted(1, "swatch"), counted(2, "swatch"), counted(3, "kit")
    ('1 swatch', '2 swatches', '3 kits')
    """
    plural = f"{thing}es" if thing.endswith(("s", "ch")) else f"{thing}s"
    return f"{number:,} {thing if number == 1 else plural}"


def tenths(number: float) -> str:
    """Write a number with one decimal, and never as negative zero.

    Examples
    --------
    >>> tenths(-0.04), tenths(12.34)
    ('0.0', '12.3')
    """
    return f"{round(float(number), 1) + 0.0:.1f}"
