from laydown.cli.console import columns, counted


def test_words_stand_left_and_numbers_right() -> None:
    """Columns are as wide as their widest cell and parted by two blanks."""
    assert columns(["a", "n"], [["Kelp", 3], ["Net", 12]]) == "a      n\nKelp   3\nNet   12"


def test_no_rows_leave_the_header() -> None:
    """A table without rows is its header alone."""
    assert columns(["paper", "value"], []) == "paper  value"


def test_one_is_singular() -> None:
    """One thing is singular, none and many are plural."""
    assert [counted(n, "patch") for n in (0, 1, 2)] == ["0 patches", "1 patch", "2 patches"]
