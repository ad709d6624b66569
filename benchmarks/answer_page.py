"""Whether the page that answers says what a match says: `python benchmarks/answer_page.py [KITS]`.

The demo's lesson, from its larger range of markers and from both together: random kits of 3 to 48
of them, 200 unless told otherwise, each asked for all 25 colors. Within what a page lists, recipe
and cost must be the match's own. Prints how many were, what the page weighs, and what it took to
make beside matching the lesson once.
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from laydown.app.demo.adding import add_demo
from laydown.app.fits.at_hand import Supplies, SuppliesAtHand, set_up
from laydown.app.lessons.lessons import NewLesson, new_lesson, read_lesson
from laydown.app.lessons.pages import MakeLessonPage, answer_page, make_lesson_page
from laydown.app.matches.colors import Asking, find_match
from laydown.app.matches.targets import targets_of_lesson
from laydown.documents.page.page import PageColor, PageWay
from laydown.media.colorant import Colorant
from laydown.store.library import Library, open_library

DEMO = Path(__file__).parent.parent / "src" / "laydown" / "demo" / "data"
PAPER = "Gannet smooth"


def first_way(color: PageColor, kit: set[Colorant]) -> PageWay:
    """Return what the page's script finds for a kit."""
    ways = color.ways if not color.near or kit & set(color.near) else color.apart
    return next(way for way in ways if set(way.recipe.colorants) <= kit)


def compare(library: Library, text: bytes, ranges: tuple[str, ...], kits: int) -> None:
    """Compare one page with matches, and print what came of it."""
    asking = Asking(Supplies(ranges=ranges, paper=PAPER))
    bench = set_up(library, asking.supplies)
    begin = time.process_time()
    made = make_lesson_page(library, MakeLessonPage(text, "lesson", asking))
    took = time.process_time() - begin
    targets = targets_of_lesson(read_lesson(text, source="lesson"), bench.swatched)
    page = answer_page("", targets, bench, asking)
    begin = time.process_time()
    for target in targets:
        find_match(target, bench, asking, watch=None)
    once = time.process_time() - begin
    usable = [colorant for colorant, _ in page.colorants]
    rng, same, other, beyond = np.random.default_rng(7), 0, 0, 0
    for _ in range(kits):
        size = int(rng.integers(3, 49))
        kit = {usable[i] for i in rng.choice(len(usable), min(size, len(usable)), replace=False)}
        without = frozenset(c.label for c in bench.whole.colorants if c not in kit)
        own = SuppliesAtHand("kit", bench.whole, bench.swatched, without, bench.over, ())
        for target, color in zip(targets, page.colors, strict=True):
            best, way = find_match(target, own, asking, watch=None).best, first_way(color, kit)
            if best.cost > color.exact:
                beyond += 1
            elif best.prediction.recipe == way.recipe and abs(best.cost - way.cost) < 1e-6:
                same += 1
            else:
                other += 1
    print(
        f"{' and '.join(ranges)}: {len(made.html) / 1000:.0f} kB, {took:.0f} s of CPU,"
        f" {took / once:.1f} times matching it once; of {kits} kits {same} answers the same,"
        f" {other} not, {beyond} beyond what is listed"
    )


def main() -> None:
    """Compare both pages."""
    kits = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as place:
        library = open_library(Path(place) / "library.db")
        add_demo(library)
        content = (DEMO / "lemons_in_a_blue_bowl.csv").read_bytes()
        made = new_lesson(library, NewLesson(content, "lemons.csv", paper=PAPER))
        for ranges in (("Estuary",), ("Estuary", "Orchard")):
            compare(library, made.text.encode(), ranges, kits)
        library.close()


if __name__ == "__main__":
    main()
