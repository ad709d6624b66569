"""What was found in a library stays at hand until something in it changes."""

from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from laydown.media.recipe import Colorant
from laydown.store import journal
from laydown.store.library import Library, open_library, remembered

KELP, DUNE, MOSS = (Colorant(name, "Shoal") for name in ("Kelp", "Dune", "Moss"))
looked: list[Library] = []


@remembered(4)
def names(library: Library) -> tuple[str, ...]:
    """Return the names of the colorants, and count that it was asked."""
    looked.append(library)
    with library.look() as work:
        return tuple(one.name for one in work.colorants())


def add(library: Library, colorant: Colorant) -> None:
    """Add a colorant, as the same command always."""
    with library.work("add a colorant") as work:
        work.add_colorants([colorant])


@pytest.fixture
def library(tmp_path: Path, lay_library: Callable[[Path], Path]) -> Iterator[Library]:
    """Give a library with one colorant."""
    looked.clear()
    with closing(open_library(lay_library(tmp_path / "library.db"))) as opened:
        add(opened, KELP)
        yield opened


def undo_and_add_another(library: Library) -> None:
    """Take the last colorant back and add another, within the same second and under its number."""
    library.undo()
    add(library, MOSS)


def test_nothing_is_looked_for_again_while_nothing_changes(library: Library) -> None:
    """Asked twice, a library is looked through once."""
    assert names(library) == names(library) == ("Kelp",)
    assert len(looked) == 1


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (lambda library: add(library, MOSS), {"Kelp", "Dune", "Moss"}),
        (lambda library: library.undo(), {"Kelp"}),
        (undo_and_add_another, {"Kelp", "Moss"}),
        (lambda library: (library.undo(), names(library), library.redo()), {"Kelp", "Dune"}),
    ],
    ids=["a change", "an undo", "an undo and another change", "an undo and a redo"],
)
def test_what_changed_is_found(
    library: Library, change: Callable[[Library], object], found: set[str]
) -> None:
    """A change, an undo and a redo are seen at once."""
    add(library, DUNE)
    assert set(names(library)) == {"Kelp", "Dune"}
    change(library)
    assert set(names(library)) == found


def test_what_another_program_changed_is_found(library: Library) -> None:
    """What another program adds or takes back is seen, too, and each library has its own."""
    assert names(library) == ("Kelp",)
    with closing(open_library(library.location)) as other:
        add(other, DUNE)
        assert set(names(library)) == set(names(other)) == {"Kelp", "Dune"}
        other.undo()
    assert names(library) == ("Kelp",)


def test_what_no_undo_takes_back_is_found(library: Library) -> None:
    """A write that is in no list of changes, as a fit or a trial, has all looked for anew."""
    assert names(library) == names(library)
    library.keep_fit((("Shoal",), "Gannet smooth", "1", "a hash"), "[]")
    assert names(library) == ("Kelp",)
    assert len(looked) == 2


def test_a_library_without_a_change_has_an_edition(tmp_path: Path) -> None:
    """An empty one is looked through as any other, in a file and as a server would count it."""
    with closing(open_library(tmp_path / "empty.db")) as empty:
        assert names(empty) == ()
        with empty.look() as work:
            before = journal.edition(work.session)
        add(empty, KELP)
        with empty.look() as work:
            assert journal.edition(work.session) != before
