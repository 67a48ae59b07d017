"""Written values: lengths, angles, numbers and choices, and what is accepted for each."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting.parameters import (
    ParameterRule,
    format_range,
    lies_within,
    read_quantity,
    with_defaults,
)
from drafting.units import CM_PER_INCH, LengthUnit

STAND = ParameterRule("stand", "cm", 2.0, 5.0, (), 3.0, "height of the stand")
LEAN = ParameterRule("lean", "deg", 0.0, 30.0, (), 10.0, "how far it leans")
LAYERS = ParameterRule("layers", "number", 1.0, 4.0, (), 2.0, "layers of cloth")
POINT = ParameterRule("point", "choice", 0.0, 0.0, ("pointed", "round"), "pointed", "shape")


@pytest.mark.parametrize(
    ("rule", "written", "unit", "inside"),
    [
        (STAND, 3, LengthUnit.CM, 3.0),
        (STAND, "3,2", LengthUnit.CM, 3.2),
        (STAND, "1 1/4", LengthUnit.INCH, 1.25 * CM_PER_INCH),
        (STAND, "32 mm", LengthUnit.INCH, 3.2),
        (STAND, 5.0 / CM_PER_INCH, LengthUnit.INCH, 5.0),
        (LEAN, 20, LengthUnit.INCH, math.radians(20)),
        (LEAN, "20,5°", LengthUnit.CM, math.radians(20.5)),
        (LAYERS, "3", LengthUnit.INCH, 3.0),
    ],
)
def test_written_values(
    rule: ParameterRule, written: object, unit: LengthUnit, inside: float
) -> None:
    assert rule.read(written, unit) == pytest.approx(inside, abs=1e-12)


@pytest.mark.parametrize(
    ("rule", "written", "said"),
    [
        (STAND, 5.01, "outside the accepted range"),
        (STAND, True, "a number is wanted here, not true or false"),
        (STAND, None, "a number is wanted here"),
        (STAND, math.inf, "not a finite number"),
        (STAND, 10**400, "too large"),
        (STAND, "three", "not a length"),
        (LEAN, "3/4", "not a number"),
        (LEAN, -1, "outside the accepted range"),
        (POINT, "square", "not one of the choices"),
        (POINT, 1, "a word is wanted here, not a number"),
    ],
)
def test_what_is_refused(rule: ParameterRule, written: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        rule.read(written, LengthUnit.CM)


def test_choices_defaults_and_ranges_for_people() -> None:
    rules = {rule.key: rule for rule in (STAND, LEAN, LAYERS, POINT)}
    assert with_defaults(rules, {"stand": 4.0, "point": "round"}) == {
        "stand": 4.0,
        "lean": math.radians(10),
        "layers": 2.0,
        "point": "round",
    }
    assert POINT.read("round", LengthUnit.CM) == "round"
    assert STAND.accepted(LengthUnit.CM) == "2 to 5 cm"
    assert STAND.accepted(LengthUnit.INCH) == "13/16 to 1 15/16 in"
    assert LEAN.accepted(LengthUnit.INCH) == "0 to 30 degrees"
    assert LAYERS.accepted(LengthUnit.INCH) == "1 to 4"
    assert POINT.accepted(LengthUnit.CM) == '"pointed", "round"'
    assert format_range(28, 42, "cm", LengthUnit.CM) == "28 to 42 cm"


@given(st.floats(0.01, 300))
def test_ends_of_ranges_survive_conversion(length: float) -> None:
    """A length written in inches is within its own range; 0.01 mm more is not."""
    back = read_quantity(length / CM_PER_INCH, "cm", LengthUnit.INCH)
    assert lies_within(back, length, length)
    assert not lies_within(length + 1e-3, 0, length)
