"""Pages of PDFs drawn by many at once: what draws them bears one thread at a time."""

import io
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdfium2 import raw
from reportlab.pdfgen.canvas import Canvas

from laydown.errors import BadFileError
from laydown.imaging import files
from laydown.imaging.files import open_photographs
from laydown.imaging.picture import open_picture

LOOKED_AT_AT_ONCE = """
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from laydown.imaging.files import open_photographs
from laydown.imaging.picture import open_picture

data = Path(sys.argv[1]).read_bytes()

def look(turn):
    if turn % 2:
        return [photograph.pixels.shape for photograph in open_photographs(data, source="f")]
    return open_picture(data, source="f", longest=100, page=1 + turn % 3).xyz.shape

with ThreadPoolExecutor(8) as eight:
    print(len(list(eight.map(look, range(400)))))
"""


@pytest.fixture(scope="module")
def printed() -> bytes:
    """Return a PDF of three small pages full of words in three typefaces."""
    content = io.BytesIO()
    canvas = Canvas(content, pagesize=(150, 150))
    for typeface in ("Helvetica", "Times-Roman", "Courier"):
        canvas.setFont(typeface, 9)
        for row in range(14):
            canvas.drawString(5, 5 + 10 * row, f"{typeface} {row} abcdefghijklm")
        canvas.showPage()
    canvas.save()
    return content.getvalue()


def test_eight_threads_look_at_pages_at_once(printed: bytes, tmp_path: Path) -> None:
    """Nobody's look at a page ends the process of the others."""
    path = tmp_path / "printed.pdf"
    path.write_bytes(printed)
    done = subprocess.run(
        [sys.executable, "-c", LOOKED_AT_AT_ONCE, str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (0, "400\n"), done.stderr[:500]


def test_nothing_is_asked_of_a_pdf_outside_the_lock(
    printed: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Opening, drawing and closing, of bitmaps and pages too, wait for their turn."""
    asked: dict[str, list[bool]] = {}

    def watched(name: str, does: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any) -> Any:
            asked.setdefault(name, []).append(files.DRAWING.locked())
            return does(*given)

        return call

    for name in dir(raw):
        if name.startswith(("FPDF_", "FPDFBitmap_")) and hasattr(getattr(raw, name), "restype"):
            monkeypatch.setattr(raw, name, watched(name, getattr(raw, name)))
    assert len(list(open_photographs(printed, source="f"))) == 3
    open_picture(printed, source="f", longest=100, page=2)
    assert {"FPDF_LoadMemDocument64", "FPDF_ClosePage", "FPDFBitmap_Destroy"} <= asked.keys()
    assert [name for name, locked in asked.items() if not all(locked)] == []
    assert not files.DRAWING.locked()


def test_nobody_waits_for_whoever_looks_at_one_page_of_several(printed: bytes) -> None:
    """A picture in hand, the next one not asked for yet, keeps nobody from opening another."""
    first = open_photographs(printed, source="f")
    next(first)
    assert not files.DRAWING.locked()
    assert len(list(first)) == 2


def test_a_page_that_is_missing_is_told_and_lets_the_next_one_in(printed: bytes) -> None:
    """A PDF that counts a page that isn't there is broken, and no fault of ours."""
    broken = printed.replace(b"/Type /Page\n", b"/Type /Pogo\n", 1)
    assert broken != printed
    with pytest.raises(BadFileError, match="can't be opened"):
        list(open_photographs(broken, source="f"))
    assert len(list(open_photographs(printed, source="f"))) == 3
