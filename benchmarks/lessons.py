"""Fifty random lessons: the palette as a whole beside the nearest recipes color by color.

Run it as ``python benchmarks/lessons.py [COUNT]``; results go to standard output as CSV and are
committed as ``benchmarks/lessons_results.csv``. Each lesson has five to seven passages of three to
five colors, to be made from an invented range of 8 to 24 dyes.
"""

import csv
import sys
import time

import numpy as np

from laydown.color.spectra import WAVELENGTHS
from laydown.match.question import Question
from laydown.match.ranking import NOTHING, VALUE_FIRST
from laydown.match.search.repertoire import SHORT, repertoire
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch
from laydown.plan.lesson.conversion import convert, nearest, options
from laydown.plan.lesson.lesson import Lesson, LessonColor

WHITE = np.full(36, 0.88)


def dyes(rng: np.random.Generator, count: int) -> np.ndarray:
    """Invent dyes of one to three broad bands, absorption of one coat, shape (count, 36)."""
    made = []
    for _ in range(count):
        bands = np.full(36, rng.uniform(0, 0.15))
        for _ in range(rng.integers(1, 4)):
            middle, breadth = rng.uniform(400, 680), rng.uniform(30, 70)
            bands = bands + rng.uniform(0.2, 1) * np.exp(-(((WAVELENGTHS - middle) / breadth) ** 2))
        made.append(np.exp(rng.normal(-0.2, 0.8)) * bands / bands.max())
    return np.array(made)


def kit(rng: np.random.Generator, count: int) -> MarkerFit:
    """Fit a range of clear films from one and two coats."""
    paper = Paper("invented", WHITE)
    swatches = [Swatch(paper.name, Recipe(), WHITE)]
    for number, dye in enumerate(dyes(rng, count)):
        for coats in (1, 2):
            step = Step(Colorant(f"dye {number}", "invented"), Laydown(coats=coats))
            seen = WHITE * np.exp(-(0.2 + 0.8 * coats) * dye)
            swatches.append(Swatch(paper.name, Recipe((step,)), seen))
    return fit_markers(swatches, paper)


def lesson(rng: np.random.Generator) -> Lesson:
    """Invent a lesson of five to seven passages, each of about one hue from light to dark."""
    colors = []
    for passage in range(rng.integers(5, 8)):
        dye = dyes(rng, 2)
        for depth in np.sort(rng.uniform(0.15, 2.5, rng.integers(3, 6))):
            seen = WHITE * np.exp(-depth * dye[0] - 0.3 * depth**2 * dye[1])
            colors.append(LessonColor(f"{len(colors)}", f"passage {passage}", reflectance=seen))
    return Lesson("invented", "invented", tuple(colors))


HEADER = (
    *("lesson", "colorants", "colors", "broken singly", "broken", "mean singly", "mean"),
    *("ratio", "departures", "cost", "bound", "proven", "s"),
)


def main() -> None:
    """Run the benchmark."""
    out = csv.writer(sys.stdout)
    out.writerow(HEADER)
    totals = np.zeros(2)
    for number in range(int(sys.argv[1]) if len(sys.argv) > 1 else 50):
        rng = np.random.default_rng(1000 + number)
        fit = kit(rng, int(rng.integers(8, 25)))
        wanted = lesson(rng)
        begin = time.perf_counter()
        asked = [Question(t, fit, SHORT, VALUE_FIRST, 2.25, NOTHING) for t in wanted.targets]
        found = options(asked, repertoire(fit), wanted.weights)
        made = convert(wanted, found, nearest(found))
        took = time.perf_counter() - begin
        totals += len(made.broken_singly), len(made.broken)
        cells = [number, len(fit.colorants), len(wanted.colors)]
        cells += [len(made.broken_singly), len(made.broken)]
        numbers = (made.mean_singly, made.mean, made.mean / max(made.mean_singly, 1e-9))
        rest = [*(f"{x:.3f}" for x in numbers), len(made.departures)]
        rest += [f"{made.optimum.cost:.3f}", f"{made.optimum.bound:.3f}"]
        out.writerow([*cells, *rest, made.optimum.proven, f"{took:.1f}"])
        sys.stdout.flush()
    print(f"in all,,,{totals[0]:.0f},{totals[1]:.0f},,,,,,,,")


if __name__ == "__main__":
    main()
