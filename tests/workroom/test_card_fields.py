"""The one table of a card's fields: card, blank card and desk are made of it."""

from __future__ import annotations

import pytest

from drafting.units import LengthUnit
from garment.options import card_fields
from workroom.card.blank import blank_card
from workroom.card.card import known_collars, known_methods, read_card_text
from workroom.card.needs import known_keys
from workroom.desk.forms import form

HEAD = 'client = "Marta Ilic"\ndate = 2026-03-14\n'
ARCS = "[neckline]\nback_arc = 8.0\nfront_arc = 12.0\n"
FIELDS = [(table, key) for table, rows in card_fields().items() for key in rows]


def told_at_the_desk() -> dict[str, dict[str, object]]:
    shown = form("cm")
    fields = [*shown["block"], *shown["neckline"], *shown["taped"]]
    fields += [field for table in shown["tables"] for field in table["fields"]]
    return {field["path"]: field for field in fields}


@pytest.mark.parametrize(("table", "key"), FIELDS)
def test_a_field_is_the_same_on_card_blank_card_and_desk(table: str, key: str) -> None:
    option = card_fields()[table][key]
    assert key in known_keys()[table]
    desk = told_at_the_desk()[f"{table}.{key}"]
    assert desk["choices"] == list(option.rule.choices)
    if not option.rule.choices:
        assert (desk["low"], desk["high"]) == (option.rule.low, option.rule.high)
    assert desk["default"] == (None if option.open else option.rule.default)
    blank = blank_card(collars=known_collars(), methods=known_methods())
    assert key in blank


@pytest.mark.parametrize("key", ["back_arc", "front_arc"])
def test_a_card_takes_the_ends_of_a_range_and_nothing_beyond(key: str) -> None:
    rule = card_fields()["neckline"][key].rule
    other = "front_arc" if key == "back_arc" else "back_arc"
    middle = card_fields()["neckline"][other].rule.low
    collar = '[collar]\nkind = "band"\n'

    def read(value: float) -> float | None:
        text = f"{HEAD}[neckline]\n{key} = {value}\n{other} = {middle}\n{collar}"
        return getattr(read_card_text(text, "marta.toml").neckline, key)

    assert read(rule.low) == rule.low
    assert read(rule.high) == rule.high
    for value in (rule.low - 0.1, rule.high + 0.1):
        with pytest.raises(Exception, match=f"{rule.high:g} cm"):
            read(value)


def test_what_is_left_out_stands_at_the_tables_default() -> None:
    card = read_card_text(f'{HEAD}{ARCS}[collar]\nkind = "band"\n', "marta.toml")
    fields = card_fields()
    assert card.neckline.fit == fields["neckline"]["fit"].rule.default
    assert card.neckline.ease == fields["neckline"]["ease"].rule.default
    assert card.garment.seam_allowance == fields["garment"]["seam_allowance"].rule.default
    assert card.garment.button_stand == fields["garment"]["button_stand"].rule.default
    assert LengthUnit.CM is card.unit
