"""Changes to a plan, written as lines and read back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.documents.files.plans import change_in_words, read_changes
from laydown.plan.picture.edits import Edit

numbers = st.lists(st.integers(1, 65535), min_size=1, max_size=9).map(tuple)
names = st.text(st.characters(min_codepoint=32, exclude_categories=["C", "Z"]), max_size=20)
edits = st.one_of(
    st.builds(Edit, st.just("merge"), numbers),
    st.builds(
        Edit, st.just("split"), st.tuples(st.integers(1, 65535)), st.none() | st.floats(0, 10)
    ),
    st.builds(Edit, st.just("assign"), numbers, passage=names),
    st.builds(Edit, st.just("assign"), numbers, role=st.sampled_from(["", "shadow", "highlight"])),
)


@given(edits)
def test_a_change_that_is_written_is_read_back(edit: Edit) -> None:
    """Whatever was changed by hand can be changed again from its line."""
    line = change_in_words(edit)
    assert "\n" not in line
    assert read_changes(line.encode(), source="changes.txt") == (edit,)


@pytest.mark.parametrize("name", ["bowl: left", "1: 2", "a  b\nc"])
def test_names_of_passages_may_hold_colons_and_blanks(name: str) -> None:
    """Only blanks are drawn together."""
    line = change_in_words(Edit("assign", (3, 4), None, name))
    assert read_changes(line.encode(), source="x") == (
        Edit("assign", (3, 4), None, " ".join(name.split())),
    )
