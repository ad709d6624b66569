"""How large a kept result is, and how long it takes to write and to read it back.

Run from the root of the project: ``python benchmarks/jobs.py``. Beside it, the same result in the
JSON that the command line writes, which rounds and can't be read back.
"""

import tempfile
import time
import zlib
from collections.abc import Callable
from pathlib import Path

from laydown.app.encoding import from_text, to_json, to_text
from laydown.app.fits import Supplies
from laydown.app.library import open_named
from laydown.app.matches.colors import Asking, MakeChart, make_chart
from laydown.app.supplies.kits import create_kit, own_colorants
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.app.tasks import GivenFile
from laydown.demo.files import (
    CLASS_PAPER,
    LESSON_FILE,
    STUDENTS_RANGE,
    SWATCH_FILES,
    read_bytes,
)
from laydown.plan.chart import Chart


def chart_of_the_demo(folder: Path) -> Chart:
    """Convert the demo's lesson to the student's range."""
    library = open_named(str(folder / "library.db"))
    try:
        files = tuple(GivenFile(read_bytes(name), name) for name in SWATCH_FILES)
        import_swatches(library, ImportSwatches(files))
        create_kit(library, "student")
        own_colorants(library, "student", ranges=(STUDENTS_RANGE,))
        asking = Asking(Supplies(kit="student", paper=CLASS_PAPER))
        lesson = read_bytes(LESSON_FILE)
        return make_chart(library, MakeChart(file=lesson, source=LESSON_FILE, asking=asking))
    finally:
        library.close()


def seconds(work: Callable[[], object]) -> float:
    """Return the shortest of five times."""
    times = []
    for _ in range(5):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        chart = chart_of_the_demo(Path(folder))
    text = to_text(chart)
    packed = zlib.compress(text.encode())
    print(f"chart of {len(chart.matches)} colors")
    print(f"kept text        {len(text) / 1e3:8.0f} kB, packed {len(packed) / 1e3:.0f} kB")
    print(f"JSON for readers {len(to_json(chart)) / 1e3:8.0f} kB")
    print(f"write            {1e3 * seconds(lambda: to_text(chart)):8.1f} ms")
    print(f"pack             {1e3 * seconds(lambda: zlib.compress(text.encode())):8.1f} ms")
    print(f"read back        {1e3 * seconds(lambda: from_text(text, Chart)):8.1f} ms")
    print(f"JSON for readers {1e3 * seconds(lambda: to_json(chart)):8.1f} ms")


if __name__ == "__main__":
    main()
