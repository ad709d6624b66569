"""A target in one's own sketchbook, from the command line."""

import json
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pypdfium2
from click.testing import Result
from PIL import Image

from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.demo.photograph import Camera, View
from laydown.imaging.markers import find_target
from laydown.sheet.markers import target_number

Run = Callable[..., Result]
HELD = View(megapixels=2.5, tilt=12, toward=40, turn=8, curl=2, fill=0.85)
NAMES = [f"Tint {place}" for place in range(1, 14)]


def pictured(photos: ModuleType, number: int, path: Path, **how: object) -> np.ndarray:
    """Photograph a page with this target, and return the CIELAB of its patches, row by row."""
    sensitivities = photos.measured_cameras()[0]
    camera = Camera(sensitivities, development=photos.development(sensitivities, "D65"))
    taken = photos.take_target(number, **{"view": HELD, "camera": camera, **how})
    Image.fromarray(taken.pixels).save(path, compress_level=1)
    return np.array([lab_from_xyz(xyz) for xyz in taken.xyz])


def test_patches_in_a_sketchbook_are_named_once(
    run: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """They are looked at, named, and become swatches; the next picture, creased, needs no names."""
    made = run("sheet", "print", "target", "--paper", "Sketchbook", "--json")
    assert made.exit_code == 0, made.output
    number = json.loads(made.stdout)["number"]
    wanted = pictured(photos, number, tmp_path / "page.png")
    looked = json.loads(run("sheet", "read", "page.png", "--only-look", "--json").stdout)
    assert {cell["why_not"] for cell in looked["cells"]} == {"no name yet"}
    unnamed = run("sheet", "read", "page.png")
    assert unnamed.exit_code == 1
    assert "Name the 13 patches" in unnamed.stderr
    (tmp_path / "names.txt").write_text("\n".join(NAMES[:-1]), encoding="utf-8")
    few = run("sheet", "read", "page.png", "--names", "names.txt", "--add-to", "Tints")
    assert "13 patches (in rows of 4, 5, 4), and 12 are named" in few.stderr
    (tmp_path / "names.txt").write_text("\n".join([*NAMES[:-1], "-"]), encoding="utf-8")
    read = run("sheet", "read", "page.png", "--names", "names.txt", "--add-to", "Tints", "--json")
    assert read.exit_code == 0, read.output
    assert json.loads(read.stdout)["taken"] == 12
    labs = np.array([cell["lab"] for cell in json.loads(read.stdout)["cells"]])
    assert np.mean([ciede2000(lab, true) for lab, true in zip(labs, wanted, strict=False)]) < 4.0
    pictured(photos, number, tmp_path / "later.png", fold=3.0, seed=2)
    again = run("sheet", "read", "later.png", "--json")
    assert again.exit_code == 0, again.output
    cells = json.loads(again.stdout)
    assert [cell["number"] for cell in cells["cells"]] == list(range(1, 13))
    later = np.array([cell["lab"] for cell in cells["cells"]])
    assert max(ciede2000(a, b) for a, b in zip(labs, later, strict=True)) < 3.0
    assert "not named: 1." in " ".join(note for page in cells["pages"] for note in page["notes"])
    assert "Tint 12" in run("sheet", "show", str(number)).stdout
    (tmp_path / "names.txt").write_text("\n".join(NAMES[::-1]), encoding="utf-8")
    turned = run("sheet", "read", "page.png", "--names", "names.txt", "--add-to", "Tints")
    assert turned.exit_code == 1
    assert "don't belong together" in turned.stderr


def test_a_target_is_printed_with_the_number_that_is_kept(run: Run, tmp_path: Path) -> None:
    """Its four marks, read from the printed page, tell it; and the same target prints again."""
    made = run("sheet", "print", "target", "--paper", "Sketchbook", "-o", "target.pdf")
    assert made.exit_code == 0, made.output
    page = pypdfium2.PdfDocument((tmp_path / "target.pdf").read_bytes())[0]
    found = find_target(page.render(scale=6).to_numpy()[..., ::-1].copy())
    assert found is not None
    number = target_number(found.ids)
    assert f"Target {number}:" in made.stderr
    again = run("sheet", "print", "target", "--again", str(number), "-o", "again.pdf")
    assert again.exit_code == 0, again.output
    assert (tmp_path / "again.pdf").read_bytes() == (tmp_path / "target.pdf").read_bytes()


def test_a_target_without_patches_says_how_to_color_them(
    run: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """A page on which nothing was colored is told from one that can't be read."""
    made = run("sheet", "print", "target", "--paper", "Sketchbook", "--json")
    number = json.loads(made.stdout)["number"]
    pictured(photos, number, tmp_path / "page.png", boxes=())
    read = run("sheet", "read", "page.png", "--only-look")
    assert read.exit_code == 1
    assert f"Beside target {number} no patches were found" in read.stderr
