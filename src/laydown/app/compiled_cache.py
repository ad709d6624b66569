"""Where the compiled search is kept, so that it is made once and not in every call."""

import os
from pathlib import Path

from platformdirs import user_cache_path


def use_compiled_cache() -> Path:
    """Send the compiled search to the user's cache folder, unless the environment names another.

    It must be called before the search is first imported.

    Returns
    -------
    Path
        The folder, which may not be there yet.
    """
    usual = user_cache_path("laydown", appauthor=False) / "search"
    return Path(os.environ.setdefault("NUMBA_CACHE_DIR", str(usual)))
