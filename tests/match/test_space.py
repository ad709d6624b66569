"""What a recipe may be."""

import pytest

from laydown.match.ranking import Limits


@pytest.mark.parametrize(
    ("limits", "words"), [({"steps": 5}, "0 to 4"), ({"coats": 0}, "coats is 0")]
)
def test_limits_that_no_search_serves_are_refused(limits: dict[str, int], words: str) -> None:
    """The message names the value and what is allowed."""
    with pytest.raises(ValueError, match=words):
        Limits(**limits)
