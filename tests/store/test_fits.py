from dataclasses import replace

import pytest

from laydown.store.library import Library
from laydown.store.records import FitKey

KEY = FitKey(("Estuary", "Orchard"), "Gannet smooth", "1", "abc")


def test_a_fit_is_found_by_exactly_its_key(any_library: Library) -> None:
    """The order of ranges doesn't matter; anything else does."""
    with any_library.work("keep") as work:
        work.keep_fit(KEY, '{"w": 0.5}')
    with any_library.look() as work:
        assert work.fit(replace(KEY, ranges=("orchard", "Estuary"))) == '{"w": 0.5}'


@pytest.mark.parametrize(
    "changed",
    [{"ranges": ("Estuary",)}, {"paper": "Heron"}, {"model_version": "2"}, {"swatch_hash": "d"}],
)
def test_another_key_finds_nothing(library: Library, changed: dict[str, str]) -> None:
    """A fit of other ranges, paper, model or swatches is none for this question."""
    with library.work("keep") as work:
        work.keep_fit(KEY, "{}")
        assert work.fit(replace(KEY, **changed)) is None


def test_a_fit_too_long_to_be_read_again_is_not_kept(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It would stand in the way of each later answer; the one before stays, for its own key."""
    monkeypatch.setattr("laydown.store.columns.LONGEST_PAYLOAD", 5)
    with library.work("keep") as work:
        work.keep_fit(KEY, "12345")
        work.keep_fit(replace(KEY, swatch_hash="d"), "123456")
        assert work.fit(replace(KEY, swatch_hash="d")) is None
        assert work.fit(KEY) == "12345"


def test_a_fit_too_long_to_be_ours_is_none(library: Library) -> None:
    """It is not even read out of the file: the fit is made anew."""
    with library.work("keep") as work:
        work.keep_fit(KEY, "12345")
        with pytest.MonkeyPatch.context() as context:
            context.setattr("laydown.store.columns.LONGEST_PAYLOAD", 4)
            assert work.fit(KEY) is None
        assert work.fit(KEY) == "12345"


def test_a_newer_fit_takes_the_place_of_the_older(any_library: Library) -> None:
    """One fit is kept for each set of ranges and paper."""
    with any_library.work("keep") as work:
        work.keep_fit(KEY, "old")
        work.keep_fit(replace(KEY, swatch_hash="d"), "new")
        assert work.fit(KEY) is None
        assert work.fit(replace(KEY, swatch_hash="d")) == "new"
