"""Which measurement to take again first.

Those the neckline hangs on come before all others: a collar is sewn to it and neither can be let
out, while girths can be at the side seams. Beyond that, the one that makes the checks surest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from workroom.certainty.readings import Reading
from workroom.certainty.sure import Certainty, Sure, SureCheck

#: A rise of a check's chance below this is not worth the tape: one in a hundred.
WORTH = 0.01
#: A measurement with this share in the neckline's variance is worth the tape in any case.
NECK = 0.1


@dataclass(frozen=True, slots=True)
class Retake:
    """A measurement to take once more: ``gain`` is by how much the chances of the checks rise in
    all, ``check`` the one that gains most (``None`` when none gains), ``now`` and ``then`` its
    chance before and after, ``share`` what the measurement has in the neckline's variance."""

    reading: Reading
    gain: float
    share: float
    check: SureCheck | None = None
    now: float = 0.0
    then: float = 0.0


def retakes(found: Certainty) -> tuple[Retake, ...]:
    """Measurements worth taking again, the best first: those with ``NECK`` or more of the
    neckline's variance, then by what the chances of all checks gain from one more reading."""
    half: Sure = found.numbers["neckline.half"]
    of_neck = half.shares(found.readings)
    rows = []
    for root, reading in found.readings.items():
        row = _retake(found, root, reading, of_neck.get(root, 0.0))
        if row.gain >= WORTH or row.share >= NECK:
            rows.append(row)
    return tuple(sorted(rows, key=lambda row: (row.share < NECK, -row.gain, row.reading.key)))


def _retake(found: Certainty, root: str, reading: Reading, share: float) -> Retake:
    gain, best = 0.0, Retake(reading, 0.0, share)
    again = {**found.readings, root: replace(reading, sd=reading.better)}
    for one in found.checks:
        if one.settled or one.worn is None or root not in one.worn.slopes:
            continue
        then = one.worn.chance(one.check.off, again)
        rise = then - one.chance
        gain += rise
        if rise > best.then - best.now and rise >= WORTH:
            best = Retake(reading, 0.0, share, one, one.chance, then)
    return Retake(reading, gain, share, best.check, best.now, best.then)
