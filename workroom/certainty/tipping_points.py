"""What if a measurement were another: how far it may move before a check comes out otherwise.

The whole draft is made anew at a few distances and, where a check's verdict differs, the place is
closed in on by halving. What flips and flips back between two of those distances is not seen.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import partial

from blocks.body.measures import measurements
from drafting.errors import DraftError
from drafting.pieces.checks import Check, Verdict
from garment.garment import Garment
from workroom.certainty.drafts import order_at
from workroom.certainty.inputs import is_angle

#: As far as is looked (cm), the distances tried on the way, and how closely a flip is placed.
BOUND = 5.0
TRIED = (0.5, 1.5, 3.0, BOUND)
CLOSE = 0.01
#: One degree of an angle is tried as one centimetre of a length is.
_RADIANS_PER_STEP = 0.017453292519943295
_WORSE = (Verdict.PASS, Verdict.NOTE, Verdict.FAIL)


@dataclass(frozen=True, slots=True)
class Flip:
    """The least move (cm or radians, with its sign) after which the check ``name`` comes out as
    ``now``; ``refused`` says instead why there is no draft at all from there on."""

    move: float
    name: str = ""
    now: Verdict | None = None
    refused: str = ""


Verdicts = Mapping[str, Verdict]


def verdicts(checks: Collection[Check], names: Collection[str] | None = None) -> dict[str, Verdict]:
    """The worst verdict of every check of a name (of all when ``names`` is none)."""
    found: dict[str, Verdict] = {}
    for check in checks:
        if names is None or check.name in names:
            known = found.get(check.name, Verdict.PASS)
            found[check.name] = max(known, check.verdict, key=_WORSE.index)
    return found


def flips(
    order: Garment, root: str, names: Collection[str] | None = None
) -> tuple[Flip | None, Flip | None]:
    """The first flip of any of the checks when a root (a measurement) is less, and when it is
    more; ``None`` where none comes within ``BOUND`` or within what can be a measurement at all."""
    unit = _RADIANS_PER_STEP if is_angle(root) else 1.0
    before = verdicts(order.checks, names)
    look = partial(_look, order, root, names, before)
    return _first(look, -unit, _room(order, root, -1)), _first(look, unit, _room(order, root, 1))


def _first(look: partial[Flip | None], unit: float, room: float) -> Flip | None:
    good = 0.0
    for tried in TRIED:
        distance = min(tried * abs(unit), room)
        if distance <= good:
            return None
        move = distance if unit > 0.0 else -distance
        flip = look(move)
        if flip is not None:
            return _closed_in(look, good, flip, CLOSE * abs(unit))
        good = distance
    return None


def _closed_in(look: partial[Flip | None], good: float, flip: Flip, close: float) -> Flip:
    """The flip placed to within ``close``; ``good`` is a distance at which there was none."""
    sign = 1.0 if flip.move > 0.0 else -1.0
    while abs(flip.move) - good > close:
        middle = (abs(flip.move) + good) / 2.0
        found = look(sign * middle)
        if found is None:
            good = middle
        else:
            flip = found
    return flip


def _look(
    order: Garment, root: str, names: Collection[str] | None, before: Verdicts, move: float
) -> Flip | None:
    try:
        checks = order_at(order.commission, {root: move}).checks
    except DraftError as error:
        return Flip(move, refused="; ".join(problem.said for problem in error.problems))
    now = verdicts(checks, names)
    for name in sorted(before.keys() | now.keys()):
        was, is_ = before.get(name, Verdict.PASS), now.get(name, Verdict.PASS)
        if was is not is_:
            return Flip(move, name, is_)
    return None


def _room(order: Garment, root: str, way: int) -> float:
    """How far a measurement may go and still be one."""
    known = measurements().get(root)
    if known is None or order.body is None:
        return BOUND
    low, high = (known.inside(end) for end in known.hard)
    value = order.body[root]
    return max(high - value if way > 0 else value - low, 0.0)
