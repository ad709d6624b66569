"""The examples in the docstrings are run: what a reader can check by hand must be true."""

import doctest
import importlib
from pathlib import Path

import pytest

SOURCES = Path(__file__).parent.parent / "src"
MODULES = sorted(
    ".".join(path.relative_to(SOURCES).with_suffix("").parts)
    for path in (SOURCES / "laydown").rglob("*.py")
    if path.name != "__main__.py"
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_say_what_is_true(name: str) -> None:
    """Every example of the module gives what its docstring says."""
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    """The color and media layers show an example in nearly every module."""
    finder = doctest.DocTestFinder(exclude_empty=True)
    core = [name for name in MODULES if name.startswith(("laydown.color.", "laydown.media."))]
    found = [n for n in core if any(t.examples for t in finder.find(importlib.import_module(n)))]
    assert len(found) > len(core) // 2
