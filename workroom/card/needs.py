"""What a card needs and may hold beyond its shape: measurements by method, parameters by collar."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from blocks.body.measures import measurements
from drafting.errors import Problem
from drafting.library import TomlText
from drafting.parameters import ParameterRule, format_range, trade_word
from drafting.units import LengthUnit
from garment.options import card_fields, options
from garment.wishes import CollarWish
from workroom.card.file import ADVISED, did_you_mean, dotted, shown, unknown_key
from workroom.card.shape import (
    CardShape,
    CollarShape,
    GarmentShape,
    NecklineShape,
    StyleShape,
    ToileShape,
)

#: Each collar's parameters by the collar's name, and each method's needed measurements by its name.
Collars = Mapping[str, Mapping[str, ParameterRule]]
Methods = Mapping[str, frozenset[str]]

DEFAULT_METHOD = "direct-measure"


def read_collar(
    toml: TomlText, unit: LengthUnit, collars: Collars
) -> tuple[CollarWish, list[Problem]]:
    """The collar asked for, and every mistake in its parameters."""
    table = toml.values.get("collar", {})
    kind = table.get("kind", "none") if isinstance(table, dict) else None
    kind = trade_word(kind, ("none", *collars)) if isinstance(kind, str) else kind
    if not isinstance(kind, str) or (kind != "none" and kind not in collars):
        return CollarWish(), []  # told already, and without a kind no parameter can be judged
    rules = collars.get(kind, {})
    raw: dict[str, float | str] = {}
    values: dict[str, float | str] = {}
    problems: list[Problem] = []
    close = {**known_keys(), "collar": ("kind", *rules)}
    for key, value in table.items():
        if key == "kind":
            continue
        rule = rules.get(key)
        if rule is None:
            known = close if len(problems) < ADVISED else {}
            problems.append(_no_parameter(key, value, kind, toml, known))
            continue
        try:
            values[key] = rule.read(value, unit)
            raw[key] = value
        except ValueError as error:
            advice = rule.meaning
            if isinstance(value, str) and rule.choices:
                advice = did_you_mean(value, rule.choices) or advice
            problems.append(
                Problem(
                    str(error),
                    toml.place("collar", key),
                    f"collar.{key}",
                    shown(value),
                    rule.accepted(unit),
                    advice,
                )
            )
    return CollarWish(kind, raw, values), problems


def _no_parameter(
    key: str, value: object, kind: str, toml: TomlText, known: Mapping[str, Iterable[str]]
) -> Problem:
    if kind == "none":
        return Problem(
            "no kind of collar is asked for, so this means nothing",
            toml.place("collar", key),
            dotted(("collar", key)),
            shown(value),
            advice='Write kind = "..." under [collar], or leave this out.',
        )
    return unknown_key(key, "collar", toml, known, value)


def missing(toml: TomlText, unit: LengthUnit, methods: Methods) -> list[Problem]:
    """The measurements the method needs that are not in the card, or the other half of the arcs."""
    neckline = toml.values.get("neckline", {})
    arcs = [key for key in ("back_arc", "front_arc") if _has(neckline, key)]
    if len(arcs) == 1:
        other = "front_arc" if arcs[0] == "back_arc" else "back_arc"
        said = f"both arcs of a paper block are needed; {arcs[0]} stands alone"
        return [Problem(said, toml.place("neckline", arcs[0]), f"neckline.{other}")]
    table = toml.values.get("measurements", {})
    method = _method(toml, methods)
    known = measurements()
    lone = [] if not isinstance(table, dict) else _without_partner(table, toml, unit)
    if arcs or method is None or not isinstance(table, dict):
        return lone
    return lone + [
        Problem(
            f'this is missing; the method "{method}" needs it',
            toml.place("measurements"),
            f"measurements.{key}",
            accepted=f"usually {format_range(*known[key].usual, known[key].unit, unit)}",
            advice=known[key].how,
        )
        for key in known
        if key in methods[method] and not _stands(toml.values, key)
    ]


def _without_partner(
    table: Mapping[str, object], toml: TomlText, unit: LengthUnit
) -> list[Problem]:
    """Measurements that mean nothing without another that is not in the card."""
    known = measurements()
    found = []
    for key in known:
        other = known[key].partner
        if key in table and other and not _stands(toml.values, other):
            missed = known[other]
            found.append(
                Problem(
                    f"this is missing; {known[key].name} means nothing without it",
                    toml.place("measurements", key),
                    f"measurements.{other}",
                    accepted=f"usually {format_range(*missed.usual, missed.unit, unit)}",
                    advice=missed.how,
                )
            )
    return found


def default_method(methods: Methods) -> str:
    """The method of a card that names none."""
    return DEFAULT_METHOD if DEFAULT_METHOD in methods else next(iter(methods), "")


def _method(toml: TomlText, methods: Methods) -> str | None:
    """The method asked for, ``None`` when it cannot be told."""
    garment = toml.values.get("garment", {})
    method = garment.get("method", default_method(methods)) if isinstance(garment, dict) else None
    return method if isinstance(method, str) and method in methods else None


def _stands(values: Mapping[str, object], key: str) -> bool:
    """Whether ``key`` stands anywhere; in a wrong place it is told already, and not missing."""
    return key in values or any(_has(table, key) for table in values.values())


def _has(table: object, key: str) -> bool:
    return isinstance(table, dict) and key in table


def known_keys() -> dict[str, Iterable[str]]:
    """The accepted keys of every table of a card, by its dotted name."""
    return {
        "": tuple(CardShape.model_fields),
        "measurements": tuple(measurements()),
        "garment": tuple(GarmentShape.model_fields),
        "garment.allowances": tuple(card_fields()["garment.allowances"]),
        **{f"garment.{name}": tuple(table) for name, table in options().items()},
        "neckline": tuple(NecklineShape.model_fields),
        "neckline.style": tuple(StyleShape.model_fields),
        "collar": tuple(CollarShape.model_fields),
        "toile": tuple(ToileShape.model_fields),
    }
