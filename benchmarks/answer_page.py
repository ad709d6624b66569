"""Whether the page that answers says what a match says: `python benchmarks/answer_page.py [KITS]`.

The demo's lesson, from its larger range of markers and from both together: random kits of 3 to 48
of them, 200 unless told otherwise, each asked for all 25 colors of the page in Chromium. Within
what a page lists, recipe and cost must be the match's own; beyond it no dearer than the best single
one, nor than the best pair that it lists. Prints how many were, what the page weighs, what it took
to make beside matching the lesson once, and how long the browser takes to answer after a tick,
slowed down to a quarter.
"""

import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import Page, sync_playwright

from laydown.app.demo import add_demo
from laydown.app.fits import Supplies, SuppliesAtHand, set_up
from laydown.app.lessons.lessons import LessonAsked, new_lesson, read_lesson, write_lesson
from laydown.app.lessons.pages import ABOVE, make_lesson_page
from laydown.app.matches.colors import Asking, find_match, question_of
from laydown.app.matches.targets import targets_of_lesson
from laydown.match.judge import own
from laydown.match.outcome import Target
from laydown.match.question import SHORTLIST, Question
from laydown.match.ranking import Found, Ranking, Wanted, Watch
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.search import search_many
from laydown.match.words import instructions
from laydown.store.library import Library, open_library

DEMO = Path(__file__).parent.parent / "src" / "laydown" / "demo" / "data"
PAPER = "Gannet smooth"
CHROMIUM = "/usr/bin/chromium"
SLOWED = 4
WHOLE = 20
"""Every so many kits are asked for whole matches; the others for what these choose by."""
SAME = 1e-3
"""The page has costs in thousandths."""
ANSWERS = """kits => kits.map((kit) => PAGE.colors.map((color) => {
  const way = answer(color, new Set(kit));
  return [way.cost, way.steps.map((step) => step.words)];
}))"""
TICK = """n => {
  [...by("own").querySelectorAll("input")][n].click();
  document.body.offsetHeight;
}"""
SPENT = {"ScriptDuration", "LayoutDuration", "RecalcStyleDuration"}
"""What a tick asks of the page's thread until all is found, drawn and laid out."""


def compare(library: Library, text: bytes, ranges: tuple[str, ...], kits: int) -> None:
    """Compare one page with matches, and print what came of it."""
    asking = Asking(Supplies(ranges=ranges, paper=PAPER))
    bench = set_up(library, asking.supplies)
    targets = targets_of_lesson(read_lesson(text, source="lesson"), bench.swatched)
    begin = time.process_time()
    made = make_lesson_page(library, LessonAsked(text, "lesson", asking))
    took = time.process_time() - begin
    begin = time.process_time()
    for target in targets:
        find_match(target, bench, asking, watch=None)
    once = time.process_time() - begin
    usable = [c for c in bench.whole.colorants if c.label not in bench.without]
    rng, count = np.random.default_rng(7), len(usable)
    sizes = np.minimum(rng.integers(3, 49, kits), count)
    owned = [rng.choice(count, size, replace=False).tolist() for size in sizes.tolist()]
    limits, answers, ticks = answered(made.html, owned)
    print(
        f"{' and '.join(ranges)}: {len(made.html) / 1000:.0f} kB, {took:.0f} s of CPU,"
        f" {took / once:.1f} times matching it once; a tick takes {np.median(ticks):.0f} ms, at"
        f" most {max(ticks):.0f}",
        flush=True,
    )
    told = Counter[str]()
    for place, (places, shown) in enumerate(zip(owned, answers, strict=True)):
        without = frozenset(c.label for at, c in enumerate(usable) if at not in places)
        kit = SuppliesAtHand("kit", bench.whole, bench.swatched, without, bench.over, ())
        best = matched(targets, kit, asking, whole=not place % WHOLE)
        pairs = matched(targets, kit, replace(asking, steps=2))
        singles = matched(targets, kit, replace(asking, steps=1))
        for limit, answer, *known in zip(limits, shown, best, pairs, singles, strict=True):
            told[verdict(limit, answer, *known)] += 1
        if not (place + 1) % WHOLE or place + 1 == kits:
            print(f"  of {place + 1} kits: {dict(told)}", flush=True)


Answer = tuple[float, Sequence[str]]
"""What a recipe costs, and its steps in words."""


def verdict(limit: float, shown: Answer, best: Answer, pair: Answer, single: Answer) -> str:
    """Say what an answer of the page is, beside matches of three steps at most, two and one."""
    if abs(shown[0] - best[0]) < SAME and list(shown[1]) == list(best[1]):
        return "same" if best[0] <= limit else "same, beyond what is listed"
    listed = min(single[0], pair[0] if pair[0] <= limit + ABOVE else np.inf)
    if min(shown[0], best[0]) <= limit or shown[0] > listed + SAME:
        return "other"
    return "best of what is listed"


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
        wanted = [Wanted(question.target.lab, SHORTLIST) for question in some]
        for color, few in zip(wanted, search_many(space, wanted), strict=True):
            nearest[ranking, color.lab.tobytes()] = few

    def known(space: RecipeSpace, wanted: Wanted, _: Watch | None) -> Found:
        return nearest[space.ranking, wanted.lab.tobytes()]

    asked = [question_of(target, kit, asking, known) for target in targets]
    recipes = [own(question) or question.find().recipes[0] for question in asked]
    return [(q.cost(r), instructions(r)) for q, r in zip(asked, recipes, strict=True)]


def answered(html: str, owned: list[list[int]]) -> tuple[Any, Any, list[float]]:
    """Ask the page in Chromium: up to what costs it lists, its answers, and milliseconds a tick."""
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as place:
        file = Path(place) / "page.html"
        file.write_text(html, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page()
        page.goto(file.as_uri())
        page.wait_for_selector("body.ready")
        limits = page.evaluate("PAGE.colors.map((color) => color.exact)")
        answers = page.evaluate(ANSWERS, owned)
        ticks = [tick for kit in ([], owned[0]) for tick in _ticks(page, kit)]
        browser.close()
    return limits, answers, ticks


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


def main() -> None:
    """Compare both pages."""
    kits = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as place:
        library = open_library(Path(place) / "library.db")
        add_demo(library)
        content = (DEMO / "lemons_in_a_blue_bowl.csv").read_bytes()
        made = new_lesson(library, content, "lemons.csv", paper=PAPER)
        for ranges in (("Estuary",), ("Estuary", "Orchard")):
            compare(library, write_lesson(made), ranges, kits)
        library.close()


if __name__ == "__main__":
    main()
