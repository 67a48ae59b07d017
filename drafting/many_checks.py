"""A check of many bodies at once: the same check of each, its verdicts as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drafting.points import FloatArray


@dataclass(frozen=True, slots=True)
class ManyChecks:
    """The check called ``name`` of n bodies, as :class:`drafting.checks.Check` is that of one:
    ``measured`` and ``target`` are arrays (n,); it ``failed``, or is a note (``noted``), or passed.
    """

    name: str
    measured: FloatArray
    target: FloatArray
    failed: NDArray[np.bool_]
    noted: NDArray[np.bool_]

    @property
    def off(self) -> FloatArray:
        """Measured minus target."""
        return self.measured - self.target


def within_many(
    name: str, measured: FloatArray, target: FloatArray, tolerance: float
) -> ManyChecks:
    """:func:`drafting.checks.within` of many bodies."""
    failed = ~(np.abs(measured - target) <= tolerance)
    return ManyChecks(name, measured, target, failed, np.zeros_like(failed))


def at_least_many(name: str, measured: FloatArray, least: float) -> ManyChecks:
    """:func:`drafting.checks.at_least` of many bodies."""
    failed = ~(measured >= least)
    return ManyChecks(name, measured, np.full_like(measured, least), failed, np.zeros_like(failed))
