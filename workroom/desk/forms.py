"""What the page asks for, told as data: measurements, options and collars with their rules."""

from __future__ import annotations

from functools import cache
from typing import Any

from blocks.measures import measurements
from blocks.methods import method, method_names
from collars.registry import COLLARS
from drafting.parameters import ParameterRule
from drafting.units import LengthUnit, format_inches, from_cm
from workroom.card_shape import NECK_SHAPES
from workroom.desk.figure import SILHOUETTE, collar_pictures
from workroom.options import options


@cache
def form(unit: str) -> dict[str, Any]:
    """Every field of the page for cards in ``cm`` or ``in``."""
    inside = LengthUnit(unit)
    return {
        "measurements": _measurements(inside),
        "methods": [
            {"key": key, "title": method(key).title, "made_for": method(key).made_for}
            for key in method_names()
        ],
        "options": {
            table: [_field(option.rule, inside, option.open) for option in rows.values()]
            for table, rows in options().items()
        },
        "collars": [
            {
                "key": collar.kind,
                "title": collar.title,
                "needs_block": collar.needs_block,
                "fields": [_field(rule, inside, False) for rule in collar.parameters.values()],
            }
            for collar in COLLARS.values()
        ],
        "shapes": list(NECK_SHAPES),
        "silhouette": SILHOUETTE,
        "pictures": collar_pictures(),
    }


def _measurements(unit: LengthUnit) -> list[dict[str, Any]]:
    return [
        {
            "key": key,
            "name": measurement.name,
            "how": measurement.how,
            "number": measurement.iso_number,
            "unit": measurement.unit,
            "low": _shown(measurement.usual[0], measurement.unit, unit),
            "high": _shown(measurement.usual[1], measurement.unit, unit),
            "needed_by": [name for name in method_names() if key in method(name).needs],
        }
        for key, measurement in measurements().items()
    ]


def _field(rule: ParameterRule, unit: LengthUnit, left_out: bool) -> dict[str, Any]:
    """A field; lengths in the card's unit, as plain numbers for a slider and as words."""
    told: dict[str, Any] = {
        "key": rule.key,
        "name": rule.key.replace("_", " "),
        "meaning": rule.meaning,
        "unit": unit.value if rule.unit == "cm" else rule.unit,
        "choices": list(rule.choices),
        "default": None if left_out else _inside(rule.default, rule, unit),
        "accepted": rule.accepted(unit),
    }
    if rule.unit != "choice":
        told |= {
            "low": _inside(rule.low, rule, unit),
            "high": _inside(rule.high, rule, unit),
            "step": (1 / 16 if unit is LengthUnit.INCH else 0.1) if rule.unit == "cm" else 0.05,
        }
    return told


def _inside(value: float | str, rule: ParameterRule, unit: LengthUnit) -> float | str:
    if isinstance(value, str) or rule.unit != "cm":
        return value
    return round(from_cm(value, unit), 4)


def _shown(value: float, kind: str, unit: LengthUnit) -> str:
    if kind == "cm" and unit is LengthUnit.INCH:
        return format_inches(value)
    return f"{value:g}"
