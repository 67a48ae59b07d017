"""Central differences, where no formula gives the slope: two or four values of a pure function.

With Richardson's extrapolation the first error left is of the fourth order in the step.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from drafting.points import FloatArray

Values = Callable[[float], FloatArray]


def slope(values: Values, step: float) -> FloatArray:
    """The slope at nought of several numbers, from two values of each: off by the order of
    ``step`` squared."""
    return np.asarray((values(step) - values(-step)) / (2.0 * step), dtype=np.float64)


def fine_slope(values: Values, step: float) -> FloatArray:
    """The same from four values, extrapolated (L. F. Richardson, 1911): off by the order of
    ``step`` to the fourth."""
    return np.asarray((4.0 * slope(values, step / 2.0) - slope(values, step)) / 3.0)
