"""What every test may use: outside data from Debian packages, found or loudly missed."""

import gc
import importlib.util
import io
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from PIL import Image

from laydown.app.library import open_named
from laydown.cli.main import use_compiled_cache
from laydown.demo.files import CLASS_PAPER

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does
os.environ.setdefault("OPENCV_FOR_THREADS_NUM", "1")  # threads that wait for work spend it
use_compiled_cache()  # as the command line does, before anything is compiled
settings.register_profile(
    "laydown",
    derandomize=True,  # the same cases anywhere
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],  # a busy computer is no fault of a test
)
settings.load_profile("laydown")
UNPACKED = Path(__file__).parent.parent / "test-data"
STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}
"""By orientation (EXIF 2.32, 4.6.4): how a camera stores what it saw upright."""


def pytest_collection_finish() -> None:
    """Let the collector pass over what was imported: it stays, and there is much of it."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


@pytest.fixture(scope="module", autouse=True)
def what_stays_is_passed_over() -> None:
    """Let the collector pass over what earlier files leave: else it goes through all of it.

    Each job of the bench has the collector run once, which took longer than most jobs of the tests.
    """
    gc.collect()
    gc.freeze()


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the files that take long, so that none of them is alone at the end."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Keep the tests of a file in one process, so that what they share is made once."""
    from xdist.scheduler import LoadFileScheduling  # noqa: PLC0415 - only where it is in use

    config.option.loadscopereorder = False  # else by how many tests a file has, not how long ones
    return LoadFileScheduling(config, log) if config.getoption("dist") == "load" else None


@pytest.fixture(autouse=True)
def plain_printing() -> Iterator[None]:
    """Print numbers as numpy does by itself: colour-science sets a shorter form when imported."""
    with np.printoptions(legacy=False):
        yield


@pytest.fixture(scope="session", autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep tables and libraries of the tests apart from those of whoever runs them."""
    with pytest.MonkeyPatch.context() as environment:
        for folder in ("XDG_CACHE_HOME", "XDG_DATA_HOME"):
            environment.setenv(folder, str(tmp_path_factory.mktemp(folder)))
        yield


@pytest.fixture(scope="session")
def lay_library(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path], Path]:
    """Lay an empty library at a path, which is returned: made by its steps once, then copied."""
    made = tmp_path_factory.mktemp("empty") / "library.db"
    open_named(str(made)).close()

    def lay(path: Path) -> Path:
        return Path(shutil.copyfile(made, path))

    return lay


@pytest.fixture(scope="session")
def lay_demo(
    tmp_path_factory: pytest.TempPathFactory, lay_library: Callable[[Path], Path]
) -> Callable[[Path], Path]:
    """Lay the demo's supplies and the fits of its ranges at a path, which is returned.

    They are made once for all processes of a run, then copied; two that begin at once both make
    them, and either's will do.
    """
    own = tmp_path_factory.getbasetemp()
    kept = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "demo.db"
    if not kept.exists():
        from laydown.app.demo import add_demo  # noqa: PLC0415 - it imports most of the program
        from laydown.app.fits import Supplies, set_up  # noqa: PLC0415
        from laydown.app.supplies.names import RANGES  # noqa: PLC0415

        made = lay_library(tmp_path_factory.mktemp("demo") / "library.db")
        opened = open_named(str(made))
        add_demo(opened)
        for name in RANGES:
            set_up(opened, Supplies(ranges=(name,), paper=CLASS_PAPER))
        opened.close()
        made.replace(kept)

    def lay(path: Path) -> Path:
        return Path(shutil.copyfile(kept, path))

    return lay


@pytest.fixture(scope="session")
def debian_data() -> Callable[[str, str], Path]:
    """Find a file of a Debian package, installed or unpacked by ``tools/prepare_tests.py``.

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


@pytest.fixture(scope="session")
def as_held() -> Callable[[Image.Image, int, str], bytes]:
    """Write a picture to a file of a form as a camera does that was held so, and notes how."""

    def write(seen: Image.Image, orientation: int, form: str) -> bytes:
        turn = STORED[orientation]
        exif = Image.Exif()
        exif[0x0112] = orientation
        content = io.BytesIO()
        stored = seen if turn is None else seen.transpose(turn)
        stored.save(content, form, exif=exif.tobytes())
        return content.getvalue()

    return write


@pytest.fixture(scope="session")
def photos() -> ModuleType:
    """Return the module that makes photographs."""
    name = "laydown_test_photographs"
    if name not in sys.modules:
        path = Path(__file__).parent / "imaging" / "photographs.py"
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]
