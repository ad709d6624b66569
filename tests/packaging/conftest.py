"""The scripts of ``packaging/`` are found by name, and the built program where it was built."""

import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "packaging"))
PROGRAM = ROOT / "build" / "program" / "laydown"

collect_ignore = [] if PROGRAM.is_dir() else ["test_program.py", "test_debian_package.py"]
"""`make build` makes what these try; without, there is nothing to try."""
