"""Make the demo's data: invented dyes, swatched by a noisy hand on the simulated bench.

``python tools/make_demo.py`` rewrites ``src/laydown/demo/data``; the same seed gives the same
bytes. The tables beside this script say what was decided by a person: `demo_dyestuffs.csv` (the
dyestuffs that all inks are mixed of), `demo_families.csv` (what each shading family is mixed of)
and `demo_colorants.csv` (every marker's invented name, family, depth and share of soot). Chance
does the rest: no ink is quite its family's mixture, no coat quite even, no reading quite true.
"""

import argparse
import csv
import io
import json
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.demo.oracle import (
    Dye,
    Effects,
    SimulatedBench,
    Slab,
    Steadiness,
    set_up,
    swatch,
    truth,
)
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step, format_recipe
from laydown.media.swatch import Swatch

SEED = 20417
HERE = Path(__file__).parent
DATA = HERE.parent / "src" / "laydown" / "demo" / "data"
BENT = 0.06
"""How far an ink strays from its family's mixture: spread of the logarithm of each part."""
SHIFTED = 2.0
"""How far a maker's dyestuffs stray from the table [nm]."""
TWICE = 10
"""How many colorants are also laid twice."""
PAIRS = 4
"""How many pale and dark pairs are laid in both orders."""
ANCHORS = 8
"""How many colorants are laid on the second paper."""
GANNET = Effects(filling=0.34, lifting=0.7, quick=0.68, soaked=1.32, wet=1.1)
HERON = Effects(filling=0.22, lifting=0.4, quick=0.62, soaked=1.4, wet=1.15)
HANDS = {
    "Estuary": Steadiness(spread=0.05, patchiness=0.015),
    "Orchard": Steadiness(spread=0.06, patchiness=0.02),
}
"""The teacher's hand and the student's: as heavy as each other, the teacher's a little evener."""
COLUMNS = ["range", "medium", "color", "paper", "coats", "stroke", "pressure"]
COLUMNS += ["dilution", "wait", "over", "blender"]
BANDS = [f"{wavelength:.0f}" for wavelength in WAVELENGTHS]
Inks = dict[Colorant, Dye]


def main() -> None:
    """Write every generated file, or into another folder."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--folder", type=Path, default=DATA)
    folder: Path = parser.parse_args().folder
    for name, text in make().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
        print(f"{name}: {len(text.splitlines())} lines")


def make() -> dict[str, str]:
    """Return the text of every generated file."""
    rng = np.random.default_rng(SEED)
    inks = {name: _inks(name, rng) for name in ("Estuary", "Orchard")}
    every = inks["Estuary"] | inks["Orchard"]
    gannet, heron = (set_up(slab, every, effects) for slab, effects in _papers())
    made = {
        "colorants.csv": _table(["range", "color", "medium", "blender"], _colorant_rows(every)),
        "truth_dyes.csv": _table(
            ["range", "color", "solvent", *(f"a{band}" for band in BANDS)], _dye_rows(every)
        ),
        "truth.json": _truth_text((gannet, heron)),
    }
    for name, part in inks.items():
        swatches = _swatch_all(gannet, design(gannet, part), HANDS[name], rng)
        made[f"{name.lower()}_on_gannet_smooth.csv"] = swatches
    anchors = [
        Recipe(),
        *(_one(ink) for ink in _spread(_by_depth(heron, inks["Orchard"]), ANCHORS)),
    ]
    made["orchard_on_heron_laid.csv"] = _swatch_all(heron, anchors, HANDS["Orchard"], rng)
    return made


def design(bench: SimulatedBench, inks: Inks) -> list[Recipe]:
    """Return the minimum design: every ink once, some twice, some in both orders, some blended."""
    ranked = _by_depth(bench, inks)
    twice = [Recipe((Step(ink, Laydown(coats=2)),)) for ink in _spread(ranked, TWICE)]
    third = len(ranked) // 3
    pale = _spread(ranked[:third], PAIRS + 2)[1:-1]
    dark = _spread(ranked[-third:], PAIRS + 2)[-2:0:-1]
    pairs = [
        Recipe((Step(below), Step(above)))
        for one, other in zip(pale, dark, strict=True)
        for below, above in ((one, other), (other, one))
    ]
    washed = [ranked[len(ranked) // 2], ranked[-1]]
    blends = [
        Recipe((Step(below), Step(ink)))
        for ink, dye in inks.items()
        if dye.colorless
        for below in washed
    ]
    return [Recipe(), *(_one(ink) for ink in inks), *twice, *pairs, *blends]


def _by_depth(bench: SimulatedBench, inks: Inks) -> list[Colorant]:
    """Return the inks that have color, palest first."""
    depth = {ink: -truth(bench, _one(ink)).mean() for ink, dye in inks.items() if not dye.colorless}
    return sorted(depth, key=lambda ink: depth[ink])


def _one(ink: Colorant) -> Recipe:
    return Recipe((Step(ink),))


def _spread(ranked: Sequence[Colorant], count: int) -> list[Colorant]:
    return [ranked[round(at)] for at in np.linspace(0, len(ranked) - 1, count)]


def _inks(name: str, rng: np.random.Generator) -> Inks:
    """Mix a range's inks out of a maker's own dyestuffs."""
    stuffs = _dyestuffs(rng)
    families = {row["family"]: row for row in _read("demo_families.csv") if row["range"] == name}
    rows = [row for row in _read("demo_colorants.csv") if row["range"] == name]
    return {
        Colorant(row["color"], name, blender=row["family"] == "blender"): _ink(
            row, families.get(row["family"], {}), stuffs, rng
        )
        for row in rows
    }


def _ink(
    row: dict[str, str],
    family: dict[str, str],
    stuffs: dict[str, FloatArray],
    rng: np.random.Generator,
) -> Dye:
    if not family:
        return Dye(np.zeros_like(WAVELENGTHS), 1.0)
    parts = np.array([float(family[stuff]) for stuff in stuffs])
    parts = parts * np.exp(BENT * rng.standard_normal(parts.shape))
    color = np.tensordot(parts, np.array(list(stuffs.values())), axes=1)
    muted = color + float(row["muting"]) * stuffs["soot"]
    absorption = (float(row["depth"]) * muted + 0.005).round(4)
    load = np.log1p(6.0 * absorption.mean())
    solvent = np.clip(0.9 - 0.18 * load + 0.05 * rng.standard_normal(), 0.1, 0.95)
    return Dye(absorption, round(float(solvent), 3))


def _dyestuffs(rng: np.random.Generator) -> dict[str, FloatArray]:
    shapes: dict[str, FloatArray] = {}
    for row in _read("demo_dyestuffs.csv"):
        center = float(row["center"]) + SHIFTED * rng.standard_normal()
        away = (WAVELENGTHS - center) / float(row["width"])
        if row["kind"] == "edge":
            shapes[row["dyestuff"]] = 0.5 * (1.0 - np.tanh(0.5 * away))
        else:
            shapes[row["dyestuff"]] = np.exp(-0.5 * away**2)
    return shapes


def _papers() -> tuple[tuple[Slab, Effects], tuple[Slab, Effects]]:
    """Return a smooth cool white that holds the dye near the top, and a warm, thirsty laid one."""
    blue_end = np.clip((500.0 - WAVELENGTHS) / 120.0, 0.0, None)
    smooth = (0.022 + 0.06 * blue_end**2).round(4)
    laid = (0.05 + 0.12 * blue_end + 0.1 * blue_end**2).round(4)
    return (
        (Slab("Gannet smooth", smooth, 30.0, 0.06), GANNET),
        (Slab("Heron laid", laid, 36.0, 0.35), HERON),
    )


def _swatch_all(
    bench: SimulatedBench, recipes: Iterable[Recipe], hand: Steadiness, rng: np.random.Generator
) -> str:
    rows = [_swatch_row(swatch(bench, recipe, hand, rng)) for recipe in recipes]
    return _table([*COLUMNS, *(f"r{band}" for band in BANDS)], rows)


def _swatch_row(made: Swatch) -> list[str]:
    spectrum = [f"{value:.4f}" for value in made.reflectance]
    if not made.recipe.steps:
        return ["", "", "", made.paper, *[""] * 7, *spectrum]
    *below, top = made.recipe.steps
    assert isinstance(top, Step)
    ink, laid = top.colorant, top.laydown
    over = format_recipe(Recipe(tuple(below)))
    how = [str(laid.coats), laid.stroke, "", "", laid.wait, over, "yes" if ink.blender else ""]
    return [ink.range, ink.medium, ink.name, made.paper, *how, *spectrum]


def _colorant_rows(inks: Inks) -> list[list[str]]:
    return [[i.range, i.name, i.medium, "yes" if i.blender else "no"] for i in inks]


def _dye_rows(inks: Inks) -> list[list[str]]:
    return [
        [ink.range, ink.name, f"{dye.solvent:.3f}", *(f"{a:.4f}" for a in dye.absorption)]
        for ink, dye in inks.items()
    ]


def _truth_text(benches: Iterable[SimulatedBench]) -> str:
    papers = [
        {
            "name": bench.paper,
            "scattering": bench.slab.scattering,
            "share": bench.slab.share,
            "absorption": bench.slab.absorption.tolist(),
            "effects": {
                part: getattr(bench.effects, part)
                for part in ("filling", "lifting", "quick", "soaked", "wet")
            },
        }
        for bench in benches
    ]
    return json.dumps({"invented": True, "papers": papers}, indent=1) + "\n"


def _read(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()


if __name__ == "__main__":
    main()
