"""Unusual measurements: the prediction behind them, and what is said."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blocks.body.body import measurements
from blocks.body.plausibility import AGAIN, NOTE, find_unusual
from blocks.body.populations import NORMAL_QUANTILES, survey
from drafting.errors import DraftError
from drafting.library import read_data
from drafting.units import CM_PER_INCH, LengthUnit

BODY = {
    "bust_girth": 94.0,
    "waist_girth": 77.5,
    "back_waist_length": 39.6,
    "stature": 166.5,
    "neck_girth": 33.2,
    "neck_base_girth": 37.4,
    "hip_girth": 100.5,
    "shoulder_length": 13.4,
    "across_back_width": 38.4,
    "upper_arm_girth": 29.4,
    "wrist_girth": 15.6,
}
CORE = survey().keys
subsets = st.lists(st.sampled_from(CORE), unique=True)


def everyone_but(key: str) -> dict[str, float]:
    return {other: BODY[other] for other in CORE if other != key}


def test_conditional_spreads_are_the_published_ones() -> None:
    """ANSUR II women, conditional_sd of the survey file; the waist's carried to the ISO waist."""
    values = read_data("survey/women").values
    for key, published in zip(CORE, values["core"]["conditional_sd"], strict=True):
        if key == "waist_girth":
            published *= values["waist_mapping"]["slope"]
        assert survey().predict(key, everyone_but(key)).sd == pytest.approx(published, abs=1.1e-3)


def test_waist_is_carried_from_the_navel_to_the_iso_waist() -> None:
    """ANSUR II navel waist 86.091 (9.993), by the ANSUR 1988 mapping 5.668 + 0.88954 navel."""
    alone = survey().predict("waist_girth", {})
    assert alone.mean == pytest.approx(82.249, abs=1e-3)
    assert alone.sd == pytest.approx(8.889, abs=1e-3)
    assert alone.known == ()


@given(st.sampled_from(CORE), subsets)
def test_prediction_agrees_with_the_precision_matrix(key: str, known: list[str]) -> None:
    """Oracle: conditional mean and SD from the inverse of the joint covariance of those known."""
    others = [name for name in known if name != key]
    values = {name: BODY[name] * 1.03 for name in others}
    at = [CORE.index(name) for name in (key, *others)]
    mean, sd = survey().mean[at], survey().sd[at]
    covariance = survey().correlation[np.ix_(at, at)] * np.outer(sd, sd)
    precision = np.linalg.inv(covariance)
    apart = np.array([values[name] for name in others]) - mean[1:]
    expected = mean[0] - float(precision[0, 1:] @ apart) / precision[0, 0]

    found = survey().predict(key, {**values, "under_bust_girth": 80.0, key: 1.0})
    assert found.mean == pytest.approx(expected, abs=1e-8)
    assert found.sd == pytest.approx(1 / math.sqrt(precision[0, 0]), abs=1e-8)
    assert set(found.known) == set(others)


def test_prediction_agrees_with_least_squares() -> None:
    """Oracle: a least-squares fit to invented women drawn from the survey's distribution."""
    covariance = survey().correlation * np.outer(survey().sd, survey().sd)
    women = np.random.default_rng(7).multivariate_normal(survey().mean, covariance, 200_000)
    known = ["bust_girth", "stature", "back_waist_length"]
    at = [CORE.index(name) for name in known]
    neck = women[:, CORE.index("neck_base_girth")]
    table = np.column_stack([np.ones(len(women)), women[:, at]])
    weights, rest, _, _ = np.linalg.lstsq(table, neck, rcond=None)
    values = {"bust_girth": 110.0, "stature": 155.0, "back_waist_length": 36.0}

    found = survey().predict("neck_base_girth", values)
    assert found.mean == pytest.approx(weights @ [1.0, 110.0, 155.0, 36.0], abs=0.03)
    assert found.sd == pytest.approx(math.sqrt(rest[0] / len(women)), abs=0.01)


def test_a_key_outside_the_survey_cannot_be_predicted() -> None:
    with pytest.raises(ValueError, match="not in tuple"):
        survey().predict("scye_depth", {})


@given(st.sampled_from(CORE), st.floats(-9, 9))
def test_scaling_goes_there_and_back(key: str, z: float) -> None:
    assert survey().unscaled(key, survey().scaled(key, z)) == pytest.approx(z, abs=1e-12)


@pytest.mark.parametrize("key", CORE)
def test_scaling_meets_the_measured_quantiles(key: str) -> None:
    """Normal quantiles 1.960, 2.576, 3.291 (standard tables) at the survey's own."""
    for measured, normal in zip(survey().quantiles[key], NORMAL_QUANTILES, strict=True):
        assert survey().scaled(key, measured) == pytest.approx(normal)
        assert survey().scaled(key, -measured) == pytest.approx(-normal)
        inside = math.erf(normal / math.sqrt(2))
        assert any(inside == pytest.approx(share, abs=1e-6) for share in (0.95, 0.99, 0.999))


def test_a_usual_body_gives_no_remark() -> None:
    assert find_unusual(BODY) == ()
    assert find_unusual({}) == ()
    assert find_unusual({"bust_girth": 94.0}) == ()


def test_limits_are_where_remarks_begin() -> None:
    """Just inside low and high nothing is said, just outside a note, beyond 3.5 take again."""
    odd = find_unusual({**BODY, "shoulder_length": 17.0})[0]
    assert odd.key == "shoulder_length"
    assert odd.severity == "take again"
    for end, out in ((odd.low, -1e-6), (odd.high, 1e-6)):
        assert find_unusual({**BODY, "shoulder_length": end - out}) == ()
        [note] = find_unusual({**BODY, "shoulder_length": end + out})
        assert note.severity == "note"
        assert note.z is not None
        assert abs(note.z) == pytest.approx(NOTE, abs=1e-4)
    spread = survey().unscaled("shoulder_length", AGAIN) / survey().unscaled(
        "shoulder_length", NOTE
    )
    edge = odd.expected + (odd.high - odd.expected) * spread
    assert find_unusual({**BODY, "shoulder_length": edge - 1e-6})[0].severity == "note"
    assert find_unusual({**BODY, "shoulder_length": edge + 1e-6})[0].severity == "take again"


@pytest.mark.parametrize(
    ("key", "value", "guess"),
    [
        ("bust_girth", 36.0, "perhaps 36 inches typed as centimetres: 91.4 cm"),
        ("bust_girth", 49.0, "perhaps 94 cm, digits swapped"),
        ("hip_girth", 50.0, "perhaps only half was measured: 100.0 cm"),
        ("neck_base_girth", 74.0, "perhaps doubled by mistake: 37.0 cm"),
        ("neck_base_girth", 3.74, "perhaps the decimal point slipped: 37.4 cm"),
        ("bust_girth", 940.0, "perhaps the decimal point slipped: 94.0 cm"),
        ("hip_girth", 255.3, "perhaps turned from inches into centimetres twice: 100.5 cm"),
        ("shoulder_length", 31.4, "perhaps 13.4 cm, digits swapped"),
    ],
)
def test_slips_are_guessed(key: str, value: float, guess: str) -> None:
    [odd] = find_unusual({**BODY, key: value})
    assert (odd.key, odd.severity, odd.guess) == (key, "take again", guess)
    assert guess in odd.sentence()


def test_slips_are_guessed_in_the_cards_unit() -> None:
    """On a card in inches: centimetres typed as inches, and digits swapped as they were typed."""
    [odd] = find_unusual({**BODY, "bust_girth": 92 * CM_PER_INCH}, LengthUnit.INCH)
    assert odd.guess == "perhaps 92 centimetres typed as inches: 36 1/4 in"
    [odd] = find_unusual({**BODY, "bust_girth": 63 * CM_PER_INCH}, LengthUnit.INCH)
    assert odd.guess == "perhaps 36 in, digits swapped"


def test_no_guess_where_none_fits_or_nothing_is_grave() -> None:
    assert find_unusual({**BODY, "waist_girth": 130.0})[0].guess is None
    assert find_unusual({**BODY, "shoulder_length": 16.3})[0].guess is None


@given(st.sampled_from(CORE), st.sampled_from([CM_PER_INCH, 1 / CM_PER_INCH, 10.0, 0.1]))
def test_one_wrong_entry_does_not_blacken_the_others(key: str, factor: float) -> None:
    """Only the wrong one is to be taken again, though it spoils every naive prediction."""
    unusual = find_unusual({**BODY, key: BODY[key] * factor})
    assert [one.key for one in unusual] == [key]


def test_two_wrong_entries_are_both_found() -> None:
    unusual = find_unusual({**BODY, "bust_girth": 49.0, "shoulder_length": 31.4})
    assert [(one.key, one.severity) for one in unusual] == [
        ("bust_girth", "take again"),
        ("shoulder_length", "take again"),
    ]


def test_necks_the_wrong_way_round() -> None:
    """The neck is smaller than its base on every woman of ANSUR II; swapped, one remark says so."""
    [odd] = find_unusual({**BODY, "neck_girth": 37.4, "neck_base_girth": 33.2})
    assert (odd.key, odd.other, odd.severity) == ("neck_girth", "neck_base_girth", "take again")
    assert odd.sentence() == (
        "Neck girth 37.4 cm does not go with neck base girth: 28.0 cm to 32.0 cm would; "
        "perhaps the two are written the wrong way round. Measure it again."
    )


def test_order_without_a_survey() -> None:
    """Common practice: no under bust girth reaches the bust girth."""
    [odd] = find_unusual({**BODY, "under_bust_girth": 96.0})
    assert (odd.key, odd.other, odd.severity) == ("under_bust_girth", "bust_girth", "take again")


def test_order_is_no_guess_at_swapping_where_that_would_be_odd() -> None:
    """The arm is blamed by its own prediction, and nobody has a wrist of an arm's girth."""
    [odd] = find_unusual({**BODY, "upper_arm_girth": 11.6})
    assert (odd.key, odd.other) == ("upper_arm_girth", None)
    [odd] = find_unusual({"scye_depth": 33.0, "back_waist_length": 32.5})
    assert (odd.key, odd.other, odd.guess) == ("scye_depth", "back_waist_length", None)


def test_entry_limits_are_remarked_on() -> None:
    """Outside its usual range a measurement without prediction is a note, angles in degrees."""
    [odd] = find_unusual({**BODY, "shoulder_slope": math.radians(40)})
    assert (odd.severity, odd.z) == ("note", None)
    assert odd.sentence() == ("Shoulder slope 40.0° is rare: 14.0° to 33.0° is usual. Check it.")
    assert find_unusual({"shoulder_slope": math.radians(33)}) == ()


def test_a_measurement_alone_is_held_against_all_women() -> None:
    """ANSUR II bust 94.686 (8.270): nothing to go with, so nothing is said about others."""
    [odd] = find_unusual({"bust_girth": 125.0})
    assert odd.others == ()
    assert odd.expected == pytest.approx(94.686)
    assert odd.sentence().startswith("Bust girth 125.0 cm is rare: ")


def test_a_sentence_in_both_units() -> None:
    [odd] = find_unusual({**BODY, "shoulder_length": 16.3})
    assert odd.sentence() == (
        f"Shoulder length 16.3 cm does not go with the others: about {odd.expected:.1f} cm fits, "
        f"{odd.low:.1f} cm to {odd.high:.1f} cm. Check it."
    )
    assert "6 7/16 in" in odd.sentence(LengthUnit.INCH)


def test_unknown_measurements_are_refused() -> None:
    with pytest.raises(DraftError, match="no measurement of this name"):
        find_unusual({"bust": 94.0})


def test_false_alarms_are_rare() -> None:
    """Invented women drawn from the survey: a note on fewer than 1 in 100 entries."""
    covariance = survey().correlation * np.outer(survey().sd, survey().sd)
    women = np.random.default_rng(11).multivariate_normal(survey().mean, covariance, 500)
    notes = [
        odd
        for woman in women
        for odd in find_unusual(dict(zip(CORE, map(float, woman), strict=True)))
        if odd.z is not None
    ]
    assert 0.002 < len(notes) / women.size < 0.01


@given(
    st.fixed_dictionaries(
        {},
        optional={
            key: st.floats(one.inside(one.hard[0]), one.inside(one.hard[1]))
            for key, one in measurements().items()
        },
    )
)
def test_any_card_gets_an_answer(taken: dict[str, float]) -> None:
    """Whatever was accepted: no error, each key at most once, sentences in both units."""
    unusual = find_unusual(taken)
    keys = [one.key for one in unusual]
    assert len(keys) == len(set(keys))
    for one in unusual:
        assert taken[one.key] == one.value
        assert one.low <= one.high
        assert math.isfinite(one.expected)
        assert one.sentence(LengthUnit.CM) != one.sentence(LengthUnit.INCH) or "°" in one.sentence()
