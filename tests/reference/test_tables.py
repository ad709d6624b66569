import numpy as np
import pytest

from laydown.reference.tables import load_table, numbers_of

ROWS = {
    "observer_1931": 421,
    "lights": 85,
    "weights_d50": 36,
    "color_names": 267,
    "renotation": 4677,
}


@pytest.mark.parametrize("name", ROWS)
def test_tables_are_whole(name: str) -> None:
    """Each table has the number of rows that was published, each as wide as its header."""
    table = load_table(name)
    assert {len(cells) for cells in table.values()} == {ROWS[name]}


def test_columns_are_read_as_words_or_numbers() -> None:
    """A column comes as written, several as one array with a column each."""
    table = load_table("renotation")
    assert table["hue"][0] == "2.5R"
    numbers = numbers_of(table, "value", "chroma")
    assert numbers.shape == (4677, 2)
    assert numbers.dtype == np.float64


def test_a_column_that_is_not_there_is_the_programmers_mistake() -> None:
    """Asking for an unknown column is a KeyError."""
    with pytest.raises(KeyError, match="D99"):
        numbers_of(load_table("lights"), "D99")
