"""Many conversions at once: stopped, gone on with, and made anew where something has changed."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from laydown.app.lessons import pages
from laydown.app.lessons.lessons import new_lesson, write_lesson
from laydown.app.lessons.pages import MADE, read_batch, run_batch
from laydown.app.library import Library, open_named
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.app.tasks import GivenFile
from laydown.errors import BadFileError

SHOAL = """\
range,medium,color,paper,coats,over,L,a,b
Shoal,marker,,Gannet smooth,,,95.0,0.5,-2.0
Shoal,marker,Kelp,Gannet smooth,1,,52.0,-22.0,24.0
Shoal,marker,Dune,Gannet smooth,1,,82.0,3.0,22.0
Shoal,marker,Net,Gannet smooth,1,,70.0,0.0,3.0
"""
"""An invented range of three markers on an invented paper."""
LIST = 'passage,role,color\nbowl,midtone,"lab:60,-10,12"\nbowl,shadow,"lab:45,-15,15"\n'
TERM = """\
lessons = ["bowl.txt", "jug.txt"]
ranges = ["Shoal"]
papers = ["Gannet smooth"]
write = ["csv", "page"]
into = "term"
steps = 2
"""


@pytest.fixture
def library(tmp_path: Path, lay_library: Callable[[Path], Path]) -> Iterator[Library]:
    """Give a library with one small range."""
    opened = open_named(str(lay_library(tmp_path / "library.db")))
    import_swatches(opened, ImportSwatches((GivenFile(SHOAL.encode(), "shoal.csv"),)))
    yield opened
    opened.close()


@pytest.fixture
def request_of(library: Library, tmp_path: Path) -> dict[str, Any]:
    """Give a batch of two lessons, each as a table and as a page."""
    for name in ("bowl.txt", "jug.txt"):
        made = new_lesson(library, LIST.encode(), name, paper="Gannet smooth")
        (tmp_path / name).write_text(write_lesson(made).decode(), encoding="utf-8")
    return read_batch(TERM.encode(), source="term.toml", folder=tmp_path)


class StoppedError(Exception):
    """The reader of the bar has had enough."""


def test_a_stopped_batch_goes_on_with_what_is_missing(
    library: Library, request_of: dict[str, Any]
) -> None:
    """What was made before stays, byte for byte; the rest is made."""

    def stop(done: int, _total: int) -> None:
        if done == 2:
            raise StoppedError

    with pytest.raises(StoppedError):
        run_batch(library, **request_of, watch=stop)
    folder = request_of["folder"]
    before = {path.name: path.stat().st_mtime_ns for path in folder.iterdir() if path.name != MADE}
    assert len(before) == 2
    made, there, troubles = run_batch(library, **request_of)
    assert set(there) == set(before)
    assert len(made) == 2
    assert troubles == ()
    assert {name: (folder / name).stat().st_mtime_ns for name in before} == before
    assert run_batch(library, **request_of)[0] == ()
    assert sorted(path.name for path in folder.iterdir()) == sorted([*made, *before, MADE])


def test_what_rests_on_changed_swatches_is_made_anew(
    library: Library, request_of: dict[str, Any]
) -> None:
    """After another measurement, and not before."""
    assert len(run_batch(library, **request_of)[0]) == 4
    more = SHOAL.splitlines()[0] + "\nShoal,marker,Net,Gannet smooth,2,,60.0,0.0,4.0\n"
    import_swatches(library, ImportSwatches((GivenFile(more.encode(), "more.csv"),)))
    assert len(run_batch(library, **request_of)[0]) == 4


def test_a_file_that_was_broken_off_is_not_taken_for_made(
    library: Library, request_of: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed while it writes, a batch leaves no half file behind under the file's name."""
    monkeypatch.setattr(Path, "replace", broken)
    with pytest.raises(KeyboardInterrupt):
        run_batch(library, **request_of)
    assert list(request_of["folder"].iterdir()) == []


def broken(_path: Path, _target: Path) -> Path:
    """Stand for the moment of a kill."""
    raise KeyboardInterrupt


def test_what_cant_be_made_is_told_and_the_rest_made(
    library: Library, request_of: dict[str, Any]
) -> None:
    """A range that isn't swatched on a paper is no reason to leave the others out."""
    wider = request_of | {"ranges": ("Shoal", "Reef"), "write": ("csv",)}
    made, _, troubles = run_batch(library, **wider)
    assert len(made) == 2
    assert len(troubles) == 2
    assert "Reef" in troubles[0]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("lessons = [", "can't be read"),
        ('lesson = ["a"]', "“lesson” means nothing"),
        ('ranges = ["Shoal"]', "“lessons” must be a list"),
        (TERM.replace('"page"', '"gif"'), "“gif” can't be written"),
        (TERM.replace("steps = 2", "steps = 9"), "“steps” can be 1, 2, 3"),
        (TERM.replace("jug.txt", "lost.txt"), "lost.txt can't be read"),
    ],
)
def test_a_wrong_batch_is_a_sentence(
    request_of: dict[str, Any], tmp_path: Path, text: str, told: str
) -> None:
    """It names what is wrong, and shows how it is written."""
    with pytest.raises(BadFileError, match=told):
        read_batch(text.encode(), source="term.toml", folder=tmp_path)


def test_names_of_files_fit_every_system() -> None:
    """No sign of a name leads out of the folder."""
    assert pages._file_name("../x.txt", "A/B", "C\\D", "pdf") == "x from A-B on C-D.pdf"
