"""The licences of everything that the program holds, gathered into one page.

The page names each package with its licence as we read it (``licences.csv``) and carries the whole
texts: those of the package itself, and those it hands on of what its wheel holds. Libraries of the
system it was built on come with the texts of their Debian packages. What has no licence listed or
no text stops the build: nothing is passed on unread.
"""

import csv
import html
import platform
import re
import subprocess
import sys
import sysconfig
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

HERE = Path(__file__).parent
LOCK = HERE.parent / "requirements.lock"
PLACE = "laydown/web/static/licences.html"
"""Among the program's libraries, where the bench finds the page and links it."""
TEXTS = re.compile(r"licen[cs]e|copying|notice|build_licenses", re.IGNORECASE)
NOT_SHIPPED = re.compile(r"reportlab/fonts/")
SYSTEM_LIBRARY = re.compile(r"lib[\w+.-]+?\.so[.\d]*$")
FROM_WHEEL = re.compile(r"-[0-9a-f]{8}(-[0-9a-f]{8})?\.so|scipy_openblas")
"""How wheels rename the libraries that they hold; their texts come with the wheel."""

Part = tuple[str, str, str]
"""A name and version, a licence, and its texts."""


def page(libraries: Path) -> str:
    """Return the page of a program whose libraries lie in a folder.

    Raises
    ------
    SystemExit
        When something in it has no licence that we know of.
    """
    parts = [*own_parts(), *packages(), *system_libraries(libraries)]
    lines = "\n".join(f"<li>{html.escape(name)}: {html.escape(of)}</li>" for name, of, _ in parts)
    texts = "\n".join(
        f"<h2>{html.escape(name)}</h2><pre>{html.escape(text)}</pre>" for name, _, text in parts
    )
    return (
        '<!doctype html><html lang="en"><meta charset="utf-8"><title>Licences</title>'
        "<h1>What laydown is made of</h1><p>Each part may be passed on under its licence.</p>"
        f"<ul>\n{lines}\n</ul>\n{texts}</html>\n"
    )


def listed() -> dict[str, str]:
    """Return the licence of each package that we have read."""
    with (HERE / "licences.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: row["licence"] for row in csv.DictReader(file)}


def locked() -> list[str]:
    """Return the names of all packages that a program may hold, on any system."""
    found = re.findall(r"^([\w.-]+)==", LOCK.read_text(encoding="utf-8"), re.MULTILINE)
    return sorted({name.lower().replace("_", "-") for name in found})


def own_parts() -> Iterator[Part]:
    """Yield laydown, Python, and what starts the program."""
    yield _package("laydown", "MIT")
    python = Path(sysconfig.get_path("stdlib")) / "LICENSE.txt"
    text = python.read_text("utf-8") if python.is_file() else _of_debian(Path(sys.executable))
    yield f"Python {platform.python_version()}", "PSF-2.0", text
    starter = "GPL-2.0-or-later WITH Bootloader-exception (programs it starts are free of it)"
    yield _package("pyinstaller", starter)


def packages() -> Iterator[Part]:
    """Yield each locked package that is installed here."""
    licences = listed()
    installed = {d.metadata["Name"].lower().replace("_", "-") for d in metadata.distributions()}
    for name in locked():
        if name in installed:
            if name not in licences:
                sys.exit(f"The licence of {name} was never read: list it in licences.csv.")
            yield _package(name, licences[name])


def said_by_package(name: str) -> str:
    """Return the licence that an installed package names as SPDX does; empty without."""
    try:
        return str(metadata.metadata(name)["License-Expression"] or "")
    except (metadata.PackageNotFoundError, KeyError):
        return ""


def _package(name: str, licence: str) -> Part:
    package = metadata.distribution(name)
    texts = [
        file.locate().read_text("utf-8", errors="replace")  # type: ignore[attr-defined]
        for file in package.files or ()
        if any(TEXTS.search(part) for part in file.parts)
        and file.suffix not in {".py", ".pyc"}
        and not NOT_SHIPPED.search(file.as_posix())
        and Path(str(file.locate())).is_file()
    ]
    if not texts:
        sys.exit(f"{name} comes without the text of its licence.")
    return f"{name} {package.version}", licence, "\n\n".join(dict.fromkeys(texts))


def system_libraries(folder: Path) -> Iterator[Part]:
    """Yield the libraries that came from the system it was built on."""
    for file in sorted(folder.iterdir()):
        if not SYSTEM_LIBRARY.match(file.name) or FROM_WHEEL.search(file.name):
            continue
        if file.is_symlink() or file.name.startswith("libpython"):
            continue
        yield file.name, "see its text", _of_debian(_on_this_system(file.name))


def _on_this_system(name: str) -> Path:
    known = subprocess.run(["/sbin/ldconfig", "-p"], check=True, capture_output=True, text=True)
    folders = {Path(path).parent for path in re.findall(r"=> (\S+)$", known.stdout, re.MULTILINE)}
    for folder in sorted(folders):
        if (folder / name).exists():
            return folder / name
    sys.exit(f"Nobody knows where {name} is from: it can't be passed on.")


def _of_debian(file: Path) -> str:
    """Return what the Debian package of a file says of its licence."""
    asked = ["dpkg-query", "--search", *map(str, {file, file.resolve()})]
    owner = subprocess.run(asked, check=False, capture_output=True, text=True).stdout
    text = Path("/usr/share/doc", owner.partition(":")[0] or "-", "copyright")
    if not text.is_file():
        sys.exit(f"{file} belongs to no package that says what its licence is.")
    return text.read_text("utf-8", errors="replace")
