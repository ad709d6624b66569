import pytest

from laydown.match.acceptance import acceptance_words


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0, "probably not close enough: accepted by under 5 in 100"),
        (0.22, "probably not close enough: accepted by about 20 in 100"),
        (0.24, "may pass: accepted by about 25 in 100"),
        (0.46, "may pass: accepted by about 45 in 100"),
        (0.5, "may pass: accepted by about 50 in 100"),
        (0.76, "probably close: accepted by about 75 in 100"),
        (0.8, "close: accepted by about 80 in 100"),
        (1.0, "close: accepted by over 95 in 100"),
    ],
)
def test_the_word_agrees_with_the_number(chance: float, said: str) -> None:
    """Whatever the chance is rounded to, its word is that of the number that stands beside it."""
    assert acceptance_words(chance) == said
