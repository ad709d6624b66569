"""How much processor time whole commands take, as a user waits for them: recorded, not asserted.

Run it with ``python benchmarks/startup.py``; it writes benchmarks/results/startup.csv. Each command
is a process of its own, with compiled bytecode and the search compiled beforehand, as it is from
the second call on. Beside each stands what it is measured against: a bare interpreter, and one that
only imports numpy, in the same run.
"""

import csv
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from laydown.demo.files import SWATCH_FILES, data_file

RESULTS = Path(__file__).parent / "results" / "startup.csv"
REPEATS = 9
MATCH = ("match", "--kit", "student", "--paper", "Gannet smooth", "-q")


def main() -> None:
    """Measure, print and write."""
    with tempfile.TemporaryDirectory() as folder:
        environment = _environment(Path(folder))
        _fill(environment)
        rows = [_row(name, command, environment) for name, command in _commands().items()]
    RESULTS.parent.mkdir(exist_ok=True)
    with RESULTS.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(
            ["command", "median CPU [s]", "least CPU [s]", "goal [s]", "python", "cores"]
        )
        writer.writerows(rows)
    for row in rows:
        print(f"{row[0]:44} median {row[1]} s, least {row[2]} s, goal {row[3] or 'none'}")


def _commands() -> dict[str, tuple[list[str], str]]:
    laydown = [sys.executable, "-m", "laydown"]
    return {
        "bare interpreter": ([sys.executable, "-c", "pass"], ""),
        "interpreter with numpy": ([sys.executable, "-c", "import numpy"], ""),
        "laydown --help": ([*laydown, "--help"], "0.3"),
        "laydown swatches list": ([*laydown, "swatches", "list", "-q"], ""),
        "laydown match, 36 colorants, within reach": (
            [*laydown, *MATCH, "Estuary/Eelgrass"],
            "1.5",
        ),
        "laydown match, 36 colorants, out of reach": ([*laydown, *MATCH, "Estuary/Oilskin"], "1.5"),
    }


def _environment(folder: Path) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    return kept | {
        "LAYDOWN_DB": str(folder / "library.db"),
        "PYTHONPYCACHEPREFIX": str(folder / "bytecode"),
        "NUMBA_CACHE_DIR": str(folder / "compiled"),
    }


def _fill(environment: dict[str, str]) -> None:
    """Import the demo's ranges, make the kit, and let every command run once."""
    laydown = [sys.executable, "-m", "laydown"]
    files = [str(data_file(name)) for name in SWATCH_FILES]
    for command in (
        ["swatches", "import", *files],
        ["kit", "create", "student"],
        ["kit", "own", "student", "--range", "Orchard"],
    ):
        subprocess.run([*laydown, *command, "-q"], env=environment, check=True, capture_output=True)
    for command, _ in _commands().values():
        subprocess.run(command, env=environment, check=False, capture_output=True)


def _row(name: str, command: tuple[list[str], str], environment: dict[str, str]) -> list[str]:
    times = [_processor_time(command[0], environment) for _ in range(REPEATS)]
    return [
        name,
        f"{statistics.median(times):.2f}",
        f"{min(times):.2f}",
        command[1],
        platform.python_version(),
        str(os.cpu_count()),
    ]


def _processor_time(command: list[str], environment: dict[str, str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, env=environment, check=False, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


if __name__ == "__main__":
    main()
