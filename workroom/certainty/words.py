"""How sure a draft is, in a maker's words and units."""

from __future__ import annotations

from collections.abc import Mapping
from math import degrees, isfinite, radians

from blocks.body.measures import measurements
from drafting.pieces.checks import Check
from drafting.units import SIXTEENTH, LengthUnit, format_inches, from_cm, to_cm
from garment.garment import Garment
from workroom.certainty.inputs import TAPED, Reading
from workroom.certainty.sure import NECK, Certainty, Retake, SureCheck, UncertainValue
from workroom.certainty.worn import SURE

_PARTS = {
    1.0: "all",
    0.9: "nine tenths",
    0.8: "four fifths",
    0.75: "three quarters",
    2 / 3: "two thirds",
    0.6: "three fifths",
    0.5: "half",
    0.4: "two fifths",
    1 / 3: "a third",
    0.25: "a quarter",
    0.2: "a fifth",
    0.1: "a tenth",
}
LEGEND = (
    "± is how far the tape alone may be out: two times in three the true figure lies within it, "
    "19 times in 20 within twice as much."
)
#: The finest fraction of an inch in which an uncertainty is told, and how little is none (inches).
_FINEST, _NOTHING = 32, 0.002
#: A chance above this is called almost certain.
ALMOST = 0.995
CHANCES = (
    "A chance is how often the finished garment would pass on her, with every reading out on its "
    "own. On her it passes when it does no harm; the tolerance on paper is narrower."
)


def length(value: float, unit: LengthUnit) -> str:
    """A length (cm) to a hundredth of a centimetre, or as a fraction of an inch: under an inch to
    the thirty-second, else to the sixteenth."""
    return f"{_plain(value, unit)} {unit}"


def _plain(value: float, unit: LengthUnit) -> str:
    if unit is LengthUnit.CM:
        return f"{value + 0.0:.2f}"
    inches = abs(from_cm(value, unit))
    finest = SIXTEENTH if inches >= 1.0 else _FINEST
    if round(inches * finest) == 0 and inches >= _NOTHING:
        return f"under 1/{_FINEST}"
    return format_inches(value, finest=finest)


def amount(value: float, kind: str, unit: LengthUnit) -> str:
    """A length (cm), an angle (radians) or a bare number."""
    if kind == "deg":
        return f"{degrees(value):.1f}°"
    return length(value, unit) if kind == "cm" else f"{value:.3f}"


def measured(root: str, order: Garment, unit: LengthUnit) -> str:
    """A root's own value, as it was taken or estimated."""
    if root in TAPED:
        return length(getattr(order.commission.neckline, root), unit)
    value = order.body[root] if order.body else order.commission.measurements[root]
    return amount(value, measurements()[root].unit, unit)


def part(share: float) -> str:
    """A share in words: ``nine tenths``."""
    return _PARTS[min(_PARTS, key=lambda known: abs(known - share))]


def sure_line(number: UncertainValue, found: Certainty, *, advice: bool = True) -> str:
    """``half neckline 18.62 ± 0.31 cm; nine tenths of that is the neck base girth: measure
    it twice``; the last words only with ``advice``."""
    unit, sd = found.order.commission.unit, number.sd(found.readings)
    head = f"{number.name} {amount(number.value, number.unit, unit)}"
    if sd < (radians(SURE) if number.unit == "deg" else SURE):
        return f"{head}, however it is measured"
    if number.unit == "cm":
        head = f"{number.name} {_plain(number.value, unit)} ± {length(sd, unit)}"
    else:
        head += f" ± {amount(sd, number.unit, unit)}"
    return f"{head}; {whose(number.shares(found.readings), found.readings, advice=advice)}"


def whose(shares: Mapping[str, float], readings: Mapping[str, Reading], *, advice: bool) -> str:
    """Where most of an uncertainty comes from, and what to do about it."""
    first, *others = shares
    reading = readings[first]
    said = f"{part(shares[first])} of that is the {reading.name}"
    if not reading.taken:
        said += ", only estimated"
    if advice:
        said += ": measure it twice" if reading.taken else ": measure it"
    if others and shares[others[0]] >= 0.15:
        other = readings[others[0]]
        said += f"; {part(shares[others[0]])} is the {other.name}"
        said += "" if other.taken else ", only estimated"
    return said


def check_name(one: SureCheck) -> str:
    """A check with where it is."""
    return f"{one.check.name} ({one.check.where})" if one.check.where else one.check.name


def check_amount(value: float, kind: str, unit: LengthUnit) -> str:
    """A check's number, whose angles are degrees already."""
    return f"{value:.1f}°" if kind == "deg" else length(value, unit)


def chance_line(one: SureCheck, unit: LengthUnit) -> str:
    """The chance that a check passes on her real body, and what it was worked out from."""
    sd = check_amount(one.sd, one.check.unit, unit)
    told = f"{stands(one.check, unit)}, ± {sd}; {allowed(one, unit)}"
    sure = one.chance > ALMOST
    often = "almost certain to pass on her" if sure else f"passes on her {odds(one.chance)}"
    return f"{check_name(one)}: {often} ({told})"


def paper_line(check: Check, unit: LengthUnit) -> str:
    """What the tolerance of a check allows on paper: ``on target now; 0.30 cm more or less is
    allowed``."""
    told = f"{stands(check, unit)}; "
    if check.tolerance <= 0.0:
        return told + ("more is as good" if check.least else "neither more nor less is allowed")
    often = "less" if check.least else "more or less"
    return f"{told}{check_amount(check.tolerance, check.unit, unit)} {often} is allowed"


def stands(check: Check, unit: LengthUnit) -> str:
    """How far a check is off its target now."""
    if abs(check.off) < 0.005:
        return "on target now"
    off = check_amount(abs(check.off), check.unit, unit)
    return f"now {off} {'more' if check.off > 0 else 'less'} than wanted"


def allowed(one: SureCheck, unit: LengthUnit) -> str:
    """How far a check may be off its target on her real body, and what happens beyond."""
    assert one.worn is not None
    low, high, kind = one.worn.low, one.worn.high, one.check.unit
    if low > 0.0:
        told = f"on her it must be {check_amount(low, kind, unit)} more"
    else:
        told = f"on her {check_amount(-low, kind, unit)} less"
        if isfinite(high):
            told += f" or {check_amount(high, kind, unit)} more"
        told += " is allowed"
    return f"{told}: {one.worn.harm}"


def odds(chance: float) -> str:
    """A chance in words."""
    if chance > ALMOST:
        return "almost certain"
    if chance < 0.005:
        return "hardly ever, however well you measure"
    return f"{100 * chance:.0f} times in 100"


def doubtful(found: Certainty) -> list[SureCheck]:
    """Checks that depend on the measuring: the least sure first, those that hardly ever pass
    last; those that are almost certain left out."""
    rows = [one for one in found.checks if not one.settled and one.chance <= ALMOST]
    return sorted(rows, key=lambda one: (one.chance < 0.005, one.chance))


def retake_line(row: Retake, unit: LengthUnit) -> str:
    """Why to take a measurement again, or at last."""
    name, kind = row.reading.name, _kind(row.reading.key)
    way = "measure it once more" if row.reading.taken else "only estimated, so measure it"
    was, then = (amount(sd, kind, unit) for sd in (row.reading.sd, row.reading.better))
    line = f"{name}: {way}" + (
        f"; its uncertainty falls from {was} to {then}" if was != then else ""
    )
    if row.check is not None:
        now, later = (f"{100 * chance:.0f}" for chance in (row.now, row.then))
        line += f", and “{row.check.check.name}” passes on her {later} times in 100, not {now}"
    elif row.share >= NECK:
        line += f"; it is {part(row.share)} of the neckline's uncertainty"
    return line


def rate_line(root: str, by: float, kind: str, found: Certainty) -> str:
    """How much more one centimetre (inch, degree) of a measurement makes a number."""
    unit, reading = found.order.commission.unit, found.readings[root]
    head = f"{reading.name} {measured(root, found.order, unit)}"
    head += "" if reading.taken else " (estimated)"
    step = radians(1.0) if _kind(root) == "deg" else to_cm(1.0, unit)
    one = "1°" if _kind(root) == "deg" else f"1 {unit}"
    moved = by * step
    if kind == "deg":
        told = f"{abs(degrees(moved)):.3f}°"
    else:
        told = _rate(abs(moved), unit) if kind == "cm" else f"{abs(moved):.4f}"
    return f"{head}: {one} more makes it {told} {'more' if moved >= 0 else 'less'}"


def _rate(moved: float, unit: LengthUnit) -> str:
    """A small move (cm) to a thousandth of a centimetre, in inches as any other length."""
    return f"{moved:.3f} {unit}" if unit is LengthUnit.CM else length(moved, unit)


def _kind(root: str) -> str:
    return "cm" if root in TAPED else measurements()[root].unit
