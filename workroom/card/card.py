"""The client card: who, when, her measurements, and the garment asked for.

A card is a TOML file. Everything is checked at once and every mistake told with its line.
Lengths inside are centimetres, angles radians.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import MappingProxyType

from pydantic import ValidationError

from blocks.bodice.methods import method_names, method_needs
from collars.registry import COLLARS
from drafting.errors import CardError, Problem
from drafting.library import TomlText
from drafting.parameters import ParameterRule
from drafting.units import LengthUnit
from garment.options import card_fields, options
from garment.toile import fitting_words
from garment.wishes import CollarWish, Commission, GarmentWish, NecklineWish, ToileWish
from workroom.card.file import by_line, printable, read_card_toml, read_text, shape_problems
from workroom.card.needs import (
    Collars,
    Methods,
    default_method,
    known_keys,
    missing,
    read_collar,
)
from workroom.card.shape import CardShape, GarmentShape, NecklineShape, ToileShape, card_shape

__all__ = [
    "CollarWish",
    "Collars",
    "Commission",
    "GarmentWish",
    "Methods",
    "NecklineWish",
    "ToileWish",
    "card_from",
    "known_collars",
    "known_methods",
    "open_card",
    "parse_card",
    "read_card",
    "read_card_text",
]


@cache
def known_collars() -> Mapping[str, Mapping[str, ParameterRule]]:
    """Every collar's parameters, for reading cards."""
    return MappingProxyType({kind: collar.parameters for kind, collar in COLLARS.items()})


@cache
def known_methods() -> Mapping[str, frozenset[str]]:
    """Every method's required measurements, for reading cards."""
    return MappingProxyType({key: method_needs(key) for key in method_names()})


def open_card(path: Path) -> Commission:
    """The card in a file. Raises :class:`CardError` listing every mistake."""
    return read_card(path, collars=known_collars(), methods=known_methods())


def read_card_text(text: str, name: str) -> Commission:
    """A card from its text. Raises :class:`CardError` listing every mistake."""
    return parse_card(text, name, collars=known_collars(), methods=known_methods())


def read_card(path: Path, *, collars: Collars, methods: Methods) -> Commission:
    """The card in the file ``path``. Raises :class:`CardError` that lists every mistake."""
    return parse_card(read_text(path), path.name, collars=collars, methods=methods)


def parse_card(text: str, name: str, *, collars: Collars, methods: Methods) -> Commission:
    """The card written in ``text``; ``name`` is what its mistakes are reported under.

    Without ``[garment] method`` it is ``direct-measure``, or else the first of ``methods``.
    Raises :class:`CardError` that lists every mistake with its line.
    """
    return card_from(read_card_toml(text, printable(name)), collars=collars, methods=methods)


def card_from(toml: TomlText, *, collars: Collars, methods: Methods) -> Commission:
    """The card of parsed values, wherever they were read. Raises :class:`CardError` that lists
    every mistake at the place that ``toml`` gives for it."""
    unit = _unit(toml.values.get("unit"))
    context = {"unit": unit, "methods": tuple(methods), "collars": tuple(collars)}
    problems: list[Problem] = []
    shape: CardShape | None = None
    try:
        shape = card_shape().model_validate(toml.values, context=context)
    except ValidationError as error:
        problems += shape_problems(error, toml, known_keys())
    collar, wrong = read_collar(toml, unit, collars)
    problems += wrong
    problems += missing(toml, unit, methods)
    if problems or shape is None:
        raise CardError(by_line(problems))
    card = _card(shape, toml.name, unit, collar, methods)
    return replace(card, written=frozenset(_written(toml.values)))


def _written(values: Mapping[str, object], head: str = "") -> Iterator[str]:
    """Every key of a card that has a value, dotted."""
    for key, value in values.items():
        if isinstance(value, Mapping):
            yield from _written(value, f"{head}{key}.")
        else:
            yield f"{head}{key}"


def _unit(written: object) -> LengthUnit:
    """The card's unit; for a mistyped one, what it looks like, so that the rest can be judged."""
    inches = isinstance(written, str) and written.strip().lower().startswith(("in", '"'))
    return LengthUnit.INCH if inches else LengthUnit.CM


def _card(
    shape: CardShape, name: str, unit: LengthUnit, collar: CollarWish, methods: Methods
) -> Commission:
    return Commission(
        name=name,
        client=shape.client,
        date=shape.date,
        unit=unit,
        order=shape.order,
        notes=shape.notes,
        measurements=shape.measurements.model_dump(exclude_none=True),
        garment=_garment(shape.garment, methods),
        neckline=_neckline(shape.neckline),
        collar=collar,
        toile=tuple(_toile(one) for one in shape.toile),
    )


def _garment(garment: GarmentShape, methods: Methods) -> GarmentWish:
    asked = {
        name: told
        for name in options()
        if (told := getattr(garment, name).model_dump(exclude_none=True))
    }
    stand = garment.button_stand
    if stand is None and "button" not in asked.get("finish", {}):
        stand = float(card_fields()["garment"]["button_stand"].rule.default)
    return GarmentWish(
        method=garment.method or default_method(methods),
        button_stand=stand,
        seam_allowance=garment.seam_allowance,
        allowances=garment.allowances.model_dump(exclude_none=True),
        asked=asked,
    )


def _neckline(neckline: NecklineShape) -> NecklineWish:
    return NecklineWish(
        fit=neckline.fit,
        ease=neckline.ease,
        style=neckline.style.model_dump(exclude_none=True),
        back_arc=neckline.back_arc,
        front_arc=neckline.front_arc,
    )


def _toile(one: ToileShape) -> ToileWish:
    usual = fitting_words().seen[one.seen].usual
    return ToileWish(one.date, one.seen, usual if one.amount is None else one.amount)
