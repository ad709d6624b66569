from laydown.errors import LONGEST, BadFileError


def test_an_error_never_echoes_megabytes() -> None:
    """Message and hint each keep both ends of what they quote, also where another tells them."""
    error = BadFileError(
        f"“{'x' * 5_000_000}” is no name.", hint=f"Rename “{'y' * 5_000_000}” first."
    )
    for told in (error, error.told_as("line 3: " + "z" * 5_000_000)):
        assert len(told.message) < LONGEST
        assert len(told.hint) < LONGEST
    assert error.message.endswith("is no name.")
    assert error.hint.endswith("first.")
