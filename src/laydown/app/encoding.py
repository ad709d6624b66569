"""Results as text: JSON for readers, the same bytes from every door; and what is kept.

`to_json` rounds; `to_text` loses nothing, and names no class: what a text is read as is said by
whoever reads, and only what that type is made of is ever made. So a library from somewhere else can
hold wrong numbers, but can start nothing.
"""

import base64
import dataclasses
import json
import math
import types
import typing
from collections.abc import Callable, Mapping
from datetime import datetime
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast, get_args, get_origin

import numpy as np

from laydown.app.words import in_words
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.kit.fit import Prediction
from laydown.media.legible import UNSEEN
from laydown.media.recipe import Recipe, format_recipe
from laydown.media.swatch import Swatch
from laydown.plan.picture.picture import PaletteColor, Region

DECIMALS = 6
"""Numbers are rounded to so many decimals: below what any instrument tells, above what matters."""


def to_json(result: object, *, under: str = "") -> str:
    """Write a result as JSON: indented by two spaces, in Unicode, without a line end.

    A result that has no fields of its own stands `under` a name, the members of a tuple each under
    one of several, with blanks between them. Fields stand in the order in which their dataclass
    names them, after those of a color what it is `in_words`; members of a set stand in the order of
    their text. An enum is its value, an array a list, a recipe its text form with the range before
    each name. Numbers are rounded to `DECIMALS`; what is no number becomes null, what nobody sees
    is escaped.

    >>> print(to_json({"value": 1 / 3, "names": frozenset({"Kelp", "Dune"})}))
    {
      "value": 0.333333,
      "names": [
        "Dune",
        "Kelp"
      ]
    }
    >>> print(to_json((frozenset(), 0), under="kits total"))
    {
      "kits": [],
      "total": 0
    }
    """
    told = named(result, under) if under else result
    text = json.dumps(plain(told), ensure_ascii=False, indent=2, allow_nan=False)
    return UNSEEN.sub(lambda sign: json.dumps(sign[0])[1:-1], text)


def named(result: Any, names: str) -> dict[str, Any]:
    """Return a result under its name, or the members of a tuple each under one of several."""
    listed = names.split()
    members = (result,) if len(listed) == 1 else result
    return dict(zip(listed, members, strict=True))


COLORED: Mapping[type, Callable[[Any], FloatArray]] = types.MappingProxyType(
    {
        Swatch: lambda swatch: lab_from_reflectance(swatch.reflectance),
        **dict.fromkeys((Prediction, PaletteColor, Region), lambda color: color.lab),
    }
)
"""What is told in words, too, and its color in CIELAB."""


def plain(value: Any) -> Any:
    """Turn a value into what JSON knows: text, numbers, lists and objects."""
    if isinstance(value, Recipe):
        return format_recipe(value, with_range=True)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
        color = COLORED.get(type(value))
        return fields | {"in_words": plain(in_words(color(value)))} if color else fields
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
    return _written_atom(value)


Kept = TypeVar("Kept")
Reader = Callable[[Any], Any]

PLAIN: dict[Any, frozenset[type]] = {
    str: frozenset({str}),
    int: frozenset({int}),
    float: frozenset({float, int}),
    bool: frozenset({bool}),
    types.NoneType: frozenset({types.NoneType}),
}
"""What JSON may hold for a value of each plain type."""
MOST_VALUES = 5_000_000
"""In one text; a chart of two thousand colors holds a million and a half. A list of nothing is two
signs in a text and sixty bytes in memory, so a text must be counted before it is read."""
WRITERS: dict[type, Callable[[Any], Any]] = {
    bytes: lambda content: base64.b64encode(content).decode("ascii"),
    np.generic: lambda number: number.item(),
    datetime: datetime.isoformat,
    Path: str,
}


def to_text(value: object) -> str:
    """Write frozen dataclasses, and what they hold, as text.

    `value`: made of what `reader_of` can read.

    >>> to_text((0.1, frozenset({"Kelp"}), b"ink"))
    '[0.1,["Kelp"],"aW5r"]'
    """
    return _dumps(_written(value))


def from_text(text: str, kind: type[Kept], *, most: int | None = None) -> Kept:
    """Read back what `to_text` wrote.

    `most` is how many values it may have, see `values_in`; None is `MOST_VALUES`. Raises
    `ValueError` when the text is of something else.

    >>> from_text('[0.1,["Kelp"],"aW5r"]', tuple[float, frozenset[str], bytes])
    (0.1, frozenset({'Kelp'}), b'ink')
    """
    allowed = MOST_VALUES if most is None else most
    if values_in(text) > allowed:
        raise ValueError(f"This text has more than {allowed:,} values.")
    try:
        value: Kept = reader_of(cast("Any", kind))(json.loads(text))
    except (LookupError, TypeError, AttributeError, ArithmeticError, RecursionError) as error:
        raise ValueError(f"This text is not a kept {kind}: {error}") from error
    return value


def values_in(text: str) -> int:
    """Return how many values a JSON text can hold at most, without reading it."""
    return sum(map(text.count, ",[{"))


@cache
def reader_of(kind: Any) -> Reader:
    """Return what reads values of a type.

    Members of a union of dataclasses are told apart by the names of their fields. Raises
    `TypeError` for a type that has no kept form.
    """
    origin = get_origin(kind)
    if kind in PLAIN:
        return _plain_reader(PLAIN[kind])
    if origin in (typing.Union, types.UnionType):
        return _union_reader(get_args(kind))
    if origin in (tuple, frozenset, dict):
        return _collection_reader(origin, get_args(kind))
    if origin is np.ndarray:
        (number,) = get_args(get_args(kind)[1])
        return lambda found: np.array(_listed(found[1]), dtype=number).reshape(_listed(found[0]))
    if dataclasses.is_dataclass(kind):
        return _dataclass_reader(kind)
    return _atom_reader(kind)


def _plain_reader(allowed: frozenset[type]) -> Reader:
    def read(found: Any) -> Any:
        if type(found) not in allowed:
            raise TypeError(f"{str(found)[:40]} is another kind of value")
        return found

    return read


def _listed(found: Any) -> list[Any]:
    if type(found) is not list:
        raise TypeError(f"{str(found)[:40]} is no list")
    return found


def _atom_reader(kind: Any) -> Reader:
    if kind is bytes:
        return base64.b64decode
    if kind is datetime:
        return datetime.fromisoformat
    if isinstance(kind, type) and issubclass(kind, Enum | Path):
        return kind
    raise TypeError(f"{kind} has no kept form.")


def _dataclass_reader(kind: Any) -> Reader:
    hints = typing.get_type_hints(kind)
    fields = dataclasses.fields(kind)
    readers = {field.name: reader_of(hints[field.name]) for field in fields}
    # a field that was added later has a value of its own: kept texts are without it
    needed = {f.name for f in fields if f.default is f.default_factory is dataclasses.MISSING}

    def read(found: Any) -> Any:
        if not needed <= found.keys() <= readers.keys():
            raise KeyError(f"{kind.__name__} has no fields {sorted(found.keys())}")
        return kind(**{name: readers[name](value) for name, value in found.items()})

    return read


def _collection_reader(origin: Any, members: tuple[Any, ...]) -> Reader:
    if origin is dict:
        key, item = map(reader_of, members)
        return lambda found: {key(k): item(i) for k, i in _listed(found)}
    if origin is frozenset or members[1:] == (...,):
        reader = reader_of(members[0])
        return lambda found: origin(map(reader, _listed(found)))
    readers = [reader_of(member) for member in members]
    return lambda found: tuple(
        read(item) for read, item in zip(readers, _listed(found), strict=True)
    )


def _union_reader(members: tuple[Any, ...]) -> Reader:
    inner = [member for member in members if member is not types.NoneType]
    if len(inner) == 1:
        only = reader_of(inner[0])
        return lambda found: None if found is None else only(found)
    by_fields = {frozenset(f.name for f in dataclasses.fields(m)): reader_of(m) for m in inner}
    if len(by_fields) < len(inner):
        raise TypeError(f"{members} can't be told apart by their fields.")
    return lambda found: None if found is None else by_fields[frozenset(found)](found)


def _written(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: _written(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, tuple):
        return [_written(item) for item in value]
    if isinstance(value, frozenset):
        return sorted((_written(item) for item in value), key=_dumps)
    if isinstance(value, Mapping):
        return [[_written(key), _written(item)] for key, item in value.items()]
    return _written_atom(value)


def _written_atom(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if value is None or isinstance(value, str | int | float):
        return value
    if isinstance(value, np.ndarray):
        return [list(value.shape), value.ravel().tolist()]
    for kind, write in WRITERS.items():
        if isinstance(value, kind):
            return write(value)
    raise TypeError(f"{type(value).__name__} has no kept form.")


def _dumps(plain: Any) -> str:
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"))
