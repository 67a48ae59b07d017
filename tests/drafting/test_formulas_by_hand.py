"""What a maker works out by hand is the formula: same value, no function left, choices taken."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from fractions import Fraction

import pytest

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import Quantities, method_names
from blocks.body.body import complete
from blocks.body.ease import EaseWish
from drafting.formulas import Kind, parse
from drafting.formulas.by_hand import by_hand, set_square
from drafting.formulas.writing import words
from drafting.units import LengthUnit, from_cm
from tests.fronts import BODY
from workroom.worksheet.construction import construction, worked_lines

CM, INCH = LengthUnit.CM, LengthUnit.INCH
FORBIDDEN = re.compile(
    r"\b(a?sin|a?cos|a?tan2?|max|min|sqrt|hypot|abs|choose_below|otherwise)\b|√|_|--|\+ \(-"
)
ORDERS = {
    "usual": (BODY, ""),
    "easy": (BODY, "easy"),
    "overshirt": (BODY, "overshirt"),
    "little to take in": ({**BODY, "waist_girth": 91.0}, ""),
    "waist wider than the bust": ({**BODY, "waist_girth": 101.0}, ""),
    "large": ({**BODY, "bust_girth": 112.0, "waist_girth": 95.0, "hip_girth": 118.0}, ""),
}
_OPERAND = re.compile(r"\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?")


def drafted(who: str, method: str) -> Quantities:
    body, ease = ORDERS[who]
    return draft_bodice(complete(body), BlockWish(method, ease=EaseWish(ease))).quantities


def worked_out(text: str) -> float:
    """What a calculator gives for a printed line."""

    def decimal(found: re.Match[str]) -> str:
        return repr(float(sum(map(Fraction, found[0].split()))))

    plain = _OPERAND.sub(decimal, text.replace("°", ""))
    return float(eval(plain.replace("×", "*").replace("÷", "/"), {"__builtins__": {}}))


def inside(kind: Kind, value: float, unit: LengthUnit) -> float:
    if kind is Kind.DEG:
        return math.degrees(value)
    return from_cm(value, unit) if kind is Kind.CM else value


@pytest.mark.parametrize("unit", list(LengthUnit))
@pytest.mark.parametrize("method", method_names())
@pytest.mark.parametrize("who", ORDERS)
def test_the_printed_numbers_give_the_drafted_value(
    who: str, method: str, unit: LengthUnit
) -> None:
    """Each printed length may be half its last step off, and nothing here makes that more."""
    q = drafted(who, method)
    sheet, values = q.method.sheet, {**q.inputs, **q.results}
    step = 0.01 if unit is CM else 1 / 16
    for key in sheet.order:
        hand = sheet.by_hand(key, values, unit=unit)
        kind = sheet.entries[key].kind
        said = " ".join((hand.words, hand.numbers, *hand.asides))
        assert not FORBIDDEN.search(said), said
        if hand.numbers:
            operands = len(_OPERAND.findall(hand.numbers))
            told = worked_out(hand.numbers)
            assert abs(told - inside(kind, q[key], unit)) <= operands * step / 2, (key, hand)
        elif hand.words:
            (only,) = hand.uses
            assert values[only] == pytest.approx(q[key], abs=1e-12), key


@pytest.mark.parametrize("unit", list(LengthUnit))
@pytest.mark.parametrize("method", method_names())
@pytest.mark.parametrize("who", ["usual", "waist wider than the bust"])
def test_in_one_line_from_the_measurements(who: str, method: str, unit: LengthUnit) -> None:
    q = drafted(who, method)
    sheet, values = q.method.sheet, {**q.inputs, **q.results}
    seen = 0
    for key in sheet.order:
        line = sheet.in_one(key, values, unit=unit)
        if not line:
            continue
        seen += 1
        for name in sorted(sheet.inputs, key=lambda one: -len(words(one))):
            value = inside(sheet.inputs[name], values[name], unit) if name in values else 0.0
            line = line.replace(words(name), f"{value:.9f}")
        near = 0.01 if unit is CM else 1 / 24
        kind = sheet.entries[key].kind
        assert worked_out(line) == pytest.approx(inside(kind, q[key], unit), abs=near), key
    assert seen > 20


@pytest.mark.parametrize("unit", list(LengthUnit))
@pytest.mark.parametrize("method", method_names())
@pytest.mark.parametrize("who", ORDERS)
def test_nothing_a_maker_reads_is_a_function(who: str, method: str, unit: LengthUnit) -> None:
    body, ease = ORDERS[who]
    draft = draft_bodice(complete(body), BlockWish(method, ease=EaseWish(ease)))
    for step in construction(draft, unit):
        for one in step.worked:
            said = " ".join((one.name, one.working, one.shown, *one.asides))
            assert not FORBIDDEN.search(said), said
            if unit is INCH:
                assert " cm" not in said, said
        for point in step.plotted:
            assert not FORBIDDEN.search(point.how), point.how
    lines = worked_lines(draft.quantities, "front_shoulder_slope", unit)
    assert not [line for line in lines if FORBIDDEN.search(line)]


KINDS = {"a": Kind.CM, "b": Kind.CM, "slope": Kind.DEG, "share": Kind.NUMBER, "none": Kind.CM}
VALUES = {"a": 3.0, "b": 4.0, "slope": math.radians(30), "share": 1.0, "none": 0.0}


@pytest.mark.parametrize(
    ("text", "kind", "spelt", "numbers", "asides"),
    [
        ("max(a, b) + 1", Kind.CM, "b + 1", "4 + 1", ("because 3 cm (a) is less",)),
        ("min(a, b)", Kind.CM, "a", "", ()),
        (
            "choose_below(a, 5, b, a)",
            Kind.CM,
            "b",
            "",
            ("because 3 cm (a) is less than 5 cm",),
        ),
        ("2 - a + none - 1", Kind.CM, "1 - a", "1 - 3", ()),
        ("a * share / 2", Kind.CM, "a ÷ 2", "3 ÷ 2", ()),
        (
            "a + b * sin(slope)",
            Kind.CM,
            "a + 2",
            "3 + 2",
            ("4 cm (b) laid at 30° (slope) ends 2 cm higher or lower",),
        ),
        (
            "b - hypot(a, b)",
            Kind.CM,
            "b - 5",
            "4 - 5",
            ("5 cm is straight across a right angle with sides 3 cm (a) and 4 cm (b)",),
        ),
        (
            "a + sqrt(b^2 - a^2)",
            Kind.CM,
            "a + 2.65",
            "3 + 2.65",
            ("2.65 cm is a side of a right angle: long side 4 cm (b), other side 3 cm (a)",),
        ),
        (
            "atan2(a, b) - slope",
            Kind.DEG,
            "36.87° - slope",
            "36.87° - 30°",
            ("36.87° is 4 cm (b) out and 3 cm (a) up",),
        ),
        (
            "2 * asin(a / 2 / b)",
            Kind.DEG,
            "",
            "",
            ("44.05° is the opening of two legs of 4 cm (b) whose ends are 3 cm apart",),
        ),
    ],
)
def test_what_is_told(
    text: str, kind: Kind, spelt: str, numbers: str, asides: tuple[str, ...]
) -> None:
    hand = by_hand(parse(text).tree, KINDS, kind, VALUES)
    assert (hand.words, hand.numbers, hand.asides) == (spelt, numbers, asides)


def test_an_angle_is_laid_off_with_the_set_square() -> None:
    assert set_square(math.radians(45), CM) == "45° is 20 cm along and 20 cm square to it"
    assert set_square(math.radians(20), INCH) == "20° is 10 in along and 3 5/8 in square to it"
    assert set_square(math.radians(80), CM) == "80° is 3.53 cm along and 20 cm square to it"
    assert set_square(math.pi / 2, CM) == set_square(0.0, CM) == ""


def test_only_one_line_from_measurements_loads_sympy() -> None:
    program = (
        "import sys; from click.testing import CliRunner; from workroom.commands import neckarc\n"
        "assert CliRunner().invoke(neckarc, ['--help']).exit_code == 0\n"
        "from tests.drafting.test_formulas_by_hand import *\n"
        "q = drafted('usual', 'direct-measure')\n"
        "from workroom.papers.booklets import worksheet_pdf\n"
        "draft = draft_bodice(complete(BODY), BlockWish('direct-measure'))\n"
        "assert construction(draft, CM) and 'sympy' not in sys.modules\n"
        "assert worked_lines(q, 'side_x', CM) and 'sympy' in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
