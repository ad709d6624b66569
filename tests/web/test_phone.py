"""Letting one phone in by a code, with a clock and dice of our own."""

import random
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.errors import NotLetInError
from laydown.web.phone import CODE_LENGTH, CODE_SECONDS, GUESSES, LETTERS, Phone

HOST = "192.168.1.20:8017"
KITCHEN, NEIGHBOR = "192.168.1.33", "192.168.1.66"


@dataclass(slots=True)
class Clock:
    """A clock that stands still until it is put on."""

    seconds: float = 1000.0

    def __call__(self) -> float:
        """Return what it shows."""
        return self.seconds


@pytest.fixture
def clock() -> Clock:
    """Return a clock that stands still."""
    return Clock()


@pytest.fixture
def phone(clock: Clock) -> Phone:
    """Return a bench that no phone was let in at."""
    return Phone(HOST, clock=clock, draw=random.Random(8).randrange)


def test_a_code_lets_one_phone_in_once(phone: Phone) -> None:
    """Used, it is of no use any more, not even to the same phone."""
    code = phone.make_code()
    assert phone.knows(phone.let_in(code, address=KITCHEN), address=KITCHEN)
    assert phone.is_paired
    with pytest.raises(NotLetInError, match="No code is good"):
        phone.let_in(code, address=KITCHEN)


def test_a_code_is_read_off_in_any_spelling(phone: Phone) -> None:
    """Small letters, blanks and hyphens don't matter."""
    text = phone.make_code().lower()
    assert phone.let_in(f" {text[:4]}-{text[4:]} ", address=KITCHEN)


def test_a_code_stands_for_five_minutes(phone: Phone, clock: Clock) -> None:
    """At the last moment it opens, at the next it doesn't, and the bench no longer shows it."""
    code = phone.make_code()
    clock.seconds += CODE_SECONDS
    assert not phone.code
    assert phone.seconds_left == 0
    with pytest.raises(NotLetInError, match="No code is good"):
        phone.let_in(code, address=KITCHEN)
    code = phone.make_code()
    clock.seconds += CODE_SECONDS - 0.01
    assert phone.let_in(code, address=KITCHEN)


def test_a_code_stands_five_wrong_guesses(phone: Phone) -> None:
    """Then the right one opens nothing either, until the person at the bench makes another."""
    code = phone.make_code()
    for left in range(GUESSES - 1, 0, -1):
        with pytest.raises(NotLetInError, match="That is not the code") as trouble:
            phone.let_in("2" * CODE_LENGTH, address=NEIGHBOR)
        assert str(left) in trouble.value.hint
    with pytest.raises(NotLetInError, match="all it stands"):
        phone.let_in("", address=NEIGHBOR)
    with pytest.raises(NotLetInError, match="No code is good"):
        phone.let_in(code, address=KITCHEN)
    assert not phone.is_paired
    assert phone.let_in(phone.make_code(), address=KITCHEN)


def test_without_a_code_nobody_is_let_in(phone: Phone) -> None:
    """Before the bench shows one, and with what an empty secret would be."""
    with pytest.raises(NotLetInError):
        phone.let_in("", address=KITCHEN)
    assert not phone.knows("", address=KITCHEN)


def test_a_secret_is_worth_nothing_from_elsewhere(phone: Phone) -> None:
    """Copied to another device, or altered, it isn't the phone."""
    secret = phone.let_in(phone.make_code(), address=KITCHEN)
    assert not phone.knows(secret, address=NEIGHBOR)
    assert not phone.knows(secret.upper(), address=KITCHEN)
    assert not phone.knows(secret[:-1], address=KITCHEN)
    assert not phone.knows("", address=KITCHEN)


def test_there_is_one_phone(phone: Phone) -> None:
    """A new code ends the phone before, and forgetting ends phone and code."""
    first = phone.let_in(phone.make_code(), address=KITCHEN)
    code = phone.make_code()
    assert not phone.knows(first, address=KITCHEN)
    second = phone.let_in(code, address=NEIGHBOR)
    assert phone.knows(second, address=NEIGHBOR)
    phone.forget()
    assert not phone.knows(second, address=NEIGHBOR)
    phone.make_code()
    phone.forget()
    assert not phone.code


def test_codes_and_secrets_are_long_enough(phone: Phone) -> None:
    """Guessing within the tries that a code stands succeeds once in a hundred billion times."""
    assert len(set(LETTERS)) ** CODE_LENGTH > 1e11 * GUESSES
    secret = phone.let_in(phone.make_code(), address=KITCHEN)
    assert len(secret) == 64
    assert not set("01OIL") & set(LETTERS)


def test_no_two_codes_are_the_same(phone: Phone) -> None:
    """Each is drawn anew."""
    assert len({phone.make_code() for _ in range(1000)}) == 1000


@given(st.text(max_size=60))
def test_whatever_is_typed_is_refused_in_words(text: str) -> None:
    """Text that isn't the code never lets in and never breaks anything."""
    phone = Phone(HOST, clock=Clock(), draw=random.Random(1).randrange)
    code = phone.make_code()
    if "".join(text.split()).replace("-", "").upper() != code:
        with pytest.raises(NotLetInError):
            phone.let_in(text, address=KITCHEN)
    assert not phone.knows(text, address=KITCHEN)
