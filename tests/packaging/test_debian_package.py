"""The Debian package: installed in a clean root, started there, and removed without a trace."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = sorted((ROOT / "build").glob("laydown_*.deb"))
NEEDED = ("libc6", "zlib1g", "libgcc-s1", "gcc-12-base", "libcrypt1")

pytestmark = pytest.mark.skipif(
    not os.environ.get("CI") and (os.geteuid() != 0 or not shutil.which("dpkg") or not PACKAGES),
    reason="a clean root needs the rights of root, dpkg and the package",
)


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A root whose package database knows the C library and zlib, and that holds their files."""
    root = tmp_path_factory.mktemp("clean")
    state = root / "var/lib/dpkg"
    (state / "info").mkdir(parents=True)
    (state / "updates").mkdir()
    (root / "tmp").mkdir()
    records = [_said("dpkg-query", "--status", name) for name in NEEDED if _is_installed(name)]
    (state / "status").write_text("\n\n".join(records) + "\n\n", encoding="utf-8")
    for name in ("libc6", "zlib1g"):
        for file in map(Path, _said("dpkg-query", "--listfiles", name).splitlines()):
            if file.is_file() and ".so" in file.name:
                copy = root / file.relative_to("/")
                copy.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(file, copy)
    (root / "lib64").mkdir(exist_ok=True)
    shutil.copy("/lib64/ld-linux-x86-64.so.2", root / "lib64")
    (root / "home/ann/.local/share/laydown").mkdir(parents=True)
    (root / "home/ann/.local/share/laydown/library.db").write_bytes(b"what she made")
    yield root
    shutil.rmtree(root, ignore_errors=True)


def test_what_was_installed_runs_and_is_removed_without_a_trace(clean: Path) -> None:
    """The menu entry, the kind of file and the command are there, and gone; the library stays."""
    before = _paths(clean)
    _dpkg(clean, "--install", str(PACKAGES[-1]))
    usr = clean / "usr"
    assert (usr / "share/applications/laydown.desktop").is_file()
    assert (usr / "share/mime/packages/laydown.xml").is_file()
    assert (usr / "share/icons/hicolor/scalable/apps/laydown.svg").is_file()
    licences = (usr / "share/doc/laydown/licences.html").readlink().relative_to("/")
    assert (clean / licences).stat().st_size > 500_000
    told = _said("unshare", "--root", str(clean), "/usr/bin/laydown", "--version")
    assert told.startswith("laydown ")
    _dpkg(clean, "--purge", "laydown")
    assert _paths(clean) == before
    assert (clean / "home/ann/.local/share/laydown/library.db").read_bytes() == b"what she made"


def _paths(root: Path) -> set[str]:
    """Return every path but those of dpkg's own records, and empty folders that it leaves."""
    return {
        str(path.relative_to(root))
        for path in root.rglob("*")
        if not path.is_relative_to(root / "var") and not path.is_dir()
    }


def _dpkg(root: Path, *words: str) -> None:
    # the scripts of a package would run in the root, where no shell is: ours has none
    subprocess.run(
        ["dpkg", f"--root={root}", "--force-not-root", "--log=/dev/null", *words],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "DPKG_FRONTEND_LOCKED": "1"},
    )


def _is_installed(name: str) -> bool:
    return (
        subprocess.run(
            ["dpkg-query", "--status", name], capture_output=True, check=False
        ).returncode
        == 0
    )


def _said(*words: str) -> str:
    return subprocess.run(words, check=True, capture_output=True, text=True).stdout.strip()
