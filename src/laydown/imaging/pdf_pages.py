"""Pages of a PDF as pixels. They are drawn by a process of their own: see `pdf_drawing`."""

import json
import subprocess
import sys
from dataclasses import dataclass
from tempfile import TemporaryFile
from typing import IO, Any

import numpy as np

from laydown import allowed_sizes
from laydown.errors import BadFileError
from laydown.imaging.arrays import Pixels
from laydown.imaging.pdf_drawing import BROKEN, TOO_LARGE

PDF_DPI = 300
MOST_DRAWN = 40_000_000
"""Pixels of a page, which is drawn at a lower resolution if it would have more. A sheet of
420 × 594 mm has 35 million at 300 dpi."""
SECONDS, SECONDS_MORE = 4.0, 0.2
"""Of processor time that drawing the first page may take, and what each further one adds: as much
as a sheet scanned in color takes."""
LONGEST_WAIT = 60.0
"""Seconds on the clock, where a system holds no limits or the process stands still."""


@dataclass(frozen=True, slots=True, eq=False)
class DrawnPage:
    """A page as drawn."""

    pixels: Pixels
    """Shape (h, w, 3)."""
    dpi: float
    """At which it was drawn."""
    count: int
    """Pages that the PDF has."""
    seconds: float
    """Of processor time that it took."""

    @property
    def note(self) -> str:
        """What was done, as a sentence."""
        return f"Drawn from the PDF at {self.dpi:.0f} dpi; a profile inside it is not used."


def drawn_page(
    data: bytes, source: str, number: int, *, dpi: float = PDF_DPI, seconds: float = SECONDS
) -> DrawnPage:
    """Draw a page of a PDF.

    Parameters
    ----------
    data
        The file.
    source
        Its name, for messages.
    number
        Of the page, from 1.
    dpi
        Finest resolution; a page that would have more than `MOST_DRAWN` pixels is drawn coarser.
    seconds
        Of processor time that it may take, where the system can hold it to that.

    Returns
    -------
    DrawnPage

    Raises
    ------
    BadFileError
        For a PDF that is too large, can't be opened, lacks the page, or takes more than it may.
    """
    if len(data) > allowed_sizes.PDF:
        raise BadFileError(
            f"{source} has {len(data) / 1e6:.0f} MB; at most {allowed_sizes.PDF / 1e6:.0f} MB are "
            f"read of a PDF.",
            hint="Scan at 300 dpi, or fewer pages at a time.",
        )
    if seconds <= 0:
        raise _too_much("time or memory", source)
    asked = [str(value) for value in (number, dpi, MOST_DRAWN, seconds)]
    with TemporaryFile() as file, TemporaryFile() as drawn:
        file.write(data)
        file.seek(0)
        _check_end(_run(asked, file, drawn), source)
        drawn.seek(0)
        told = json.loads(drawn.readline())
        if "width" not in told:
            raise no_such_page(source, number, told["count"])
        return DrawnPage(_pixels(told, drawn.read()), told["dpi"], told["count"], told["seconds"])


def _run(asked: list[str], file: IO[bytes], drawn: IO[bytes]) -> int | None:
    """Return what the process ended with; None where it didn't."""
    # -P: nothing is imported from whatever folder this happens to run in.
    command = [sys.executable, "-P", "-m", "laydown.imaging.pdf_drawing", *asked]
    try:
        return subprocess.run(
            command,
            stdin=file,
            stdout=drawn,
            stderr=subprocess.DEVNULL,
            timeout=LONGEST_WAIT,
            check=False,
        ).returncode
    except subprocess.TimeoutExpired:
        return None


def _check_end(ended: int | None, source: str) -> None:
    if ended == 0:
        return
    if ended == BROKEN:
        raise BadFileError(
            f"{source} is a PDF that can't be opened (broken, or with a password).",
            hint="Scan to JPEG or PNG instead.",
        )
    raise _too_much("pixels" if ended == TOO_LARGE else "time or memory", source)


def _too_much(what: str, source: str) -> BadFileError:
    return BadFileError(
        f"{source} takes more {what} to draw than a page of a PDF may.",
        hint="Save the page as JPEG or PNG at 300 dpi instead.",
    )


def no_such_page(source: str, number: int, count: int) -> BadFileError:
    """Return the error for a page that is asked for and isn't there."""
    pages = "1 page" if count == 1 else f"{count} pages"
    return BadFileError(f"{source} has {pages}; there is no page {number}.")


def _pixels(told: dict[str, Any], drawn: bytes) -> Pixels:
    width, height, stride = told["width"], told["height"], told["stride"]
    rows = np.frombuffer(drawn, np.uint8).reshape(height, stride)
    return rows[:, : 3 * width].reshape(height, width, 3)
