"""Measurements that look unusual: remarks for the maker, never a refusal.

Each core measurement is predicted from the others that were taken, as if all came from one
multivariate normal distribution (``blocks.body.populations``). How far it lies off is told as z,
scaled so that it is as rare as the same z of a normal distribution although the survey's tails are
heavier.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from blocks.body.measures import Measurement, SizeRelation, measurements, orders, refuse_unknown
from blocks.body.populations import survey
from drafting.memo import memo_by_value
from drafting.units import CM_PER_INCH, MM_PER_CM, LengthUnit, format_length, from_cm, to_cm

# ---- Slips of the pen that may explain a wrong number: units, halves, the point, swapped digits


@dataclass(frozen=True, slots=True)
class Guess:
    """A length (cm) that may have been meant, and in words how it went wrong."""

    value: float
    said: str


def guesses(value: float, unit: LengthUnit) -> tuple[Guess, ...]:
    """What may have been meant by the length ``value`` (cm) on a card written in ``unit``."""
    written = f"{round(from_cm(value, unit), 2):g}"
    if unit is LengthUnit.CM:
        larger = f"perhaps {written} inches typed as centimetres"
        smaller = "perhaps turned from inches into centimetres twice"
    else:
        larger = "perhaps turned from centimetres into inches twice"
        smaller = f"perhaps {written} centimetres typed as inches"
    factors = (
        (CM_PER_INCH, larger),
        (1 / CM_PER_INCH, smaller),
        (2.0, "perhaps only half was measured"),
        (0.5, "perhaps doubled by mistake"),
        (MM_PER_CM, "perhaps the decimal point slipped"),
        (1 / MM_PER_CM, "perhaps the decimal point slipped"),
    )
    found = [
        Guess(value * factor, f"{said}: {format_length(value * factor, unit)}")
        for factor, said in factors
    ]
    found += [
        Guess(to_cm(float(text), unit), f"perhaps {text} {unit.value}, digits swapped")
        for text in _swapped(written)
    ]
    return tuple(found)


def _swapped(written: str) -> list[str]:
    """Every text that differs from ``written`` by two neighbouring digits swapped."""
    at = [place for place, sign in enumerate(written) if sign.isdigit()]
    texts: list[str] = []
    for first, second in pairwise(at):
        if written[first] != written[second]:
            signs = list(written)
            signs[first], signs[second] = signs[second], signs[first]
            texts.append("".join(signs))
    return texts


#: Remark above this z: about 1 woman in 100 for one measurement; our own choice.
NOTE = 2.6
#: Ask to take it again above this z: about 1 woman in 2000; our own choice.
AGAIN = 3.5
#: Look for a slip of unit or digits above this z, and believe one that brings z below the second.
SLIP = 4.0
EXPLAINED = 2.5


@dataclass(frozen=True, slots=True)
class Unusual:
    """One measurement that looks unusual (centimetres, radians for angles).

    ``low`` to ``high`` is where it would pass without remark, ``expected`` the middle of what the
    others predict (of the range where no prediction was made), ``z`` how far off it lies
    (``None`` without prediction), ``others`` the measurements it was predicted from (none: the mean
    of all women). ``other`` is set where two measurements contradict each other.
    ``guess`` is a slip that would explain it.
    """

    key: str
    value: float
    expected: float
    low: float
    high: float
    z: float | None
    severity: Literal["note", "take again"]
    guess: str | None = None
    other: str | None = None
    others: tuple[str, ...] = ()

    def sentence(self, unit: LengthUnit = LengthUnit.CM) -> str:
        """What is unusual and what to do, for people, lengths in ``unit``."""
        measurement = measurements()[self.key]
        value, low, high = (
            _format(number, measurement, unit) for number in (self.value, self.low, self.high)
        )
        head = f"{measurement.name} {value}"
        if self.other is not None:
            other = measurements()[self.other].name
            said = f"{head} does not go with {other}: {low} to {high} would"
        elif not self.others:
            said = f"{head} is rare: {low} to {high} is usual"
        else:
            expected = _format(self.expected, measurement, unit)
            said = f"{head} does not go with the others: about {expected} fits, {low} to {high}"
        if self.guess is not None:
            said += f"; {self.guess}"
        do = "Measure it again." if self.severity == "take again" else "Check it."
        return f"{said[0].upper()}{said[1:]}. {do}"


def find_unusual(
    taken: Mapping[str, float], unit: LengthUnit = LengthUnit.CM
) -> tuple[Unusual, ...]:
    """What looks unusual among ``taken`` (cm, radians), in the order of the measurements' file.

    ``unit`` is what the card is written in: slips are looked for, and guesses worded, in it. A
    measurement comes up once, for the gravest reason.

    One wrong entry makes the predictions of others wrong as well, but its own z is the largest
    (the others' are smaller by the partial correlations). So the worst is set aside, the rest
    looked at again without it, and so on until nothing is left to take again. Raises
    :class:`DraftError` for a measurement of unknown name.
    """
    refuse_unknown(taken)
    return _found(taken, unit)


@memo_by_value(4)
def _found(taken: Mapping[str, float], unit: LengthUnit) -> tuple[Unusual, ...]:
    disorder = [wrong for order in orders() if (wrong := _disordered(order, taken)) is not None]
    swapped = {key for wrong in disorder if wrong.guess for key in (wrong.key, wrong.other)}
    found = _judged(
        {key: taken[key] for key in survey().keys if key in taken and key not in swapped}, unit
    )
    for wrong in disorder:
        blamed = {key for key, one in found.items() if one.severity == "take again"}
        if wrong.guess or not blamed & {wrong.key, wrong.other}:
            found[wrong.key] = wrong
    for key, value in taken.items():
        if measurements()[key].retired:
            continue
        rare = _rare(measurements()[key], value)
        if rare is not None and key not in swapped:
            found.setdefault(key, rare)
    return tuple(found[key] for key in measurements() if key in found)


def _judged(core: Mapping[str, float], unit: LengthUnit) -> dict[str, Unusual]:
    """The unusual among the core measurements, each judged by those that can be trusted."""
    trusted = dict(core)
    aside: list[str] = []
    while True:
        off = [_predicted(key, value, trusted, unit) for key, value in trusted.items()]
        worst = max(off, key=_size, default=None)
        if worst is None or worst.severity == "note":
            break
        del trusted[worst.key]
        aside.append(worst.key)
    # What was set aside early was judged by values set aside later: judge it again.
    off += [_predicted(key, core[key], trusted, unit) for key in aside]
    return {one.key: one for one in off if _size(one) > NOTE}


def _predicted(key: str, value: float, among: Mapping[str, float], unit: LengthUnit) -> Unusual:
    known = survey()
    prediction = known.predict(key, among)

    def z_of(number: float) -> float:
        return known.scaled(key, (number - prediction.mean) / prediction.sd)

    z = z_of(value)
    reach = known.unscaled(key, NOTE) * prediction.sd
    guess = None
    if abs(z) > SLIP:
        low, high = measurements()[key].hard
        slips = [slip for slip in guesses(value, unit) if low <= slip.value <= high]
        best = min(slips, key=lambda slip: abs(z_of(slip.value)), default=None)
        if best is not None and abs(z_of(best.value)) < EXPLAINED:
            guess = best.said
    return Unusual(
        key,
        value,
        prediction.mean,
        prediction.mean - reach,
        prediction.mean + reach,
        z,
        "take again" if abs(z) > AGAIN else "note",
        guess,
        others=prediction.known,
    )


def _size(unusual: Unusual) -> float:
    return abs(unusual.z or 0.0)


def _disordered(order: SizeRelation, taken: Mapping[str, float]) -> Unusual | None:
    if order.smaller not in taken or order.larger not in taken:
        return None
    small, large = taken[order.smaller], taken[order.larger]
    if small < large:
        return None
    least = 0.0 if order.least is None else order.least
    most = math.inf if order.most is None else order.most
    high = large - least
    low = min(high, max(measurements()[order.smaller].usual[0], large - most))
    swapped = (
        least <= small - large <= most
        and _rare(measurements()[order.smaller], large) is None
        and _rare(measurements()[order.larger], small) is None
    )
    return Unusual(
        order.smaller,
        small,
        (low + high) / 2,
        low,
        high,
        None,
        "take again",
        "perhaps the two are written the wrong way round" if swapped else None,
        order.larger,
    )


def _rare(measurement: Measurement, value: float) -> Unusual | None:
    low, high = (measurement.inside(end) for end in measurement.usual)
    if low <= value <= high:
        return None
    return Unusual(measurement.key, value, (low + high) / 2, low, high, None, "note")


def _format(value: float, measurement: Measurement, unit: LengthUnit) -> str:
    if measurement.unit == "deg":
        return f"{math.degrees(value):.1f}°"
    return format_length(value, unit)
