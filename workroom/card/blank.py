"""The blank client card: a TOML file a maker fills in, every measurement explained on the spot."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from textwrap import wrap

from blocks.body.measures import Measurement, asked_for
from drafting.parameters import ParameterRule, format_range
from drafting.sentences import DOWN, SHORT, length, written
from drafting.units import LengthUnit, format_inches
from garment.options import card_fields, options
from garment.toile import Seen, fitting_words
from workroom.card.needs import Collars, Methods, default_method

_WIDTH = 96
_UNITS = {LengthUnit.CM: "centimetres", LengthUnit.INCH: "inches"}
_QUOTED = {LengthUnit.CM: '"92,5" or "92.5 cm"', LengthUnit.INCH: '"14 3/8", "14½" or "36 1/4 in"'}


def blank_card(
    *,
    collars: Collars,
    methods: Methods,
    unit: LengthUnit = LengthUnit.CM,
    method: str = "",
    collar: str = "none",
) -> str:
    """A blank card as valid TOML, lengths in ``unit``.

    Name, date and measurements are commented out, so that checking the blank card tells exactly
    what is missing. ``method`` (empty: the usual one) and ``collar`` are filled in; the collar's
    parameters stand below it, commented out at their defaults. Raises ``KeyError`` for a method or
    collar that is not among those given.
    """
    method = method or default_method(methods)
    if method not in methods:
        raise KeyError(method)
    rules = {} if collar == "none" else collars[collar]
    lines = [
        *_head(unit),
        *_measurements(unit, methods),
        *_garment(unit, methods, method),
        *_neckline(unit),
        *_collar(unit, collars, collar, rules),
        *_toile(unit),
    ]
    return "\n".join(lines) + "\n"


def _head(unit: LengthUnit) -> Iterator[str]:
    yield from _remark(
        "Client card. Lines that start with # are remarks. To fill in a line, take away the # in "
        "front and write the value after the =."
    )
    yield from _remark(
        f"Lengths are in {_UNITS[unit]}. A number with a comma, a fraction or a unit of its own "
        f"stands in quotation marks: {_QUOTED[unit]}."
    )
    yield "#"
    yield '# client = "First and last name"'
    yield from _remark("the day she was measured, year-month-day:")
    yield "# date = 2026-03-14"
    yield f'unit = "{unit.value}"   # "cm" or "in"'
    yield 'order = ""'
    yield 'notes = ""'


def _measurements(unit: LengthUnit, methods: Methods) -> Iterator[str]:
    yield from ("", "[measurements]")
    yield from _remark(
        "What is not needed may be left out; it is then estimated from the rest and marked so."
    )
    for key, measurement in asked_for().items():
        needing = [name for name, needed in methods.items() if key in needed]
        yield ""
        yield from _measurement(measurement, unit, needing)
        yield f"# {key} ="


def _measurement(measurement: Measurement, unit: LengthUnit, needing: list[str]) -> Iterator[str]:
    head = measurement.name[0].upper() + measurement.name[1:]
    if measurement.iso_number:
        head += f" (ISO 8559-1, {measurement.iso_number} {measurement.iso_name})"
    yield from _remark(f"{head}. {measurement.how}")
    usual = format_range(*measurement.usual, measurement.unit, unit)
    needed = f"needed for {' and '.join(needing)}" if needing else "may be left out"
    yield from _remark(f"Usually {usual}; {needed}.")


def _garment(unit: LengthUnit, methods: Methods, method: str) -> Iterator[str]:
    yield from ("", "[garment]")
    yield f"method = {_quoted(method)}   # {_choices(methods)}"
    yield from _remark("beyond centre front; 0 for none, the front is then cut on the fold:")
    yield f"button_stand = {_standing('garment', 'button_stand', unit)}"
    yield from _remark("all round; edges that differ stand under [garment.allowances]:")
    yield f"seam_allowance = {_standing('garment', 'seam_allowance', unit)}"
    yield ""
    yield "[garment.allowances]"
    yield from _remark(", ".join(card_fields()["garment.allowances"]))
    yield f"# neckline = {_length(0.6, unit)}"
    for name, table in options().items():
        yield from ("", f"[garment.{name}]")
        for key, option in table.items():
            yield from _remark(written(f"{option.rule.meaning} ({option.rule.allowed}):", unit))
            yield f"# {key} =" if option.open else f"# {key} = {_default(option.rule, unit)}"


def _neckline(unit: LengthUnit) -> Iterator[str]:
    yield from ("", "[neckline]")
    yield from _remark(
        'Where the neckline may be corrected until it fits the neck: "none", "front", "side" or '
        '"both".'
    )
    yield f"fit = {_standing('neckline', 'fit', unit)}"
    yield from _remark("how much longer the whole neckline is than the neck base girth:")
    yield f"ease = {_standing('neckline', 'ease', unit)}"
    yield from _remark("a style neckline, away from the neck, in one of these shapes:")
    yield from _remark(", ".join(card_fields()["neckline.style"]["shape"].rule.choices))
    yield '# style = {shape = "round", front_lower = 0, side_widen = 0, back_lower = 0}'
    yield from _remark(
        "For a collar to a paper block of your own: half the neckline along the seam line, centre "
        "back to shoulder and shoulder to centre front. Then no measurements are needed."
    )
    yield "# back_arc ="
    yield "# front_arc ="


def _collar(
    unit: LengthUnit, collars: Collars, collar: str, rules: Mapping[str, ParameterRule]
) -> Iterator[str]:
    yield from ("", "[collar]")
    yield from _remark(f"none, {_choices(collars)}" if collars else "none")
    yield f"kind = {_quoted(collar)}"
    for key, rule in rules.items():
        yield from _remark(written(f"{rule.meaning} ({rule.allowed}):", unit))
        yield f"# {key} = {_default(rule, unit)}"


def _toile(unit: LengthUnit) -> Iterator[str]:
    yield ""
    yield from _remark(
        "After a fitting: what was seen on the toile, one heading each. The next draft is changed "
        "by the amount, or by the usual one where you give none. Remove the entry once a "
        "new toile has been drafted to new measurements."
    )
    first = next(iter(fitting_words().seen.values()))
    yield "# [[toile]]"
    yield "#   date = 2026-03-21"
    yield f"#   seen = {_quoted(first.words)}"
    yield f"#   amount = {_length(first.usual, unit)}"
    yield from _remark("What may be seen, with what the amount is, the usual one and the most:")
    for seen in fitting_words().seen.values():
        yield from _seen(seen, unit)


def _seen(seen: Seen, unit: LengthUnit) -> list[str]:
    amounts = f"{length(seen.usual, places=SHORT)}, "
    amounts += f"up to {length(seen.most, places=SHORT, rounding=DOWN)}"
    return _remark(written(f"- {seen.words}: {seen.amount} ({amounts})", unit))


def _standing(table: str, key: str, unit: LengthUnit) -> str:
    return _default(card_fields()[table][key].rule, unit)


def _default(rule: ParameterRule, unit: LengthUnit) -> str:
    if isinstance(rule.default, str):
        return _quoted(rule.default)
    return _length(rule.default, unit) if rule.unit == "cm" else f"{rule.default:g}"


def _length(value: float, unit: LengthUnit) -> str:
    """A length (cm) as it is written in a card: ``1.5``, or ``"9/16"`` to the sixteenth."""
    if unit is LengthUnit.INCH and math.isfinite(value):
        return f'"{format_inches(value)}"'
    return f"{value:g}"


def _choices(names: Mapping[str, object]) -> str:
    return ", ".join(names)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _remark(text: str) -> list[str]:
    return wrap(text, _WIDTH, initial_indent="# ", subsequent_indent="# ", break_on_hyphens=False)
