import pytest

from laydown.errors import UnknownNameError
from laydown.store.library import Library


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
