"""Engine values to plain JSON data and back, so that every design can be stored and recomputed.

Any frozen dataclass of the engine round-trips: floats, arrays (as lists), ``Decimal`` (as text),
enums (as their value), tuples, mappings, ``Water`` and nested values.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any

import numpy as np

from sizing.engine.water import Water


def to_data(value: Any) -> Any:
    """Plain data for JSON: what a database row or an answer of the API can hold.

    Why: every design is kept whole, so that it can be recomputed and compared years later.
    Units: those of the value; numbers are not rounded.
    Range: engine values (dataclasses, ``Water``, arrays, ``Decimal``, enums, mappings, sequences).
    Raises: ``TypeError`` for anything else.
    Source: none needed (a form, not a figure).

    >>> from sizing.engine.design import Measured
    >>> to_data({"flow": Measured(23.4, 0.6), "price": Decimal("12.50")})
    {'flow': {'value': 23.4, 'sd': 0.6}, 'price': '12.50'}
    """
    if value is None or (isinstance(value, bool | int | str) and not isinstance(value, Enum)):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, np.ndarray):
        return [float(item) for item in value]
    if isinstance(value, float | np.floating | np.integer):
        return float(value)
    if isinstance(value, Water):
        return {code: to_data(number) for code, number in value.values.items()}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_data(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): to_data(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [to_data(item) for item in value]
    raise TypeError(f"cannot store {type(value).__name__}")


@cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def from_data(kind: Any, data: Any) -> Any:
    """The value of type ``kind`` stored as ``data`` by ``to_data``.

    Why: the way back from the row to the engine.
    Units: those of the value.
    Range: data written by ``to_data``; fields added to a class since take their defaults, dropped ones are ignored.
    Raises: as the class's own checks; ``TypeError`` where a field without a default is missing.
    Source: none needed (a form, not a figure).

    >>> from sizing.engine.design import Measured
    >>> from_data(Measured, {"value": 23.4, "sd": 0.6})
    Measured(value=23.4, sd=0.6)
    """
    origin = typing.get_origin(kind)
    if kind is Any or data is None:
        return data
    if origin in (typing.Union, types.UnionType):
        options = [option for option in typing.get_args(kind) if option is not type(None)]
        return from_data(options[0], data) if len(options) == 1 else data
    if origin is typing.Literal:
        return data
    if origin is frozenset:
        return frozenset(data)
    if origin is tuple:
        inner = typing.get_args(kind)
        return tuple(from_data(inner[0], item) for item in data)
    if origin is not None and issubclass(origin, Mapping):
        inner = typing.get_args(kind)
        return {key: from_data(inner[1], item) for key, item in data.items()}
    if kind is Water:
        return Water({code: np.asarray(v, dtype=float) if isinstance(v, list) else v for code, v in data.items()})
    if isinstance(kind, type) and issubclass(kind, Enum | Decimal):
        return kind(data)
    if dataclasses.is_dataclass(kind):
        hints = _hints(typing.cast(type, kind))
        names = [f.name for f in dataclasses.fields(kind) if f.name in data]
        return typing.cast(Any, kind)(**{name: from_data(hints[name], data[name]) for name in names})
    return data
