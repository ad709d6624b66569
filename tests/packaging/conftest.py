"""The scripts of ``packaging/`` are found by name, and the built program where it was built."""

import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "packaging"))

MADE = {
    "test_program.py": ROOT.glob("build/program/laydown/laydown"),
    "test_debian_package.py": ROOT.glob("build/laydown_*.deb"),
}
collect_ignore = [test for test, made in MADE.items() if not any(made)]
"""`make build` makes what these try; without, there is nothing to try."""
