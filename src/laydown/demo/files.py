"""The demo's files, as they are shipped: bytes to import like any user's own, and their names."""

import csv
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Literal, get_args

TEACHERS_RANGE = "Estuary"
STUDENTS_RANGE = "Orchard"
PENCIL_RANGE = "Hedgerow"
WASH_RANGE = "Millrace"
CLASS_PAPER = "Gannet smooth"
SECOND_PAPER = "Heron laid"
LESSON = "Lemons in a blue bowl"

SWATCH_FILES = ("estuary_on_gannet_smooth.csv", "orchard_on_gannet_smooth.csv")
"""The swatches of the class paper, to be imported in this order."""
FILM_FILES = ("hedgerow_on_gannet_smooth.csv", "millrace_on_gannet_smooth.csv")
"""The swatches of the pencils and of the washes on the class paper."""
SECOND_PAPER_FILE = "orchard_on_heron_laid.csv"
"""A few anchor swatches on the second paper."""
LESSON_FILE = "lemons_in_a_blue_bowl.csv"
Family = Literal["skin", "fur", "foliage", "metal", "stone"]
FAMILIES: tuple[Family, ...] = get_args(Family)
"""Lessons of wanted colors that belong together, each in ``family_NAME.csv``."""
LIGHTFASTNESS_FILE = "lightfastness.csv"
"""Classes that the invented makers state of their markers."""


def data_file(name: str) -> Traversable:
    """Return one shipped file.

    >>> data_file(LESSON_FILE).read_text(encoding="utf-8").splitlines()[0]
    'passage,role,color,note'
    """
    return files("laydown.demo") / "data" / name


def read_bytes(name: str) -> bytes:
    """Return one shipped file's content, to be imported as a user's own would be."""
    return data_file(name).read_bytes()


def read_rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of one shipped table, each by its columns' names."""
    return tuple(csv.DictReader(read_bytes(name).decode("utf-8").splitlines()))
