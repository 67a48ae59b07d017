"""Results kept for a while, so that what several papers of one order need is worked out once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import TypeVar, TypeVarTuple

_Given = TypeVarTuple("_Given")
_Result = TypeVar("_Result")


def kept(
    most: int,
) -> Callable[[Callable[[*_Given], _Result]], Callable[[*_Given], _Result]]:
    """Keeps the last ``most`` results of a function of things that never change, for when it is
    asked again with the very same things (not merely equal ones). Errors are not kept. Threads may
    share it; what is kept is all the memory it takes."""

    def keeping(function: Callable[[*_Given], _Result]) -> Callable[[*_Given], _Result]:
        results: OrderedDict[tuple[int, ...], tuple[tuple[*_Given], _Result]] = OrderedDict()
        lock = Lock()

        @wraps(function)
        def asked(*given: *_Given) -> _Result:
            key = tuple(map(id, given))
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

    return keeping
