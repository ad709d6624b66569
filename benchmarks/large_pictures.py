"""Pictures of 10,000 × 10,000 pixels of every kind: memory and time that opening one takes.

Run: python benchmarks/large_pictures.py
Each kind is written once, then opened by `laydown.imaging.picture` as a plan needs it, made smaller
to 1,000 pixels by the mean of its light, and by Pillow's own `thumbnail`, which takes the mean of
encoded numbers. Each runs in a process of its own: the figures are the most memory that process
took and its CPU time, both with its imports. They go to benchmarks/results/large_pictures.md.
"""

import struct
import subprocess
import sys
import tempfile
import zlib
from collections.abc import Callable
from pathlib import Path
from time import process_time

import numpy as np
from memory import most_memory
from PIL import Image

from laydown.errors import BadFileError
from laydown.imaging.picture import open_picture

RESULT = Path(__file__).parent / "results" / "large_pictures.md"
SIDE, LONGEST = 10_000, 1000
Image.MAX_IMAGE_PIXELS = None


def drawn(width: int = SIDE, height: int = SIDE) -> Image.Image:
    """Draw flat areas with the grain of a photograph."""
    rng = np.random.default_rng(3)
    areas = Image.fromarray(rng.integers(0, 230, (20, 20, 3), dtype=np.uint8))
    large = np.array(areas.resize((width, height), Image.Resampling.NEAREST))
    large += rng.integers(0, 25, (height, width, 1), dtype=np.uint8)
    return Image.fromarray(large)


def saved(mode: str, form: str, **options: object) -> Callable[[Path], None]:
    """Return what writes a picture in a mode and a form."""

    def write(path: Path) -> None:
        picture = drawn()
        if "A" in mode:
            picture.putalpha(picture.getchannel("G"))
        picture.convert(mode).save(path, form, **options)

    return write


def sixteen(channels: int, color: int) -> Callable[[Path], None]:
    """Return what writes a PNG in 16 bits, row by row."""

    def write(path: Path) -> None:
        deflate, rng = zlib.compressobj(1), np.random.default_rng(3)
        parts = []
        for _ in range(SIDE):
            row = rng.integers(0, 60_000, 50, dtype=np.uint16).repeat(SIDE * channels // 50)
            parts.append(deflate.compress(b"\0" + row.astype(">u2").tobytes()))
        header = struct.pack(">IIBBBBB", SIDE, SIDE, 16, color, 0, 0, 0)
        packed = b"".join(parts) + deflate.flush()
        chunks = [chunk(b"IHDR", header), chunk(b"IDAT", packed), chunk(b"IEND", b"")]
        path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(chunks))

    return write


def chunk(kind: bytes, data: bytes) -> bytes:
    """Return a part of a PNG file."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def sized(width: int, height: int, form: str) -> Callable[[Path], None]:
    """Return what writes a picture of another size."""
    return lambda path: drawn(width, height).save(path, form)


KINDS: dict[str, Callable[[Path], None]] = {
    "black and white, 1 bit, PNG": saved("1", "PNG"),
    "gray, JPEG": saved("L", "JPEG"),
    "gray in 16 bits, PNG": sixteen(1, 0),
    "palette, PNG": saved("P", "PNG", compress_level=1),
    "color, JPEG": saved("RGB", "JPEG"),
    "color, progressive JPEG": saved("RGB", "JPEG", progressive=True),
    "color, PNG": saved("RGB", "PNG", compress_level=1),
    "color, TIFF (LZW)": saved("RGB", "TIFF", compression="tiff_lzw"),
    "color in 16 bits, PNG": sixteen(3, 2),
    "transparent, PNG": saved("RGBA", "PNG", compress_level=1),
    "transparent in 16 bits, PNG": sixteen(4, 6),
    "inks (CMYK), JPEG": saved("CMYK", "JPEG"),
    "inks (CMYK), TIFF, not packed": saved("CMYK", "TIFF"),
    "CIELAB, TIFF": saved("LAB", "TIFF"),
    "on a page of PDF": saved("RGB", "PDF"),
    "panorama, 40,000 × 2,500, JPEG": sized(40_000, 2_500, "JPEG"),
    "panorama, 40,000 × 1,000, PNG": sized(40_000, 1_000, "PNG"),
    "12,000 × 12,000, JPEG": sized(12_000, 12_000, "JPEG"),
}


def opened(side: str, path: Path) -> str:
    """Open a picture and say what came of it."""
    if side == "thumbnail":
        with Image.open(path) as image:
            image.thumbnail((LONGEST, LONGEST))
            return f"{image.width} × {image.height}"
    try:
        found = open_picture(path.read_bytes(), source="it", longest=LONGEST)
    except BadFileError as error:
        return f"“{error.message}”"
    return f"{found.xyz.shape[1]} × {found.xyz.shape[0]}"


def figures(side: str, path: Path) -> list[str]:
    """Open a picture in a process of its own; return outcome, memory and CPU time."""
    command = [sys.executable, __file__, side, str(path)]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    return done.stdout.strip().split(" | ") if not done.returncode else ["can't", "", ""]


def main() -> None:
    """Write and open each kind, and write the table."""
    rows = []
    for words, write in KINDS.items():
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "picture"
            write(path)
            size = path.stat().st_size / 1e6
            ours, theirs = figures("laydown", path), figures("thumbnail", path)
        rows.append(f"| {words} | {size:.0f} | {' | '.join(ours)} | {' | '.join(theirs[1:])} |")
        print(rows[-1], flush=True)
    lead = (
        "`python benchmarks/large_pictures.py`, on two cores that other work shared: 10,000 × "
        "10,000 pixels unless it says otherwise, opened for a plan at 1,000 pixels and more for a "
        "panorama, whose light is averaged; beside Pillow's `thumbnail`, which averages encoded "
        "numbers. Memory is the most that the whole process took, its imports included."
    )
    columns = "file [MB] | opened at | memory [MB] | CPU [s] | thumbnail: memory [MB] | CPU [s]"
    lines = [
        "# Large pictures, measured",
        "",
        lead,
        "",
        f"| | {columns} |",
        f"|{'---|' * 7}",
        *rows,
    ]
    RESULT.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        told = opened(sys.argv[1], Path(sys.argv[2]))
        print(f"{told} | {most_memory() / 1e6:.0f} | {process_time():.1f}")
    else:
        main()
