"""The shape of a client card's TOML, checked with pydantic; nothing past the border sees these.

Lengths come out in centimetres, angles in radians. What the card's unit is and which methods and
collars there are stands in the validation context.
"""

from __future__ import annotations

import datetime
import math
import re
import unicodedata
from collections.abc import Callable, Iterable
from functools import cache
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    create_model,
    model_validator,
)
from pydantic_core import PydanticCustomError

from blocks.body.measures import Measurement, measurements
from drafting.parameters import (
    ParameterRule,
    format_range,
    kind_of,
    lies_within,
    read_quantity,
    trade_word,
)
from drafting.sentences import written
from drafting.units import CM_PER_INCH, FRACTIONS, MM_PER_CM, LengthUnit, from_cm
from garment.options import card_fields, options
from garment.toile import fitting_words, plain_words

Reader = Callable[[object, ValidationInfo], Any]
#: Invisible signs that belong to some scripts' spelling (zero-width joiner and non-joiner).
_SPELLING = "\u200c\u200d"
#: The least that is worth changing after a fitting (cm): half a millimetre.
LEAST_SEEN = 0.05
#: After so many corrections it is time to measure her again.
MOST_SEEN = 60
#: An amount among the words for a fitting, with or without its unit.
_ONE = "".join(FRACTIONS)
_AMOUNT = re.compile(
    rf"(?:^|\s)(?:\d{{1,3}}(?:[.,]\d{{1,3}}|/\d{{1,2}}|[\s-]\d{{1,2}}/\d{{1,2}}|[\s-]?[{_ONE}])?|[{_ONE}])"
    r"\s?(?:cm|mm|in|\"|″|”)?(?=\s|$)"
)


def refuse(said: str, *, accepted: str = "", advice: str = "", choices: Iterable[str] = ()) -> Any:
    """The error for one value; its parts are taken up again when the mistakes are told."""
    context = {"said": said, "accepted": accepted, "advice": advice, "choices": tuple(choices)}
    return PydanticCustomError("refused", "{said}", context)


def length(low: float, high: float) -> Reader:
    """A reader of lengths from ``low`` to ``high`` (cm)."""

    def read(value: object, info: ValidationInfo) -> float:
        unit = info.context["unit"] if info.context else LengthUnit.CM
        return _within(value, "cm", (low, high), (low, high), unit)

    return read


def field(table: str, key: str) -> Reader:
    """A reader of a field of ``data/card.toml``, by its table and key."""

    def read(value: object, info: ValidationInfo) -> Any:
        rule = card_fields()[table][key].rule
        reader = choice(*rule.choices) if rule.choices else length(rule.low, rule.high)
        return reader(value, info)

    return read


def standing(table: str, key: str) -> Any:
    """The default of a field of ``data/card.toml``."""
    return Field(default_factory=lambda: card_fields()[table][key].rule.default)


def measured(measurement: Measurement) -> Reader:
    """A reader of one body measurement."""

    def read(value: object, info: ValidationInfo) -> float:
        unit = info.context["unit"] if info.context else LengthUnit.CM
        return _within(value, measurement.unit, measurement.hard, measurement.usual, unit)

    return read


def choice(*words: str, context: str = "") -> Reader:
    """A reader of one of ``words``, or of the words under ``context`` in the context."""

    def read(value: object, info: ValidationInfo) -> str:
        known = (*words, *(info.context[context] if info.context and context else ()))
        if not isinstance(value, str):
            raise refuse(f"a word is wanted here, not {kind_of(value)}", choices=known)
        word = trade_word(value, known)
        if word not in known:
            raise refuse("this is not one of the choices", choices=known)
        return word

    return read


def line(longest: int, *, several: bool = False, empty: bool = True) -> Reader:
    """A reader of text of up to ``longest`` signs, of ``several`` lines or one."""

    def read(value: object, info: ValidationInfo) -> str:
        if not isinstance(value, str):
            raise refuse(f"a text is wanted here, not {kind_of(value)}", accepted='"text"')
        text = value.strip()
        if not text and not empty:
            raise refuse("this is empty")
        if len(text) > longest:
            raise refuse(f"this is {len(text)} signs long", accepted=f"up to {longest} signs")
        for sign in text:
            kind = unicodedata.category(sign)
            if kind in ("Cc", "Cf", "Cs", "Zl", "Zp") and sign not in _SPELLING:
                if several and sign in "\n\t":
                    continue
                raise refuse(f"an invisible control sign (U+{ord(sign):04X}) stands in this text")
        return text

    return read


def read_date(value: object, info: ValidationInfo) -> datetime.date:
    """A TOML date or the same as text; no time of day, and a year that can be meant."""
    wanted = "year-month-day, such as 2026-03-14"
    if isinstance(value, str):
        try:
            value = datetime.datetime.strptime(value.strip(), "%Y-%m-%d").date()
        except ValueError:
            raise refuse("this is not a date", accepted=wanted) from None
    if isinstance(value, datetime.datetime):
        raise refuse("a day is wanted without the time", accepted=wanted)
    if not isinstance(value, datetime.date):
        raise refuse(f"a date is wanted here, not {kind_of(value)}", accepted=wanted)
    if not 1900 <= value.year <= 2199:
        raise refuse("this year cannot be right", accepted="1900 to 2199")
    return value


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


def ruled(rule: ParameterRule) -> Reader:
    """A reader of a value under a rule."""

    def read(value: object, info: ValidationInfo) -> float | str:
        unit = info.context["unit"] if info.context else LengthUnit.CM
        try:
            return rule.read(value, unit)
        except ValueError as error:
            if rule.choices:
                raise refuse(str(error), choices=rule.choices) from None
            accepted = rule.accepted(unit)
            raise refuse(
                str(error), accepted=accepted, advice=written(rule.meaning, unit)
            ) from None

    return read


def options_table(name: str) -> Any:
    """A table of optional fields, from the options of that name."""
    fields: dict[str, Any] = {
        key: (Annotated[float | str | None, BeforeValidator(ruled(option.rule))], None)
        for key, option in options()[name].items()
    }
    return create_model(f"{name.title()}Shape", __base__=_Table, **fields)


class AllowancesShape(_Table):
    """``[garment.allowances]``: seam allowance by edge, cm."""

    neckline: Annotated[float | None, BeforeValidator(field("garment.allowances", "neckline"))] = (
        None
    )
    shoulder: Annotated[float | None, BeforeValidator(field("garment.allowances", "shoulder"))] = (
        None
    )
    scye: Annotated[float | None, BeforeValidator(field("garment.allowances", "scye"))] = None
    side_seam: Annotated[
        float | None, BeforeValidator(field("garment.allowances", "side_seam"))
    ] = None
    waist: Annotated[float | None, BeforeValidator(field("garment.allowances", "waist"))] = None
    front_edge: Annotated[
        float | None, BeforeValidator(field("garment.allowances", "front_edge"))
    ] = None
    centre_back: Annotated[
        float | None, BeforeValidator(field("garment.allowances", "centre_back"))
    ] = None
    collar: Annotated[float | None, BeforeValidator(field("garment.allowances", "collar"))] = None
    facing: Annotated[float | None, BeforeValidator(field("garment.allowances", "facing"))] = None


class GarmentShape(_Table):
    """``[garment]`` but for its tables of options; an empty ``method`` stands for the first."""

    method: Annotated[str, BeforeValidator(choice(context="methods"))] = ""
    button_stand: Annotated[float | None, BeforeValidator(field("garment", "button_stand"))] = None
    seam_allowance: Annotated[float, BeforeValidator(field("garment", "seam_allowance"))] = (
        standing("garment", "seam_allowance")
    )
    allowances: AllowancesShape = AllowancesShape()


class StyleShape(_Table):
    """``[neckline.style]``: how far the wanted neckline lies from the neck, cm."""

    shape: Annotated[str | None, BeforeValidator(field("neckline.style", "shape"))] = None
    front_lower: Annotated[
        float | None, BeforeValidator(field("neckline.style", "front_lower"))
    ] = None
    side_widen: Annotated[float | None, BeforeValidator(field("neckline.style", "side_widen"))] = (
        None
    )
    back_lower: Annotated[float | None, BeforeValidator(field("neckline.style", "back_lower"))] = (
        None
    )


class NecklineShape(_Table):
    """``[neckline]``."""

    fit: Annotated[str, BeforeValidator(field("neckline", "fit"))] = standing("neckline", "fit")
    ease: Annotated[float, BeforeValidator(field("neckline", "ease"))] = standing(
        "neckline", "ease"
    )
    style: StyleShape = StyleShape()
    back_arc: Annotated[float | None, BeforeValidator(field("neckline", "back_arc"))] = None
    front_arc: Annotated[float | None, BeforeValidator(field("neckline", "front_arc"))] = None


class CollarShape(BaseModel):
    """``[collar]``: its kind; every other key is a parameter and checked by the collar's rules."""

    model_config = ConfigDict(extra="allow", frozen=True)
    kind: Annotated[str, BeforeValidator(choice("none", context="collars"))] = "none"


def read_seen(value: object, info: ValidationInfo) -> str:
    """Words of ``data/toile.toml`` for something seen at a fitting."""
    known = fitting_words().seen
    if not isinstance(value, str):
        raise refuse(f"a text is wanted here, not {kind_of(value)}", accepted='"text"')
    words = plain_words(value)
    if words not in known:
        raise refuse(
            "this is not one of the words for a fitting",
            accepted="the words the blank card lists (neckarc card)",
            choices=known,
        )
    return words


def read_amount(value: object, info: ValidationInfo) -> float:
    """How much of what was seen (cm), up to the most of its words."""
    known = fitting_words().seen.get(str(info.data.get("seen")))
    unit = info.context["unit"] if info.context else LengthUnit.CM
    most = known.most if known else max(one.most for one in fitting_words().seen.values())
    advice = written(f"Give {known.amount}.", unit) if known else ""
    try:
        amount = read_quantity(value, "cm", unit)
    except ValueError as error:
        raise refuse(str(error), advice=advice) from None
    if not lies_within(amount, LEAST_SEEN, most):
        accepted = format_range(LEAST_SEEN, most, "cm", unit)
        advice += " If it is more than that, measure her again."
        raise refuse(
            "this amount is outside what may be corrected", accepted=accepted, advice=advice
        )
    return amount


class ToileShape(_Table):
    """One ``[[toile]]``: what was seen at a fitting."""

    date: Annotated[datetime.date, BeforeValidator(read_date)]
    seen: Annotated[str, BeforeValidator(read_seen)]
    amount: Annotated[float | None, BeforeValidator(read_amount)] = None

    @model_validator(mode="before")
    @classmethod
    def _amount_among_the_words(cls, values: Any) -> Any:
        """``front neck 0.8 too deep`` says its amount among the words."""
        if not isinstance(values, dict) or "amount" in values:
            return values
        seen = values.get("seen")
        if not isinstance(seen, str) or len(seen) > 200:
            return values
        found = _AMOUNT.findall(seen)
        if len(found) != 1:
            return values
        return {**values, "seen": _AMOUNT.sub(" ", seen), "amount": found[0].strip()}


def read_toile(value: object, info: ValidationInfo) -> object:
    """The fittings as a list of tables, not too many of them."""
    if isinstance(value, dict):
        raise refuse("each thing seen has a heading of its own", advice="Write [[toile]].")
    if not isinstance(value, list):
        raise refuse(f"headings [[toile]] are wanted here, not {kind_of(value)}")
    if len(value) > MOST_SEEN:
        raise refuse(f"{len(value)} things seen are too many", accepted=f"up to {MOST_SEEN}")
    return value


class CardShape(_Table):
    """A whole card but for the measurements, whose names come from data."""

    client: Annotated[str, BeforeValidator(line(120, empty=False))]
    date: Annotated[datetime.date, BeforeValidator(read_date)]
    unit: Annotated[str, BeforeValidator(choice("cm", "in"))] = "cm"
    order: Annotated[str, BeforeValidator(line(120))] = ""
    notes: Annotated[str, BeforeValidator(line(10_000, several=True))] = ""
    garment: GarmentShape = GarmentShape()
    neckline: NecklineShape = NecklineShape()
    collar: CollarShape = CollarShape()
    toile: Annotated[tuple[ToileShape, ...], BeforeValidator(read_toile)] = ()
    measurements: Any = None


@cache
def card_shape() -> type[CardShape]:
    """:class:`CardShape` with one optional field for every measurement of the data."""
    fields: dict[str, Any] = {
        key: (Annotated[float | None, BeforeValidator(measured(measurement))], None)
        for key, measurement in measurements().items()
    }
    table = create_model("MeasurementsShape", __base__=_Table, **fields)
    tables: dict[str, Any] = {}
    for name in options():
        shape = options_table(name)
        tables[name] = (shape, Field(default_factory=shape))
    garment = create_model("WholeGarmentShape", __base__=GarmentShape, **tables)
    return create_model(
        "WholeCardShape",
        __base__=CardShape,
        measurements=(table, Field(default_factory=table)),
        garment=(garment, Field(default_factory=garment)),
    )


def _within(
    value: object,
    kind: Any,
    hard: tuple[float, float],
    usual: tuple[float, float],
    unit: LengthUnit,
) -> float:
    try:
        number = read_quantity(value, kind, unit)
    except ValueError as error:
        raise refuse(str(error), accepted=format_range(*hard, kind, unit)) from None
    shown = math.degrees(number) if kind == "deg" else number
    if lies_within(shown, *hard):
        return number
    raise refuse(
        "this cannot be right",
        accepted=format_range(*hard, kind, unit),
        advice=_unit_question(shown, usual, unit) if kind == "cm" else "Write degrees.",
    )


def _unit_question(number: float, usual: tuple[float, float], unit: LengthUnit) -> str:
    """Which unit would make a refused length (cm) usual; empty if none does."""
    written = from_cm(number, unit)
    readings = {
        "inches": written * CM_PER_INCH,
        "centimetres": written,
        "millimetres": written / MM_PER_CM,
    }
    for name, meant in readings.items():
        if usual[0] <= meant <= usual[1]:
            return f"Is it in {name}?"
    if usual[0] <= number / MM_PER_CM <= usual[1] or usual[0] <= number * MM_PER_CM <= usual[1]:
        return "Is the decimal point right?"
    return ""
