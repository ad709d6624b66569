"""Draw a page of a PDF in a process of its own, which may die of it.

    python -m laydown.imaging.pdf_drawing NUMBER DPI PIXELS SECONDS < a.pdf > page

PDFium ends its whole process over lists or forms that hold others without end, and bears one thread
at a time. So what people send is opened here alone, within limits that the system holds, wherever
it can hold them. Nothing is imported but what that takes: each page starts a process anew.
"""

import json
import math
import sys
import time
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pypdfium2 import PdfPage

ADDRESSES = 440_000_000
"""Bytes of memory. A page of 420 × 594 mm, scanned in color at 300 dpi, takes half of it."""
MOST_PIXELS = 80_000_000
"""Of a picture on a page. One that finds no room is left out by PDFium without a word."""
MOST_WRITTEN = 500_000_000
"""Bytes of what is drawn."""
BROKEN, TOO_LARGE = 3, 4
"""What the process ends with where a PDF can't be opened, or asks for too many pixels."""


def main() -> int:
    """Write what page it is as a line of JSON, then its pixels row by row; or only their count."""
    number, dpi, pixels, seconds = int(sys.argv[1]), *map(float, sys.argv[2:])
    _limit(max(1, math.ceil(seconds)))
    from pypdfium2 import PdfDocument, PdfiumError  # noqa: PLC0415 - within the limits

    try:
        document = PdfDocument(sys.stdin.buffer)
        told: dict[str, float] = {"count": len(document)}
        if not 1 <= number <= len(document):
            return _write(told)
        page = document[number - 1]
    except PdfiumError:
        return BROKEN
    width, height = page.get_size()
    # by how much finer a page could be drawn to have so many pixels
    finer = math.sqrt(pixels / max(width * height * (dpi / 72) ** 2, 1))
    told["dpi"] = dpi = min(dpi, dpi * finer)
    size = [math.ceil(side * dpi / 72) for side in page.get_size()]
    if size[0] * size[1] > 2 * pixels or _largest_picture(page) > MOST_PIXELS:
        return TOO_LARGE
    drawn = page.render(scale=dpi / 72, rev_byteorder=True)
    told |= {"width": drawn.width, "height": drawn.height, "stride": drawn.stride}
    return _write(told, drawn.buffer)


def _limit(seconds: int) -> None:
    """Let the system end this process once it takes more than it may, and leave no trace of it."""
    try:
        import resource  # noqa: PLC0415 - not on every system
    except ImportError:
        return
    for kind, most in (
        (resource.RLIMIT_AS, ADDRESSES),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_FSIZE, MOST_WRITTEN),
        (resource.RLIMIT_CORE, 0),
    ):
        with suppress(ValueError, OSError):  # some systems know a limit and hold none
            resource.setrlimit(kind, (most, most))


def _largest_picture(page: "PdfPage") -> int:
    from pypdfium2.raw import FPDF_PAGEOBJ_IMAGE  # noqa: PLC0415 - within the limits

    pictures = page.get_objects(filter=[FPDF_PAGEOBJ_IMAGE], max_depth=4)
    return max((math.prod(picture.get_px_size()) for picture in pictures), default=0)


def _write(told: dict[str, float], pixels: bytes = b"") -> int:
    told["seconds"] = time.process_time()
    sys.stdout.buffer.write(json.dumps(told).encode() + b"\n")
    sys.stdout.buffer.write(pixels)
    sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
