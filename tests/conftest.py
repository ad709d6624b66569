"""What every test may use: outside data from Debian packages, found or loudly missed."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does: decision 20
settings.register_profile("laydown", derandomize=True, deadline=None)  # the same cases anywhere
settings.load_profile("laydown")
UNPACKED = Path(__file__).parent.parent / "test-data"


@pytest.fixture(autouse=True)
def plain_printing() -> Iterator[None]:
    """Print numbers as numpy does by itself: colour-science sets a shorter form when imported."""
    with np.printoptions(legacy=False):
        yield


@pytest.fixture(scope="session")
def debian_data() -> Callable[[str, str], Path]:
    """Find a file of a Debian package, installed or unpacked by ``tools/fetch_test_data.py``.

    A file that can't be found skips the test on a person's machine and fails it in CI.
    """

    def find(package: str, path: str) -> Path:
        for root in (Path("/"), UNPACKED):
            if (root / path).exists():
                return root / path
        reason = f"{path} of the Debian package {package} is not here; see README, Tests"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)

    return find
