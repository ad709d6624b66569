"""Every bad file gives one clear sentence with a place, exit code 1, and changes nothing."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]

HEAD = "range,medium,color,paper,coats,L,a,b\n"
GOOD = HEAD + "Shoal,marker,Kelp,Gannet smooth,1,52,-22,24\n"
BANDS = ",".join(f"r{w}" for w in range(380, 740, 10))


def _spectrum(value: str) -> str:
    cells = ",".join([value] + ["0.5"] * 35)
    return f"range,color,paper,{BANDS}\nShoal,Kelp,Gannet smooth,{cells}\n"


BAD = {
    "empty": (b"", r"empty"),
    "binary": (b"\x00\x01\x02\x03binary", r"not text|binary"),
    "a picture": (b"\x89PNG\r\n\x1a\n", r"image"),
    "another encoding": (GOOD.replace("Kelp", "Kélp").encode("latin-1"), r"line 2.*UTF-8"),
    "UTF-16": (GOOD.encode("utf-16"), r"UTF-16"),
    "no number": (GOOD.replace("-22", "NaN").encode(), r"line 2.*\ba\b"),
    "negative light": (_spectrum("-0.2").encode(), r"line 2.*r380"),
    "light in percent": (_spectrum("52").replace("0.5", "50").encode(), r"line 2"),
    "a column twice": (GOOD.replace("coats", "paper").encode(), r"paper"),
    "a column unknown": (GOOD.replace("coats", "coast").encode(), r"coast[\s\S]*coats"),
    "a name twice": (
        (GOOD + "Shoal,pencil,Kelp,Gannet smooth,1,50,-20,20\n").encode(),
        r"line 3",
    ),
    "no paper": (GOOD.replace("Gannet smooth", "").encode(), r"line 2.*paper"),
    "XYZ up to 1": (
        b"range,color,paper,X,Y,Z\nShoal,Kelp,Coarse,.2,.3,.1\nShoal,Dune,Coarse,.4,.5,.3\n",
        r"line 2",
    ),
    "decimal commas": (
        HEAD.encode() + b"Shoal,marker,Kelp,Gannet smooth,1,52,0,-22,0,24,0\n",
        r"line 2",
    ),
    "no such color": (GOOD.replace("52,-22,24", "52,-122,124").encode(), r"line 2"),
    "too many coats": (GOOD.replace(",1,52", ",40,52").encode(), r"line 2.*coats|40 coats"),
    "half a row": (HEAD.encode() + b"Shoal,marker,Kelp\n", r"line 2"),
    "a good row, then a bad one": (
        (GOOD + "Shoal,marker,Dune,Gannet smooth,x,52,-22,24\n").encode(),
        r"line 3.*coats",
    ),
}


@pytest.mark.parametrize(("content", "told"), BAD.values(), ids=BAD.keys())
def test_a_bad_file_changes_nothing(shoal: Run, tmp_path: Path, content: bytes, told: str) -> None:
    """One sentence and a hint on stderr, exit code 1, and the library is what it was."""
    before = shoal("swatches", "export").stdout, shoal("library", "history").stdout
    (tmp_path / "bad.csv").write_bytes(content)
    refused = shoal("swatches", "import", "bad.csv")
    assert refused.exit_code == 1
    assert refused.stdout == ""
    assert "bad.csv" in refused.stderr
    assert len(refused.stderr.strip().splitlines()) <= 2
    assert re.search(told, refused.stderr), refused.stderr
    assert (shoal("swatches", "export").stdout, shoal("library", "history").stdout) == before


def test_a_huge_file_is_refused_before_it_is_read(run: Run, tmp_path: Path) -> None:
    """A file over the limit is refused by its size, however long it is."""
    with (tmp_path / "huge.csv").open("wb") as stream:
        stream.truncate(30_000_000_000)
    refused = run("swatches", "import", "huge.csv")
    assert refused.exit_code == 1
    assert "huge.csv has more than 20 million bytes" in refused.stderr


def test_a_missing_file_is_named(run: Run) -> None:
    """A file that isn't there is named, with what to check."""
    refused = run("swatches", "import", "nowhere.csv")
    assert refused.exit_code == 1
    assert refused.stderr.startswith("nowhere.csv can't be read: No such file")


def test_one_bad_file_keeps_the_others_out(run: Run, tmp_path: Path) -> None:
    """Of several files, nothing is taken in when one of them is bad."""
    (tmp_path / "good.csv").write_text(GOOD, encoding="utf-8")
    (tmp_path / "bad.csv").write_text(GOOD.replace("52", "x"), encoding="utf-8")
    assert run("swatches", "import", "good.csv", "bad.csv").exit_code == 1
    assert "There are no such swatches" in run("swatches", "list").stderr


def test_light_above_white_is_accepted_and_flagged(run: Run, tmp_path: Path) -> None:
    """A reflectance over 1 is taken in; the import says so."""
    (tmp_path / "bright.csv").write_text(_spectrum("1.1"), encoding="utf-8")
    taken = run("swatches", "import", "bright.csv")
    assert taken.exit_code == 0, taken.output
    assert "above-white: 1 swatch" in taken.stdout


def test_missing_end_bands_are_extended_and_flagged(run: Run) -> None:
    """Bands from 400 to 700 nm are enough; the import says that the ends were extended."""
    bands = range(400, 710, 10)
    head = ",".join(f"r{w}" for w in bands)
    row = ",".join(["0.5"] * len(bands))
    text = f"range,color,paper,{head}\nShoal,Kelp,Gannet smooth,{row}\n"
    taken = run("swatches", "import", "-", stdin=text)
    assert taken.exit_code == 0, taken.output
    assert "extended-bands: 1 swatch" in taken.stdout
