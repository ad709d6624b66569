"""Kill laydown in the middle of what it does, again and again, and see whether anything is lost.

``python tools/try_kills.py 100`` (needs a system with ``fork``). A process of its own adds, brings
in, notes, erases, restores and takes back at random, and says before each what the library will
hold after it, and after each that it is done. It is killed at a random moment. What the library
holds then is what was last said to be done, or that and all of what was under way; and its file is
sound.
"""

import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from PIL import Image

from laydown.app.library import Library, open_named, restore_library, undo_change
from laydown.app.notebook.trials import AddTrial, add_trial, erase_trial
from laydown.app.supplies.kits import create_kit
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.app.tasks import GivenFile

TABLES = ("swatches", "kits", "trials", "photographs", "changes")
LONGEST = 2.0
"""Seconds until a kill."""
Held = tuple[int, ...]
Step = tuple[Held, Callable[[], object]]
"""What will be held, and what does it."""
Deed = Callable[[Library, random.Random, Path, Held], Step]


def held(path: Path) -> Held:
    """Return how many rows the tables have, in a file that is sound."""
    with closing(sqlite3.connect(path)) as file:
        sound = file.execute("PRAGMA integrity_check").fetchone()[0]
        loose = file.execute("PRAGMA foreign_key_check").fetchall()
        if sound != "ok" or loose:
            raise SystemExit(f"{path} is damaged: {sound} {loose[:1]}")
        return tuple(file.execute(f"select count(*) from {t}").fetchone()[0] for t in TABLES)


def more(now: Held, *by: int) -> Held:
    """Return what is held once so much more of each is."""
    return tuple(a + b for a, b in zip(now, by, strict=True))


def add(library: Library, chance: random.Random, _: Path, now: Held) -> Step:
    """Make a kit."""
    name = f"kit {chance.random()}"
    return more(now, 0, 1, 0, 0, 1), lambda: create_kit(library, name)


def bring_in(library: Library, chance: random.Random, _: Path, now: Held) -> Step:
    """Bring in four hundred swatches."""
    lines = "".join(f"Shoal,Kelp,Heron,1,{40 + 40 * chance.random()},0,10\n" for _ in range(400))
    file = GivenFile(f"range,color,paper,coats,L,a,b\n{lines}".encode(), "more.csv")
    after = more(now, 400, 0, 0, 0, 1)
    return after, lambda: import_swatches(library, ImportSwatches((file,)))


def note(library: Library, chance: random.Random, folder: Path, now: Held) -> Step:
    """Note a trial with a photograph of its own."""
    picture = folder / "trial.png"
    Image.frombytes("RGB", (300, 200), chance.randbytes(180_000)).save(picture)
    photograph = GivenFile(picture.read_bytes(), "trial.png")
    trial = AddTrial("Shoal/Kelp", "lab:50,0,10", paper="Heron", photograph=photograph)
    return more(now, 0, 0, 1, 1, 0), lambda: add_trial(library, trial)


def erase(library: Library, _: random.Random, _folder: Path, now: Held) -> Step:
    """Erase a trial and its photograph, or note that there is none."""
    with library.look() as work:
        trials = work.notebook.latest()
    if not trials:
        return now, lambda: None
    after = more(now, 0, 0, -1, -1, 0)
    return after, lambda: erase_trial(library, trials[0].number)


def restore(library: Library, _: random.Random, folder: Path, _now: Held) -> Step:
    """Put the copy of the beginning in place."""
    copy = folder / "copy.db"
    return held(copy), lambda: restore_library(library, copy)


def undo(library: Library, _: random.Random, folder: Path, now: Held) -> Step:
    """Take back what was made last, a kit or swatches; not the beginning."""
    last = library.history()[0]
    if now[-1] <= held(folder / "copy.db")[-1]:
        return now, lambda: None
    swatches = 400 if last.label.startswith("import") else 0
    return more(now, -swatches, -(swatches == 0), 0, 0, -1), lambda: undo_change(library)


DEEDS: tuple[Deed, ...] = (add, bring_in, note, note, erase, restore, undo)


def work_until_killed(folder: Path, seed: int, told: int) -> None:
    """Do one thing after another, and say so."""
    chance, path = random.Random(seed), folder / "library.db"
    library = open_named(str(path))
    while True:
        deed = chance.choice(DEEDS)
        after, do = deed(library, chance, folder, held(path))
        os.write(told, f"{deed.__name__} {' '.join(map(str, after))}\n".encode())
        do()
        os.write(told, b"done\n")


def one_kill(folder: Path, seed: int) -> tuple[str, str]:
    """Kill once; return what was under way, and whether all or nothing of it is there."""
    path = folder / "library.db"
    before, (reading, writing) = held(path), os.pipe()
    child = os.fork()
    if child == 0:
        work_until_killed(folder, seed, writing)
    os.close(writing)
    time.sleep(random.Random(-seed).uniform(0.02, LONGEST))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reading) as lines:
        told = lines.read().splitlines()
    under_way, after = "nothing", before
    for line in told:
        if line == "done":
            under_way, before = "nothing", after
        else:
            under_way, *counts = line.split()
            after = tuple(map(int, counts))
    open_named(str(path)).close()
    found = held(path)
    if found not in {before, after}:
        raise SystemExit(f"Kill {seed} amid {under_way}: {found}, neither {before} nor {after}.")
    done = sum(line == "done" for line in told)
    print(f"{seed}: {done} done, then {under_way}: {'all' if found == after else 'none'}")
    for copy in folder.glob("library.before-*"):
        copy.unlink()
    return under_way, "all" if found == after else "none"


def main() -> None:
    """Kill as often as is asked for, and count."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        library = open_named(str(folder / "library.db"))
        for deed in (bring_in, note):
            deed(library, random.Random(0), folder, (0,) * len(TABLES))[1]()
        library.backup(folder / "copy.db")
        library.close()
        counted = Counter(one_kill(folder, seed) for seed in range(1, int(sys.argv[1]) + 1))
    for (under_way, left), count in sorted(counted.items()):
        print(f"{count:4} amid {under_way}: {left} of it kept")


if __name__ == "__main__":
    main()
