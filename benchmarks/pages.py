"""How long pages take with 2,000 colorants and 24,000 swatches: recorded, not asserted.

Run it with ``python benchmarks/pages.py``; it takes some minutes, most of them to fill a library
with invented dyes, and writes benchmarks/results/pages.csv. The bench is a process of its own, as
a person starts it. Beside the pages stand a file that is only handed over by the same server, and
the command line's answer to the same question in a process of its own, in the same run.
"""

import csv
import http.client
import os
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from laydown.app.library import open_named
from laydown.color.spectra import WAVELENGTHS
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.media.swatch import Basis, Swatch
from laydown.web.rendering import PLACES
from laydown.web.running import own_cookie

RESULTS = Path(__file__).parent / "results" / "pages.csv"
PAPERS = ("Gannet smooth", "Heron laid", "Tern rough", "Skua board")
RANGES, COLORANTS = 20, 100
KIT, OWNED = "evening", 120
PAPER_WHITE = 0.88
TIMES, SEED = 60, 7
PAGES = {
    "a file": ("/static/bench.js", ""),
    "first page": ("/", "100"),
    "kits": ("/kits", "100"),
    "a kit of 120": (f"/kit?name={KIT}&typed=re", "100"),
    "papers": ("/papers", "100"),
    "a paper": ("/paper?name=Heron+laid", "100"),
    "swatches": ("/swatches", "100"),
    "swatches, filtered, later": ("/swatches?range=Range+3&paper=Heron+laid&skip=200", "100"),
    "swatches with a colorant": ("/swatches?color=Range+3/Dye+7", "100"),
    "a range of 100 on a paper": ("/range?name=Range+3&paper=Heron+laid", "100"),
    "sheets": ("/sheets", "100"),
    "history": ("/history", "100"),
    "names while typing": ("/names?begins=Dye+4", "100"),
    "one color, 120 colorants": (
        f"/color?kit={KIT}&paper=Gannet+smooth&wanted=lab:60,{{a}},20",
        "250",
    ),
    "a box of 120": (f"/box?kit={KIT}&paper=Gannet+smooth", "100"),
    "what one of 120 makes": (f"/over?kit={KIT}&paper=Gannet+smooth&color=Range+1/Dye+7", "300"),
    "work": ("/work", "100"),
    "the guide": ("/guide", "100"),
    "search": ("/find?q=Dye+4", "100"),
    "partners among 120": (
        f"/partners?kit={KIT}&paper=Gannet+smooth&color=Range+1/Dye+7",
        "300",
    ),
    "lightfastness": ("/light/classes", "100"),
    "window test": ("/light/window", "100"),
}


def pages() -> dict[str, tuple[str, str]]:
    """Return what is measured: the pages above, and every other place in the list of places."""
    listed = {path for path, _ in PAGES.values()}
    places = [place for _, _, parts in PLACES for place in parts]
    others = {name.lower(): (path, "100") for name, path in places if path not in listed}
    return {**PAGES, **others}


def main() -> None:
    """Fill, serve, measure, print and write."""
    with tempfile.TemporaryDirectory() as folder:
        location = str(Path(folder) / "library.db")
        fill(location)
        rows = served(location)
        rows.append(["laydown kit list", f"{1000 * commanded(location):.0f}", "", "", "", ""])
    RESULTS.parent.mkdir(exist_ok=True)
    with RESULTS.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["page", "median [ms]", "p95 [ms]", "goal [ms]", "kilobytes", "cores"])
        writer.writerows(rows)
    for name, median, p95, goal, size, _ in rows:
        print(f"{name:30} median {median:>5} ms  p95 {p95:>5} ms  goal {goal:>4}  {size} KB")


def fill(location: str) -> None:
    """Put invented dyes into a library: one coat, two coats and a pair of each, on four papers."""
    chance = np.random.default_rng(SEED)
    library = open_named(location)
    everyone = []
    with library.work("fill") as work:
        for number in range(RANGES):
            dyes = [Colorant(f"Dye {n}", f"Range {number}") for n in range(COLORANTS)]
            everyone += dyes
            work.add_swatches([s for paper in PAPERS for s in swatches(dyes, paper, chance)])
        work.add_kit(KIT)
        work.own(KIT, everyone[:OWNED])
    library.close()


def swatches(dyes: list[Colorant], paper: str, chance: np.random.Generator) -> list[Swatch]:
    """Return the bare paper, and the swatches of dyes on it."""
    middles = chance.uniform(400, 700, len(dyes))
    widths = chance.uniform(25, 120, len(dyes))
    depths = chance.uniform(0.2, 2.5, len(dyes))
    bands = np.exp(-(((WAVELENGTHS - middles[:, None]) / widths[:, None]) ** 2))
    absorbed = depths[:, None] * bands
    made = [measured(paper, Recipe(), 0.0 * absorbed[0])]
    for place, dye in enumerate(dyes):
        other = (place + 1) % len(dyes)
        made += [
            measured(paper, Recipe((Step(dye),)), absorbed[place]),
            measured(paper, Recipe((Step(dye, Laydown(coats=2)),)), 2 * absorbed[place]),
            measured(
                paper, Recipe((Step(dye), Step(dyes[other]))), absorbed[place] + absorbed[other]
            ),
        ]
    return made


def measured(paper: str, recipe: Recipe, absorbed: np.ndarray) -> Swatch:
    """Return a swatch of clear dye on a paper."""
    return Swatch(paper, recipe, PAPER_WHITE * np.exp(-absorbed), Basis.SPECTRUM, 0.5)


def served(location: str) -> list[list[str]]:
    """Open the bench, and measure its pages."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "laydown", "serve", "--no-browser", "--port", str(port)]
    bench = subprocess.Popen([*command, "--db", location], stdout=subprocess.DEVNULL)
    try:
        wait_for(port)
        return [row(port, name, path, goal) for name, (path, goal) in pages().items()]
    finally:
        bench.terminate()
        bench.wait()


def wait_for(port: int) -> None:
    """Wait until the bench answers, and until it has warmed up."""
    for _ in range(240):
        try:
            ask(port, "/static/mark.svg", times=1)
            break
        except OSError:
            time.sleep(0.5)
    time.sleep(15)


def row(port: int, name: str, path: str, goal: str) -> list[str]:
    """Measure one page after it was opened once."""
    ask(port, path, times=1)
    taken, size = ask(port, path, times=TIMES)
    median, p95 = (1000 * np.percentile(taken, share) for share in (50, 95))
    return [name, f"{median:.0f}", f"{p95:.0f}", goal, f"{size / 1000:.0f}", str(os.cpu_count())]


def ask(port: int, path: str, *, times: int) -> tuple[list[float], int]:
    """Ask for a page again and again; another color each time where its path has a place for it."""
    connection, taken, size = http.client.HTTPConnection("127.0.0.1", port), [], 0
    for turn in range(times):
        begun = time.perf_counter()
        path_asked = path.replace("{a}", str(turn % 40 - 10))
        connection.request("GET", path_asked, headers=own_cookie(port))
        answer = connection.getresponse()
        size = len(answer.read())
        taken.append(time.perf_counter() - begun)
        if answer.status != 200:
            raise RuntimeError(f"{path} was answered with {answer.status}.")
    connection.close()
    return taken, size


def commanded(location: str) -> float:
    """Return how long the other door takes for a list, as a process of its own [s]."""
    begun = time.perf_counter()
    command = [sys.executable, "-m", "laydown", "kit", "list", "--db", location, "-q"]
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
