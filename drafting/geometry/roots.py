"""Where a function passes through nought between two places.

The method is that of R. P. Brent, Algorithms for Minimization without Derivatives, Prentice-Hall
1973, chapter 4: inverse interpolation where it helps, halving where it does not. It stands here
because loading a whole library for it takes longer than drafting a bodice.
"""

from __future__ import annotations

from collections.abc import Callable

#: No answer is asked for finer than this share of itself: four roundings.
_ROUNDING = 8.881784197001252e-16
_ROUNDS = 100


def root_between(
    function: Callable[[float], float],
    low: float,
    high: float,
    *,
    xtol: float = 2e-12,
    rtol: float = _ROUNDING,
) -> float:
    """The place between ``low`` and ``high`` where a function passes through nought, right to
    ``xtol`` and the share ``rtol`` of itself.

    Raises ``ValueError`` when the function has one sign at both ends, and ``RuntimeError`` when it
    cannot be found, which a function that is a number everywhere between them never causes.
    """
    before, here = float(low), float(high)
    f_before, f_here = float(function(before)), float(function(here))
    if f_before == 0.0:
        return before
    if f_here == 0.0:
        return here
    if (f_before < 0.0) == (f_here < 0.0):
        raise ValueError(f"there is no sign change between {low} and {high}")
    across = f_across = step_before = step = 0.0
    for _ in range(_ROUNDS):
        if f_before != 0.0 and f_here != 0.0 and (f_before < 0.0) != (f_here < 0.0):
            across, f_across = before, f_before
            step_before = step = here - before
        if abs(f_across) < abs(f_here):
            before, here, across = here, across, here
            f_before, f_here, f_across = f_here, f_across, f_here
        least = (xtol + rtol * abs(here)) / 2.0
        half = (across - here) / 2.0
        if f_here == 0.0 or abs(half) < least:
            return here
        last, step_before, step = (step_before, step), half, half
        if abs(last[0]) > least and abs(f_here) < abs(f_before):
            guess = _guess(before, f_before, here, f_here, across, f_across)
            if 2.0 * abs(guess) < min(abs(last[0]), 3.0 * abs(half) - least):
                step_before, step = last[1], guess
        before, f_before = here, f_here
        here += step if abs(step) > least else (least if half > 0.0 else -least)
        f_here = float(function(here))
    raise RuntimeError(f"no root was found between {low} and {high}")


def _guess(
    before: float, f_before: float, here: float, f_here: float, across: float, f_across: float
) -> float:
    """The step to where a straight line through two places, or an inverse curve through three,
    passes through nought."""
    if before == across:
        return -f_here * (here - before) / (f_here - f_before)
    slope = (f_before - f_here) / (before - here)
    slope_across = (f_across - f_here) / (across - here)
    return (
        -f_here
        * (f_across * slope_across - f_before * slope)
        / (slope_across * slope * (f_across - f_before))
    )
