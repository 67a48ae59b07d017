"""Measurements, their estimates, and a body completed from what was taken."""

from __future__ import annotations

import itertools
import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blocks.body.body import complete, measurements, orders
from blocks.body.measures import read_measurements
from drafting.errors import DataError, DraftError
from drafting.library import read_data, read_toml

BASE = {"bust_girth": 94.0, "waist_girth": 77.5, "back_waist_length": 39.6}
NEVER_ESTIMATED = {"bust_girth", "waist_girth", "back_waist_length"} | {
    "collar_top_height",
    "neck_height",
}
SURVEY_NAMES = {
    "back_width_mid_scye": "across_back_width",
    "upper_arm_girth_flexed": "upper_arm_girth",
}


def rule_value(key: str, **known: float) -> float:
    """What the rule of ``key`` that leans on exactly ``known`` gives."""
    rules = [rule for rule in measurements()[key].estimates if set(rule.leans_on) == set(known)]
    assert len(rules) == 1
    return rules[0].value(known)


def survey_regressions() -> list[tuple[str, dict[str, Any]]]:
    """The regressions of the survey file whose terms are measurements of a card."""
    found = []
    for regression in read_data("survey/women").values["regression"]:
        key = SURVEY_NAMES.get(regression["y"], regression["y"])
        leans_on = set(regression["x"])
        if key in measurements() and any(
            set(rule.leans_on) == leans_on for rule in measurements()[key].estimates
        ):
            found.append((key, regression))
    return found


def test_every_measurement_is_told_in_full() -> None:
    """Each has its range inside the hard one, sources, and two sentences on how to take it."""
    for key, one in measurements().items():
        assert one.hard[0] < one.usual[0] < one.usual[1] < one.hard[1], key
        assert len(re.findall(r"[a-z]\. |[a-z]\.$", one.how)) >= 2, key
        assert one.usual_source
        assert all(rule.source for rule in one.estimates)
        assert bool(one.estimates) is (key not in NEVER_ESTIMATED)


def test_numbers_of_the_standard_are_only_those_that_were_seen_quoted() -> None:
    """ISO 8559-1:2017 numbers as quoted by public pages; all others stay empty."""
    numbered = {key: one.iso_number for key, one in measurements().items() if one.iso_number}
    assert numbered == {
        "neck_girth": "5.3.2",
        "neck_base_girth": "5.3.3",
        "bust_girth": "5.3.4",
        "under_bust_girth": "5.3.8",
        "waist_girth": "5.3.10",
        "hip_girth": "5.3.13",
        "upper_arm_girth": "5.3.16",
        "wrist_girth": "5.3.19",
        "across_back_shoulder_width": "5.4.3",
        "back_waist_length": "5.4.5",
        "outer_arm_length": "5.7.8",
    }


def test_errors_of_measuring() -> None:
    """ISO 20685-1 class limits, and NATICK/TR-11/017 App. G as quoted by a third party (mm)."""
    handbook = {
        key: one.handbook_error_mm for key, one in measurements().items() if one.handbook_error_mm
    }
    assert handbook == {
        "neck_girth": 6,
        "neck_base_girth": 8,
        "bust_girth": 14,
        "waist_girth": 12,
        "hip_girth": 12,
        "wrist_girth": 3,
        "shoulder_length": 3,
        "back_waist_length": 5,
        "stature": 6,
    }
    assert {one.iso_error_mm for one in measurements().values()} == {4, 5, 9, None}
    assert measurements()["neck_girth"].iso_error_by_analogy is False
    assert measurements()["neck_base_girth"].iso_error_by_analogy is True
    assert measurements()["shoulder_slope"].iso_error_mm is None


def test_waist_says_which_and_the_necks_are_two() -> None:
    assert "half-way between" in measurements()["waist_girth"].how
    assert "middle of the neck" in measurements()["neck_girth"].how
    assert "bottom of the neck" in measurements()["neck_base_girth"].how


@pytest.mark.parametrize(
    ("key", "regression"),
    survey_regressions(),
    ids=[f"{key} from {', '.join(r['x'])}" for key, r in survey_regressions()],
)
def test_estimates_are_the_surveys_regressions(key: str, regression: dict[str, Any]) -> None:
    """ANSUR II women (NATICK/TR-15/007), regressions of the survey file, to its digits."""
    names: list[str] = regression["x"]
    slopes: list[float] = regression["slope"]
    for at in itertools.product((80.0, 120.0), repeat=len(names)):
        known = dict(zip(names, at, strict=True))
        expected = float(regression["intercept"]) + sum(
            slope * value for slope, value in zip(slopes, at, strict=True)
        )
        assert rule_value(key, **known) == pytest.approx(expected, abs=1e-9)


def test_fifteen_regressions_are_used() -> None:
    """So that the comparison above cannot run dry unseen."""
    assert len(survey_regressions()) == 15


def test_hip_uses_the_navel_waist_of_the_survey() -> None:
    """ANSUR II: hip = 42.4315 + 0.20903 bust + 0.46347 navel waist, carried to the ISO waist."""
    mapping = read_data("survey/women").values["waist_mapping"]
    navel = 86.0
    iso = mapping["intercept"] + mapping["slope"] * navel
    expected = 42.4315 + 0.20903 * 95 + 0.46347 * navel
    assert rule_value("hip_girth", bust_girth=95.0, waist_girth=iso) == pytest.approx(expected)


def test_waist_mapping_follows_from_the_printed_means() -> None:
    """ANSUR 1988 women (NATICK/TR-89/044): heights and girths of natural waist and navel."""
    values = read_data("survey/women").values
    printed = {key: one for key, one in values["ansur1988"].items() if key != "n"}
    mean = {key: one["mean"] for key, one in printed.items()}
    iso_height = (mean["tenth_rib_height"] + mean["iliac_crest_height"]) / 2
    up = (iso_height - mean["waist_height_navel"]) / (
        mean["waist_height_natural"] - mean["waist_height_navel"]
    )

    def between(what: str) -> float:
        navel = float(printed["waist_girth_navel"][what])
        return navel + float(up) * (float(printed["waist_girth_natural"][what]) - navel)

    slope = between("sd") / printed["waist_girth_navel"]["sd"]
    assert values["waist_mapping"]["slope"] == pytest.approx(slope, abs=5e-5)
    assert values["waist_mapping"]["intercept"] == pytest.approx(
        between("mean") - slope * mean["waist_girth_navel"], abs=5e-3
    )


@pytest.mark.parametrize(("known", "pair"), [("back_waist_length", 6), ("back_neck_height", None)])
def test_stature_is_the_regression_of_the_survey(known: str, pair: int | None) -> None:
    """ANSUR II means, spreads and correlation give the regression of stature on ``known``."""
    values = read_data("survey/women").values
    if pair is None:
        table, order = values["measure"]["back_neck_height"], values["correlation"]["order"]
        mean, sd = table["mean"], table["sd"]
        r = values["correlation"]["matrix"][0][order.index("back_neck_height")]
    else:
        mean, sd = values["core"]["mean"][pair], values["core"]["sd"][pair]
        r = values["core"]["correlation"][0][pair]
    slope = r * 6.420 / sd
    for value in (mean - 5, mean + 5):
        expected = 162.847 + slope * (value - mean)
        assert rule_value("stature", **{known: value}) == pytest.approx(expected, abs=2e-3)


#: ASTM D5585-11e1, Table 1 (inches turned to cm): bust, upper chest, under-bust, sizes 00 to 20.
ASTM_2011 = [
    (79.1, 80.6, 65.4),
    (80.6, 81.9, 67.3),
    (83.8, 84.5, 69.2),
    (86.7, 86.7, 71.1),
    (89.5, 88.9, 73.7),
    (92.1, 91.1, 76.2),
    (94.6, 93.3, 78.7),
    (98.4, 96.5, 82.5),
    (102.6, 99.7, 86.4),
    (107.0, 103.2, 90.8),
    (111.8, 107.3, 95.6),
    (116.8, 111.4, 100.6),
]


@pytest.mark.parametrize(("bust", "chest", "under"), ASTM_2011)
def test_chest_and_under_bust_follow_the_table(bust: float, chest: float, under: float) -> None:
    """ASTM D5585-11e1, Table 1: within half the step from size to size."""
    assert rule_value("upper_chest_girth", bust_girth=bust) == pytest.approx(chest, abs=0.5)
    assert rule_value("under_bust_girth", bust_girth=bust) == pytest.approx(under, abs=0.85)


#: ASTM D5585-95, from memory: bust, scye depth, bust point to bust point; sizes 2 to 20.
ASTM_1995 = [
    (81.3, 18.1, 17.8),
    (83.8, 18.4, 18.4),
    (86.4, 18.7, 19.1),
    (88.9, 19.1, 19.7),
    (91.4, 19.4, 20.3),
    (95.3, 19.7, 21.0),
    (99.1, 20.0, 21.6),
    (102.9, 20.3, 22.2),
    (108.0, 20.6, 22.9),
    (113.0, 21.0, 23.5),
]


@pytest.mark.parametrize(("bust", "scye", "points"), ASTM_1995)
def test_scye_depth_and_bust_points_follow_the_table(
    bust: float, scye: float, points: float
) -> None:
    """ASTM D5585-95, from memory: both ends exact, between them within the table's rounding."""
    exact = bust in (81.3, 113.0)
    assert rule_value("scye_depth", bust_girth=bust) == pytest.approx(
        scye, abs=1e-9 if exact else 0.4
    )
    assert rule_value("bust_point_width", bust_girth=bust) == pytest.approx(
        points, abs=1e-9 if exact else 0.7
    )


def test_exact_estimates() -> None:
    """Values worked out by hand from the published rules."""
    assert rule_value("across_front_width", bust_girth=88.0) == pytest.approx(32.4)
    assert rule_value("across_front_width", bust_girth=100.0) == pytest.approx(36.0)
    assert rule_value("side_neck_to_waist_front", back_waist_length=40.0) == pytest.approx(41.5)
    assert rule_value("side_neck_to_bust_point", stature=172.9, bust_girth=100.7) == pytest.approx(
        26.8 + 0.967 + 0.734
    )
    assert rule_value("armscye_girth", bust_girth=90.71) == pytest.approx(37.13)
    assert complete({})["shoulder_slope"] == pytest.approx(math.radians(20))
    assert complete({})["stature"] == 162.847


def test_three_measurements_are_enough() -> None:
    """All others are estimated, said to be, and the taken ones untouched. Where a tape lay that was
    not laid is nothing to estimate, nor is what is not asked for any more."""
    body = complete(BASE)
    assert set(body.values) == set(measurements()) - {"collar_top_height", "neck_height"}
    assert set(body.estimated) == set(body.values) - set(BASE)
    assert {key: body[key] for key in BASE} == BASE
    assert body["stature"] == pytest.approx(102.069 + 1.60127 * 39.6)
    assert body["neck_base_girth"] == pytest.approx(22.3324 + 0.15613 * 94)
    assert body["wrist_girth"] == pytest.approx(3.1263 + 0.03895 * 94 + 0.05321 * body["stature"])


def test_taken_measurements_go_before_estimated_ones() -> None:
    """Neck base from the neck alone while stature is only estimated; with both once it is taken."""
    without = complete({**BASE, "neck_girth": 33.0})
    assert without["neck_base_girth"] == pytest.approx(7.5310 + 0.89708 * 33)
    assert without.estimated["neck_base_girth"].startswith("estimated from neck girth: ANSUR II")
    both = complete({**BASE, "neck_girth": 33.0, "stature": 168.0})
    assert both["neck_base_girth"] == pytest.approx(0.8777 + 0.84685 * 33 + 0.05103 * 168)
    back = complete({**BASE, "neck_base_girth": 37.0})
    assert back["neck_girth"] == pytest.approx(1.1483 + 0.85761 * 37)


def test_sentences_say_what_was_itself_estimated() -> None:
    body = complete(BASE)
    assert body.is_estimated("wrist_girth")
    assert not body.is_estimated("bust_girth")
    assert body.estimated["wrist_girth"] == (
        "estimated from bust girth and stature (itself estimated): "
        "ANSUR II, regression (residual SD 0.58 cm)"
    )
    assert body.estimated["shoulder_slope"] == "assumed: common practice"


def test_what_cannot_be_known_is_asked_for() -> None:
    """Reading it raises with its name; a key that is none at all raises too."""
    body = complete({"waist_girth": 70.0})
    assert "bust_girth" not in body
    with pytest.raises(DraftError, match="bust girth is needed") as caught:
        body["bust_girth"]
    assert caught.value.problems[0].key == "bust_girth"
    with pytest.raises(DraftError, match="no measurement of this name"):
        body["bust"]
    with pytest.raises(DraftError, match="no measurement of this name"):
        complete({"bust": 90.0})


def usual_bodies() -> st.SearchStrategy[dict[str, float]]:
    """Any part of a card, every value in its usual range (cm, radians), in any order."""
    values = {
        key: st.floats(one.inside(one.usual[0]), one.inside(one.usual[1]))
        for key, one in measurements().items()
    }
    return (
        st.fixed_dictionaries({}, optional=values)
        .flatmap(lambda taken: st.permutations(list(taken.items())))
        .map(dict)
    )


@given(usual_bodies())
def test_completing_never_overrides_and_never_depends_on_order(taken: dict[str, float]) -> None:
    body = complete(taken)
    assert {key: body[key] for key in taken} == taken
    assert complete(dict(reversed(taken.items()))) == body
    assert set(body.values) == set(taken) | set(body.estimated)
    assert not set(taken) & set(body.estimated)
    assert complete(body.values).values == body.values


@given(
    st.floats(74, 130),
    st.floats(58, 125),
    st.floats(31, 47),
)
def test_estimates_can_be_bodies(bust: float, waist: float, back: float) -> None:
    """Over the usual range every estimate is in its hard range and the orders hold."""
    body = complete({"bust_girth": bust, "waist_girth": waist, "back_waist_length": back})
    for key in body.estimated:
        one = measurements()[key]
        assert one.hard[0] <= one.shown(body[key]) <= one.hard[1], key
    for order in orders():
        assert body[order.smaller] < body[order.larger]


GOOD = """
[{key}]
name = "one"
iso_name = ""
iso_number = ""
how = "Take it. Write it down."
unit = "{unit}"
hard = [1, 9]
usual = [2, 8]
usual_source = "common practice"
"""
RULE = '[[{key}.estimate]]\nfrom = {lean}\nformula = "{formula}"\nsource = "common practice"\n'


def test_mistakes_in_the_data_are_all_told() -> None:
    """A ring, a formula of other names or unit, a missing name, a range the wrong way round."""
    text = (
        GOOD.format(key="a", unit="cm")
        + RULE.format(key="a", lean='["b"]', formula="b + 1")
        + GOOD.format(key="b", unit="cm")
        + RULE.format(key="b", lean='["a"]', formula="a + 1")
        + GOOD.format(key="c", unit="cm")
        + RULE.format(key="c", lean='["a"]', formula="b")
        + GOOD.format(key="d", unit="deg")
        + RULE.format(key="d", lean="[]", formula="20")
        + GOOD.format(key="e", unit="cm").replace('name = "one"\n', "", 1)
        + GOOD.format(key="f", unit="cm").replace("[2, 8]", "[8, 2]")
        + GOOD.format(key="g", unit="mm")
        + GOOD.format(key="h", unit="cm")
        + RULE.format(key="h", lean="[]", formula="1 +")
    )
    with pytest.raises(DataError) as caught:
        read_measurements(read_toml(text, "measurements.toml"))
    told = {problem.key or "h": problem.said for problem in caught.value.problems}
    assert set(told) == {"a", "c", "d", "e", "f", "g", "h"}
    assert "further up" in told["a"]
    assert "from must name" in told["c"]
    assert "deg" in told["d"]
    assert told["e"] == "name is missing"


def test_sound_data_is_read() -> None:
    """The same without the mistakes, so that the test above fails for the right reasons."""
    text = GOOD.format(key="a", unit="cm") + GOOD.format(key="d", unit="deg")
    text += RULE.format(key="d", lean="[]", formula="deg(20)")
    found = read_measurements(read_toml(text, "measurements.toml"))
    assert list(found) == ["a", "d"]
    assert found["d"].estimates[0].value({}) == pytest.approx(math.radians(20))
