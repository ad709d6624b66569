"""Whether the page that answers says what a match says: `python benchmarks/answer_page.py`.

Two lessons of 25 colors: the demo's, from two ranges of markers together, and colors drawn at
random, from the larger range. Random kits of 3 to 48 markers, 200 unless a smaller number is given
(and after it the lessons, `lemons` or `drawn`), are asked for all colors in Chromium. Within what a
page lists, recipe and cost must be the match's own; beyond it no dearer than the best of two steps.
What came of each kit is kept in `results/answer_page.csv` at once: begun again, the script goes on
with the kits that are left, so that it can be broken off, or two processes have a lesson each.
Pages that it made stay in the folder for temporary files: delete them and the results where the
code has changed. Prints how many answers were of which kind, what a page weighs, what it took to
make, and how long the browser takes to answer after a tick, slowed down to a quarter.
"""

import csv
import os
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise, zip_longest
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import Page, sync_playwright

from laydown.app.demo import add_demo
from laydown.app.fits import Supplies, SuppliesAtHand, set_up
from laydown.app.lessons.lessons import LessonAsked, new_lesson, read_lesson, write_lesson
from laydown.app.lessons.pages import make_lesson_page
from laydown.app.matches.colors import Asking, find_match, question_of
from laydown.app.matches.targets import targets_of_lesson
from laydown.color.lab import lab_from_lch, xyz_from_lab
from laydown.match.judge import own
from laydown.match.outcome import Target
from laydown.match.question import AHEAD, Question
from laydown.match.ranking import Found, Ranking, Wanted, Watch
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.search import search_many, search_once
from laydown.match.words import instructions
from laydown.store.library import Library, open_library

HERE = Path(__file__).parent
DEMO = HERE.parent / "src" / "laydown" / "demo" / "data"
RESULTS = HERE / "results" / "answer_page.csv"
PAPER = "Gannet smooth"
CHROMIUM = "/usr/bin/chromium"
SLOWED, COLORS = 4, 25
KITS = 200
"""Drawn all, however many are asked for, since what is kept is told by a kit's number."""
WHOLE = 20
"""Every so many kits are asked for whole matches; the others for what these choose by."""
SAME = 1e-3
ROUNDED = 0.011
"""The page has costs in thousandths, those of pairs beyond what is listed in fiftieths."""
NEARLY = 0.1
"""Of two sets of colorants a page tells apart what differs by more."""
ANSWERS = """kits => kits.map((kit) => PAGE.colors.map((color) => {
  const owned = new Set(kit);
  const way = answer(color, owned);
  return [listFor(color, owned).exact, way.cost, way.steps.map((step) => step.words)];
}))"""
TICK = """n => {
  [...by("own").querySelectorAll("input")][n].click();
  document.body.offsetHeight;
}"""
SPENT = {"ScriptDuration", "LayoutDuration", "RecalcStyleDuration"}
"""What a tick asks of the page's thread until all is found, drawn and laid out."""
KINDS = (
    "same",
    "same, beyond",
    "best of two, beyond",
    "nearly, beyond",
    "dearer",
    "wrong",
    "nearer",
)
"""The match's own; beyond what is listed, the same all the same, or no dearer than the best of two
steps, or by less than `NEARLY`; dearer than that; within what is listed another one; and one there
that costs less than the match's, which looks at no more than its shortlist."""


def compared(
    library: Library, name: str, text: bytes, ranges: tuple[str, ...], kits: int
) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Make a page and ask it for all kits, then compare one after the other with matches."""
    asking = Asking(Supplies(ranges=ranges, paper=PAPER))
    bench = set_up(library, asking.supplies)
    targets = targets_of_lesson(read_lesson(text, source="lesson"), bench.swatched)
    html = page_of(library, name, LessonAsked(text, "lesson", asking))
    usable = [c for c in bench.whole.colorants if c.label not in bench.without]
    rng, count = np.random.default_rng(7), len(usable)
    sizes = np.minimum(rng.integers(3, 49, KITS), count)
    owned = [rng.choice(count, size, replace=False).tolist() for size in sizes[:kits].tolist()]
    answers, ticks = answered(html, owned)
    print(
        f"{name}, {' and '.join(ranges)}: {len(html.encode()) / 1000:.0f} kB; a tick takes"
        f" {np.median(ticks):.0f} ms, at most {max(ticks):.0f}",
        flush=True,
    )
    done = kept()
    for place, (places, shown) in enumerate(zip(owned, answers, strict=True)):
        if (name, place) in done:
            continue
        without = frozenset(c.label for at, c in enumerate(usable) if at not in places)
        kit = SuppliesAtHand("kit", bench.whole, bench.swatched, without, bench.over, ())
        best = matched(targets, kit, asking, whole=not place % WHOLE)
        pairs = matched(targets, kit, replace(asking, steps=2))
        told = Counter(verdict(*one) for one in zip(shown, best, pairs, strict=True))
        yield place, (len(places), *(told[kind] for kind in KINDS))


def page_of(library: Library, name: str, asked: LessonAsked) -> str:
    """Make a page and tell what it took, or take it from where an earlier run has left it."""
    file = Path(tempfile.gettempdir()) / f"laydown answer page {name}.html"
    if not file.exists():
        begin = time.process_time()
        html = make_lesson_page(library, asked).html
        print(f"{name}: {time.process_time() - begin:.0f} s of CPU to make", flush=True)
        file.write_text(html, encoding="utf-8")
    return file.read_text(encoding="utf-8")


Kept = dict[tuple[str, int], tuple[int, ...]]
"""By lesson and number of a kit: how many markers it has, and answers of each of `KINDS`."""


def kept() -> Kept:
    """Return what an earlier run found."""
    if not RESULTS.exists():
        return {}
    with RESULTS.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    return {(name, int(kit)): tuple(map(int, rest)) for name, kit, *rest in rows}


def keep(done: Kept) -> None:
    """Write what was found so far, at once: another process may have the other lesson."""
    part = RESULTS.with_suffix(f".{os.getpid()}")
    with part.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["lesson", "kit", "markers", *KINDS])
        rows.writerows([name, kit, *found] for (name, kit), found in sorted(done.items()))
    part.replace(RESULTS)


def print_totals(name: str, done: Kept) -> None:
    """Print how many answers were of which kind."""
    found = [row for (lesson, _), row in done.items() if lesson == name]
    totals = dict(zip(KINDS, np.sum([row[1:] for row in found], axis=0).tolist(), strict=True))
    print(f"  of {len(found)} kits: {totals}", flush=True)


Answer = tuple[float, Sequence[str]]
"""What a recipe costs, and its steps in words."""


def verdict(shown: tuple[float, float, Sequence[str]], best: Answer, pair: Answer) -> str:
    """Say what an answer of the page is, beside matches of three steps at most, and of two."""
    limit, cost, words = shown
    within = min(cost, best[0]) <= limit
    if list(words) == list(best[1]) and abs(cost - best[0]) < (SAME if within else NEARLY):
        return KINDS[0] if within else KINDS[1]
    if within:
        return KINDS[6] if cost < best[0] - SAME else KINDS[5]
    if cost <= pair[0] + ROUNDED:
        return KINDS[2]
    return KINDS[3] if cost <= pair[0] + NEARLY else KINDS[4]


def matched(
    targets: Sequence[Target], kit: SuppliesAtHand, asking: Asking, *, whole: bool = False
) -> list[Answer]:
    """Return matches' recipes and costs: of whole matches, or of what these choose by alone.

    One pass over all recipes finds the nearest for all colors of one ranking.
    """
    if whole:
        found = [find_match(target, kit, asking, watch=None).best for target in targets]
        return [(best.cost, instructions(best.prediction.recipe)) for best in found]
    nearest: dict[tuple[Ranking, bytes], Found] = {}
    alike: dict[Ranking, list[Question]] = {}
    for question in (question_of(target, kit, asking) for target in targets):
        alike.setdefault(question.ranking, []).append(question)
    for ranking, some in alike.items():
        one = some[0]
        space = recipe_space(one.fit, limits=one.limits, ranking=ranking, over=one.over)
        wanted = [Wanted(question.target.lab, AHEAD) for question in some]
        for color, few in zip(wanted, search_many(space, wanted), strict=True):
            nearest[ranking, color.lab.tobytes()] = few

    def known(space: RecipeSpace, wanted: Wanted, watch: Watch | None) -> Found:
        if wanted.top is None:  # those further ones that may be better all the same
            return search_once(space, wanted, watch)
        return nearest[space.ranking, wanted.lab.tobytes()]

    asked = [question_of(target, kit, asking, known) for target in targets]
    recipes = [own(question) or question.find().recipes[0] for question in asked]
    return [(q.cost(r), instructions(r)) for q, r in zip(asked, recipes, strict=True)]


def answered(html: str, owned: list[list[int]]) -> tuple[Any, list[float]]:
    """Ask the page in Chromium: up to what costs it lists, its answers, and milliseconds a tick."""
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as place:
        file = Path(place) / "page.html"
        file.write_text(html, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page()
        page.set_default_timeout(600_000)
        page.goto(file.as_uri())
        page.wait_for_selector("body.ready")
        answers = page.evaluate(ANSWERS, owned)
        ticks = [tick for kit in ([], owned[0]) for tick in _ticks(page, kit)]
        browser.close()
    return answers, ticks


def _ticks(page: Page, kit: list[int]) -> list[float]:
    """Return processor time of each of thirty ticks [ms], as if it took four times as much."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def spent() -> float:
        told = session.send("Performance.getMetrics")["metrics"]
        return sum(float(one["value"]) for one in told if one["name"] in SPENT)

    page.evaluate("kit => { owned = new Set(kit); refresh(); document.body.offsetHeight; }", kit)
    times = [spent()]
    for n in range(30):
        page.evaluate(TICK, n)
        times.append(spent())
    return [1000 * SLOWED * (after - before) for before, after in pairwise(times)]


def drawn_colors() -> bytes:
    """Return a lesson of colors drawn at random, as surfaces on paper have them."""
    rng = np.random.default_rng(11)
    lch = rng.uniform([20.0, 0.0, 0.0], [95.0, 1.0, 360.0], (COLORS, 3))
    lch[:, 1] *= np.minimum(0.6 * lch[:, 0], 5.0 + 1.2 * (100.0 - lch[:, 0]))
    xyz = xyz_from_lab(lab_from_lch(lch))
    colors = "".join(
        f"color: {place}\n  xyz: {' '.join(f'{x:.4f}' for x in one)}\n"
        for place, one in enumerate(xyz.tolist(), 1)
    )
    return f"laydown lesson 1\ntitle: Drawn\npaper: {PAPER}\npassage: all\n{colors}".encode()


def main() -> None:
    """Compare both pages."""
    kits = int(sys.argv[1]) if len(sys.argv) > 1 else KITS
    with tempfile.TemporaryDirectory() as place:
        library = open_library(Path(place) / "library.db")
        add_demo(library)
        content = (DEMO / "lemons_in_a_blue_bowl.csv").read_bytes()
        made = write_lesson(new_lesson(library, content, "lemons.csv", paper=PAPER))
        pages = {
            "lemons": partial(compared, library, "lemons", made, ("Estuary", "Orchard"), kits),
            "drawn": partial(compared, library, "drawn", drawn_colors(), ("Estuary",), kits),
        }
        names, found_here = sys.argv[2:] or list(pages), dict[tuple[str, int], tuple[int, ...]]()
        for found in zip_longest(*(pages[name]() for name in names)):  # by turns: it may be ended
            for name, one in zip(names, found, strict=True):
                if one is not None:
                    found_here[name, one[0]] = one[1]
                    keep({**kept(), **found_here})
        for name in names:
            print_totals(name, kept())
        library.close()


if __name__ == "__main__":
    main()
