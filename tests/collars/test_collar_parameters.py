"""Parameters of collars: every one told in full, defaults that follow, wishes that cannot stand."""

from __future__ import annotations

import math

import pytest

from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.registry import COLLARS
from drafting.errors import DataError, DraftError
from drafting.units import LengthUnit

KIND = "two-piece shirt"


def settle(kind: str, wishes: dict[str, float | str]) -> Values:
    values, problems = resolve_parameters(kind, wishes)
    refuse(problems)
    return values


@pytest.mark.parametrize("kind", COLLARS)
def test_every_parameter_is_told_in_full_and_its_default_accepted(kind: str) -> None:
    collar = COLLARS[kind]
    assert collar.title
    assert set(collar.sources) == set(collar.parameters)
    for key, rule in collar.parameters.items():
        assert rule.key == key
        assert len(rule.meaning) > 10, key
        assert len(collar.sources[key]) > 8, key
        if rule.choices:
            assert rule.default in rule.choices
        else:
            assert rule.read(rule.default, LengthUnit.CM) is not None


@pytest.mark.parametrize("kind", COLLARS)
def test_what_is_left_out_stands_at_the_default_the_rules_show(kind: str) -> None:
    values = settle(kind, {})
    for key, rule in COLLARS[kind].parameters.items():
        shown = values.given[key]
        if rule.unit == "deg":
            shown = math.degrees(values.number(key))
        assert shown == (rule.default if rule.choices else pytest.approx(rule.default, abs=1e-6))
    assert values.wished == frozenset()


@pytest.mark.parametrize(
    ("wishes", "key", "value"),
    [
        ({}, "fall_back", 4.2),
        ({"stand_back": 3.6}, "fall_back", 4.8),
        ({"stand_back": 3.6}, "stand_front", 3.1),
        ({"stand_back": 3.6, "fall_back": 6.0}, "fall_back", 6.0),
        ({"cloth": "voile"}, "turn_of_cloth", 0.09),
        ({}, "turn_of_cloth", 0.15),
        ({"cloth": "linen"}, "turn_of_cloth", 0.232),
        ({"cloth": "suiting"}, "turn_of_cloth", 0.298),
        ({"cloth": "coating"}, "turn_of_cloth", 0.5125),
        ({"cloth": "coating", "cloth_thickness": 0.05}, "turn_of_cloth", 0.15),
        ({"cloth": "coating"}, "fall_back", 4.5125),
        ({"rise": 2.5}, "fall_rise", 3.3),
    ],
)
def test_defaults_follow_from_what_was_wished(
    wishes: dict[str, float | str], key: str, value: float
) -> None:
    assert settle(KIND, wishes).number(key) == pytest.approx(value)


def test_every_wish_that_cannot_stand_is_told_and_the_rest_goes_on() -> None:
    wishes = {
        "stand_back": 30,
        "rise": math.nan,
        "point": 3,
        "cloth": "silk",
        "button_stand": True,
        "fall_back": "deep",
        "stand_hight": 2.0,
        "end_round": 1.0,
    }
    values, problems = resolve_parameters(KIND, wishes)
    assert {problem.key for problem in problems} == {
        f"collar.{key}" for key in wishes if key != "end_round"
    }
    said = {problem.key: problem for problem in problems}
    assert said["collar.stand_back"].accepted == "1.5 to 7 cm"
    assert "stand_front" in said["collar.stand_hight"].accepted
    assert values.number("stand_back") == 3.0
    assert values.number("end_round") == 1.0
    with pytest.raises(DraftError) as caught:
        settle(KIND, wishes)
    assert len(caught.value.problems) == len(problems)


def test_words_are_no_numbers_and_unknown_collars_have_no_sheet() -> None:
    with pytest.raises(TypeError):
        settle(KIND, {}).number("cloth")
    with pytest.raises(DataError):
        collar_sheet("no such collar")
