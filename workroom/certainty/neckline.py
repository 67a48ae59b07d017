"""How the neckline moves with the measurements, through the solved fit to the neck.

The amount of the correction is only known as the root of an equation: fitted neckline less neck
base girth less ease is nought. Its derivative is taken exactly by the implicit function theorem,
from the slopes of the arcs with the quantities (known in closed form) and with the amount. Those
slopes of the arcs, which are lengths of cubic curves, are central differences of the arcs alone,
extrapolated. The fitted whole neckline needs none of it: it moves just as its target does.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from blocks.bodice.bodice import BodiceDraft, neck_frame
from blocks.neckline.fit import correction_by
from blocks.neckline.on_block import NeckFrame
from blocks.neckline.style import styled
from drafting.geometry.points import FloatArray
from workroom.certainty.drafts import fine_slope
from workroom.certainty.inputs import Slopes, combined, step_of

#: How far quantities and the amount are moved for the differences (cm, radians). Arcs are known to
#: 1e-13, so that slopes come out to about 1e-10.
STEP = 0.02
_FITTED, _BACK, _FRONT = range(3)


@dataclass(frozen=True, slots=True)
class NecklineSlopes:
    """How half a neckline's arcs, the whole neckline as the method draws it (``drafted``), as
    fitted, and the ``amount`` of the correction (a share for both ways at once) move."""

    back_arc: Slopes
    front_arc: Slopes
    drafted: Slopes
    fitted: Slopes
    amount: Slopes


def neckline_slopes(
    draft: BodiceDraft,
    quantities: Mapping[str, Slopes],
    target: Slopes,
    *,
    as_drawn: bool = True,
) -> NecklineSlopes:
    """The slopes of a drafted neckline. ``quantities`` are those of the method's quantities,
    ``target`` those of the neck base girth with its ease; without ``as_drawn`` those of
    ``drafted`` are left empty."""
    q = draft.quantities
    names = [name for name in _of_the_frame(q) if quantities[name]]
    roots = sorted({root for name in names for root in quantities[name]})
    amount = _amount(draft)
    arcs = _arcs(draft)
    by_root = {}
    for root in roots:
        moves = {name: quantities[name].get(root, 0.0) for name in names}
        along = _along(arcs, q, moves, amount)
        by_root[root] = fine_slope(along, step_of(root, STEP))
    drafted = _drafted(draft, quantities, names, roots) if as_drawn else {}
    if draft.fit.applied is None:
        back, front = ({root: float(by_root[root][k]) for root in roots} for k in (_BACK, _FRONT))
        fitted = {root: 2.0 * float(by_root[root][_FITTED]) for root in roots}
        return NecklineSlopes(back, front, drafted, fitted, {})
    by_amount = [float(by) for by in fine_slope(lambda step: arcs(q, amount + step), _step(draft))]
    solved = combined(
        (
            (0.5 / by_amount[_FITTED], target),
            *(
                (-float(by[_FITTED]) / by_amount[_FITTED], {root: 1.0})
                for root, by in by_root.items()
            ),
        )
    )
    back, front = (
        combined(
            (
                (by_amount[k], solved),
                *((float(by_root[root][k]), {root: 1.0}) for root in roots),
            )
        )
        for k in (_BACK, _FRONT)
    )
    return NecklineSlopes(back, front, drafted, target, solved)


def _arcs(draft: BodiceDraft) -> Callable[[Mapping[str, float], float], FloatArray]:
    """Half the fitted neckline, the finished back arc and front arc, for quantities and an
    amount of the correction that was applied."""
    fit, wish = draft.fit, draft.wish

    def arcs(q: Mapping[str, float], amount: float) -> FloatArray:
        frame = neck_frame(q)
        if fit.applied is not None:
            frame = frame.changed(correction_by(frame, fit.applied.key, amount))
        fitted = _lengths(frame)
        finished = frame if fit.toile is None else frame.changed(fit.toile)
        if fit.style is not None:
            finished = styled(finished, fit.style, wish.neck_shape)
        back, front = fitted if finished is frame else _lengths(finished)
        return np.array((fitted[0] + fitted[1], back, front))

    return arcs


def _lengths(frame: NeckFrame) -> tuple[float, float]:
    return frame.back_curve().length, frame.front_curve().length


def _along(
    arcs: Callable[[Mapping[str, float], float], FloatArray],
    q: Mapping[str, float],
    moves: Mapping[str, float],
    amount: float,
) -> Callable[[float], FloatArray]:
    def moved(step: float) -> FloatArray:
        return arcs({**q, **{name: q[name] + step * by for name, by in moves.items()}}, amount)

    return moved


def _drafted(
    draft: BodiceDraft, quantities: Mapping[str, Slopes], names: list[str], roots: list[str]
) -> Slopes:
    """The whole neckline as the method draws it."""
    q = draft.quantities

    def half(moved: Mapping[str, float], amount: float) -> FloatArray:
        return np.array((2.0 * neck_frame(moved).half(),))

    found = {}
    for root in roots:
        moves = {name: quantities[name].get(root, 0.0) for name in names}
        found[root] = float(fine_slope(_along(half, q, moves, 0.0), step_of(root, STEP))[0])
    return found


def _of_the_frame(q: Mapping[str, float]) -> list[str]:
    """The quantities that the neckline's frame is drawn from."""
    read: set[str] = set()

    class Noted(dict[str, float]):
        def __getitem__(self, key: str) -> float:
            read.add(key)
            return super().__getitem__(key)

    neck_frame(Noted(q))
    return sorted(read)


def _amount(draft: BodiceDraft) -> float:
    """The solved amount of the correction that was applied; nought when none was."""
    applied = draft.fit.applied
    if applied is None or applied.change is None:
        return 0.0
    if applied.key == "front":
        return applied.change.front_raise
    if applied.key == "side":
        return -applied.change.side_shift
    return applied.change.front_raise / neck_frame(draft.quantities).depth


def _step(draft: BodiceDraft) -> float:
    """A step of the amount: a length, or a share of the neck's depth."""
    applied = draft.fit.applied
    return STEP / 10.0 if applied is not None and applied.key == "both" else STEP
