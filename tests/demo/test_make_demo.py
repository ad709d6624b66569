"""The shipped demo is what its generator makes."""

import runpy
from pathlib import Path

from laydown.demo.files import LIGHTFASTNESS_FILE, read_bytes

TOOL = Path(__file__).parent.parent.parent / "tools" / "make_demo.py"


def test_regenerating_the_demo_changes_no_byte() -> None:
    """``tools/make_demo.py`` writes exactly the files that are committed."""
    made = runpy.run_path(str(TOOL))["make"]()
    assert len(made) == 6
    assert [name for name, text in made.items() if text.encode() != read_bytes(name)] == []


def test_regenerating_the_classes_changes_no_byte() -> None:
    """``tools/make_demo_lightfastness.py`` writes exactly the file that is committed."""
    made = runpy.run_path(str(TOOL.with_name("make_demo_lightfastness.py")))["make"]()
    assert made.encode() == read_bytes(LIGHTFASTNESS_FILE)
