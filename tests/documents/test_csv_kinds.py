"""CSV of every kind, where it is none, or longer than any."""

from collections.abc import Callable

import pytest

from laydown.documents.files.lightfastness import read_lightfastness
from laydown.documents.files.prices import read_prices
from laydown.documents.files.swatches import read_swatch_csv
from laydown.documents.files.targets import read_targets
from laydown.errors import BadFileError

READERS = (read_lightfastness, read_prices, read_swatch_csv, read_targets)


@pytest.mark.parametrize("read", READERS)
@pytest.mark.parametrize("content", [b"x" * 200_000, b'color\n"Kelp\n', b'color\n"Kelp"x\n'])
def test_what_is_no_csv_is_told_in_a_sentence(read: Callable[..., object], content: bytes) -> None:
    """A cell without an end, or a quotation without one, is the file's fault, not ours."""
    with pytest.raises(BadFileError, match=r"x, line [12]"):
        read(content, source="x")


@pytest.mark.parametrize("read", READERS)
def test_a_sentence_stays_short_whatever_it_quotes(read: Callable[..., object]) -> None:
    """A name of a hundred thousand letters is not told back as a whole."""
    with pytest.raises(BadFileError) as trouble:
        read(b"x" * 100_000 + b"\nKelp\n", source="a list.csv")
    assert len(trouble.value.message) <= 1000
    assert trouble.value.message.startswith("a list.csv, line 1")
