"""Two measurement sets of a client side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from blocks.measures import Measurement, measurements
from drafting.parameters import read_quantity
from drafting.units import LengthUnit, format_length
from workroom.book.records import MeasurementSet

#: Less is no change (cm or degrees): the rounding of a fraction of an inch.
_SAME = 0.005


@dataclass(frozen=True, slots=True)
class Row:
    """One measurement: as it was written, and by how much it changed."""

    name: str
    old: str
    new: str
    change: str


@dataclass(frozen=True, slots=True)
class Compared:
    """Two sets and what changed from one to the other."""

    old: MeasurementSet
    new: MeasurementSet
    rows: tuple[Row, ...]


def compared(sets: Sequence[MeasurementSet], old: int, new: int) -> Compared | None:
    """The sets of these numbers, or the last two (the latest with itself when there is but one)."""
    if not sets:
        return None
    by_number = {one.id: one for one in sets}
    later = by_number.get(new, sets[0])
    earlier = by_number.get(old, sets[1] if len(sets) > 1 else sets[0])
    rows = tuple(
        _row(measurement, earlier, later)
        for key, measurement in measurements().items()
        if key in earlier.taken or key in later.taken
    )
    return Compared(earlier, later, rows)


def unit_of(sets: Sequence[MeasurementSet]) -> LengthUnit:
    """The unit of her latest set; centimetres when there is none."""
    return LengthUnit(sets[0].unit) if sets else LengthUnit.CM


def _row(measurement: Measurement, old: MeasurementSet, new: MeasurementSet) -> Row:
    written = [str(one.taken.get(measurement.key, "")) for one in (old, new)]
    values = [_value(measurement, one) for one in (old, new)]
    change = ""
    if values[0] is not None and values[1] is not None:
        off = values[1] - values[0]
        if abs(off) > _SAME:
            change = ("+" if off > 0 else "−") + _said(measurement, abs(off), new)
    elif written[0] != written[1]:
        change = "new" if not written[0] else "not taken" if not written[1] else "changed"
    return Row(measurement.name, written[0], written[1], change)


def _said(measurement: Measurement, off: float, new: MeasurementSet) -> str:
    if measurement.unit == "deg":
        return f"{off:.1f}°"
    return format_length(off, LengthUnit(new.unit))


def _value(measurement: Measurement, one: MeasurementSet) -> float | None:
    """A value in centimetres or degrees; ``None`` if it cannot be read."""
    try:
        value = read_quantity(
            one.taken.get(measurement.key), measurement.unit, LengthUnit(one.unit)
        )
    except ValueError:
        return None
    return measurement.shown(value)
