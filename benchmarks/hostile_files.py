"""Read the worst files of every kind: processor time and memory until they are read or refused.

Run: python benchmarks/hostile_files.py [KIND …]
The files are those of tests/hostile, as large as is allowed; each is read in a process of its own.
Memory is the most that the process took, with its imports and the making of the file. The table
goes to benchmarks/results/hostile_files.md, where all kinds were read. A dozen of them are held to
the same bounds by tests/hostile/test_hostile_files.py.
"""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

READING = Path(__file__).parent.parent / "tests" / "hostile" / "reading.py"
RESULT = Path(__file__).parent / "results" / "hostile_files.md"
MOST_SECONDS, MOST_MEGABYTES = 5, 500
LONGEST = 90
HEAD = """# The worst files, measured

`python benchmarks/hostile_files.py`, on two cores that other work shared. A file of any kind, up to
the size that is allowed, is to be read or refused within 5 s of processor time and 500 MB.

| kind | file | [MB] | CPU [s] | memory [MB] | what came of it |
|---|---|---|---|---|---|
"""


def row(told: dict[str, Any]) -> str:
    """Return a line of the table."""
    came = told["told"] if len(told["told"]) <= LONGEST else told["told"][:LONGEST] + "…"
    return (
        f"| {told['kind']} | {told['name']} | {told['size']:.1f} | {told['seconds']:.2f} | "
        f"{told['megabytes']:.0f} | {came.replace('|', ' ')} |"
    )


def main() -> int:
    """Print the table; return 1 where a bound was broken."""
    kinds, rows, broken = sys.argv[1:], [], 0
    environment = os.environ | {"HOSTILE_SECONDS": "60", "OPENBLAS_NUM_THREADS": "1"}
    command = [sys.executable, "-W", "ignore", str(READING), *kinds]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as reading:
        for line in reading.stdout or ():
            told = json.loads(line)
            rows.append(row(told))
            print(rows[-1], flush=True)
            over = told["seconds"] > MOST_SECONDS or told["megabytes"] > MOST_MEGABYTES
            broken += over or told["told"].startswith("fault")
    if not kinds:
        RESULT.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    print(f"{len(rows)} files, {broken} beyond a bound")
    return int(broken > 0)


if __name__ == "__main__":
    sys.exit(main())
