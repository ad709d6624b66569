"""Make the program that needs no Python, and what of it is handed on (``make build``).

Run by the Python of an environment that holds what laydown needs, PyInstaller and laydown itself
(the Makefile makes one in ``build/env``). All is written into ``build/``; with the word ``program``
only the program's folder is made, ``build/program``, and nothing is packed.

What is packed is an archive and a Debian package on Linux, an installer on Windows, and a disk
image on macOS. The last two were never run: nobody here has such a computer.
"""

import os
import platform
import re
import shutil
import subprocess
import sys
import tarfile
from pathlib import Path

import debian_package
import licences
from PIL import Image, ImageDraw

import laydown
from laydown.cli.main import state_of_search

HERE = Path(__file__).parent
BUILD = HERE.parent / "build"
FOLDER = BUILD / "program" / "laydown"
APPLICATION = BUILD / "program" / "laydown.app" / "Contents"
"""On macOS, made of the same."""
PLACES = {
    "linux": (FOLDER / "laydown", FOLDER / "_internal"),
    "win32": (FOLDER / "laydown.exe", FOLDER / "_internal"),
    "darwin": (APPLICATION / "MacOS" / "laydown", APPLICATION / "Frameworks"),
}
STARTER, INTERNAL = PLACES[sys.platform]
NAME = f"laydown-{laydown.__version__}-{platform.system().lower()}-{platform.machine().lower()}"
UNSTRIPPED = ("libpython3*.so.1.0", "llvmlite/binding/libllvmlite.so")
"""Libraries that come with names and lines for debuggers, 36 MB of them; the others have none, or
were written anew by who packed them so that taking anything out would break them."""


def main() -> None:
    """Make everything, and say what was made and how large it is."""
    draw_icon(BUILD / "mark.ico")
    draw_icon(BUILD / "mark.icns")
    freeze()
    compile_search()
    (INTERNAL / licences.PLACE).write_text(licences.page(INTERNAL), encoding="utf-8")
    made = [FOLDER, *([] if sys.argv[1:] == ["program"] else pack())]
    for path in made:
        print(f"{path}: {megabytes(path):.0f} MB")


def draw_icon(file: Path) -> None:
    """Draw the bench's mark, which is made of rectangles, as the icon that a system wants."""
    file.parent.mkdir(exist_ok=True)
    scale = 32
    picture = Image.new("RGBA", (32 * scale, 32 * scale))
    for shape in re.findall(r"<rect ([^/]*)/>", debian_package.MARK.read_text(encoding="utf-8")):
        of = dict(re.findall(r'(\w+)="([^"]*)"', shape))
        left, top = int(of.get("x", 0)) * scale, int(of.get("y", 0)) * scale
        right, bottom = left + int(of["width"]) * scale, top + int(of["height"]) * scale
        ImageDraw.Draw(picture).rectangle((left, top, right - 1, bottom - 1), fill=of["fill"])
    picture.save(file)


def freeze() -> None:
    """Put laydown, Python and all libraries into one folder."""
    shutil.rmtree(FOLDER.parent, ignore_errors=True)
    _run(
        *(sys.executable, "-m", "PyInstaller", "--noconfirm", "--log-level", "WARN"),
        *("--distpath", FOLDER.parent, "--workpath", BUILD / "work", HERE / "laydown.spec"),
    )
    if shutil.which("strip") and sys.platform == "linux":
        for pattern in UNSTRIPPED:
            _run("strip", "--strip-unneeded", *INTERNAL.glob(pattern))


def compile_search() -> None:
    """Have the program compile its search into its own folder, under the state of its source."""
    folder = INTERNAL / "compiled_search" / state_of_search()
    own = {name: value for name, value in os.environ.items() if not name.startswith("NUMBA_")}
    _run(STARTER, "-m", "compile_search", folder, env=own, stdout=subprocess.DEVNULL)


def pack() -> list[Path]:
    """Pack the program as its system's people expect it."""
    if sys.platform == "darwin":
        image = BUILD / f"{NAME}.dmg"
        _run("codesign", "--force", "--deep", "--sign", "-", APPLICATION.parent)
        _run(
            "hdiutil",
            "create",
            "-ov",
            "-volname",
            "laydown",
            "-srcfolder",
            APPLICATION.parent,
            image,
        )
        return [image]
    if sys.platform == "win32":
        _run("iscc", f"/DVersion={laydown.__version__}", f"/DName={NAME}", HERE / "laydown.iss")
        return [BUILD / f"{NAME}.exe"]
    archive = BUILD / f"{NAME}.tar.xz"
    with tarfile.open(
        archive, "w:xz", preset=1
    ) as packed:  # 6 takes 5 times as long, for 14 % less
        packed.add(FOLDER, FOLDER.name)
    packages = [debian_package.make(FOLDER, BUILD)] if shutil.which("dpkg-deb") else []
    return [archive, *packages]


def megabytes(path: Path) -> float:
    """Return how large a file is, or all files of a folder [MB]; a link counts nothing."""
    files = path.rglob("*") if path.is_dir() else [path]
    return sum(file.lstat().st_size for file in files if not file.is_dir()) / 1e6


def _run(*words: object, **how: object) -> None:
    subprocess.run([str(word) for word in words], check=True, **how)  # type: ignore[call-overload]


if __name__ == "__main__":
    main()
