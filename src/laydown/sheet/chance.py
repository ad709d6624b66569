"""Chance that comes in as a number: an order that looks random and is the same every time."""

from hashlib import sha256


def shuffled_places(count: int, *, seed: int) -> tuple[int, ...]:
    """Return 0 … count - 1 in an order that the seed decides.

    Places are sorted by a hash of seed and place, which is the same on every machine.

    Examples
    --------
    >>> sorted(shuffled_places(4, seed=1))
    [0, 1, 2, 3]
    >>> shuffled_places(40, seed=1) == shuffled_places(40, seed=2)
    False
    """
    return tuple(
        sorted(range(count), key=lambda place: sha256(f"{seed}/{place}".encode()).digest())
    )
