"""The worst files are read or refused in a sentence, before they cost much.

A fixed few of those that ``benchmarks/hostile_files.py`` reads; each dies of what it costs after 20
seconds of processor time, four times what an idle machine needs at most.
"""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.long

READING = Path(__file__).parent / "reading.py"
MOST_MEGABYTES = 500
LONGEST_SENTENCE = 2200
WORST = {
    "swatches": (
        "csv=within: XYZ at the solid's surface",
        "csv=short lines",
        "csv=a heading of commas",
        "csv=bands of one digit",
        "csv=accents out of order in codes",
        "csv=a number of coats of many digits",
        "cgats=short sets",
        "cgats=keywords times tables",
        "cgats=columns times tables",
        "cgats=a quote that ends nowhere",
        "cgats=data that end and never begin",
        "cxf=within: a specification of many parts",
        "cxf=text between empty elements",
        "cxf=nested elements",
        "cxf=a spectrum of many bands",
    ),
    "lists": (
        "targets=short lines",
        "targets=one huge cell",
        "prices=within: sets",
        "prices=currencies",
        "lightfastness=classes",
        "lessons=notes of a color",
        "lessons=a spectrum of many numbers",
        "changes=one merge that fails",
        "trials=within: photographs",
        "trials=lists",
        "trials=long numbers",
        "trials=a recipe of blanks",
        "trials=a number of coats of many digits",
    ),
    "pictures": (
        "pictures=PNG, pixels in empty chunks",
        "pictures=JPEG, empty segments",
        "pictures=JPEG, EXIF in very many segments",
        "pictures=TIFF, strips without number",
        "pictures=TIFF, pages",
        "profiles=a table of two hundred tags",
        "profiles=curves without steps",
        "profiles=a table of 255 points a side",
        "pdf=pages in pages",
        "pdf=a page of square kilometers",
        "pdf=a picture of 60,000 pixels a side",
        "pdf=a picture ten thousand times",
        "pdf=brackets in brackets",
        "pdf=lists in lists",
        "pdf=forms in forms",
        "pdf=two million paths",
        "pdf=forms that each draw ten",
        "plans=larger than is read",
        "plans=packed by blocks",
        "plans=a directory of a million entries",
        "plans=many chunks",
    ),
}


@pytest.fixture(scope="module")
def told() -> dict[str, dict[str, Any]]:
    """Read all of them, each in a process of its own, and return what came of each."""
    asked = [one for group in WORST.values() for one in group]
    done = subprocess.run(
        [sys.executable, "-W", "error", str(READING), *asked],
        capture_output=True,
        text=True,
        check=True,
    )
    found = [json.loads(line) for line in done.stdout.splitlines()]
    return {f"{one['kind']}={one['name']}": one for one in found}


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="it asks Linux what was used")
@pytest.mark.parametrize("group", WORST)
def test_the_worst_files_are_read_or_refused_before_they_cost_much(
    group: str, told: dict[str, dict[str, Any]]
) -> None:
    """Each is read or refused in a sentence, within 500 MB and without being broken off."""
    some = [told[name] for name in WORST[group]]
    assert [one for one in some if not one["told"].startswith(("read", "refused: "))] == []
    assert [one for one in some if one["megabytes"] > MOST_MEGABYTES] == []
    assert max(len(one["told"]) for one in some) <= LONGEST_SENTENCE
