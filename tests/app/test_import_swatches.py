"""Large files come in without keeping others from the library, whole or not at all."""

import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from threading import Thread
from typing import Any

import numpy as np
import pytest
from sqlalchemy.event import listen

from laydown.app.library import open_named
from laydown.app.swatches import (
    ImportSwatches,
    export_swatches,
    form_of_content,
    form_of_name,
    import_swatches,
)
from laydown.app.tasks import GivenFile
from laydown.errors import BadFileError, LibraryError
from laydown.store import swatches as kept_swatches
from laydown.store.library import Library
from laydown.store.records import Added
from laydown.store.swatches import SwatchShelf

HEAD = "range,color,paper,coats,over,L,a,b\n"


def file(name: str, lines: str) -> GivenFile:
    """Return a file of swatches."""
    return GivenFile((HEAD + lines).encode(), name)


KELP = file("a.csv", "Shoal,Kelp,Heron,1,,50,0,10\nShoal,Dune,Heron,1,,80,0,20\n")
OVER = file("b.csv", "Shoal,Fig,Heron,1,kelp,40,0,10\n")
BAD = file("c.csv", "Shoal,Fig,Heron,1,Net,40,0,10\n")


@pytest.fixture
def library(tmp_path: Path, lay_library: Callable[[Path], Path]) -> Iterator[Library]:
    """Give an empty library."""
    library = open_named(str(lay_library(tmp_path / "library.db")))
    yield library
    library.close()


def test_others_write_while_an_import_is_prepared(library: Library) -> None:
    """At every step but the last another may write; then all of every file is there."""
    steps = []

    def watch(done: int, total: int) -> None:
        steps.append((done, total))
        if done == total:
            return  # it is being written
        with library.work("meanwhile", waits=False) as work:
            work.add_kit(f"kit {len(steps)}")

    made = import_swatches(library, ImportSwatches((KELP, OVER)), watch=watch)
    assert [one.new for one in made.files] == [2, 1]
    assert len(steps) >= 4
    assert steps == sorted(steps)
    assert {total for _, total in steps} == {steps[-1][1]}


def test_another_who_writes_during_an_import_waits_and_is_not_refused(library: Library) -> None:
    """Whoever comes while it is being written finds the library in use, and writes right after."""
    other, refused = open_named(library.location), list[LibraryError]()

    def write() -> None:
        try:
            with other.work("meanwhile") as work:
                work.add_kit("mine")
        except LibraryError as error:
            refused.append(error)

    writer = Thread(target=write)

    def watch(done: int, total: int) -> None:
        if done == total:
            with (
                pytest.raises(LibraryError, match="busy"),
                other.work("not now", waits=False),
            ):
                pass
            writer.start()
            writer.join(timeout=0.3)

    import_swatches(library, ImportSwatches((KELP, OVER)), watch=watch)
    writer.join()
    other.close()
    assert refused == []
    with library.look() as work:
        assert work.kit_names() == ("mine",)


def test_nothing_is_put_into_words_while_others_wait(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 300 swatches, the write makes hardly any JSON and asks the same few things as of one."""
    spelled: list[object] = []
    asked: list[str] = []
    dumps, keep = json.dumps, SwatchShelf.add_written

    def counted(work: SwatchShelf, *given: Any, **named: Any) -> Added:
        monkeypatch.setattr(
            json, "dumps", lambda v, *a, **k: spelled.append(v) or dumps(v, *a, **k)
        )
        return keep(work, *given, **named)

    monkeypatch.setattr(SwatchShelf, "add_written", counted)
    listen(library._engine, "before_cursor_execute", lambda _c, _k, s, *_: asked.append(s))
    lines = "".join(f"Shoal,Kelp,Heron,1,,50,{n / 100},10\n" for n in range(300))
    import_swatches(library, ImportSwatches((file("a.csv", lines),)))
    assert len(spelled) < 20
    assert len(asked) < 40
    with library.look() as work:
        assert work.held()["swatches"] == 300


def test_an_import_that_is_stopped_leaves_nothing(library: Library) -> None:
    """Whatever step it is stopped at, the library is as it was."""

    def stop_at(step: int, done: int) -> None:
        if done == step:
            raise KeyboardInterrupt

    for step in range(4):
        with pytest.raises(KeyboardInterrupt):
            import_swatches(
                library,
                ImportSwatches((KELP, OVER)),
                watch=lambda done, _, step=step: stop_at(step, done),
            )
        assert library.history() == ()


def test_one_bad_file_keeps_all_of_them_out(library: Library) -> None:
    """The line at fault is named, and nothing of the files before it has come in."""
    with pytest.raises(BadFileError, match=r"c\.csv, line 2"):
        import_swatches(library, ImportSwatches((KELP, BAD)))
    assert library.history() == ()


def test_a_file_names_what_one_before_it_brings(library: Library) -> None:
    """What lies below may come from the file before, and what is there already is found first."""
    import_swatches(library, ImportSwatches((KELP,)))
    again = file("again.csv", "shoal,KELP,Heron,2,,45,0,10\n")
    import_swatches(library, ImportSwatches((again, OVER)))
    assert b"Shoal,marker,Fig,Heron,1,,,,,Kelp," in export_swatches(library)[1]


def test_replicates_are_not_compared_each_with_each(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 500 patches of one color and 500 of them again, hardly more than 500 are compared."""
    compared = []
    allclose = np.allclose
    monkeypatch.setattr(
        kept_swatches.np, "allclose", lambda *a, **k: compared.append(1) or allclose(*a, **k)
    )
    colors = np.random.default_rng(5).uniform((30, -10, -10), (80, 10, 10), (500, 3)).round(4)
    lines = "".join(f"Shoal,Kelp,Heron,1,,{c[0]},{c[1]},{c[2]}\n" for c in colors)
    first = import_swatches(library, ImportSwatches((file("a.csv", lines),)))
    again = import_swatches(library, ImportSwatches((file("b.csv", lines),)))
    assert (first.files[0].new, again.files[0].new) == (500, 0)
    assert len(compared) < 600


def test_a_large_import_is_taken_back_in_few_steps(library: Library) -> None:
    """Of 600 swatches undo asks and deletes many at a time, and leaves the library empty."""
    lines = "".join(f"Shoal,Kelp {n},Heron,1,,50,{n / 100},10\n" for n in range(600))
    import_swatches(library, ImportSwatches((file("a.csv", lines),)))
    asked: list[str] = []
    listen(library._engine, "before_cursor_execute", lambda _c, _k, s, *_: asked.append(s))
    library.undo()
    assert len(asked) < 60
    with library.look() as work:
        assert not any(work.held().values())


def test_a_row_of_a_large_import_that_was_changed_since_stops_undo(library: Library) -> None:
    """One of 600 swatches that another program wrote over keeps all of them."""
    lines = "".join(f"Shoal,Kelp {n},Heron,1,,50,{n / 100},10\n" for n in range(600))
    import_swatches(library, ImportSwatches((file("a.csv", lines),)))
    for change in (
        "update swatches set spread = 1.5 where id = 411",
        "delete from swatch_colorants where swatch_id = 12",
    ):
        with closing(sqlite3.connect(library.location)) as other, other:
            other.execute(change)
        with pytest.raises(LibraryError, match="no longer as the last command left it"):
            library.undo()
    with library.look() as work:
        assert work.held()["swatches"] == 600


@pytest.mark.parametrize(
    ("content", "form"),
    [
        (b"range,color", "csv"),
        (b"\xef\xbb\xbfrange,color", "csv"),
        (b"CGATS.17\n", "cgats"),
        (b"CTI3   \n", "cgats"),
        (b" CTI3\n BEGIN_DATA_FORMAT\n", "cgats"),
        (b"ISO28178\nBEGIN_DATA\n", "cgats"),
        (b"\xef\xbb\xbf<?xml version='1.0'?>", "cxf"),
        (b"", "csv"),
    ],
)
def test_a_file_is_told_by_its_content(content: bytes, form: str) -> None:
    """The beginning of a file says what it is, whatever its name."""
    assert form_of_content(content) == form


def test_a_name_asks_for_a_form() -> None:
    """The ending of a name asks for a form, in any capitals; an unknown one is refused."""
    assert [form_of_name(n) for n in ("a.CSV", "a.ti3", "a.cxf", "a")] == [
        "csv",
        "cgats",
        "cxf",
        "csv",
    ]
    with pytest.raises(BadFileError, match="xls"):
        form_of_name("a.xls")
