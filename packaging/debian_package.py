"""The program as a Debian package: a menu entry, an icon, and kinds of files of its own.

References
----------
Debian Policy 4.7, sections 5.3 (control), 12.5 (copyright); Desktop Entry Specification 1.5;
Shared MIME-info Database 0.22, freedesktop.org.
"""

import gzip
import os
import shutil
import subprocess
from pathlib import Path

import licences

import laydown

HERE = Path(__file__).parent
FILES = HERE / "debian"
MARK = HERE.parent / "src" / "laydown" / "web" / "static" / "mark.svg"
PROGRAM = Path("usr/lib/laydown")


def make(program: Path, build: Path) -> Path:
    """Return the package, made from the program's folder and put into another."""
    root = build / "debian"
    shutil.rmtree(root, ignore_errors=True)
    shutil.copytree(program, root / PROGRAM, symlinks=True, copy_function=os.link)
    _put(FILES / "laydown.desktop", root / "usr/share/applications")
    _put(FILES / "laydown.xml", root / "usr/share/mime/packages")
    icons = root / "usr/share/icons/hicolor/scalable"
    _put(MARK, icons / "apps", "laydown.svg")
    for kind in ("library", "lesson"):
        _put(MARK, icons / "mimetypes", f"application-x-laydown-{kind}.svg")
    documents = root / "usr/share/doc/laydown"
    _put(FILES / "copyright", documents)
    (documents / "licences.html").symlink_to("/" / PROGRAM / "_internal" / licences.PLACE)
    changes = gzip.compress((HERE.parent / "CHANGELOG.md").read_bytes(), mtime=0)
    (documents / "changelog.gz").write_bytes(changes)
    (root / "usr/bin").mkdir()
    (root / "usr/bin/laydown").symlink_to(Path("../lib/laydown/laydown"))
    return _packed(root, build)


def _put(file: Path, folder: Path, name: str = "") -> None:
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(file, folder / (name or file.name))


def _packed(root: Path, build: Path) -> Path:
    _open_to_all(root)
    architecture = _said("dpkg", "--print-architecture")
    size = sum(file.lstat().st_size for file in root.rglob("*") if not file.is_dir()) // 1024
    control = (FILES / "control").read_text(encoding="utf-8")
    (root / "DEBIAN").mkdir(mode=0o755)
    (root / "DEBIAN/control").write_text(
        control.format(version=laydown.__version__, architecture=architecture, size=size),
        encoding="utf-8",
    )
    file = build / f"laydown_{laydown.__version__}_{architecture}.deb"
    _said("dpkg-deb", "--root-owner-group", "-Zzstd", "-z9", "--build", str(root), str(file))
    return file


def _open_to_all(root: Path) -> None:
    """Let everybody read what everybody is to use, whatever the builder's own habits are."""
    for path in [root, *root.rglob("*")]:
        if not path.is_symlink():
            runs = path.is_dir() or os.access(path, os.X_OK)
            path.chmod(0o755 if runs else 0o644)


def _said(*words: str) -> str:
    return subprocess.run(words, check=True, capture_output=True, text=True).stdout.strip()
