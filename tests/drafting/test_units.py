"""Units: what a maker may write, and how lengths are written back."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import drafting
from drafting.units import (
    CM_PER_INCH,
    CSS_PIXELS_PER_CM,
    POINTS_PER_CM,
    LengthUnit,
    format_cloth,
    format_inches,
    format_length,
    from_cm,
    mm,
    parse_length,
    to_cm,
)

CM, INCH = LengthUnit.CM, LengthUnit.INCH


def test_the_constants() -> None:
    """International yard and pound agreement, 1959: 2.54 cm; 72 points and 96 pixels an inch."""
    assert to_cm(1.0, INCH) == 2.54
    assert to_cm(1.0, CM) == 1.0
    assert from_cm(25.4, INCH) == pytest.approx(10.0, abs=1e-14)
    assert from_cm(25.4, CM) == 25.4
    assert mm(3.5) == 35.0
    assert pytest.approx(72.0, abs=1e-12) == POINTS_PER_CM * CM_PER_INCH
    assert pytest.approx(96.0, abs=1e-12) == CSS_PIXELS_PER_CM * CM_PER_INCH


def test_these_numbers_stand_in_one_place() -> None:
    for path in Path(drafting.__file__).parent.rglob("*.py"):
        if path.name != "units.py":
            assert not re.search(r"\b(2\.54|25\.4|72\.0|96\.0)\b", path.read_text("utf-8")), path


@pytest.mark.parametrize(
    ("text", "unit", "length"),
    [
        ("92.5", CM, 92.5),
        ("92,5", CM, 92.5),
        ("  7 ", CM, 7.0),
        ("-1.5", CM, -1.5),
        ("- 1.5", CM, -1.5),
        ("14 3/8", INCH, 14.375 * 2.54),
        ("-14 3/8", INCH, -14.375 * 2.54),
        ("3/8", INCH, 0.375 * 2.54),
        ("3/8", CM, 0.375),
        ("0.5", INCH, 1.27),
        ("36 in", CM, 91.44),
        ("36in", CM, 91.44),
        ("1 inch", CM, 2.54),
        ("2 inches", CM, 5.08),
        ('14 1/2"', CM, 36.83),
        ("14-3/8", INCH, 14.375 * 2.54),
        ("-3/8", INCH, -0.375 * 2.54),
        ("-14-3/8", INCH, -14.375 * 2.54),
        ("38½", INCH, 38.5 * 2.54),
        ("38 ½", INCH, 38.5 * 2.54),
        ("38-½", INCH, 38.5 * 2.54),
        ('38½"', CM, 38.5 * 2.54),
        ("38 1/2”", CM, 38.5 * 2.54),
        ("½", INCH, 1.27),
        ("-½", INCH, -1.27),
        ("⅝ in", CM, 0.625 * 2.54),
        ("14″", CM, 35.56),
        ("92 cm", INCH, 92.0),
        ("924 mm", INCH, 92.4),
    ],
)
def test_written_lengths(text: str, unit: LengthUnit, length: float) -> None:
    assert parse_length(text, unit) == pytest.approx(length, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    ["", " ", "-", "abc", "1.2.3", "1,000.5", "1e5", "inf", "nan", "14 3", "14 3/", "/8", "3//8",
     "14--3/8", "14 -3/8", "½5", "½½", "1½½", "3½/8",
     "½/8", "5 m", "5 cm cm", "cm", "--5", "1234567", "0x10", "14 3/8 5", "५ x"],
)  # fmt: skip
def test_what_is_no_length_is_told(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a length: write a number such as 92\.5"):
        parse_length(text, CM)


@pytest.mark.parametrize("text", ["3/0", "14 3/0", "14 3/00", "3/000"])
def test_no_fraction_over_nought(text: str) -> None:
    with pytest.raises(ValueError, match="over 0"):
        parse_length(text, INCH)


def test_a_fraction_after_a_decimal_is_told() -> None:
    with pytest.raises(ValueError, match="a whole number only"):
        parse_length("14.5 3/8", INCH)


@pytest.mark.parametrize(
    ("value", "inches"),
    [
        (2.54, "1"),
        (0.0, "0"),
        (14.75 * 2.54, "14 3/4"),
        (-14.75 * 2.54, "-14 3/4"),
        (2.54 / 16, "1/16"),
        (-2.54 / 2, "-1/2"),
        (2.54 * 0.99, "1"),
        (0.02, "0"),
        (-0.02, "0"),
        (2.54 * 7 / 8, "7/8"),
    ],
)
def test_inches_to_the_sixteenth(value: float, inches: str) -> None:
    assert format_inches(value) == inches


@pytest.mark.parametrize(
    ("cm", "yards"),
    [(91.44, "1 yd (36 in)"), (91.5, "1 1/8 yd (40 1/2 in)"), (230.0, "2 5/8 yd (94 1/2 in)")],
)
def test_cloth_is_bought_up_to_the_next_eighth_of_a_yard(cm: float, yards: str) -> None:
    assert format_cloth(cm, INCH) == yards
    assert format_cloth(cm, CM) == f"{math.ceil(cm)} cm"


def test_lengths_for_people() -> None:
    assert format_length(37.44, CM) == "37.4 cm"
    assert format_length(37.44, CM, places=2) == "37.44 cm"
    assert format_length(37.44, INCH) == "14 3/4 in"


def test_nothing_is_never_a_minus_nothing() -> None:
    assert format_length(-0.04, CM) == "0.0 cm"
    assert format_length(-0.01, INCH) == "0 in"
    assert format_length(-0.04, INCH) == "-0.02 in"
    assert format_length(-0.06, CM) == "-0.1 cm"


@given(st.floats(-500.0, 500.0), st.sampled_from(LengthUnit))
def test_what_is_written_can_be_read_again(value: float, unit: LengthUnit) -> None:
    step = 0.1 if unit is CM else CM_PER_INCH / 16
    back = parse_length(format_length(value, unit), CM)

    assert abs(back - value) <= step / 2 + 1e-9


@given(st.integers(-400, 400), st.integers(1, 15))
def test_sixteenths_survive(whole: int, part: int) -> None:
    exact = (abs(whole) + Fraction(part, 16)) * (-1 if whole < 0 else 1)
    value = float(exact) * CM_PER_INCH

    assert parse_length(format_inches(value), INCH) == pytest.approx(value, abs=1e-9)


@given(st.text(max_size=12), st.sampled_from(LengthUnit))
def test_any_text_is_a_finite_length_or_told(text: str, unit: LengthUnit) -> None:
    try:
        value = parse_length(text, unit)
    except ValueError as error:
        assert "fraction" in str(error) or "not a length" in str(error)
    else:
        assert abs(value) < 1e7
