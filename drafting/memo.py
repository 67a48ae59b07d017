"""Results kept for a while: what several papers of one order need is worked out once, and what a
change leaves as it was is not worked out again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from functools import wraps
from threading import Lock
from typing import TypeVar, TypeVarTuple

_Given = TypeVarTuple("_Given")
_Result = TypeVar("_Result")


def memo_by_identity(
    most: int,
) -> Callable[[Callable[[*_Given], _Result]], Callable[[*_Given], _Result]]:
    """Keeps the last ``most`` results of a function of things that never change, for when it is
    asked again with the very same things (not merely equal ones). Errors are not kept. Threads may
    share it; what is kept is all the memory it takes."""

    def keeping(function: Callable[[*_Given], _Result]) -> Callable[[*_Given], _Result]:
        return _keeping(function, most, id)

    return keeping


def memo_by_value(
    most: int,
) -> Callable[[Callable[[*_Given], _Result]], Callable[[*_Given], _Result]]:
    """:func:`memo_by_identity` for when a function is asked again with things that are equal to
    those before: numbers, texts, tables of them, frozen dataclasses. A curve is equal to itself
    only."""

    def keeping(function: Callable[[*_Given], _Result]) -> Callable[[*_Given], _Result]:
        return _keeping(function, most, _settled)

    return keeping


def _settled(value: object) -> Hashable:
    """A value, or a copy of what stands in it, that later changes of it cannot reach."""
    if isinstance(value, Mapping):
        return Mapping, tuple((key, _settled(one)) for key, one in value.items())
    if isinstance(value, str | bytes | int | float | None):
        return type(value), value
    if isinstance(value, Sequence):
        return Sequence, tuple(map(_settled, value))
    if is_dataclass(value) and type(value).__hash__ is not object.__hash__:
        return type(value), tuple(_settled(getattr(value, one.name)) for one in fields(value))
    hash(value)  # or it cannot be kept by
    return value


def _keeping(
    function: Callable[[*_Given], _Result], most: int, known_by: Callable[[object], Hashable]
) -> Callable[[*_Given], _Result]:
    results: OrderedDict[Hashable, tuple[tuple[*_Given], _Result]] = OrderedDict()
    lock = Lock()

    @wraps(function)
    def asked(*given: *_Given) -> _Result:
        key = tuple(map(known_by, given))
        with lock:
            if key in results:
                results.move_to_end(key)
                return results[key][1]
        result = function(*given)
        with lock:
            # what was given is kept too, so that nothing else can come to lie in its place
            results[key] = given, result
            while len(results) > most:
                results.popitem(last=False)
        return result

    return asked
