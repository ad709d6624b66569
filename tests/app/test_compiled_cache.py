import shutil
from pathlib import Path

import pytest

from laydown.cli import main
from laydown.cli.main import SOURCES, use_compiled_cache


@pytest.fixture
def sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a copy of the modules of the search, and have the environment name no folder."""
    copy = tmp_path / "match"
    shutil.copytree(SOURCES, copy)
    monkeypatch.setattr(main, "SOURCES", copy)
    monkeypatch.setenv("NUMBA_CACHE_DIR", "")  # so that it is set back afterwards
    return copy


def folder(monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return where the compiled search would be kept by a process that begins now."""
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    return use_compiled_cache()


def test_a_changed_loop_is_not_served_from_before(
    sources: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whichever module with a compiled loop is changed, all loops are compiled anew."""
    before = folder(monkeypatch)
    assert folder(monkeypatch) == before
    for name in ("search/coloring.py", "search/nearness.py"):
        with (sources / name).open("a", encoding="utf-8") as file:
            file.write("# changed\n")
        assert folder(monkeypatch) != before
        before = folder(monkeypatch)
    with (sources / "words.py").open("a", encoding="utf-8") as file:
        file.write("# changed\n")
    assert folder(monkeypatch) == before


@pytest.mark.usefixtures("sources")
def test_the_environment_may_name_the_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where it does, nothing else is asked."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "mine"))
    assert use_compiled_cache() == tmp_path / "mine"
