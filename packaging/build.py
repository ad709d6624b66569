"""Make the program that needs no Python, its archive and its Debian package (``make build``).

Run by the Python of an environment that holds what laydown needs, PyInstaller and laydown itself
(the Makefile makes one in ``build/env``). Everything is written into ``build/``:

``build/program/laydown``
    The program's folder.
``build/laydown-VERSION-SYSTEM-PROCESSOR.tar.xz`` (``.zip`` on Windows)
    The same to hand on.
``build/laydown_VERSION_ARCHITECTURE.deb``
    The same for Debian and its kin, where ``dpkg-deb`` is.
"""

import os
import platform
import shutil
import subprocess
import sys
from pathlib import Path

import debian_package
import licences

import laydown

HERE = Path(__file__).parent
BUILD = HERE.parent / "build"
PROGRAM = BUILD / "program" / "laydown"
STARTER = PROGRAM / ("laydown.exe" if os.name == "nt" else "laydown")


def main() -> None:
    """Make everything, and say what was made and how large it is."""
    freeze()
    compile_search()
    (PROGRAM / "LICENCES.html").write_text(licences.page(PROGRAM), encoding="utf-8")
    made = [archive()]
    if shutil.which("dpkg-deb"):
        made.append(debian_package.make(PROGRAM, BUILD, version=laydown.__version__))
    print(f"{PROGRAM}: {megabytes(PROGRAM):.0f} MB")
    for file in made:
        print(f"{file}: {megabytes(file):.0f} MB")


def freeze() -> None:
    """Put laydown, Python and all libraries into one folder."""
    shutil.rmtree(PROGRAM.parent, ignore_errors=True)
    subprocess.run(
        [
            *(sys.executable, "-m", "PyInstaller", "--noconfirm", "--log-level", "WARN"),
            *("--distpath", PROGRAM.parent, "--workpath", BUILD / "work", HERE / "laydown.spec"),
        ],
        check=True,
    )


def compile_search() -> None:
    """Have the program compile its search into its own folder, under the state of its source."""
    from laydown.app.compiled_cache import state_of_search  # noqa: PLC0415  of what is shipped

    folder = PROGRAM / "_internal" / "compiled_search" / state_of_search()
    own = {name: value for name, value in os.environ.items() if not name.startswith("NUMBA_")}
    subprocess.run(
        [STARTER, "-P", "-m", "compile_search", folder],
        check=True,
        env=own,
        stdout=subprocess.DEVNULL,
    )


def archive() -> Path:
    """Pack the program's folder."""
    name = f"laydown-{laydown.__version__}-{platform.system().lower()}-{platform.machine().lower()}"
    form = "zip" if os.name == "nt" else "xztar"
    packed = shutil.make_archive(
        str(BUILD / name), form, root_dir=PROGRAM.parent, base_dir=PROGRAM.name
    )
    return Path(packed)


def megabytes(path: Path) -> float:
    """Return how large a file is, or all files of a folder [MB]; a link counts nothing."""
    files = path.rglob("*") if path.is_dir() else [path]
    return sum(file.lstat().st_size for file in files if not file.is_dir()) / 1e6


if __name__ == "__main__":
    main()
