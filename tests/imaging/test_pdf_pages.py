"""Pages of PDFs, each drawn by a process of its own, which may die of what people send."""

import io
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from laydown import allowed_sizes
from laydown.errors import BadFileError
from laydown.imaging import files
from laydown.imaging.files import MOST_DRAWN, Photograph, drawn_page, open_photographs
from laydown.imaging.picture import Picture, open_picture

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
    print(len(list(eight.map(look, range(8)))))
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


def drawing(content: bytes, *, box: tuple[int, int] = (595, 842)) -> bytes:
    """Return a PDF of one page that is drawn by these words."""
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=box)
    canvas._code.append(content.decode())
    canvas.save()
    return written.getvalue()


def pictured(data: bytes) -> Picture:
    """Open a PDF as a picture to plan."""
    return open_picture(data, source="f", longest=100)


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
    assert (done.returncode, done.stdout) == (0, "8\n"), done.stderr[:500]


def test_what_ends_the_drawing_process_is_refused_and_no_more(printed: bytes) -> None:
    """Lists in lists without end take the process that draws them along, and only that one."""
    deep = printed.replace(b"/Type /Catalog", b"/Type /Catalog /L " + b"[" * 10_000_000, 1)
    assert deep != printed
    for look in (lambda: list(open_photographs(deep, source="f")), lambda: pictured(deep)):
        with pytest.raises(BadFileError, match="f takes more time or memory to draw than"):
            look()
    assert len(list(open_photographs(printed, source="f"))) == 3


def test_a_page_that_takes_long_is_broken_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """A page is drawn for as long as it may take, by the processor's time and by the clock."""
    slow = drawing(b"0 0 m 600 800 l S " * 5_000)
    assert drawn_page(slow, "f", 1, seconds=60)[2] > 1
    with pytest.raises(BadFileError, match="takes more time or memory"):
        drawn_page(slow, "f", 1, seconds=1)
    monkeypatch.setattr(files, "LONGEST_WAIT", 0.2)
    with pytest.raises(BadFileError, match="takes more time or memory"):
        drawn_page(slow, "f", 1)


def test_all_pages_of_a_file_share_what_time_there_is(
    printed: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each page takes from what is left, and adds no more than a scanned one needs."""
    given: list[float] = []

    def slow_page(
        data: bytes, source: str, number: int, *, seconds: float
    ) -> tuple[Photograph, int, float]:
        given.append(seconds)
        return *drawn_page(data, source, number, seconds=seconds)[:2], 3.0

    monkeypatch.setattr(files, "drawn_page", slow_page)
    with pytest.raises(BadFileError, match="takes more time or memory"):
        list(open_photographs(printed, source="f"))
    assert given == pytest.approx([4.0, 1.2, -1.6])


def test_a_large_page_is_drawn_coarser_until_it_fits() -> None:
    """A page far larger than any table is read at fewer dots an inch, and it is told how many."""
    (photograph,) = open_photographs(drawing(b"", box=(14_400, 3_600)), source="f")
    height, width, _ = photograph.pixels.shape
    assert width * height == pytest.approx(MOST_DRAWN, rel=0.001)
    assert width / height == pytest.approx(4, rel=0.001)
    assert photograph.notes == ("Drawn from the PDF at 63 dpi; a profile inside it is not used.",)
    with pytest.raises(BadFileError, match="takes more pixels"):
        drawn_page(drawing(b"", box=(1_000_000_000, 1)), "f", 1)


def test_a_picture_that_would_be_left_out_is_refused() -> None:
    """What finds no room would silently be missing on the page."""

    def side(pixels: int) -> bytes:
        content = io.BytesIO()
        Image.new("1", (pixels, pixels)).save(content, "PDF", resolution=pixels)
        return content.getvalue()

    assert drawn_page(side(8_900), "f", 1)[0].pixels.max() == 0
    with pytest.raises(BadFileError, match="takes more pixels"):
        drawn_page(side(9_000), "f", 1)


def test_a_pdf_larger_than_is_read_is_refused_unopened(
    printed: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A size is looked at before anything else."""
    monkeypatch.setattr(allowed_sizes, "PDF", len(printed))
    assert len(list(open_photographs(printed, source="f"))) == 3
    with pytest.raises(BadFileError, match=r"at most 0 MB are read of a PDF"):
        list(open_photographs(printed + b" ", source="f"))


def test_drawing_imports_nothing_heavy() -> None:
    """Each page starts a process, which must not read half of laydown first."""
    program = (
        "import sys; from laydown.imaging import pdf_drawing; import pypdfium2\n"
        "print(sorted({name.partition('.')[0] for name in sys.modules} & set(sys.argv[1:])),\n"
        "      sorted(name for name in sys.modules if name.startswith('laydown')))"
    )
    heavy = ("numpy", "PIL", "scipy", "numba", "cv2", "sqlalchemy")
    done = subprocess.run(
        [sys.executable, "-c", program, *heavy], capture_output=True, text=True, check=True
    )
    assert done.stdout == "[] ['laydown', 'laydown.imaging', 'laydown.imaging.pdf_drawing']\n"


def test_a_page_that_is_missing_is_told_and_lets_the_next_one_in(printed: bytes) -> None:
    """A PDF that counts a page that isn't there is broken, and no fault of ours."""
    broken = printed.replace(b"/Type /Page\n", b"/Type /Pogo\n", 1)
    assert broken != printed
    with pytest.raises(BadFileError, match="can't be opened"):
        list(open_photographs(broken, source="f"))
    assert len(list(open_photographs(printed, source="f"))) == 3
