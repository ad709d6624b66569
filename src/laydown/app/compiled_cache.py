"""Where the compiled search is kept; it imports no part of the search, which would be too late."""

import hashlib
import os
from pathlib import Path

from platformdirs import user_cache_path

SOURCES = Path(__file__).parent.parent / "match"
COMPILER = b"laydown.match.search.compiling"
"""Named by each module that has a compiled loop."""


def use_compiled_cache() -> Path:
    """Send the compiled search to the user's cache folder, unless the environment names another.

    It must be called before the search is first imported. Each state of the compiled loops has a
    folder of its own: the compiler itself looks only at the file that a loop stands in, and would
    go on using it after a loop that it calls was changed in another file. What is returned may not
    be there yet.
    """
    usual = user_cache_path("laydown", appauthor=False) / "search" / state_of_search()
    return Path(os.environ.setdefault("NUMBA_CACHE_DIR", str(usual)))


def state_of_search() -> str:
    """Return a hash of all modules that have compiled loops."""
    content = hashlib.sha256()
    for path in sorted(SOURCES.rglob("*.py")):
        text = path.read_bytes()
        if COMPILER in text:
            content.update(text)
    return content.hexdigest()[:16]
