"""Sentences that carry values: nothing is lost between the rule that says it and its reader."""

from __future__ import annotations

import pickle
from math import pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting.errors import DraftError, Problem
from drafting.pieces.checks import within
from drafting.sentences import DOWN, UP, Sentence, angle, length, read_sentence, span, written
from drafting.units import LengthUnit, Rounding, parse_length

CM, INCH = LengthUnit.CM, LengthUnit.INCH


def test_one_sentence_in_both_units() -> None:
    said = Sentence(f"Raise the front by {length(2.54, places=2)}, the side by {length(1.27)}.")

    assert said.written(CM) == str(said) == "Raise the front by 2.54 cm, the side by 1.3 cm."
    assert said.written(INCH) == "Raise the front by 1 in, the side by 1/2 in."


@pytest.mark.parametrize(
    ("value", "in_cm", "in_inches"),
    [
        (length(10.03, rounding=UP), "10.1 cm", "4 in"),
        (length(10.2, rounding=UP), "10.2 cm", "4 1/16 in"),
        (length(10.37, rounding=DOWN), "10.3 cm", "4 1/16 in"),
        (length(10.4, rounding=DOWN), "10.4 cm", "4 1/16 in"),
        (length(92.0, tape=True), "92.0 cm", "36 1/4 in"),
        (length(0.1, places=2), "0.10 cm", "0.04 in"),
        (length(0.0), "0.0 cm", "0 in"),
        (length(-0.01), "0.0 cm", "0 in"),
        (span(2.0, 4.0, places=0), "2 to 4 cm", "13/16 to 1 9/16 in"),
        (span(2.54, 2.54), "2.5 cm", "1 in"),
    ],
)
def test_how_values_are_written(value: Sentence, in_cm: str, in_inches: str) -> None:
    assert (value.written(CM), value.written(INCH)) == (in_cm, in_inches)


@given(st.floats(0.01, 300.0), st.integers(0, 3), st.sampled_from(LengthUnit), st.booleans())
def test_a_rounded_bound_holds(cm: float, places: int, unit: LengthUnit, tape: bool) -> None:
    """Taking the printed number never breaks the bound that was printed."""

    def taken(rounding: Rounding) -> float:
        said = length(cm, places=places, rounding=rounding, tape=tape)
        return parse_length(said.written(unit), unit)

    assert taken(DOWN) <= cm + 1e-5
    assert taken(UP) >= cm - 1e-5
    assert taken(UP) - taken(DOWN) <= max(10.0**-places, 2.54 / 8) + 2e-5


def test_a_sentence_in_a_sentence_keeps_its_values() -> None:
    inner = Sentence(f"up to {length(2.54)}")
    for outer in (
        Sentence(f"Take {inner}."),
        "Take " + inner + ".",
        Sentence("Take " + inner) + ".",
    ):
        assert outer.written(INCH) == "Take up to 1 in."
    assert pickle.loads(pickle.dumps(inner)).written(INCH) == "up to 1 in"


def test_problems_and_checks_carry_their_values() -> None:
    problem = Problem(f"only {length(2.54)} is left", accepted=f"{length(5.08)} or more")
    check = within("fall", 1.0, 2.0, 0.1, advice=f"Take {length(5.08)}.")

    assert str(problem) == "only 2.5 cm is left; accepted: 5.1 cm or more"
    assert str(problem.written(INCH)) == "only 1 in is left; accepted: 2 in or more"
    assert str(DraftError(problem)) == str(problem)
    assert (check.advice, written(check.advice, INCH)) == ("Take 5.1 cm.", "Take 2 in.")


@given(st.text(alphabet="a1 .\ufdd0\ufdd1nearstup\n-"))
def test_foreign_marks_never_reach_a_reader(text: str) -> None:
    for unit in LengthUnit:
        said = written(text, unit)
        assert "\ufdd0" not in said
        assert "\ufdd1" not in said


def test_what_is_no_value_leaves_its_words_and_nothing_else() -> None:
    assert written("a\ufdd0b\ufdd1c \ufdd1d\ufdd0", CM) == "abc d"


def test_a_sentence_in_a_column_is_words() -> None:
    said = length(2.54)

    assert f"{said:>8}" == "  2.5 cm"
    assert written(f"{said}", INCH) == "1 in"


@pytest.mark.parametrize(
    ("turned", "places", "told"),
    [
        (pi / 2, 0, "90°"),
        (radians(94.6), 0, "95°"),
        (radians(4.25), 2, "4.25°"),
        (-1e-9, 1, "0.0°"),
    ],
)
def test_angles_are_told_in_degrees(turned: float, places: int, told: str) -> None:
    assert angle(turned, places=places) == told
    assert places or angle(turned) == told


def test_a_data_files_values_have_the_places_written_there() -> None:
    said = read_sentence("Leave {1.50 cm}, then {7 to 9.5 cm} and 3 cm.")

    assert written(said, CM) == "Leave 1.50 cm, then 7.0 to 9.5 cm and 3 cm."
    assert written(said, INCH).endswith(" and 3 cm.")
    assert read_sentence("Nothing to measure.") == "Nothing to measure."
