"""The blank card, and the cards of invented people that come with Neckarc."""

from __future__ import annotations

import math
import re

import pytest

from blocks.body.body import complete, measurements
from blocks.body.plausibility import find_unusual
from drafting.errors import CardError, Problem
from drafting.library import data_folder
from drafting.parameters import ParameterRule
from drafting.units import CM_PER_INCH, LengthUnit, format_inches
from garment.wishes import Commission
from workroom.card.blank import blank_card
from workroom.card.card import parse_card, read_card

METHODS = {
    "bust-proportional": frozenset({"bust_girth", "waist_girth", "back_waist_length"}),
    "direct-measure": frozenset(
        {"bust_girth", "waist_girth", "back_waist_length", "neck_base_girth"}
    ),
}
COLLARS = {
    "band": {"height": ParameterRule("height", "cm", 1, 6, (), 3.0, "height all round")},
    "two-piece shirt": {
        "stand_height": ParameterRule("stand_height", "cm", 2, 5, (), 3.0, "stand at the back"),
        "point": ParameterRule("point", "choice", 0, 0, ("pointed", "round"), "pointed", "shape"),
        "lean": ParameterRule("lean", "deg", 0, 30, (), 10.0, "how far the stand leans"),
        "layers": ParameterRule("layers", "number", 1, 4, (), 2, "layers of cloth"),
    },
}


def parse(text: str) -> Commission:
    return parse_card(text, "blank.toml", collars=COLLARS, methods=METHODS)


def mistakes(text: str) -> list[Problem]:
    with pytest.raises(CardError) as caught:
        parse(text)
    return list(caught.value.problems)


def fill_in(blank: str, unit: LengthUnit, values: dict[str, float]) -> str:
    """A blank card as a maker fills it in: the # taken away, the value after the =."""
    text = blank.replace('# client = "First and last name"', 'client = "Marta Ilves"')
    text = text.replace("# date =", "date =")
    for key, value in values.items():
        written = f'"{format_inches(value)}"' if unit is LengthUnit.INCH else f"{value:.1f}"
        text = text.replace(f"# {key} =\n", f"{key} = {written}\n")
    return text


VALUES = {
    "bust_girth": 94.0,
    "waist_girth": 77.5,
    "back_waist_length": 39.6,
    "neck_base_girth": 37.4,
}


@pytest.mark.parametrize("unit", list(LengthUnit))
@pytest.mark.parametrize("method", list(METHODS))
@pytest.mark.parametrize("collar", ["none", *COLLARS])
def test_a_blank_card_reports_exactly_what_is_missing(
    unit: LengthUnit, method: str, collar: str
) -> None:
    """And nothing once that is filled in."""
    blank = blank_card(collars=COLLARS, methods=METHODS, unit=unit, method=method, collar=collar)
    wanted = ["client", "date"] + [
        f"measurements.{key}" for key in measurements() if key in METHODS[method]
    ]
    assert [problem.key for problem in mistakes(blank)] == wanted
    assert {problem.said.split(";")[0] for problem in mistakes(blank)} == {"this is missing"}

    card = parse(fill_in(blank, unit, {key: VALUES[key] for key in METHODS[method]}))
    assert (card.client, card.unit, card.garment.method) == ("Marta Ilves", unit, method)
    assert card.collar.kind == collar
    for key, value in card.measurements.items():
        assert value == pytest.approx(VALUES[key], abs=CM_PER_INCH / 32)
    assert card.garment.button_stand == pytest.approx(1.5, abs=CM_PER_INCH / 32)


def test_a_blank_card_explains_every_measurement() -> None:
    """How to take it, its usual range, what needs it; and every line fits a page."""
    blank = blank_card(collars=COLLARS, methods=METHODS)
    flat = re.sub(r"\n# ", " ", blank)
    for key, one in measurements().items():
        assert (one.how in flat) == (f"# {key} =\n" in blank) == (not one.retired), key
    assert "Usually 74 to 130 cm; needed for bust-proportional and direct-measure." in flat
    assert "Usually 31 to 46 cm; needed for direct-measure." in flat
    assert max(map(len, blank.splitlines())) <= 100


@pytest.mark.parametrize("unit", list(LengthUnit))
def test_the_collars_parameters_stand_in_the_blank_card_at_their_defaults(unit: LengthUnit) -> None:
    blank = fill_in(
        blank_card(collars=COLLARS, methods=METHODS, unit=unit, collar="two-piece shirt"),
        unit,
        VALUES,
    )
    head, _, tail = blank.partition("[collar]")
    tail = re.sub(r"^# (\w+ = )", r"\1", tail, flags=re.MULTILINE)
    values = parse(head + "[collar]" + tail).collar.values
    assert values["stand_height"] == pytest.approx(3.0, abs=CM_PER_INCH / 32)
    assert (values["point"], values["layers"]) == ("pointed", 2)
    assert values["lean"] == pytest.approx(math.radians(10))


def test_a_blank_card_for_what_there_is_not_is_refused() -> None:
    with pytest.raises(KeyError):
        blank_card(collars=COLLARS, methods=METHODS, method="own")
    with pytest.raises(KeyError):
        blank_card(collars=COLLARS, methods=METHODS, collar="wing")


@pytest.mark.parametrize(("name", "bust"), [("demo", 94), ("small", 78), ("large", 118)])
def test_cards_of_invented_people_are_plausible(name: str, bust: float) -> None:
    """Everything measured, nothing unusual, and nothing left to estimate."""
    path = data_folder() / "clients" / f"{name}.toml"
    card = read_card(path, collars=COLLARS, methods=METHODS)
    assert card.measurements["bust_girth"] == bust
    assert find_unusual(card.measurements) == ()
    assert complete(card.measurements).estimated == {}
    assert (card.garment.method, card.garment.button_stand) == ("direct-measure", 1.5)
    assert (card.neckline.fit, card.collar.kind) == ("both", "two-piece shirt")
