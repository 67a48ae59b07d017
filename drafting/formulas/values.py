"""Values from outside: checked before any formula sees them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drafting.errors import FormulaError, Problem

#: Any shape of floats.
FloatArray = NDArray[np.float64]


def settle(
    values: Mapping[str, float | FloatArray], names: Iterable[str], place: str = ""
) -> tuple[dict[str, Any], tuple[int, ...]]:
    """The values of ``names``, checked, and the shape they share; ``()`` for one body.

    Raises :class:`FormulaError` where one is missing, is no number, or the shapes do not fit.
    """
    settled: dict[str, Any] = {}
    shapes: dict[str, tuple[int, ...]] = {}
    problems: list[Problem] = []
    for name in sorted(names):
        if name not in values:
            problems.append(Problem("no value is given", place, name))
            continue
        value = values[name]
        if type(value) is float:
            settled[name] = value
            continue
        try:
            array = np.asarray(value)
            if array.dtype.kind not in "iuf":
                raise TypeError
        except (TypeError, ValueError):
            got = type(value).__name__
            problems.append(Problem("this is no number", place, name, got, "numbers"))
            continue
        if array.ndim:
            settled[name] = array.astype(np.float64, copy=False)
            shapes[name] = array.shape
        else:
            settled[name] = float(array)
    if problems:
        raise FormulaError(problems)
    try:
        return settled, np.broadcast_shapes(*shapes.values())
    except ValueError as error:
        got = ", ".join(f"{name} {shape}" for name, shape in shapes.items())
        raise FormulaError(
            Problem("these arrays are not equally long", place=place, got=got)
        ) from error


def spread(result: Any, shape: tuple[int, ...]) -> FloatArray:
    """``result`` as a float array of ``shape``; it may be a read-only view."""
    array: FloatArray = np.broadcast_to(np.asarray(result, dtype=np.float64), shape)
    return array
