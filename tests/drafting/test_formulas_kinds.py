"""Units: what may be added, multiplied and asked of each other."""

from __future__ import annotations

import pytest

from drafting.errors import FormulaError
from drafting.formulas import Kind, check_kind, measure_of, parse

KINDS = {
    "bust": Kind.CM,
    "waist": Kind.CM,
    "slope": Kind.DEG,
    "fit": Kind.NUMBER,
}


@pytest.mark.parametrize(
    ("text", "measure"),
    [
        ("12", "a bare number"),
        ("-(1/8 + 3)^2", "a bare number"),
        ("sqrt(2)", "a bare number"),
        ("choose_below(bust, 92, 3.4, 3.8)", "a bare number"),
        ("pi", "a number"),
        ("fit", "a number"),
        ("fit + 1", "a number"),
        ("bust / waist", "a number"),
        ("bust / cm", "a number"),
        ("bust^0", "a number"),
        ("sin(slope)", "a number"),
        ("degrees(slope)", "a number"),
        ("slope / deg(2)", "a number"),
        ("cm", "a length"),
        ("bust / 24 + 3.4", "a length"),
        ("3.4 + bust / 24", "a length"),
        ("92 - bust", "a length"),
        ("bust * fit", "a length"),
        ("3 * cm", "a length"),
        ("max(0, 3, bust)", "a length"),
        ("choose_below(bust, 92, bust / 20, 4)", "a length"),
        ("sqrt(bust * waist)", "a length"),
        ("sqrt(bust^2 - waist^2)", "a length"),
        ("hypot(bust, 4)", "a length"),
        ("abs(-bust)", "a length"),
        ("bust * sin(slope)", "a length"),
        ("bust * waist", "an area"),
        ("bust^2 + 4 * cm^2", "an area"),
        ("sqrt(bust^4)", "an area"),
        ("bust^3", "a length to the power 3"),
        ("1 / bust", "a length to the power -1"),
        ("sqrt(1 / bust^2)", "a length to the power -1"),
        ("slope", "an angle"),
        ("deg(22)", "an angle"),
        ("deg(bust / cm / 4 - 2.5)", "an angle"),
        ("deg(fit)", "an angle"),
        ("slope / 2", "an angle"),
        ("2 * slope", "an angle"),
        ("slope * bust / waist", None),
        ("slope * (bust / waist)", "an angle"),
        ("slope^1", "an angle"),
        ("-slope + deg(2)", "an angle"),
        ("asin(bust / waist)", "an angle"),
        ("acos(0.5)", "an angle"),
        ("atan(fit)", "an angle"),
        ("atan2(bust, waist)", "an angle"),
        ("atan2(bust, 4)", "an angle"),
        ("atan2(fit, 4)", "an angle"),
        ("min(slope, deg(20))", "an angle"),
    ],
)
def test_what_it_is(text: str, measure: str | None) -> None:
    tree = parse(text).tree
    if measure is None:
        with pytest.raises(FormulaError):
            measure_of(tree, KINDS)
    else:
        assert str(measure_of(tree, KINDS)) == measure


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [
        ("bust + fit", 8, "a number cannot be added to a length"),
        ("bust + pi", 8, "Multiply a number by cm"),
        ("bust + slope", 8, "an angle cannot be added to a length"),
        ("bust + 2 + waist / bust", 12, "a number cannot be added to a length"),
        ("slope + 22", 9, "Write deg"),
        ("22 - slope", 6, "Write deg"),
        ("slope + fit", 9, "Write deg"),
        ("bust^2 + 4", 10, r"4 \* cm\^2"),
        ("bust^2 + bust", 10, "a length cannot be added to an area"),
        ("min(bust, fit)", 11, "a number cannot be compared with a length"),
        ("max(slope, 0)", 12, "Write deg"),
        ("choose_below(bust, fit, 1, 2)", 20, "cannot be compared"),
        ("choose_below(1, 2, bust, fit)", 26, "cannot be compared"),
        ("sqrt(bust)", 6, "no square root of a length"),
        ("sqrt(bust^3)", 6, "no square root"),
        ("sqrt(slope)", 6, "no square root of an angle"),
        ("sin(22)", 5, "Write deg"),
        ("cos(bust)", 5, "this is a length"),
        ("tan(fit)", 5, "this is a number"),
        ("degrees(22)", 9, "this is a bare number"),
        ("asin(bust)", 6, "Divide a length by cm"),
        ("acos(slope)", 6, "this is an angle"),
        ("atan(bust^2)", 6, "this is an area"),
        ("deg(bust)", 5, "Divide a length by cm"),
        ("deg(slope)", 5, "this is an angle"),
        ("atan2(bust, fit)", 13, "cannot be compared"),
        ("atan2(slope, slope)", 7, "this is an angle"),
        ("hypot(slope, slope)", 7, "this is an angle"),
        ("hypot(bust, slope)", 13, "cannot be compared"),
        ("slope * bust", 9, "an angle cannot be multiplied by a length"),
        ("bust * slope", 8, "a length cannot be multiplied by an angle"),
        ("slope * slope", 9, "an angle cannot be multiplied by an angle"),
        ("2 / slope", 5, "a bare number cannot be divided by an angle"),
        ("slope / bust", 9, "an angle cannot be divided by a length"),
        ("slope^2", 1, "no powers"),
        ("bust + hip", 8, "nothing has this name"),
    ],
)
def test_units_that_do_not_fit(text: str, column: int, said: str) -> None:
    with pytest.raises(FormulaError, match=said) as caught:
        measure_of(parse(text).tree, KINDS, place="house.toml:7", key="front_width")
    (problem,) = caught.value.problems
    assert (problem.place, problem.key) == ("house.toml:7", "front_width")
    assert problem.said.startswith(f"column {column}: ")


@pytest.mark.parametrize(
    ("text", "fits"),
    [
        ("3.4", {Kind.CM, Kind.NUMBER}),
        ("bust / 2", {Kind.CM}),
        ("bust / waist", {Kind.NUMBER}),
        ("pi", {Kind.NUMBER}),
        ("deg(22)", {Kind.DEG}),
        ("bust * waist", set()),
    ],
)
def test_declared_units(text: str, fits: set[Kind]) -> None:
    tree = parse(text).tree
    for kind in Kind:
        if kind in fits:
            check_kind(tree, KINDS, kind)
        else:
            with pytest.raises(FormulaError, match=f"the unit is {kind}, but the formula gives"):
                check_kind(tree, KINDS, kind)


def test_a_bare_number_is_told_how_to_become_an_angle() -> None:
    with pytest.raises(FormulaError, match="Write deg") as caught:
        check_kind(parse("22").tree, {}, Kind.DEG, place="house.toml:7", key="slope")
    assert str(caught.value).startswith("house.toml:7: slope: the unit is deg")
    assert caught.value.problems[0].accepted == "an angle"


def test_an_angle_is_told_how_to_become_a_number() -> None:
    with pytest.raises(FormulaError, match=r"degrees\(\.\.\.\)"):
        check_kind(parse("slope").tree, KINDS, Kind.NUMBER)
