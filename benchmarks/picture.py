"""A picture of 12 megapixels planned and made from 120 colorants, beside a tree asked by pixel.

Run: python benchmarks/picture.py
Each side runs in a process of its own, from the file's bytes to a PNG: CPU time of the whole
process, start-up included, and the most memory it took. One picture is the demo's drawing of
lemons, drawn large, with soft edges and grain; the other is the same with hues and values that
drift all over it, so that its palette is as large as palettes get and much of it is out of reach.
The kit is that of benchmarks/search.py. The table goes to benchmarks/results/picture.md.
"""

import io
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
from memory import most_memory
from PIL import Image
from scipy.spatial import KDTree
from search import fit_of

from laydown.app.fits import SuppliesAtHand
from laydown.app.matches.colors import Asking
from laydown.app.pictures.painting import made_from
from laydown.app.pictures.plans import LONGEST, panels
from laydown.color.lab import ciede2000
from laydown.color.screen import screen_pixels
from laydown.demo.lemons import draw_lemons
from laydown.imaging.picture import open_picture
from laydown.imaging.preview import side_by_side
from laydown.match.search.repertoire import repertoire
from laydown.media.recipe import Recipe
from laydown.plan.picture.picture import PlanRules
from laydown.plan.picture.plan import make_plan

RESULT = Path(__file__).parent / "results" / "picture.md"
COLUMNS, ROWS = 4242, 2828
COLORANTS = 120
SIDES = {
    "lemons: plan, recipes of up to 2 steps (the usual), preview": ("plan", "lemons", 2),
    "drifting hues: the same": ("plan", "drifting", 2),
    "lemons: the same with up to 3 steps": ("plan", "lemons", 3),
    "lemons: tree of all recipes of up to 2 steps, asked for each pixel": ("tree", "lemons", 2),
}
AT_ONCE = 2_000_000
"""Pixels that the tree is asked at a time, so that its memory stays bounded, too."""


def picture(path: Path, kind: str) -> None:
    """Draw a picture, make it large, add grain, and save it as a JPEG."""
    lab = draw_lemons(rows=707, columns=1060, grain=0.0)[0]
    if kind == "drifting":
        y, x = np.mgrid[: lab.shape[0], : lab.shape[1]] / 1000
        lab[..., 0] = np.clip(lab[..., 0] + 15 * np.sin(4 * x * y + 2), 5, 97)
        lab[..., 1] += 40 * np.sin(6 * x + 3 * y)
        lab[..., 2] += 30 * np.cos(5 * y + 2 * x)
    drawn = Image.fromarray(screen_pixels(lab))
    large = np.asarray(drawn.resize((COLUMNS, ROWS), Image.Resampling.BICUBIC))
    grain = np.random.default_rng(12).normal(0.0, 6.0, large.shape).astype(np.float32)
    Image.fromarray(np.clip(large + grain, 0, 255).astype(np.uint8)).save(path, "JPEG", quality=90)


def planned(data: bytes, steps: int) -> str:
    """Plan the picture, find its recipes, and draw the preview."""
    opened = open_picture(data, source="large.jpg", longest=LONGEST)
    plan = make_plan(opened.lab.astype(np.float64), PlanRules(), opaque=opened.opaque)
    fit = fit_of(COLORANTS)
    bench = SuppliesAtHand("kit", fit, fit, frozenset(), Recipe(), ())
    kit = made_from(bench, plan, Asking(steps=steps))
    side_by_side(panels(replace(plan, kits=(kit,))))
    recipes = len({match.best.prediction.recipe.key for match in kit.matches})
    told = f"{recipes} recipes in {len(plan.values.regions)} regions"
    return f"{told} | {kit.lost.flattened:.1f} | {kit.lost.mean:.2f}"


def asked_by_pixel(data: bytes) -> str:
    """Give each pixel the nearest of all short recipes in CIELAB, and write the picture."""
    held = repertoire(fit_of(COLORANTS))
    tree, colors = KDTree(held.lab), screen_pixels(held.lab)
    lab = open_picture(data, source="large.jpg").lab.reshape(-1, 3)
    made = np.empty((len(lab), 3), np.uint8)
    used, off = np.zeros(len(held), np.int64), 0.0
    for start in range(0, len(lab), AT_ONCE):
        part = lab[start : start + AT_ONCE].astype(np.float64)
        places = tree.query(part)[1]
        made[start : start + AT_ONCE] = colors[places]
        used += np.bincount(places, minlength=len(held))
        off += float(ciede2000(part, held.lab[places]).sum())
    Image.fromarray(made.reshape(ROWS, COLUMNS, 3)).save(io.BytesIO(), "PNG")
    return f"{np.count_nonzero(used):,} recipes, pixel by pixel | 0.0 | {off / len(lab):.2f}"


def one_side(side: str, path: Path, steps: int) -> None:
    """Do one side's work and print its row."""
    started = perf_counter()
    said = (
        planned(path.read_bytes(), steps) if side == "plan" else asked_by_pixel(path.read_bytes())
    )
    memory = most_memory() / 1e6
    print(f"{process_time():.1f} | {perf_counter() - started:.1f} | {memory:.0f} | {said}")


def main() -> None:
    """Run all sides, each twice since the first may compile, and write the table."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for kind in ("lemons", "drifting"):
            picture(Path(folder) / kind, kind)
        for words, (side, kind, steps) in SIDES.items():
            command = [sys.executable, __file__, side, str(Path(folder) / kind), str(steps)]
            for _ in range(2):
                done = subprocess.run(command, check=True, capture_output=True, text=True)
            rows.append(f"| {words} | {done.stdout.strip()} |")
            print(rows[-1], flush=True)
    lead = (
        f"`python benchmarks/picture.py`: {COLUMNS} × {ROWS} pixels from {COLORANTS} colorants, on "
        "two cores that other work shared. CPU is that of the whole process, start-up included; "
        "off is mean CIEDE2000, by planning against the picture, by the kit against the plan (for "
        "the tree against the picture). A hand can follow the plan, and not the tree."
    )
    columns = "CPU [s] | wall [s] | most memory [MB] | to be laid | off by planning | by the kit"
    lines = ["# Pictures, measured", "", lead, "", f"| | {columns} |", f"|{'---|' * 7}", *rows]
    RESULT.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        one_side(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]))
    else:
        main()
