"""A command line to try, with a library of its own."""

import contextlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from laydown.cli.main import door

Run = Callable[..., Result]

SHOAL = """\
range,medium,color,paper,coats,over,L,a,b
Shoal,marker,,Gannet smooth,,,95.0,0.5,-2.0
Shoal,marker,Kelp,Gannet smooth,1,,52.0,-22.0,24.0
Shoal,marker,Kelp,Gannet smooth,2,,40.0,-24.0,26.0
Shoal,marker,Dune,Gannet smooth,1,,82.0,3.0,22.0
Shoal,marker,Dune,Gannet smooth,2,,76.0,4.0,30.0
Shoal,marker,Skiff,Gannet smooth,1,,60.0,-8.0,-30.0
Shoal,marker,Net,Gannet smooth,1,,70.0,0.0,3.0
"""
"""An invented range of four markers on an invented paper."""


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Return a function that runs a command line in an empty folder with a library there."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LAYDOWN_DB", str(tmp_path / "library.db"))

    def call(*arguments: str, stdin: str | bytes | None = None) -> Result:
        return CliRunner().invoke(door, list(arguments), input=stdin)

    return call


@pytest.fixture(scope="session")
def shoal_library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Import the range Shoal once, for all tests to copy, and have its fit kept by a match."""
    folder = tmp_path_factory.mktemp("shoal")
    (folder / "shoal.csv").write_text(SHOAL, encoding="utf-8")
    with contextlib.chdir(folder):
        for command in (["swatches", "import", "shoal.csv"], ["match", "Kelp", "--steps", "1"]):
            told = CliRunner().invoke(door, [*command, "--db", "library.db"])
            assert told.exit_code == 0, told.output
    return folder


@pytest.fixture
def shoal(run: Run, tmp_path: Path, shoal_library: Path) -> Run:
    """Return the same, with the range Shoal in the library and its file in the folder."""
    shutil.copytree(shoal_library, tmp_path, dirs_exist_ok=True)
    return run


@pytest.fixture
def as_json(run: Run) -> Callable[..., Any]:
    """Return a function that runs a command with --json and reads what it gives."""

    def call(*arguments: str, code: int = 0) -> Any:
        result = run(*arguments, "--json")
        assert result.exit_code == code, result.output
        return json.loads(result.stdout)

    return call
