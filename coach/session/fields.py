"""The fields of a frozen dataclass as JSON values, and back, checked against their types.

For lines that are kept and read again by another version: every value comes back exactly or is
refused with its place. Never guesses: an unknown field, a missing one and a wrong type are errors.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import MISSING, fields, is_dataclass
from datetime import datetime
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from math import isfinite
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from coach.errors import JournalError, Problem

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

T = TypeVar("T", bound="DataclassInstance")

_NOT_FINITE = ("inf", "-inf", "nan")
_SCALARS: dict[type[Any], str] = {
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    str: "a text",
    datetime: "an instant with its offset from UTC",
}


def encode_fields(thing: DataclassInstance) -> dict[str, Any]:
    """Its fields in their order as JSON values: text, numbers, truth, None, lists, and such again inside."""
    return {field.name: _encode_value(getattr(thing, field.name)) for field in fields(thing)}


def decode_fields(cls: type[T], values: dict[str, Any], where: str) -> T:
    """The dataclass of those values; `where` names them in an error.

    Raises JournalError for an unknown field, a missing field without a default, a value of another type.
    """
    hints = _hints(cls)
    for key in values:
        if key not in hints:
            raise problem_at(f"{where}: {cls.__name__}", f"a field{nearest_of(key, hints)}", in_short(key))
    for field in fields(cls):
        if field.name not in values and field.default is MISSING:
            raise problem_at(f"{where}: {cls.__name__}", f"the field '{field.name}'", "none")
    decoded = {
        key: _decode_value(value, hints[key], f"{where}: {cls.__name__}.{key}")
        for key, value in values.items()
    }
    return cls(**decoded)


@cache
def _hints(cls: type[Any]) -> dict[str, Any]:
    return get_type_hints(cls)


def _encode_value(value: object) -> object:
    """JSON has no infinity and no instants: both become text. A dataclass inside leaves out what is None."""
    if is_dataclass(value) and not isinstance(value, type):
        given = encode_fields(value)
        return {
            f.name: given[f.name] for f in fields(value) if given[f.name] is not None or f.default is MISSING
        }
    if isinstance(value, float) and not isfinite(value):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat()
    return [_encode_value(item) for item in value] if isinstance(value, tuple) else value


def _decode_value(value: object, hint: Any, where: str) -> Any:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (UnionType, Union):
        present = next(argument for argument in arguments if argument is not NoneType)
        return None if value is None else _decode_value(value, present, where)
    if is_dataclass(hint):
        return _decode_inner(value, hint, where)
    if origin is tuple:
        return _decode_tuple(value, arguments, where)
    if origin is Literal:
        return _decode_choice(value, arguments, where)
    if issubclass(hint, StrEnum):
        return hint(_decode_choice(value, tuple(map(str, hint)), where))
    return _decode_scalar(value, hint, where)


def _decode_inner(value: object, hint: Any, where: str) -> Any:
    if not isinstance(value, dict):
        raise problem_at(where, f"the fields of a {hint.__name__}", in_short(value))
    return decode_fields(hint, value, where)


def _decode_tuple(value: object, arguments: tuple[Any, ...], where: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise problem_at(where, "a list", in_short(value))
    hints = arguments[:1] * len(value) if arguments[-1] is Ellipsis else arguments
    if len(hints) != len(value):
        raise problem_at(where, f"{len(hints)} values", str(len(value)))
    return tuple(_decode_value(item, hint, where) for item, hint in zip(value, hints, strict=True))


def _decode_choice(value: object, choices: tuple[str, ...], where: str) -> str:
    if not isinstance(value, str) or value not in choices:
        raise problem_at(where, f"one of {', '.join(choices)}", in_short(value))
    return value


def _decode_scalar(value: object, hint: type[Any], where: str) -> Any:
    if type(value) is hint:
        return value
    if hint is float and (value in _NOT_FINITE or (type(value) is int and abs(value) < 2**53)):
        return float(value)
    if hint is datetime and isinstance(value, str):
        return _decode_instant(value, where)
    raise problem_at(where, _SCALARS[hint], in_short(value))


def _decode_instant(value: str, where: str) -> datetime:
    try:
        instant = datetime.fromisoformat(value)
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None:
        raise problem_at(where, _SCALARS[datetime], in_short(value))
    return instant


def problem_at(where: str, expected: str, got: str) -> JournalError:
    """One problem as an error."""
    return JournalError(Problem(where=where, expected=expected, got=got))


def in_short(value: object) -> str:
    """What was got, on one line and not longer than a line."""
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:56]} …{text[0]}"


def nearest_of(name: object, names: Iterable[str]) -> str:
    """The nearest valid name as the end of a sentence, or nothing if none is near."""
    near = get_close_matches(str(name)[:60], list(names), n=1)
    return f" such as '{near[0]}'" if near else ""
