"""The one encoder that turns a task's result into JSON, for every door the same bytes."""

import base64
import dataclasses
import json
import math
from collections.abc import Mapping
from datetime import datetime
from enum import Enum
from pathlib import Path
from typing import Any

import numpy as np

from laydown.media.legible import UNSEEN
from laydown.media.recipe import Recipe, format_recipe

DECIMALS = 6
"""Numbers are rounded to so many decimals: below what any instrument tells, above what matters."""


def to_json(result: object) -> str:
    """Write a result as JSON.

    Fields stand in the order in which their dataclass names them, members of a set in the order
    of their text. An enum is its value, an array a list, a recipe its text form with the range
    before each name. Numbers are rounded to `DECIMALS`; what is no number becomes null.

    Returns
    -------
    str
        Indented by two spaces, in Unicode, without a line end; what nobody sees is escaped.

    Examples
    --------
    >>> print(to_json({"value": 1 / 3, "names": frozenset({"Kelp", "Dune"})}))
    {
      "value": 0.333333,
      "names": [
        "Dune",
        "Kelp"
      ]
    }
    """
    text = json.dumps(plain(result), ensure_ascii=False, indent=2, allow_nan=False)
    return UNSEEN.sub(lambda sign: json.dumps(sign[0])[1:-1], text)


def plain(value: Any) -> Any:
    """Turn a value into what JSON knows: text, numbers, lists and objects."""
    if isinstance(value, Recipe):
        return format_recipe(value, with_range=True)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        items = [plain(item) for item in value]
        return items if isinstance(value, list | tuple) else sorted(items, key=str)
    return _scalar(value)


def _scalar(value: Any) -> Any:
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if isinstance(value, float):
        return round(value, DECIMALS) + 0.0 if math.isfinite(value) else None
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, bytes):
        return base64.b64encode(value).decode("ascii")
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no form in JSON here.")
