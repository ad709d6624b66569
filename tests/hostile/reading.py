"""Read the worst files of all kinds one by one, each in a process of its own.

    python tests/hostile/reading.py [KIND | KIND=NAME …]

Prints a line of JSON for each file: what came of it (read, refused, or the fault), the processor
time that reading it took, and the most memory of its process, imports and the file itself included,
or of another process that it starts.
"""

import json
import os
import resource
import signal
import sys
import time
from pathlib import Path

import lists
import notebooks
import pictures
import swatch_files
from making import Make, Read

from laydown.errors import LaydownError

KINDS = swatch_files.KINDS | lists.KINDS | notebooks.KINDS | pictures.KINDS
SECONDS = int(os.environ.get("HOSTILE_SECONDS", "20"))
"""Of processor time, after which reading is broken off: a machine may be slow, but not so slow."""
ADDRESSES = 4_000_000_000
"""Bytes that a process may ask for, so that what has no bound leaves the machine standing."""


def outcome(read: Read, data: bytes) -> str:
    """Return what came of reading a file, in a word or a sentence."""
    try:
        read(data)
    except LaydownError as error:
        return f"refused: {error.message}"
    except Exception as error:  # whatever it is, it is a fault and is told
        return f"fault: {type(error).__name__}: {str(error)[:200]}"
    return "read"


def measured(read: Read, make: Make) -> dict[str, object]:
    """Make a file and read it in this process."""
    resource.setrlimit(resource.RLIMIT_AS, (ADDRESSES, ADDRESSES))
    data = make()
    most = int(time.process_time()) + SECONDS
    resource.setrlimit(resource.RLIMIT_CPU, (most, most + 1))
    began = time.process_time()
    told = outcome(read, data)
    others = resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds = time.process_time() - began + others.ru_utime + others.ru_stime
    status = Path("/proc/self/status").read_text(encoding="ascii")
    memory = max(int(status.partition("VmHWM:")[2].split()[0]), others.ru_maxrss) / 1000
    return {"told": told, "seconds": seconds, "megabytes": memory, "size": len(data) / 1e6}


def forked(read: Read, make: Make) -> dict[str, object]:
    """Do it in a child, which may die of it."""
    out, into = os.pipe()
    child = os.fork()
    if not child:
        os.close(out)
        try:
            with os.fdopen(into, "w") as stream:
                json.dump(measured(read, make), stream)
        finally:
            os._exit(0)
    os.close(into)
    with os.fdopen(out) as stream:
        written = stream.read()
    _, status, used = os.wait4(child, 0)
    if written:
        return dict(json.loads(written))
    died = signal.Signals(os.WTERMSIG(status)).name if os.WIFSIGNALED(status) else "itself"
    seconds, memory = used.ru_utime + used.ru_stime, used.ru_maxrss / 1000
    return {"told": f"fault: ended by {died}", "seconds": seconds, "megabytes": memory, "size": 0}


def main() -> None:
    """Print what came of each file, of those that are named or of all."""
    for asked in sys.argv[1:] or KINDS:
        kind, _, one = asked.partition("=")
        read, files = KINDS[kind]
        for name in [one] if one else files:
            told = {"kind": kind, "name": name, **forked(read, files[name])}
            print(json.dumps(told), flush=True)  # noqa: T201 - it is what is asked for


if __name__ == "__main__":
    main()
