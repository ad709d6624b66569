"""What the index gets: the wheel and the sdist, built here and looked into."""

import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = ROOT / "src"

pytest.importorskip("hatchling", reason="what builds a wheel isn't installed: make test does so")


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return a wheel and an sdist."""
    folder = tmp_path_factory.mktemp("dist")
    words = ["-m", "hatchling", "build", "-t", "wheel", "-t", "sdist", "-d", str(folder)]
    subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True)
    (wheel,), (sdist,) = folder.glob("*.whl"), folder.glob("*.tar.gz")
    return wheel, sdist


def files_of_source() -> set[str]:
    """Return every file of the package, code and data, as it is called in a wheel."""
    files = (path for path in (SOURCES / "laydown").rglob("*") if path.is_file())
    return {str(path.relative_to(SOURCES)) for path in files if path.suffix != ".pyc"}


def test_the_wheel_holds_every_file(built: tuple[Path, Path]) -> None:
    """Code, tables, fonts, templates, migrations, the demo: what is in the source is there."""
    with zipfile.ZipFile(built[0]) as wheel:
        names = {name for name in wheel.namelist() if ".dist-info/" not in name}
    assert names == files_of_source()


def test_the_sdist_holds_what_builds_and_tries_it(built: tuple[Path, Path]) -> None:
    """The source, the scripts that make programs of it, and the tests."""
    with tarfile.open(built[1]) as sdist:
        names = {name.partition("/")[2] for name in sdist.getnames()}
    assert {f"src/{name}" for name in files_of_source()} <= names
    assert {"packaging/build.py", "packaging/debian/control", "Makefile", "LICENSE"} <= names
    assert "tests/packaging/test_distributions.py" in names


def test_the_wheel_alone_is_a_laydown(built: tuple[Path, Path], tmp_path: Path) -> None:
    """Away from the source, what it takes for the demo's supplies is found."""
    place = tmp_path / "place"
    with zipfile.ZipFile(built[0]) as wheel:
        wheel.extractall(place)
    asked = ["-P", "-m", "laydown", "library", "add-demo", "--db", "library.db"]
    done = subprocess.run(
        [sys.executable, *asked],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(place)},
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert "Orchard" in done.stdout
