"""Sheets from the command line: printed, colored in, photographed and read."""

import io
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import cv2
import numpy as np
import pytest
from click.testing import Result
from PIL import Image

from laydown.app.sheets.cards import read_card
from laydown.app.sheets.reading import ReadSheet, read_sheet
from laydown.app.tasks import GivenFile
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.photograph import Camera, Lamp, View
from laydown.imaging.chart import chart_xyz, find_chart
from laydown.imaging.reading import read_card_cells
from laydown.sheet.sheet import Sheet
from laydown.store.library import open_library

Run = Callable[..., Result]
RANGE = ["--range", "Shoal", "--paper", "Gannet smooth"]


def printed(run: Run, *arguments: str) -> int:
    """Print a sheet and return its number."""
    made = run("sheet", "print", *arguments, "--json")
    assert made.exit_code == 0, made.output
    return int(json.loads(made.stdout)["number"])


@cache
def taken(photos: ModuleType, sheet: Sheet, *, chart: bool, darker: float) -> np.ndarray:
    """Color a sheet in and photograph it; many tests ask for one and the same."""
    sensitivities = photos.measured_cameras()[0]
    return photos.take(
        sheet,
        view=View(megapixels=2.5, tilt=15, toward=40, turn=5, curl=3, fill=0.8),
        lamps=[Lamp(photos.spectrum("D65"), -100, -100, 600)],
        camera=Camera(
            sensitivities, quality=0, development=photos.development(sensitivities, "D65")
        ),
        seed=3,
        colors=photos.colors_of(sheet, darker * photos.invented_spectra()[5:]),
        chart=chart,
        resolution=5.0,
    ).pixels


def photographed(
    photos: ModuleType,
    folder: Path,
    number: int,
    *,
    chart: bool = True,
    darker: float = 1.0,
    curve: float = 1.0,
) -> None:
    """Color a printed sheet in, photograph it, and leave the picture in the folder."""
    library = open_library(folder / "library.db")
    with library.look() as work:
        sheet = work.sheets.get(number)
    library.close()
    pixels = taken(photos, sheet, chart=chart, darker=darker)
    content = io.BytesIO()
    lifted = np.round(255 * (np.arange(256) / 255) ** curve).astype(np.uint8)
    Image.fromarray(lifted[pixels]).save(content, "JPEG", quality=92)
    (folder / "photo.jpg").write_bytes(content.getvalue())


def test_a_sheet_goes_from_print_to_swatches_and_back(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Read with a chart beside it, its cells become swatches, which one command takes back."""
    number = printed(shoal, "kit", *RANGE)
    photographed(photos, tmp_path, number)
    before = json.loads(shoal("swatches", "list", "--json").stdout)
    looked = shoal("sheet", "read", "photo.jpg", "--only-look", "--proof", "proof.png")
    assert looked.exit_code == 0, looked.output
    assert "reference chart" in looked.stdout
    assert "would be taken" in looked.stdout
    assert "Nothing was kept" in looked.stderr
    assert "taken over" not in looked.output
    assert "Next: the same without --only-look" in looked.stderr
    assert Image.open(tmp_path / "proof.png").getexif() == {}
    assert json.loads(shoal("swatches", "list", "--json").stdout) == before
    done = json.loads(shoal("sheet", "read", "photo.jpg", "--redo", "2", "--json").stdout)
    cells = {cell["number"]: cell for cell in done["cells"]}
    assert cells[2]["why_not"] == "to be done again"
    assert done["taken"] >= len(cells) - 2
    after = json.loads(shoal("swatches", "list", "--json").stdout)
    assert len(str(after)) > len(str(before))
    assert shoal("library", "undo").exit_code == 0
    assert json.loads(shoal("swatches", "list", "--json").stdout) == before


def test_a_sheet_is_read_from_a_mirrored_picture_that_says_so(
    shoal: Run,
    photos: ModuleType,
    as_held: Callable[[Image.Image, int, str], bytes],
    tmp_path: Path,
) -> None:
    """Mirrored and on its side, as some cameras store what they see, each cell reads the same."""
    number = printed(shoal, "list", "Kelp", "Dune", *RANGE)
    photographed(photos, tmp_path, number)
    with Image.open(tmp_path / "photo.jpg") as seen:
        (tmp_path / "mirrored.png").write_bytes(as_held(seen, 5, "PNG"))
    upright, mirrored = (
        shoal("sheet", "read", name, "--only-look", "--json")
        for name in ("photo.jpg", "mirrored.png")
    )
    assert mirrored.exit_code == 0, mirrored.output
    assert json.loads(mirrored.stdout)["cells"] == json.loads(upright.stdout)["cells"]


def test_paper_white_alone_is_taken_with_how_far_off_it_may_be(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Without chart, profile or known colors swatches carry the camera's error as their spread."""
    number = printed(shoal, "list", "Kelp", "Dune", "Kelp*2; Dune", *RANGE)
    photographed(photos, tmp_path, number, chart=False)
    before = {s["id"] for s in listed(shoal)}
    told = json.loads(shoal("sheet", "read", "photo.jpg", "--json").stdout)
    assert told["taken"] == len(told["cells"])
    accuracy = told["pages"][0]["accuracy"]
    spreads = [s["spread"] for s in listed(shoal) if s["id"] not in before]
    assert len(spreads) == 3
    assert min(spreads) >= 1.5 * accuracy["mean"]


def listed(run: Run) -> list[dict[str, Any]]:
    """Return the swatches."""
    swatches = json.loads(run("swatches", "list", "--json").stdout)["swatches"]
    return [{**stored, **stored["swatch"]} for stored in swatches]


def test_paper_that_looks_tinted_needs_to_be_accepted(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Cream paper and a wrong white balance look alike: neither is taken over unasked."""
    number = printed(shoal, "list", "Kelp", "Dune", *RANGE)
    photographed(photos, tmp_path, number, chart=False)
    with Image.open(tmp_path / "photo.jpg") as seen:
        warm = np.asarray(seen) * np.array([1.0, 0.9, 0.7])
    Image.fromarray(warm.astype(np.uint8)).save(tmp_path / "photo.jpg", quality=95)
    told = json.loads(shoal("sheet", "read", "photo.jpg", "--json").stdout)
    assert told["taken"] == 0
    assert {cell["why_not"] for cell in told["cells"]} == {"rough: the paper looks tinted"}
    assert any("looks tinted" in note for note in told["pages"][0]["notes"])
    again = shoal("sheet", "read", "photo.jpg", "--accept-rough", "--json")
    assert json.loads(again.stdout)["taken"] == len(told["cells"])


TERN = ["--range", "Shoal", "--paper", "Tern rough"]
"""A paper that nobody has measured yet."""
PHONE = 0.7
"""Exponent by which a phone lifts its dark tones: paper comes out at about L* 85 by a chart."""


def bare_lab(run: Run, paper: str) -> tuple[bool, list[float]]:
    """Return whether a paper counts as measured, and its color."""
    shown = json.loads(run("paper", "show", paper, "--json").stdout)
    return shown["measured"], shown["color"]["lab"]


def bare_cells(answer: Result) -> list[dict[str, Any]]:
    """Return what was read of bare cells."""
    assert answer.exit_code == 0, answer.output
    return [cell for cell in json.loads(answer.stdout)["cells"] if not cell["recipe"]]


def test_a_strongly_developed_picture_leaves_no_dark_paper(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Beside a chart, paper that nobody measured is a usual white, and is not kept as measured;
    the next picture gives the same colors.
    """
    number = printed(shoal, "list", "Kelp", "Dune", *TERN)
    colors = []
    for curve in (PHONE, 1.0):
        photographed(photos, tmp_path, number, curve=curve)
        read = shoal("sheet", "read", "photo.jpg", "--only-look", "--json")
        assert {cell["why_not"] for cell in bare_cells(read)} == {""}
        assert np.mean([c["lab"][0] for c in bare_cells(read)]) == pytest.approx(95, abs=0.5)
        colors.append(np.array([c["lab"] for c in json.loads(read.stdout)["cells"]]))
    assert np.hypot.reduce(colors[1] - colors[0], axis=1).mean() < 2.5
    assert shoal("sheet", "read", "photo.jpg").exit_code == 0
    assert bare_lab(shoal, "Tern rough")[0] is False


def test_a_toned_paper_is_told_by_its_measured_color(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Once it is given, pictures are read by it."""
    number = printed(shoal, "list", "Kelp", "Dune", *TERN)
    photographed(photos, tmp_path, number)
    told = shoal("paper", "edit", "Tern rough", "--color", "lab:92,0,4")
    assert "value 9.2 (measured)" in told.stdout
    read = bare_cells(shoal("sheet", "read", "photo.jpg", "--json"))
    assert np.mean([cell["lab"][0] for cell in read]) == pytest.approx(92, abs=0.5)


@pytest.mark.parametrize(("known", "another"), [("lab:95,0,2", False), ("lab:93,1,17", True)])
def test_a_sheet_on_another_paper_is_asked_about(
    shoal: Run, photos: ModuleType, tmp_path: Path, known: str, another: bool
) -> None:
    """Where bare paper comes out far from its known color, that is said, with both colors."""
    number = printed(shoal, "list", "Kelp", "Dune", *TERN)
    photographed(photos, tmp_path, number)
    assert shoal("paper", "edit", "Tern rough", "--color", known).exit_code == 0
    read = json.loads(shoal("sheet", "read", "photo.jpg", "--only-look", "--json").stdout)
    notes = [n for n in read["pages"][0]["notes"] if n.startswith("Is it another paper?")]
    assert bool(notes) == another
    assert all("known as L* 93, a* 1, b* 17" in note for note in notes)


def test_a_good_picture_is_not_forced_to_a_paper_that_a_bad_one_left(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Where the paper was once taken in at L* 86, the picture stands by itself, and says so."""
    (tmp_path / "bad.csv").write_text("paper,L,a,b\nTern rough,86,0.3,1\n", encoding="utf-8")
    assert shoal("swatches", "import", "bad.csv").exit_code == 0
    number = printed(shoal, "list", "Kelp", "Dune", *TERN)
    photographed(photos, tmp_path, number)
    read = shoal("sheet", "read", "photo.jpg", "--json")
    lightness = [cell["lab"][0] for cell in bare_cells(read)]
    assert np.mean(lightness) == pytest.approx(96.8, abs=1.5)
    (note,) = json.loads(read.stdout)["notes"]
    assert note.startswith("Check the color of Tern rough among your papers")


def test_paper_white_alone_does_not_measure_the_paper(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """What was assumed of the paper isn't kept as if it had been seen."""
    number = printed(shoal, "list", "Kelp", "Dune", *TERN)
    photographed(photos, tmp_path, number, chart=False)
    read = shoal("sheet", "read", "photo.jpg", "--accept-rough", "--json")
    assert {cell["why_not"] for cell in bare_cells(read)} == {""}
    assert bare_lab(shoal, "Tern rough")[0] is False


PUT_IN = 12
"""Colors of a set that somebody measured."""


def measured_set(run: Run, photos: ModuleType, folder: Path, paper: str) -> np.ndarray:
    """Take in a file of measured swatches, one of them wrong, and return their spectra."""
    spectra = photos.invented_spectra()[10 : 10 + 3 * PUT_IN : 3]
    lab = lab_from_reflectance(spectra)
    lab[4] = lab[7]
    rows = [f"Atlas,Hue {i},{paper},{L},{a},{b}" for i, (L, a, b) in enumerate(lab)]
    (folder / "set.csv").write_text("\n".join(["range,color,paper,L,a,b", *rows]), encoding="utf-8")
    assert run("swatches", "import", "set.csv").exit_code == 0
    return np.asarray(spectra)


@pytest.mark.parametrize(("paper", "share"), [("Gannet smooth", 0.6), ("Heron laid", 0.9)])
def test_a_set_that_anyone_measured_tells_the_camera(
    shoal: Run, photos: ModuleType, tmp_path: Path, paper: str, share: float
) -> None:
    """Eight of its colors on the sheet take a phone's curve out, though one of them may be wrong
    and they may be known on another paper.
    """
    spectra = measured_set(shoal, photos, tmp_path, paper)
    number = printed(shoal, "list", "Kelp", "Dune", "Kelp*2", "Dune*2", *RANGE, "--known", "Atlas")
    library = open_library(tmp_path / "library.db")
    with library.look() as work:
        sheet = work.sheets.get(number)
    library.close()
    hues = {c.number: c.recipe.colorants[0].name for c in sheet.cells if not c.bare}
    known = {n: int(name.split()[1]) for n, name in hues.items() if name.startswith("Hue")}
    assert len(known) == 8
    colors = photos.colors_of(sheet, photos.invented_spectra()[2::9])
    colors |= {n: spectra[hue] for n, hue in known.items()}
    pixels = photos.take(
        sheet,
        view=View(megapixels=2.5, tilt=10, toward=40, turn=5, fill=0.97),
        lamps=[Lamp(photos.spectrum("D65"), -100, -100, 600)],
        camera=Camera(
            photos.measured_cameras()[0],
            quality=0,
            development=photos.development(photos.measured_cameras()[0], "D65"),
        ),
        seed=3,
        colors=colors,
        resolution=5.0,
    ).pixels
    lifted = np.round(255 * (np.arange(256) / 255) ** PHONE).astype(np.uint8)
    Image.fromarray(lifted[pixels]).save(tmp_path / "photo.png", compress_level=1)
    others = [n for n in hues if n not in known]
    true = lab_from_reflectance(np.array([colors[n] for n in others]))
    off = {}
    for way in ("auto", "paper"):
        told = json.loads(
            shoal("sheet", "read", "photo.png", "--by", way, "--only-look", "--json").stdout
        )
        cells = {cell["number"]: cell for cell in told["cells"]}
        off[way] = ciede2000(np.array([cells[n]["lab"] for n in others]), true).mean()
        if way == "auto":
            assert told["pages"][0]["accuracy"]["conversion"] == "cells of known color"
            kept = {cells[n]["why_not"] for n in known}
            here = {"known before: it told what the others are"}
            assert kept == (here if paper == "Gannet smooth" else {""})
    assert off["auto"] < 5.0
    assert off["auto"] < share * off["paper"]


def test_known_colors_are_asked_for_where_they_are_too_few(shoal: Run, tmp_path: Path) -> None:
    """A set of which hardly anything is known can't tell a camera."""
    rows = "range,color,paper,L,a,b\nAtlas,Hue 1,Gannet smooth,50,20,10\n"
    (tmp_path / "set.csv").write_text(rows, encoding="utf-8")
    assert shoal("swatches", "import", "set.csv").exit_code == 0
    told = shoal("sheet", "print", "list", "Kelp", *RANGE, "--known", "Atlas")
    assert told.exit_code == 1
    assert "1 colors of Atlas are known well enough, and 3 are needed" in told.stderr


def test_a_gray_card_beside_the_sheet_takes_the_curve_out(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """A picture that a phone has lightened is read nearer to the truth by a gray of known value,
    and says that less is off; a place outside the picture is told.
    """
    new = ["--add-to", "Fresh", "--paper", "Gannet smooth"]
    number = printed(shoal, "list", "Alder", "Birch", "Cedar", "Elm", "Fir", "Hazel", *new)
    photographed(photos, tmp_path, number, curve=0.6)
    with Image.open(tmp_path / "photo.jpg") as seen:
        chart = find_chart(np.asarray(seen), (np.arange(256) / 255) ** 2.2)
    assert chart is not None
    x, y = chart.centers[21]
    gray = f"{chart_xyz()[21, 1]:.1f}%@{x - 4:.0f},{y - 4:.0f},8,8"
    library = open_library(tmp_path / "library.db")
    with library.look() as work:
        sheet = work.sheets.get(number)
    library.close()
    true = photos.colors_of(sheet, photos.invented_spectra()[5:])
    off, told = {}, {}
    for way, more in (("paper", []), ("known", ["--gray", gray])):
        read = shoal("sheet", "read", "photo.jpg", "--only-look", "--by", way, *more, "--json")
        assert read.exit_code == 0, read.output
        answer = json.loads(read.stdout)
        told[way] = answer["pages"][0]["accuracy"]
        labs = {cell["number"]: cell["lab"] for cell in answer["cells"]}
        off[way] = np.mean([ciede2000(labs[n], lab_from_reflectance(true[n])) for n in true])
    assert off["known"] < 0.9 * off["paper"]
    assert told["known"]["mean"] < told["paper"]["mean"]
    assert told["known"]["basis"].startswith("1 grays beside the sheet")
    outside = shoal("sheet", "read", "photo.jpg", "--gray", "gray@99999,10")
    assert outside.exit_code == 1
    assert "lies outside the picture" in outside.stderr


def test_two_sheets_in_one_picture_are_both_read(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Each is read as itself; where it is said which one, that alone."""
    numbers = [printed(shoal, "list", *names, *RANGE) for names in (["Kelp", "Dune"], ["Kelp*2"])]
    library = open_library(tmp_path / "library.db")
    with library.look() as work:
        sheets = [work.sheets.get(number) for number in numbers]
    library.close()
    pixels = [taken(photos, sheet, chart=False, darker=1.0) for sheet in sheets]
    Image.fromarray(np.hstack(pixels)).save(tmp_path / "photo.png", compress_level=1)
    read = json.loads(shoal("sheet", "read", "photo.png", "--only-look", "--json").stdout)
    assert sorted(page["sheet"] for page in read["pages"]) == sorted(numbers)
    assert {cell["sheet"] for cell in read["cells"]} == set(numbers)
    alone = shoal("sheet", "read", "photo.png", "--only-look", "--sheet", str(numbers[1]), "--json")
    assert [page["sheet"] for page in json.loads(alone.stdout)["pages"]] == [numbers[1]]


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda pixels: pixels[:, ::-1], "it is mirrored"),
        (lambda pixels: cv2.GaussianBlur(pixels, (0, 0), 14), "it is blurred"),
        (lambda pixels: pixels[495:1060, 354:919], "its corner and edge marks are missing"),
    ],
)
def test_why_no_sheet_is_found_is_told(
    shoal: Run,
    photos: ModuleType,
    tmp_path: Path,
    spoil: Callable[[np.ndarray], np.ndarray],
    why: str,
) -> None:
    """A mirrored, a blurred and a cut picture each hear what is the matter with them."""
    number = printed(shoal, "list", "Kelp", "Dune", *RANGE)
    library = open_library(tmp_path / "library.db")
    with library.look() as work:
        sheet = work.sheets.get(number)
    library.close()
    spoilt = spoil(taken(photos, sheet, chart=False, darker=1.0))
    Image.fromarray(np.ascontiguousarray(spoilt)).save(tmp_path / "photo.png", compress_level=1)
    told = shoal("sheet", "read", "photo.png")
    assert told.exit_code == 1
    assert f"no sheet was found; {why}" in told.stderr


def test_a_second_reading_that_differs_says_that_the_first_was_wet(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Both readings are kept; cells that changed are flagged and not taken."""
    number = printed(shoal, "list", "Kelp", "Dune", *RANGE)
    photographed(photos, tmp_path, number, darker=0.7)
    assert json.loads(shoal("sheet", "read", "photo.jpg", "--json").stdout)["taken"] > 4
    photographed(photos, tmp_path, number)
    told = json.loads(shoal("sheet", "read", "photo.jpg", "--json").stdout)
    wet = [cell for cell in told["cells"] if "still wet" in cell["why_not"]]
    assert len(wet) == 2
    library = open_library(tmp_path / "library.db")
    with library.look() as work:
        kept = work.sheets.readings(number)
    library.close()
    assert len(kept) == 2 * len(told["cells"])


def test_others_write_while_pictures_are_read(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Reading holds the library for moments only, so that nobody waits for a dozen photographs."""
    number = printed(shoal, "list", "Kelp", "Dune", *RANGE)
    photographed(photos, tmp_path, number)
    library = open_library(tmp_path / "library.db")
    written: list[int] = []

    def watch(done: int, _total: int) -> None:
        with library.work("meanwhile", waits=False) as work:
            work.add_kit(f"kit {done}")
        written.append(done)

    content = (tmp_path / "photo.jpg").read_bytes()
    pictures = (GivenFile(content, "a.jpg"), GivenFile(content, "b.jpg"))
    assert read_sheet(library, ReadSheet(pictures), watch=watch).taken > 4
    library.close()
    assert written == [1, 2]


@pytest.mark.parametrize("kind", ["first", "kit", "pairs", "list", "anchors"])
def test_each_kind_prints(shoal: Run, tmp_path: Path, kind: str) -> None:
    """Every kind makes a PDF, and the same sheet can be printed again."""
    made = shoal("sheet", "print", kind, *RANGE, "-o", "sheet.pdf")
    assert made.exit_code == 0, made.output
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    number = made.output.split("Sheet ")[1].split(":")[0]
    shoal("sheet", "print", kind, *RANGE, "--again", number, "-o", "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == (tmp_path / "sheet.pdf").read_bytes()


def test_a_sheet_of_another_library_is_a_wrong_sheet(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """A page that this library never printed is told by its number."""
    number = printed(shoal, "list", "Kelp", *RANGE)
    photographed(photos, tmp_path, number)
    assert shoal("paper", "add", "Gannet smooth", "--db", "other.db").exit_code == 0
    told = shoal("sheet", "read", "photo.jpg", "--db", "other.db")
    assert told.exit_code == 1
    assert f"Wrong sheet: this library never printed a sheet {number}" in told.stderr


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"no picture" * 99, "is not a picture"),
        (None, "no sheet was found"),
    ],
)
def test_a_file_that_shows_no_sheet_gets_one_sentence(
    shoal: Run, tmp_path: Path, content: bytes | None, told: str
) -> None:
    """Nothing is stored and the exit code is 1."""
    if content is None:
        Image.fromarray(np.full((600, 800, 3), 180, np.uint8)).save(tmp_path / "file.jpg")
    else:
        (tmp_path / "file.jpg").write_bytes(content)
    answer = shoal("sheet", "read", "file.jpg")
    assert answer.exit_code == 1
    assert told in answer.stderr
    assert "Traceback" not in answer.stderr


BARE_PLACES = (0, 3, 8)
CARD = (
    *("sheet", "card", "card.png", "--grid", "3x4", "--names", "names.txt"),
    *("--paper", "Old card", "--add-to", "Mine", "--coats-unknown", "--accept-rough"),
    *("--corners", "60,60;820,60;820,620;60,620", "--json"),
)


@pytest.fixture
def card(tmp_path: Path) -> None:
    """Write a picture of a card with twelve places, three of them bare, and a list of names."""
    picture = np.full((700, 900, 3), 235, np.uint8)
    colors = np.random.default_rng(1).integers(30, 200, (12, 3))
    for place in range(12):
        row, column = divmod(place, 4)
        if place not in BARE_PLACES:
            top, left = 60 + 200 * row, 60 + 200 * column
            picture[top : top + 160, left : left + 160] = colors[place]
    Image.fromarray(picture).save(tmp_path / "card.png")
    names = ["paper" if p in BARE_PLACES else f"Color {p}" for p in range(12)]
    (tmp_path / "names.txt").write_text("\n".join(names), encoding="utf-8")


@pytest.mark.usefixtures("card")
def test_a_card_of_ones_own_is_read(run: Run) -> None:
    """Grid, names and bare places are enough; unknown colorants go to the range that is named."""
    told = run(*CARD)
    assert told.exit_code == 0, told.output
    places = json.loads(told.stdout)["cells"]
    assert sum(place["taken"] for place in places) == 12
    assert "Color 1" in run("range", "show", "Mine").output
    assert "Old card" in run("paper", "list").output


@pytest.mark.usefixtures("card")
def test_a_card_that_is_only_looked_at_is_not_said_to_be_taken_over(run: Run) -> None:
    """It says what would be taken, that nothing was, and what to do for it."""
    told = run(*CARD[:-1], "--only-look")
    assert told.exit_code == 0, told.output
    assert told.stdout.count("would be taken") == 12
    assert "Nothing was kept. 12 places would be taken." in told.stderr
    assert "Next: the same without --only-look" in told.stderr
    assert json.loads(run("swatches", "list", "--json").stdout)["total"] == 0


@pytest.mark.usefixtures("card")
def test_a_card_whose_bare_paper_comes_out_dark_says_what_to_do(run: Run, tmp_path: Path) -> None:
    """Its colors are taken over and its bare places not; the command for toned paper is named."""
    with Image.open(tmp_path / "card.png") as seen:
        dark = seen.point(lambda level: 0.8 * level)
    dark.save(tmp_path / "card.png")
    told = run(*CARD, "--by", "profile")
    assert sum(place["taken"] for place in json.loads(told.stdout)["cells"]) == 9
    assert "laydown paper edit PAPER --color" in told.stderr
    assert bare_lab(run, "Old card")[0] is False


@pytest.mark.usefixtures("card")
def test_others_write_while_a_card_is_read(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The picture is read before the library is taken, so that nobody waits for it."""
    library = open_library(tmp_path / "library.db")

    def reading(*given: Any) -> Any:
        with library.work("meanwhile", waits=False) as work:
            work.add_kit("meanwhile")
        return read_card_cells(*given)

    monkeypatch.setattr("laydown.app.sheets.cards.read_card_cells", reading)
    told = run(*CARD)
    library.close()
    assert told.exit_code == 0, told.output
    assert "meanwhile" in run("kit", "list").output


@pytest.mark.usefixtures("card")
def test_a_look_at_a_card_leaves_the_library_as_it_was(run: Run, tmp_path: Path) -> None:
    """Without keeping, neither colorants nor paper are added, however many names are new."""
    names = tuple((tmp_path / "names.txt").read_text(encoding="utf-8").splitlines())
    corners = ((60.0, 60.0), (820.0, 60.0), (820.0, 620.0), (60.0, 620.0))
    picture = GivenFile((tmp_path / "card.png").read_bytes(), "card.png")
    asked = {"names": names, "paper": "Old card", "range": "Mine", "corners": corners}
    request = ReadSheet((picture,), rows=3, columns=4, keep=False, **asked)
    library = open_library(tmp_path / "library.db")
    seen = read_card(library, request)
    with library.look() as work:
        assert (work.ranges(), work.papers()) == ((), ())
    library.close()
    laid = [colorant for place in seen.cells for colorant in place.recipe.colorants]
    assert {colorant.range for colorant in laid} == {"Mine"}


MEADOW = """\
range,medium,color,paper,coats,pressure,dilution,over,L,a,b
Meadow,pencil,,Gannet smooth,,,,,95.0,0.5,-2.0
Meadow,pencil,Fern,Gannet smooth,,,,,62.0,-22.0,24.0
Meadow,pencil,Root,Gannet smooth,,,,,42.0,4.0,12.0
Pond,wash,Reed,Gannet smooth,,,,,78.0,-4.0,30.0
Pond,wash,Silt,Gannet smooth,,,,,45.0,3.0,10.0
"""


def test_sheets_of_pencils_washes_and_all_media_print(run: Run, tmp_path: Path) -> None:
    """Kits of any media get their sheets, in one library with each other."""
    (tmp_path / "meadow.csv").write_text(MEADOW, encoding="utf-8")
    assert run("swatches", "import", "meadow.csv", "-q").exit_code == 0
    assert run("kit", "create", "all", "-q").exit_code == 0
    assert run("kit", "own", "all", "--range", "Meadow", "--range", "Pond", "-q").exit_code == 0
    for kind in ("first", "kit", "pairs", "next", "anchors"):
        for asked in (("--range", "Meadow"), ("--range", "Pond"), ("--kit", "all")):
            done = run("sheet", "print", kind, *asked, "--paper", "Gannet smooth", "-o", "s.pdf")
            assert done.exit_code == 0, (kind, asked, done.output)
            assert (tmp_path / "s.pdf").read_bytes().startswith(b"%PDF")


def test_a_sheet_asks_for_nothing_that_ruins_tools(run: Run, tmp_path: Path) -> None:
    """A wash over wax is refused with the reason, and nothing is printed."""
    (tmp_path / "meadow.csv").write_text(MEADOW, encoding="utf-8")
    assert run("swatches", "import", "meadow.csv", "-q").exit_code == 0
    done = run("sheet", "print", "list", "Fern; Reed", "--paper", "Gannet smooth", "-o", "s.pdf")
    assert done.exit_code == 1
    assert "wax sheds water" in done.output
    assert not (tmp_path / "s.pdf").exists()


def test_a_sheet_of_anchors_asks_for_those_that_are_chosen(run: Run, tmp_path: Path) -> None:
    """For a paper never used the sheet holds one coat of what `paper anchors` names, no more."""
    rows = ["Meadow,pencil,,Gannet smooth,,,,,95,0,-2"]
    rows += [
        f"Meadow,pencil,Leaf {i},Gannet smooth,,,,,{90 - 6 * i},{20 - 9 * (i % 5)},{3 * i - 12}"
        for i in range(9)
    ]
    listed = "\n".join([MEADOW.splitlines()[0], *rows])
    (tmp_path / "meadow.csv").write_text(listed, encoding="utf-8")
    run("swatches", "import", "meadow.csv", "-q")
    chosen = json.loads(run("paper", "anchors", "Meadow", "--json").stdout)["anchors"]
    told = run("sheet", "print", "anchors", "--range", "Meadow", "--paper", "New", "--json")
    cells = json.loads(told.stdout)["cells"]
    asked = {cell["recipe"].rpartition("/")[2] for cell in cells if cell["recipe"]}
    assert asked == {anchor["name"] for anchor in chosen}
    assert len(asked) == 5
    wrong = ("sheet", "print", "anchors", "--range", "Meadow", "--paper", "New")
    assert "No swatch of Meadow on New" in run(*wrong, "--known-on", "New").stderr


def test_a_filled_sheet_of_a_lessons_colors_becomes_a_lesson_file(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Printed, colored, photographed and read, its colors come with passages, roles and notes."""
    number = str(printed(shoal, "list", "Kelp", "Dune", "Kelp*2; Dune", "Skiff", *RANGE))
    refused = shoal("lesson", "new", "--sheet", number)
    assert refused.exit_code == 1
    assert "has been read and taken over" in refused.output
    photographed(photos, tmp_path, int(number))
    read = json.loads(shoal("sheet", "read", "photo.jpg", "--json").stdout)
    cells = {cell["recipe"].replace("Shoal/", ""): cell for cell in read["cells"]}
    bank = ",".join(str(cells[name]["number"]) for name in ("Kelp", "Dune", "Kelp*2; Dune"))
    words = ("lesson", "new", "--sheet", number, "--passage", f"bank={bank}", "--title", "Bank")
    made = shoal(*words, "-o", "bank.txt")
    assert made.exit_code == 0, made.output
    shown = json.loads(shoal("lesson", "show", "bank.txt", "--json").stdout)
    lesson, labs = shown["lesson"], [looks["lab"] for looks in shown["looks"]]
    assert (lesson["title"], lesson["paper"]) == ("Bank", "Gannet smooth")
    assert [c["passage"] for c in lesson["colors"]] == ["bank", "bank", "bank", ""]
    assert [c["role"] for c in lesson["colors"]] == ["highlight", "midtone", "shadow", ""]
    light = [lab[0] for lab in labs[:3]]
    assert light == sorted(light, reverse=True)
    assert lesson["colors"][3]["name"] == "Skiff"
    assert labs[3] == pytest.approx(cells["Skiff"]["lab"], abs=0.1)
    done = shoal("lesson", "convert", "bank.txt", *RANGE, "--steps", "1", "--turns", "0")
    assert done.exit_code in {0, 3}, done.output


def test_a_list_says_which_cells_of_a_sheet_are_the_lesson(
    shoal: Run, photos: ModuleType, tmp_path: Path
) -> None:
    """Rows name recipes of the sheet; their names make a student's return mergeable."""
    number = str(printed(shoal, "list", "Kelp", "Dune", *RANGE))
    photographed(photos, tmp_path, int(number))
    assert shoal("sheet", "read", "photo.jpg").exit_code == 0
    (tmp_path / "bank.csv").write_text(
        "color,name,passage,role,note\nKelp,Weeds,bank,shadow,wet stones\n", encoding="utf-8"
    )
    made = shoal("lesson", "new", "bank.csv", "--sheet", number, "-o", "ana.txt")
    assert made.exit_code == 0, made.output
    text = (tmp_path / "ana.txt").read_text(encoding="utf-8")
    assert "color: Weeds" in text
    assert "role: shadow" in text
    assert "note: wet stones" in text
    assert "Dune" not in text
    (tmp_path / "bank.csv").write_text("color\nNet\n", encoding="utf-8")
    refused = shoal("lesson", "new", "bank.csv", "--sheet", number)
    assert refused.exit_code == 1
    assert "bank.csv, line 2: no cell with Net" in refused.output
    for wrong in (["--passage", "bank=2"], ["bank.csv", "--sheet", number, "--paper", "X"], []):
        assert shoal("lesson", "new", *wrong).exit_code == 2
    unknown = shoal("lesson", "new", "--sheet", number, "--passage", "bank=99")
    assert unknown.exit_code == 1
    assert "cell 99" in unknown.output
