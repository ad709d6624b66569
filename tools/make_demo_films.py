"""Make the demo's pencils and washes: invented pigments, swatched on the simulated bench.

``python tools/make_demo_films.py`` rewrites three files of ``src/laydown/demo/data``; the same seed
gives the same bytes. `demo_pigments.csv` says what was decided by a person: every pencil's and
pan's invented name, what family of `demo_families.csv` (of the range Orchard) it is mixed like, how
deep it is and how much it scatters. Chance bends each a little and shakes hand and meter.
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
from laydown.demo.files import read_bytes
from laydown.demo.films import FilmBench, Pigment
from laydown.demo.oracle import Slab
from laydown.media.film.design import sparing_film_design
from laydown.media.recipe import (
    Colorant,
    Medium,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    format_recipe,
)

SEED = 31907
HERE = Path(__file__).parent
DATA = HERE.parent / "src" / "laydown" / "demo" / "data"
RANGES = {"Hedgerow": Medium.PENCIL, "Millrace": Medium.WASH}
BENT = 0.08
"""How far a pigment strays from its family's mixture: spread of the logarithm of each part."""
HAND = 0.05
"""How unevenly coats are laid: spread of the logarithm of a coat's amount."""
BLENDED = 4
"""How many pairs of pencils are also swatched under solvent, and under a stump."""
COLUMNS = ["range", "medium", "color", "paper", "coats", "stroke", "pressure"]
COLUMNS += ["dilution", "wait", "over"]
BANDS = [f"{wavelength:.0f}" for wavelength in WAVELENGTHS]


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
    pigments = _pigments(rng)
    bench = FilmBench(class_paper(), {c.label: p for c, p in pigments.items()})
    made = {
        "truth_pigments.csv": _table(
            ["range", "color", "medium", *(f"k{b}" for b in BANDS), *(f"s{b}" for b in BANDS)],
            (_pigment_row(c, p) for c, p in pigments.items()),
        )
    }
    for name in RANGES:
        own = [c for c in pigments if c.range == name]
        rows = [_swatch_row(bench, recipe, rng) for recipe in design(bench, own)]
        made[f"{name.lower()}_on_gannet_smooth.csv"] = _table(
            [*COLUMNS, *(f"r{b}" for b in BANDS)], rows
        )
    return made


def class_paper() -> Slab:
    """Return the demo's class paper, as the markers were swatched on."""
    entry = json.loads(read_bytes("truth.json"))["papers"][0]
    absorption = np.array(entry["absorption"], dtype=np.float64)
    return Slab(entry["name"], absorption, entry["scattering"], entry["share"])


def design(bench: FilmBench, colorants: Sequence[Colorant]) -> list[Recipe]:
    """Return the sparing design without bare paper, and for pencils some blended pairs."""
    depth = [-bench.truth(Recipe((Step(c),))).mean() for c in colorants]
    recipes = list(sparing_film_design(colorants, depth)[1:])
    if colorants[0].medium is Medium.PENCIL:
        for tool, treatment in ((Tool.SWAB, Treatment.SOLVENT), (Tool.STUMP, Treatment.BURNISH)):
            for i in range(BLENDED):
                below, above = colorants[3 * i], colorants[3 * i + 8]
                done = TreatmentStep(treatment, tool)
                recipes.append(Recipe((Step(below), Step(above), done)))
    return recipes


def _pigments(rng: np.random.Generator) -> dict[Colorant, Pigment]:
    stuffs = _dyestuffs()
    families = {r["family"]: r for r in _read("demo_families.csv") if r["range"] == "Orchard"}
    made = {}
    for row in _read("demo_pigments.csv"):
        colorant = Colorant(row["color"], row["range"], RANGES[row["range"]])
        parts = np.array([float(families[row["family"]][stuff]) for stuff in stuffs])
        parts = parts * np.exp(BENT * rng.standard_normal(parts.shape))
        color = np.tensordot(parts, np.array(list(stuffs.values())), axes=1)
        absorbing = (1.0 * float(row["depth"]) * color + 0.01).round(4)
        lean = np.exp(rng.normal(0.0, 0.3) * (WAVELENGTHS - 555.0) / 175.0)
        scattering = (float(row["scattering"]) * lean).round(4)
        made[colorant] = Pigment(absorbing, scattering)
    return made


def _dyestuffs() -> dict[str, FloatArray]:
    shapes: dict[str, FloatArray] = {}
    for row in _read("demo_dyestuffs.csv"):
        away = (WAVELENGTHS - float(row["center"])) / float(row["width"])
        edge = 0.5 * (1.0 - np.tanh(0.5 * away))
        shapes[row["dyestuff"]] = edge if row["kind"] == "edge" else np.exp(-0.5 * away**2)
    return shapes


def _swatch_row(bench: FilmBench, recipe: Recipe, rng: np.random.Generator) -> list[str]:
    seen = bench.truth(recipe, np.exp(HAND * rng.standard_normal(recipe.coats)))
    seen = seen * (1.0 + 0.003 * rng.standard_normal()) + 0.001 * rng.standard_normal(len(seen))
    spectrum = [f"{value:.4f}" for value in np.clip(seen, 1e-4, None)]
    *below, top = recipe.steps
    if not isinstance(top, Step):
        over = format_recipe(recipe)
        return [
            recipe.colorants[0].range,
            "pencil",
            "",
            bench.slab.name,
            *[""] * 5,
            over,
            *spectrum,
        ]
    laid, colorant = top.laydown, top.colorant
    pencil = colorant.medium is Medium.PENCIL
    how = [
        str(laid.coats),
        "",
        str(laid.pressure) if pencil else "",
        "" if pencil else f"{laid.dilution:g}",
        str(laid.wait),
        format_recipe(Recipe(tuple(below))),
    ]
    head = [colorant.range, str(colorant.medium), colorant.name, bench.slab.name]
    return [*head, *how, *spectrum]


def _pigment_row(colorant: Colorant, pigment: Pigment) -> list[str]:
    numbers = (f"{x:.4f}" for x in (*pigment.absorbing, *pigment.scattering))
    return [colorant.range, colorant.name, str(colorant.medium), *numbers]


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
