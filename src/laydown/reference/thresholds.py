"""The thresholds, and words for those that people choose; without numpy, as help needs them."""

import csv
from functools import cache
from importlib.resources import files


@cache
def thresholds() -> dict[str, float]:
    """Return the thresholds by name, as ``thresholds.csv`` gives them with unit and source.

    >>> thresholds()["tolerance class"]
    2.25
    """
    text = (files("laydown.reference") / "thresholds.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}


WAYS = {"class": "a class", "sketch": "a sketch", "close": "close"}
"""How each of the trade's three tolerances is said."""


def close_enough(tolerance: str) -> str:
    """Say in plain words what counts as close enough.

    >>> close_enough("class"), close_enough("close")
    ('close enough for a class', 'close even side by side')
    """
    if tolerance == "close":
        return "close even side by side"
    return f"close enough for {WAYS[tolerance]}"


def step_words() -> str:
    """Say how much nearer a step more must bring a recipe, for each of the trade's three ways.

    >>> step_words()
    '0.7 for a class, 1 for a sketch, 0.2 for close'
    """
    return ", ".join(f"{thresholds()[f'step {way}']:g} for {told}" for way, told in WAYS.items())
