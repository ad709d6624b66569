"""Every threshold of the judgement, from one table with a source for each row."""

import csv
from functools import cache
from importlib.resources import files


@cache
def thresholds() -> dict[str, float]:
    """Return the thresholds by name, as ``thresholds.csv`` gives them with unit and source.

    Examples
    --------
    >>> thresholds()["tolerance class"]
    2.25
    """
    text = (files("laydown.reference") / "thresholds.csv").read_text(encoding="utf-8")
    return {row["name"]: float(row["value"]) for row in csv.DictReader(text.splitlines())}
