"""The client card: what it holds, and that every mistake is told at once."""

from __future__ import annotations

import datetime
import math
import pickle
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blocks.body.body import measurements
from drafting.errors import CardError, Problem
from drafting.parameters import ParameterRule, with_defaults
from drafting.units import CM_PER_INCH, LengthUnit
from garment.wishes import Commission
from workroom.card.card import NecklineWish, parse_card, read_card_text

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
GOOD = """\
client = "Marta Ilves"
date = 2026-03-14
unit = "cm"
order = "Blouse 12"
notes = '''two
lines'''
[measurements]
bust_girth = 92.5
waist_girth = "74,5"
back_waist_length = 40
neck_base_girth = "14 3/8 in"
shoulder_slope = 21
[garment]
method = "direct-measure"
button_stand = 2
seam_allowance = 1.2
[garment.allowances]
neckline = 0.6
[neckline]
fit = "front"
ease = 0.8
style = {front_lower = 1.5, side_widen = 0.5}
[collar]
kind = "two-piece shirt"
stand_height = "3,2"
point = "round"
lean = 12
"""


def parse(text: str) -> Commission:
    return parse_card(text, "marta.toml", collars=COLLARS, methods=METHODS)


def mistakes(text: str) -> list[Problem]:
    with pytest.raises(CardError) as caught:
        parse(text)
    return list(caught.value.problems)


def only(text: str) -> Problem:
    [problem] = mistakes(text)
    return problem


def with_line(key: str, line: str) -> str:
    """The good card with the line of ``key`` replaced."""
    lines = [line if re.match(rf"{key}\s*=", old) else old for old in GOOD.splitlines()]
    assert lines != GOOD.splitlines()
    return "\n".join(lines) + "\n"


def test_a_good_card_is_read_in_full() -> None:
    card = parse(GOOD)
    assert (card.name, card.client, card.order) == ("marta.toml", "Marta Ilves", "Blouse 12")
    assert card.date == datetime.date(2026, 3, 14)
    assert card.unit is LengthUnit.CM
    assert card.notes == "two\nlines"
    assert card.measurements == pytest.approx(
        {
            "bust_girth": 92.5,
            "waist_girth": 74.5,
            "back_waist_length": 40.0,
            "neck_base_girth": 14.375 * CM_PER_INCH,
            "shoulder_slope": math.radians(21),
        }
    )
    assert card.garment.method == "direct-measure"
    assert card.garment.button_stand == 2
    assert card.garment.allowance("neckline") == 0.6
    assert card.garment.allowance("side_seam") == 1.2
    assert card.neckline == NecklineWish("front", 0.8, {"front_lower": 1.5, "side_widen": 0.5})
    assert not card.neckline.from_tape
    assert card.collar.kind == "two-piece shirt"
    assert card.collar.raw == {"stand_height": "3,2", "point": "round", "lean": 12}
    assert card.collar.values == pytest.approx(
        {"stand_height": 3.2, "point": "round", "lean": math.radians(12)}
    )
    filled = with_defaults(COLLARS["two-piece shirt"], card.collar.values)
    assert filled == {**card.collar.values, "layers": 2}


def test_what_is_left_out_takes_its_default() -> None:
    """No garment, neckline or collar asked for: direct measure, fitted both ways, no collar."""
    text = "\n".join(GOOD.splitlines()[:12]).replace('unit = "cm"', "").replace("order =", "#")
    card = parse(text)
    assert card.unit is LengthUnit.CM
    assert (card.order, card.garment.method, card.garment.button_stand) == (
        "",
        "direct-measure",
        1.5,
    )
    assert card.garment.allowance("neckline") == 1.0
    assert card.neckline == NecklineWish("both", 0.5)
    assert (card.collar.kind, card.collar.values) == ("none", {})


def test_without_direct_measure_the_first_method_is_meant() -> None:
    card = parse_card(
        'client = "A"\ndate = "2026-03-14"', "a.toml", collars={}, methods={"own": frozenset()}
    )
    assert card.garment.method == "own"
    assert card.date == datetime.date(2026, 3, 14)


def test_a_card_can_be_sent_to_another_process() -> None:
    card = parse(GOOD)
    assert pickle.loads(pickle.dumps(card)) == card


def test_tape_arcs_need_no_measurements() -> None:
    card = parse(
        'client = "A"\ndate = 2026-03-14\n[neckline]\nback_arc = 8.6\nfront_arc = "4 3/4 in"\n'
    )
    assert card.neckline.from_tape
    assert card.neckline.back_arc == 8.6
    assert card.neckline.front_arc == pytest.approx(12.065)
    assert card.measurements == {}


def test_one_arc_alone_is_a_mistake() -> None:
    """And no measurements are asked for on top of it."""
    problem = only('client = "A"\ndate = 2026-03-14\n[neckline]\nfront_arc = 12.1\n')
    assert problem.key == "neckline.back_arc"
    assert problem.place == "marta.toml:4"
    assert "both arcs" in problem.said


def test_every_mistake_is_told_at_once_with_its_line() -> None:
    text = """\
clent = "A"
date = "14.3.2026"
unit = "mm"
bust_girth = 92
[measurements]
waist_grith = 74
back_waist_length = 400
neck_base_girth = true
hip = 3
stature = nan
order = "x"
[garment]
method = "direct measure"
allowances = 3
seam = 1
[neckline]
fit = "sides"
style = {front_lowr = 0}
[collar]
kind = "band"
height = 9
width = 3
"""
    told = {problem.place: problem for problem in mistakes(text)}
    assert list(told) == ["marta.toml"] + [
        f"marta.toml:{n}" for n in (1, 2, 3, 4, 6, 7, 8, 9, 10, 11, 13, 14, 15, 17, 18, 21, 22)
    ]
    assert told["marta.toml"].key == "client"
    advice = {place: problem.advice for place, problem in told.items()}
    assert advice["marta.toml:1"] == "Did you mean client?"
    assert advice["marta.toml:4"] == "It belongs under [measurements]."
    assert advice["marta.toml:6"].startswith("Did you mean waist_girth")
    assert advice["marta.toml:7"] == "Is it in millimetres?"
    assert advice["marta.toml:9"] == "Did you mean hip_girth?"
    assert advice["marta.toml:11"] == "It belongs at the top, above the first [heading]."
    assert advice["marta.toml:13"] == "Did you mean direct-measure?"
    assert advice["marta.toml:17"] == "Did you mean side?"
    assert advice["marta.toml:18"] == "Did you mean front_lower?"
    assert told["marta.toml:3"].accepted == '"cm", "in"'
    assert told["marta.toml:8"].got == "true"
    assert told["marta.toml:21"].accepted == "1 to 6 cm"
    assert told["marta.toml:22"].accepted == "height, kind"


def test_missing_measurements_are_those_of_the_method() -> None:
    """Each with its usual range and how to take it; under another method fewer are missing."""
    text = 'client = "A"\ndate = 2026-03-14\n[measurements]\nwaist_girth = 70\n'
    problems = mistakes(text)
    assert [problem.key for problem in problems] == [
        "measurements.bust_girth",
        "measurements.back_waist_length",
        "measurements.neck_base_girth",
    ]
    assert problems[0].place == "marta.toml:3"
    assert problems[0].accepted == "usually 74 to 130 cm"
    assert problems[0].advice == measurements()["bust_girth"].how
    fewer = mistakes(text + '[garment]\nmethod = "bust-proportional"\n')
    assert [problem.key for problem in fewer] == [problem.key for problem in problems[:2]]


@pytest.mark.parametrize(
    ("line", "said", "advice"),
    [
        ("bust_girth = 36", "this cannot be right", "Is it in inches?"),
        ("bust_girth = 925", "this cannot be right", "Is it in millimetres?"),
        ("bust_girth = 9.25", "this cannot be right", "Is the decimal point right?"),
        ("bust_girth = 0", "this cannot be right", ""),
        ("bust_girth = -92", "this cannot be right", ""),
        ("bust_girth = nan", "this is not a finite number", ""),
        ("bust_girth = inf", "this is not a finite number", ""),
        ("bust_girth = 1e999", "this is not a finite number", ""),
        ("bust_girth = true", "a number is wanted here, not true or false", ""),
        ("bust_girth = [92]", "a number is wanted here, not a list", ""),
        ("bust_girth = {cm = 92}", "a number is wanted here, not a table", ""),
        ("bust_girth = 2026-03-14", "a number is wanted here, not a date or time", ""),
        ("bust_girth = 'wide'", "not a length", ""),
        ("bust_girth = ''", "not a length", ""),
        ("bust_girth = '36 1/0'", "a fraction cannot be over 0", ""),
        (f"bust_girth = {10**400}", "this number is too large", ""),
        ("shoulder_slope = 0.36", "this cannot be right", "Write degrees."),
        ("shoulder_slope = 'steep'", "not a number", ""),
        ("client = ''", "this is empty", ""),
        ("client = 7", "a text is wanted here, not a number", ""),
        (f"client = '{'a' * 121}'", "this is 121 signs long", ""),
        ('client = "a\\u0007b"', "an invisible control sign (U+0007)", ""),
        ('client = "a\\u202eb"', "an invisible control sign (U+202E)", ""),
        ('client = "a\\nb"', "an invisible control sign (U+000A)", ""),
        ("date = 2026-03-14T10:00:00", "a day is wanted without the time", ""),
        ("date = 20260314", "a date is wanted here, not a number", ""),
        ("date = '2026-02-30'", "this is not a date", ""),
        ("date = 0226-03-14", "this year cannot be right", ""),
        ("unit = 'inch'", "this is not one of the choices", "Did you mean in?"),
        ("button_stand = 9", "this cannot be right", "Is it in millimetres?"),
        ("button_stand = -1", "this cannot be right", ""),
        ("neckline = 5.1", "this cannot be right", "Is it in millimetres?"),
        ("ease = 8.5", "this cannot be right", "Is it in millimetres?"),
        ("kind = 3", "a word is wanted here, not a number", ""),
        ("stand_height = 32", "this is outside the accepted range", "stand at the back"),
        ("point = 'pointy'", "this is not one of the choices", "Did you mean pointed?"),
        ("point = 3", "a word is wanted here, not a number", "shape"),
        ("lean = 31", "this is outside the accepted range", "how far the stand leans"),
    ],
)
def test_one_mistake_is_told_once(line: str, said: str, advice: str) -> None:
    key = line.split(" = ")[0]
    problem = next(one for one in mistakes(with_line(key, line)) if one.key.endswith(key))
    assert problem.said.startswith(said)
    assert problem.advice == advice
    number = with_line(key, line).splitlines().index(line) + 1
    assert problem.place == f"marta.toml:{number}"


@pytest.mark.parametrize("client", ["Мария", "王 小明", "O’Neill-Søndergård", "नेहा", "a" * 120])
def test_names_of_every_script_are_kept(client: str) -> None:
    assert parse(with_line("client", f'client = "{client}"')).client == client


def test_a_misspelt_card_in_inches_is_judged_in_inches() -> None:
    """Only the unit itself is told, not every measurement as well."""
    text = f'client = "A"\ndate = 2026-03-14\nunit = "inches"\n[measurements]\n{INCHES}'
    assert only(text).key == "unit"


INCHES = "bust_girth = 36\nwaist_girth = 29\nback_waist_length = 15.5\nneck_base_girth = '14 1/2'\n"


@pytest.mark.parametrize(
    "heading",
    ["measurements", "garment", "garment.allowances", "neckline", "neckline.style", "collar"],
)
@pytest.mark.parametrize("value", ["5", '"x"', "[1]", "true"])
def test_a_table_of_another_kind_is_told(heading: str, value: str) -> None:
    head = f'client = "A"\ndate = 2026-03-14\n{heading} = {value}\n[{{}}]\n'.format(
        "garment" if heading.startswith("measure") else "measurements"
    )
    told = [problem for problem in mistakes(head) if problem.key == heading]
    assert len(told) == 1
    assert told[0].said == "a table is wanted here"
    assert told[0].advice == f"Write [{heading}] on a line of its own and its keys below."


def test_a_collar_parameter_without_a_collar_is_told() -> None:
    problem = only(
        with_line("kind", 'kind = "none"')
        .replace("lean = 12\n", "")
        .replace('point = "round"\n', "")
    )
    assert problem.key == "collar.stand_height"
    assert "no kind of collar" in problem.said


def in_unit(unit: LengthUnit, values: dict[str, float]) -> str:
    scale = CM_PER_INCH if unit is LengthUnit.INCH else 1.0
    lines = [
        f"{key} = {math.degrees(value) if measurements()[key].unit == 'deg' else value / scale!r}"
        for key, value in values.items()
    ]
    return (
        f'client = "A"\ndate = 2026-03-14\nunit = "{unit}"\n[measurements]\n'
        + "\n".join(lines)
        + f"\n[garment]\nbutton_stand = {1.7 / scale!r}\n[neckline]\nease = {0.7 / scale!r}\n"
        + f'[collar]\nkind = "two-piece shirt"\nstand_height = {3.1 / scale!r}\nlean = 12\n'
    )


HARD = {
    key: st.floats(one.inside(one.hard[0]), one.inside(one.hard[1]))
    for key, one in measurements().items()
}


def with_partners(values: dict[str, float]) -> dict[str, float]:
    """Without those that mean nothing because another is not there."""
    known = measurements()
    return {key: one for key, one in values.items() if (known[key].partner or key) in values}


@given(
    st.fixed_dictionaries(
        {key: HARD[key] for key in METHODS["direct-measure"]},
        optional={key: HARD[key] for key in HARD if key not in METHODS["direct-measure"]},
    ).map(with_partners)
)
def test_cards_in_inches_and_centimetres_are_one(values: dict[str, float]) -> None:
    """Also at the very ends of the accepted ranges, where the conversion rounds."""
    metric, inches = (parse(in_unit(unit, values)) for unit in LengthUnit)
    assert metric.measurements.keys() == inches.measurements.keys() == values.keys()
    for key, value in values.items():
        assert metric.measurements[key] == pytest.approx(value, abs=1e-9)
        assert inches.measurements[key] == pytest.approx(metric.measurements[key], abs=1e-9)
    assert inches.garment.button_stand == pytest.approx(metric.garment.button_stand, abs=1e-9)
    assert inches.neckline.ease == pytest.approx(metric.neckline.ease, abs=1e-9)
    assert inches.collar.values == pytest.approx(metric.collar.values, abs=1e-9)


def test_a_card_full_of_keys_that_mean_nothing_is_told_without_much_advice() -> None:
    """What each may have been meant for is looked for two hundred times, not twenty thousand."""
    strange = "".join(f"stand_higth_{number} = 1\n" for number in range(1000))

    found = [problem for problem in mistakes(GOOD + strange) if "higth" in problem.key]
    assert len(found) == 1000
    assert sum("Did you mean stand_height?" in problem.advice for problem in found) == 200


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("Peter Pan", "flat"),
        ("mandarin collar", "band"),
        ("Revers", "notched"),
        ("shirt collar", "two-piece shirt"),
    ],
)
def test_other_words_of_the_trade_are_understood(written: str, kind: str) -> None:
    text = (
        'client = "A"\ndate = 2026-03-14\n[measurements]\nbust_girth = 92\nwaist_girth = 74\n'
        "back_waist_length = 39\nneck_base_girth = 37\nneck_girth = 33\n"
        f'[garment.darts]\nbust = "armhole"\n[collar]\nkind = "{written}"\n'
    )
    card = read_card_text(text, "card")

    assert card.collar.kind == kind
    assert card.garment.asked["darts"]["bust"] == "scye"
