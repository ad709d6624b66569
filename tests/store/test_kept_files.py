"""Lessons and plans of pictures that are kept."""

import pytest

from laydown.errors import BadEditError, NothingToUndoError, TooLargeError, UnknownNameError
from laydown.store import kept_files
from laydown.store.kept_files import KeptPlan
from laydown.store.library import Library

FILE, CHANGED = b"PK as it began", b"PK as it is"


def keep(library: Library, file: bytes = FILE, *, title: str = "Lemons") -> KeptPlan:
    """Keep a plan."""
    with library.work("keep a plan") as work:
        return work.plans.keep(file, title=title)


def put_away(library: Library, number: int) -> None:
    """Put a plan away."""
    with library.work("put a plan away") as work:
        work.plans.remove(number)


def test_a_plan_stays_beside_what_it_began_as(any_library: Library) -> None:
    """What is now, what was at first, and the lines between the two are all there."""
    kept = keep(any_library)
    with any_library.work("change it") as work:
        told = work.plans.change(kept.number, CHANGED, ["merge 1 2"], revision=kept.revision)
    assert (told.title, told.changes) == ("Lemons", ("merge 1 2",))
    with any_library.look() as work:
        assert work.plans.get(kept.number) == told
        assert (work.plans.file(kept.number), work.plans.begun(kept.number)) == (CHANGED, FILE)


def test_a_change_to_what_was_changed_meanwhile_is_refused(any_library: Library) -> None:
    """Two windows can't change the same plan without the second having seen the first's change."""
    kept = keep(any_library)
    with any_library.work("one window") as work:
        work.plans.change(kept.number, CHANGED, ["split 1"], revision=0)
    with any_library.work("the other") as work, pytest.raises(BadEditError, match="another window"):
        work.plans.change(kept.number, b"PK", ["split 2"], revision=0)
    with any_library.look() as work:
        assert work.plans.get(kept.number).changes == ("split 1",)


def test_the_same_file_is_kept_once(any_library: Library) -> None:
    """Opening a file again leads to the plan that is there."""
    first, other = keep(any_library), keep(any_library, CHANGED)
    assert keep(any_library).number == first.number
    with any_library.look() as work:
        assert {plan.number for plan in work.plans.all()} == {first.number, other.number}


def test_plans_are_no_change_to_take_back(any_library: Library) -> None:
    """The journal of the library knows nothing of them."""
    keep(any_library)
    with pytest.raises(NothingToUndoError):
        any_library.undo()


def test_a_number_is_never_given_twice(any_library: Library) -> None:
    """A bookmark of a plan that was put away doesn't lead to another."""
    first = keep(any_library)
    with any_library.work("put it away") as work:
        assert work.plans.remove(first.number) == first
    assert keep(any_library, CHANGED).number > first.number
    with any_library.look() as work, pytest.raises(UnknownNameError, match="no plan"):
        work.plans.get(first.number)


def test_putting_a_plan_away_is_taken_back(any_library: Library) -> None:
    """Undo brings it back with its number, its changes and what it began as; a list is without."""
    kept, other = keep(any_library), keep(any_library, b"PK, another")
    with any_library.work("change it") as work:
        told = work.plans.change(kept.number, CHANGED, ["merge 1 2"], revision=kept.revision)
    put_away(any_library, kept.number)
    with any_library.look() as work:
        assert work.plans.all() == (other,)
        assert work.plans.find(CHANGED) is None
        with pytest.raises(UnknownNameError, match="no plan"):
            work.plans.file(kept.number)
    assert any_library.undo().label == "put a plan away"
    with any_library.look() as work:
        assert work.plans.get(kept.number) == told
        assert (work.plans.file(kept.number), work.plans.begun(kept.number)) == (CHANGED, FILE)


def test_of_plans_put_away_the_last_few_stay(
    any_library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file of an older one is gone for good, and undo goes past it; the last comes back."""
    monkeypatch.setattr(kept_files, "MOST_PUT_AWAY", 1)
    first, second = keep(any_library), keep(any_library, CHANGED)
    put_away(any_library, first.number)
    put_away(any_library, second.number)
    any_library.undo()
    any_library.undo()
    with any_library.look() as work:
        assert work.plans.all() == (second,)


def test_there_is_an_end_to_what_is_kept(
    any_library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file too large, and a plan too many, are refused in a sentence."""
    monkeypatch.setattr(kept_files, "MOST_BYTES", 20)
    monkeypatch.setattr(kept_files, "MOST_PLANS", 1)
    with pytest.raises(TooLargeError, match="at most"):
        keep(any_library, b"x" * 21)
    keep(any_library)
    with pytest.raises(TooLargeError, match="as many as may be"):
        keep(any_library, CHANGED)


def test_a_lesson_comes_back_letter_by_letter(any_library: Library) -> None:
    """The text of the file is kept as it was, whatever letters it has."""
    text = "laydown lesson 1\r\ntitle: Zitronen – Ω\r\n"
    with any_library.work("keep") as work:
        kept = work.lessons.keep(text, title="Zitronen – Ω", paper="Gannet smooth", colors=1)
    with any_library.look() as work:
        assert work.lessons.get(kept.number) == kept
        assert work.lessons.text(kept.number) == text
        assert work.lessons.find(text) == kept
        assert work.lessons.find(text + "\n") is None


def test_the_same_text_is_kept_once(any_library: Library) -> None:
    """Keeping it again gives the first one, and changes nothing."""
    with any_library.work("keep") as work:
        first = work.lessons.keep("a", title="A", paper="", colors=1)
        other = work.lessons.keep("b", title="A", paper="", colors=1)
        assert work.lessons.keep("a", title="A", paper="", colors=1) == first
        assert work.lessons.all() == (other, first)


def test_a_title_longer_than_a_name_is_cut_in_the_list(any_library: Library) -> None:
    """The text has it whole; a list doesn't need it."""
    with any_library.work("keep") as work:
        kept = work.lessons.keep("long", title="x" * 500, paper="y" * 500, colors=1)
    assert (len(kept.title), len(kept.paper)) == (300, 200)


def test_a_lesson_that_is_gone_is_told(any_library: Library) -> None:
    """After removal its number means nothing, and is not given to another."""
    with any_library.work("keep") as work:
        gone = work.lessons.keep("a", title="A", paper="", colors=1)
        work.lessons.remove(gone.number)
        later = work.lessons.keep("b", title="B", paper="", colors=1)
    assert later.number != gone.number
    with (
        any_library.look() as work,
        pytest.raises(UnknownNameError, match=f"no lesson {gone.number} here"),
    ):
        work.lessons.get(gone.number)
