from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from sqlalchemy import text

from laydown.errors import LibraryError, NothingToRedoError, NothingToUndoError
from laydown.media.light.exposure import Span
from laydown.media.light.fading import parse_class
from laydown.media.light.window_test import WindowReading
from laydown.media.pan_marks import PanMark
from laydown.media.recipe import Colorant, Medium, mixture
from laydown.store.journal import TABLES
from laydown.store.library import Library, Work
from laydown.store.lightfastness import WindowTest

Command = Callable[[Work, SimpleNamespace], Any]

SILT = Colorant("Silt", "Pond", Medium.WASH)


def everything(library: Library) -> dict[str, list[tuple[Any, ...]]]:
    """Return every row of every table that undo answers for."""
    with library._engine.connect() as connection:
        return {
            name: sorted(map(repr, connection.execute(text(f"select * from {name}")).all()))
            for name in TABLES
        }


COMMANDS: dict[str, Command] = {
    "take in more swatches": lambda work, s: work.add_swatches(
        [s.swatch(s.one(s.fig, 2), paper="Heron laid"), s.swatch(s.one(s.kelp), s.one(s.fig))]
    ),
    "take in a mixture": lambda work, s: work.add_swatches(
        [s.swatch(mixture((2, s.kelp), (1, s.fig)), level=0.6)]
    ),
    "remove swatches": lambda work, s: work.remove_swatches(
        [kept.id for kept in work.swatches(colorant=s.kelp)]
    ),
    "remove a paper with its swatches": lambda work, s: work.remove_paper(
        "Gannet smooth", with_swatches=True
    ),
    "say how many coats a paper bears": lambda work, s: work.set_coats_limit("Gannet smooth", 4),
    "give a code": lambda work, s: work.add_colorants([s.dune, s.kelp]),
    "rate a colorant": lambda work, s: work.lightfastness.rate(s.kelp, parse_class("3"), "label"),
    "rate another way": lambda work, s: (
        work.lightfastness.rate(s.fig, parse_class("II")),
        work.lightfastness.rate(s.fig, None),
        work.lightfastness.rate(s.fig, parse_class("4")),
    ),
    "mark a pan": lambda work, s: (
        work.add_colorants([SILT]),
        work.pan_marks.mark(SILT, (PanMark.OPAQUE,)),
        work.pan_marks.mark(SILT, (PanMark.STAINING, PanMark.GRANULATING)),
    ),
    "hang a swatch in a window": lambda work, s: work.lightfastness.add(
        WindowTest(
            s.kelp,
            "Gannet smooth",
            WindowReading(
                Span(0.1, 0.2), np.array([50.0, 1, 2]), np.array([52.0, 1, 2]), 0.3, False
            ),
        )
    ),
    "keep a lesson": lambda work, s: work.lessons.keep(
        "laydown lesson 1", title="Two", paper="Gannet smooth", colors=2
    ),
    "own colorants": lambda work, s: work.own("mine", [s.dune, s.fig]),
    "disown colorants": lambda work, s: work.disown("mine", [s.kelp]),
    "remove a kit": lambda work, s: work.remove_kit("mine"),
    "swap a kit": lambda work, s: (
        work.remove_kit("mine"),
        work.add_kit("mine"),
        work.own("mine", [s.fig]),
    ),
}


@pytest.fixture
def owned(
    any_library: Library, fill: Callable[[Library], None], supplies: SimpleNamespace
) -> Library:
    """Five swatches and a kit with one colorant."""
    fill(any_library)
    with any_library.work("own Kelp") as work:
        work.add_kit("mine")
        work.own("mine", [supplies.kelp])
    return any_library


@pytest.mark.parametrize("label", COMMANDS)
def test_undo_takes_back_a_command_as_a_whole(
    owned: Library, supplies: SimpleNamespace, label: str
) -> None:
    """After undo every row of every table is as before the command, after redo as after it."""
    before = everything(owned)
    with owned.work(label) as work:
        COMMANDS[label](work, supplies)
    after = everything(owned)
    assert (after != before) == (label != "give a code")  # Kelp has that code already
    if after != before:
        assert owned.undo().label == label
        assert everything(owned) == before
        assert owned.redo().label == label
        assert everything(owned) == after
        owned.undo()
    assert everything(owned) == before


@pytest.mark.parametrize("label", [name for name in COMMANDS if name != "give a code"])
def test_redo_does_a_command_again_as_a_whole(
    owned: Library, supplies: SimpleNamespace, label: str
) -> None:
    """After undo and redo every row is as the command left it: what it removed is gone again."""
    with owned.work(label) as work:
        COMMANDS[label](work, supplies)
    done = everything(owned)
    owned.undo()
    assert everything(owned) != done
    assert owned.redo().label == label
    assert everything(owned) == done


def test_undo_again_goes_further_back(owned: Library, supplies: SimpleNamespace) -> None:
    """Undo after undo takes back all commands, one by one, and then says that none is left."""
    states = []
    for label, command in COMMANDS.items():
        if "remove a paper" in label:
            continue
        states.append(everything(owned))
        with owned.work(label) as work:
            if not work.kits():
                work.add_kit("mine")
            command(work, supplies)
        if everything(owned) == states[-1]:
            states.pop()
    while states:
        owned.undo()
        assert everything(owned) == states.pop()
    assert owned.undo().label == "own Kelp"
    assert owned.undo().label == "take in five swatches"
    assert everything(owned) == {name: [] for name in TABLES}
    with pytest.raises(NothingToUndoError):
        owned.undo()


def test_redo_does_all_that_was_undone_again_in_its_order(
    owned: Library, supplies: SimpleNamespace
) -> None:
    """Each redo leads to what was there before an undo, and undo takes it back once more."""
    states = [everything(owned)]
    labels = [change.label for change in owned.history()]
    for _ in labels:
        owned.undo()
        states.append(everything(owned))
    assert owned.history() == ()
    assert [change.label for change in owned.history(undone=True)] == labels[::-1]
    for state in states[-2::-1]:
        owned.redo()
        assert everything(owned) == state
    assert [change.label for change in owned.history()] == labels
    owned.undo()
    assert everything(owned) == states[1]


def test_nothing_is_done_again_after_another_change(
    owned: Library, supplies: SimpleNamespace
) -> None:
    """What was undone is forgotten with the next change, and where nothing was undone."""
    with pytest.raises(NothingToRedoError):
        owned.redo()
    owned.undo()
    with owned.work("add a kit again") as work:
        work.add_kit("theirs")
    with pytest.raises(NothingToRedoError):
        owned.redo()
    assert owned.undo().label == "add a kit again"


def test_work_after_undo_can_be_undone(owned: Library, supplies: SimpleNamespace) -> None:
    """A command given after an undo is taken back alone."""
    owned.undo()
    before = everything(owned)
    with owned.work("add a kit again") as work:
        work.add_kit("mine")
        work.own("mine", [supplies.fig])
    assert owned.undo().label == "add a kit again"
    assert everything(owned) == before


def test_undo_refuses_where_rows_were_changed_behind_its_back(owned: Library) -> None:
    """A row that is no longer as the command left it stops the undo, and nothing is changed."""
    with owned._engine.begin() as connection:
        connection.execute(text("update kits set name = 'theirs'"))
    before = everything(owned)
    with pytest.raises(LibraryError, match="no longer as the last command left it"):
        owned.undo()
    assert everything(owned) == before


def test_keeping_a_fit_is_no_command_to_undo(owned: Library) -> None:
    """Fits are a cache: keeping one leaves undo with the command before."""
    with owned.work("keep a fit") as work:
        work.keep_fit((("Estuary",), "Gannet smooth", "1", "abc"), "{}")
    assert owned.history()[0].label == "own Kelp"
