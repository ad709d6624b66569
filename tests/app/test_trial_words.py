import pytest

from laydown.app.notebook.trials import checked_day
from laydown.errors import BadRecipeError


@pytest.mark.parametrize("text", ["2026-13-01", "4.3.2026", "x"])
def test_what_is_no_day_is_refused(text: str) -> None:
    """A day is year-month-day."""
    with pytest.raises(BadRecipeError, match="no day"):
        checked_day(text)
