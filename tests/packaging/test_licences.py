"""Everything that a program may hold has a licence that somebody read, and none that forbids it."""

import licences
import pytest


def test_each_locked_package_was_read() -> None:
    """What the lock brings is listed, and nothing is listed that it doesn't bring."""
    assert sorted(licences.listed()) == licences.locked()


@pytest.mark.parametrize("name", licences.locked())
def test_no_licence_binds_what_it_is_shipped_with(name: str) -> None:
    """The GPL and its kin would bind the whole program; none of the packages is under them."""
    licence = licences.listed()[name]
    assert licence
    assert "GPL" not in licence


def test_a_package_shows_the_licence_that_was_read() -> None:
    """What a package says of itself, where it does so in the words of SPDX, is what is listed."""
    found = {
        name: (said, licences.listed()[name])
        for name in licences.locked()
        if (said := licences.said_by_package(name))
    }
    assert len(found) > 20
    assert {name: both for name, both in found.items() if both[0] != both[1]} == {}


def test_the_texts_are_whole() -> None:
    """Each installed package comes with the text of its licence."""
    for name, licence, text in licences.packages():
        assert len(text) > 500, name
        assert licence, name
