"""Standard deviations and chances against draws at random, flips, and what to take again."""

from __future__ import annotations

from dataclasses import replace
from math import degrees, inf, sqrt

import numpy as np
import pytest

from blocks.bodice.bodice import neck_frame
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up
from blocks.body.body import rules_used
from blocks.body.measures import asked_for, measurements
from blocks.component import LEAST_ROOM
from collars.falls.from_shoulders import OUTER
from collars.stands.from_neck import ON_NECK
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from drafting.library import data_folder
from drafting.pieces.checks import Check, Verdict, at_least, within
from garment.garment import Garment, make_garment
from garment.wishes import Commission
from tests.workroom.certainty.cards import client, with_collar
from workroom.card.card import read_card_text
from workroom.certainty.drafts import moved_body, numbers_of, order_at
from workroom.certainty.inputs import Reading, estimated, reading, roots_of
from workroom.certainty.sure import (
    NECK,
    Certainty,
    certainty,
    retakes,
    room_chance,
    shares,
    within_tolerance,
)
from workroom.certainty.tipping_points import BOUND, flips, verdicts
from workroom.certainty.worn import Bent, Worn, rules

DRAWS = 10_000
#: What moves no block.
NECK_ALONE = ("collar_top_girth", "collar_top_height", "neck_lean")
DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")


def without(*keys: str) -> Commission:
    card = client()
    taken = {key: value for key, value in card.measurements.items() if key not in keys}
    return replace(card, measurements=taken)


def drawn(found: Certainty, count: int = DRAWS) -> dict[str, FloatArray]:
    """Errors of every root, at random; last those of the neck, which move no block, so that the
    others are drawn the same with and without them."""
    rng = np.random.default_rng(20260314)
    roots = sorted(found.readings, key=NECK_ALONE.__contains__)
    return {root: rng.normal(0.0, found.readings[root].sd, count) for root in roots}


def drawn_bodies(card: Commission, errors: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Bodies as they may really be, all at once."""
    values = {key: value + errors[key] for key, value in card.measurements.items()}
    for key, rule in rules_used(card.measurements).items():
        values[key] = np.asarray(rule.formula.evaluate(values)) + errors[key]
    return values


@pytest.mark.parametrize(
    "card", [client(), client("flat"), without("shoulder_length", "neck_girth", "stature")]
)
def test_every_quantity_is_as_unsure_as_ten_thousand_draws_say(card: Commission) -> None:
    order = make_garment(card)
    found = certainty(order)
    assert order.bodice is not None
    quantities = order.bodice.quantities
    people = drawn_bodies(card, drawn(found))
    inputs = {key: people.get(key, value) for key, value in quantities.inputs.items()}
    many = quantities.method.sheet.evaluate(inputs)
    tried = 0
    for name in quantities:
        sd = found.numbers[name].sd(found.readings)
        if sd > 1e-9:
            assert np.nanstd(many[name]) == pytest.approx(sd, rel=0.03), name
            tried += 1
    assert tried > 25


def test_the_neckline_as_drafted_is_as_unsure_as_ten_thousand_draws_say() -> None:
    order = make_garment(client())
    found = certainty(order, thorough=True)
    assert order.bodice is not None
    quantities = order.bodice.quantities
    people = drawn_bodies(order.commission, drawn(found))
    inputs = {key: people.get(key, value) for key, value in quantities.inputs.items()}
    many = quantities.method.sheet.evaluate(inputs)
    columns = {name: np.broadcast_to(values, DRAWS) for name, values in many.items()}
    halves = [
        neck_frame({name: float(column[k]) for name, column in columns.items()}).half()
        for k in range(DRAWS)
    ]
    drafted = found.numbers["neckline.drafted"]
    assert 2.0 * np.std(halves) == pytest.approx(drafted.sd(found.readings), rel=0.03)


@pytest.mark.parametrize("name", ["demo", "band"])
def test_neckline_and_collar_are_as_unsure_as_whole_drafts_say(name: str) -> None:
    """Sixty whole drafts, each beside what the slopes say of the same errors: the ratio of the
    two standard deviations is known far better than either."""
    card = client(name)
    order = make_garment(card)
    found = certainty(order)
    count = 60
    errors = drawn(found, count)
    keys = ("neckline.back_arc", "neckline.front_arc", "collar.closed_top_girth")
    drafts: list[list[float]] = []
    for k in range(count):
        at = order_at(card, {root: float(error[k]) for root, error in errors.items()})
        drafts.append([at.neckline.back_arc, at.neckline.front_arc, numbers_of(at)[keys[2]]])
    for column, key in zip(np.array(drafts).T, keys, strict=True):
        told = sum(by * errors[root] for root, by in found.numbers[key].slopes.items())
        assert np.std(column) == pytest.approx(float(np.std(told)), rel=0.03)
        assert np.std(told) == pytest.approx(found.numbers[key].sd(found.readings), rel=0.35)


def recut(order: Garment, moves: dict[str, float]) -> tuple[Check, ...]:
    """The checks of the same bodice pieces on another body."""
    assert order.bodice is not None
    draft = order.bodice
    back, front = make_up(draft)
    body = moved_body(order.commission.measurements, moves)
    target = body["neck_base_girth"] + draft.wish.neck_ease
    return check_bodice(
        replace(draft, body=body, fit=replace(draft.fit, target=target)), back, front
    )


def test_pieces_as_cut_are_off_by_what_the_body_really_is() -> None:
    order = make_garment(without("neck_base_girth", "shoulder_slope"))
    found = certainty(order)
    told = {one.check.name: one.worn for one in found.checks}
    names = [row["check"] for row in rules()]
    for root in ("bust_girth", "waist_girth", "neck_base_girth", "neck_girth"):
        before, after = recut(order, {}), recut(order, {root: 0.3})
        for one, other in zip(before, after, strict=True):
            if any(one.name.startswith(name) for name in names):
                slope, on_her = (other.off - one.off) / 0.3, told[one.name]
                assert on_her is not None
                assert slope == pytest.approx(on_her.slopes.get(root, 0.0), abs=1e-9), one.name


def test_checks_on_the_body_as_it_is_hold_as_often_as_draws_say() -> None:
    order = make_garment(client())
    found = certainty(order)
    count = 600
    errors = drawn(found, count)
    told = {one.check.name: one for one in found.checks}
    held = dict.fromkeys(told, 0)
    no_harm = dict.fromkeys(told, 0)
    for k in range(count):
        for check in recut(order, {root: float(error[k]) for root, error in errors.items()}):
            held[check.name] += within_tolerance(check)
            on_her = told[check.name].worn
            if on_her is not None:
                no_harm[check.name] += on_her.low <= check.off <= on_her.high
    tried = [one for one in found.checks if 0.01 < one.on_target < 0.99]
    assert len(tried) >= 3
    for one in tried:
        assert held[one.check.name] / count == pytest.approx(one.on_target, abs=0.06)
        assert no_harm[one.check.name] / count == pytest.approx(one.chance, abs=0.04)


def sured(slope: float, low: float, high: float, *, bent: Bent | None = None) -> Worn:
    return Worn({"neck_girth": slope}, low, high, "", bent=bent)


def of_sd(sd: float, *keys: str) -> dict[str, Reading]:
    return {key: Reading(key, key, sd, "") for key in ("neck_girth", *keys)}


def test_chances_are_those_of_the_normal_distribution() -> None:
    rng = np.random.default_rng(1)
    for check in (
        within("w", 10.1, 10.0, 0.3),
        at_least("l", 10.2, 10.0),
        within("x", 11, 10, 0.3),
    ):
        for sd in (0.05, 0.2, 0.6):
            off = check.off - 2.0 * rng.normal(0.0, sd, 200_000)
            good = off >= 0 if check.least else np.abs(off) <= check.tolerance
            on_her = sured(-2.0, -0.5, 1.0)
            assert on_her.on_target(check, of_sd(sd)) == pytest.approx(np.mean(good), abs=0.005)
            good = (off >= -0.5) & (off <= 1.0)
            assert on_her.chance(check.off, of_sd(sd)) == pytest.approx(np.mean(good), abs=0.005)
            assert on_her.sd(of_sd(sd)) == pytest.approx(2.0 * sd)
    assert sured(1.0, -0.2, 0.2).chance(0.1, of_sd(0.0)) == 1.0
    assert sured(1.0, -0.2, 0.2).chance(0.3, of_sd(0.0)) == 0.0


def test_what_bends_is_followed_as_it_bends() -> None:
    """A neck girth in a straight line, and a height that does nothing when it is more, and a
    centimetre for each when it is less: on one side only."""
    at = tuple(np.linspace(-3.0, 3.0, 25))
    bent = Bent("collar_top_height", at, tuple(min(one, 0.0) for one in at))
    slopes = {"neck_girth": 0.5, "collar_top_height": 0.5}
    on_her = Worn(slopes, -0.5, 0.3, "", bent=bent)
    readings = of_sd(0.2) | {
        "collar_top_height": Reading("collar_top_height", "", 0.8, "", taken=False)
    }
    rng = np.random.default_rng(2)
    off = 0.5 * rng.normal(0.0, 0.2, 400_000) + np.minimum(rng.normal(0.0, 0.8, 400_000), 0.0)
    good = np.mean((off >= -0.5) & (off <= 0.3))
    assert on_her.chance(0.0, readings) == pytest.approx(good, abs=0.004)
    assert on_her.sd(readings) == pytest.approx(np.std(off), rel=0.01)


@pytest.mark.parametrize(
    ("key", "left_out"),
    [
        ("neck_girth", NECK_ALONE),
        ("neck_base_girth", NECK_ALONE),
        ("neck_lean", NECK_ALONE),
        ("collar_top_girth", NECK_ALONE),
        ("neck_base_girth", ()),
        ("collar_top_girth", ()),
        ("collar_top_height", ()),
    ],
)
def test_a_stand_on_another_neck_is_off_by_what_that_neck_would_have_asked(
    key: str, left_out: tuple[str, ...]
) -> None:
    """The neck where the stand as cut lies, against the order drafted anew for that neck."""
    card = with_collar(without(*left_out), rise_by="neck")
    order = make_garment(card)
    (one,) = [one for one in certainty(order).checks if one.worn is not None and one.worn.room]
    assert one.check.name == ON_NECK
    assert order.collar is not None
    on_body = order.collar.on_body[ON_NECK]
    assert on_body.target(order.body.values) == pytest.approx(one.check.target, abs=1e-6)  # type: ignore[union-attr]
    for step in (-0.1, 0.1):
        body = moved_body(card.measurements, {key: step})
        anew = order_at(card, {key: step}).collar
        assert anew is not None
        girth = anew.numbers["neck_at_top"]
        assert on_body.target(body.values) == pytest.approx(girth + on_body.ease, abs=2e-3)


def test_the_chance_of_room_is_that_the_neck_is_not_too_thick() -> None:
    order = make_garment(client())
    found = certainty(order)
    assert order.collar is not None
    assert order.body is not None
    errors = drawn(found)["neck_girth"]
    closed = order.collar.numbers["closed_top_girth"]
    for spare in (0.0, -0.2):
        neck = closed - LEAST_ROOM + spare
        near = make_garment(
            order.commission, replace(order.body, values={**order.body.values, "neck_girth": neck})
        )
        drawn_share = np.mean(closed - (neck + errors) >= LEAST_ROOM)
        assert room_chance(certainty(near)) == pytest.approx(drawn_share, abs=0.02)
    assert room_chance(found) == pytest.approx(1.0, abs=1e-6)
    assert room_chance(certainty(make_garment(client("flat")))) is None


def test_what_a_girth_at_the_top_that_was_not_taken_does_to_the_room() -> None:
    """The closed top edge is cut for what the girth falls to; real necks are 0.9 cm about that."""

    def room(*left_out: str, rise_by: str = "neck") -> float:
        card = without(*left_out)
        values = {"rise_by": rise_by} | ({"rise": 2.0} if rise_by == "number" else {})
        order = make_garment(with_collar(card, **values))
        chance = room_chance(certainty(order))
        assert chance is not None
        return chance

    top = ("collar_top_girth", "collar_top_height")
    assert room() > 0.95
    assert 0.6 < room(*top, "neck_lean") < 0.8
    assert room(*top, "neck_girth") < room(*top)
    assert room("neck_girth") == pytest.approx(room(), abs=1e-9)
    assert room(*top, rise_by="number") == room(rise_by="number")


def test_what_does_no_harm_on_her() -> None:
    """The least ease, not what was wished; a neckline neither chokes nor gapes; round the neck no
    less than the least room. What was asked for is no harm, but round the neck."""
    found = {one.check.name: one for one in certainty(make_garment(client("band"))).checks}
    taken = client("band").measurements
    bounds = {
        name: (one.check.target, one.worn.low, one.worn.high)
        for name, one in found.items()
        if one.worn is not None
    }
    target, low, high = bounds["bust line, before the darts"]
    assert (target + low, high) == (pytest.approx(taken["bust_girth"] + 4.0), inf)
    target, low, _ = bounds["bust line, darts sewn: ease left"]
    assert target + low == pytest.approx(2.5)
    target, low, _ = bounds["hip"]
    assert target + low == pytest.approx(taken["hip_girth"] + 2.0)
    assert bounds["neckline against neck base girth"][1:] == (-0.5, 1.0)
    target, low, high = bounds["closed top edge round the neck"]
    assert (target + low, high) == (pytest.approx(taken["neck_girth"] + LEAST_ROOM), inf)
    shared = {"bust line, before the darts", "waist, darts sewn"}
    assert all(found[name].chance > 0.99 > 0.6 > found[name].on_target for name in shared)
    close = client()
    order = make_garment(with_collar(close, finger_ease=1.0, rise_by="neck"))
    room = room_chance(certainty(order))
    assert room == pytest.approx(0.5, abs=0.05)  # the least room was asked for, and no more


def test_a_check_of_the_pieces_with_each_other_stays_as_it_is_once_cut() -> None:
    card = client("shawl")  # with a back as wide as her shoulder does not allow
    wide = replace(card, measurements={**card.measurements, "across_back_width": 40.9})
    found = certainty(make_garment(wide))
    rows = {one.check.name: one for one in found.checks}
    across = rows["half across back"]
    assert (across.worn, across.sd, across.settled, across.chance) == (None, 0.0, True, 0.0)


def test_an_outer_edge_is_longer_than_its_line_on_shoulders_that_fall_more_steeply() -> None:
    """Against blocks drafted anew for such shoulders, the neckline left as it was cut: that they
    turn the front evenly is near enough."""
    card = client("wing")
    values = {"fall_rise_by": "shoulders", "fall_back": 5.5, "rise_by": "rule"}
    collar = replace(card.collar, kind="two-piece shirt", raw={}, values=values)
    card = replace(card, collar=collar)
    order = make_garment(card)
    assert order.collar is not None
    on_body = order.collar.on_body[OUTER]

    def anew(step: float) -> float:
        other = order_at(card, {"shoulder_slope": step})
        (check,) = [check for check in other.checks if check.name == OUTER]
        return check.target - other.neckline.half

    for step in (-0.05, 0.05):
        body = moved_body(card.measurements, {"shoulder_slope": step})
        moved = on_body.target(body.values) - on_body.target(order.body.values)  # type: ignore[union-attr]
        assert moved == pytest.approx(anew(step) - anew(0.0), rel=0.1)
        assert moved * step < 0.0


def test_readings_follow_the_observers_allowance_or_else_the_class_limit() -> None:
    # NATICK/TR-11/017, App. G: neck base 8 mm between two observers
    assert reading("neck_base_girth").sd == pytest.approx(0.8 / 1.96 / sqrt(2), rel=2e-3)
    # ISO 20685-1: lengths 5 mm
    assert reading("scye_depth").sd == pytest.approx(0.5 / 1.96)
    assert degrees(reading("shoulder_slope").sd) == pytest.approx(2.0)
    assert reading("neck_base_girth").better == pytest.approx(
        reading("neck_base_girth").sd / sqrt(2)
    )
    # ANSUR II: residual SD 0.92 cm of the neck girth from the neck base girth
    rule = measurements()["neck_girth"].estimates[0]
    guess = estimated("neck_girth", rule)
    assert guess.sd == 0.92
    assert guess.better == reading("neck_girth").sd


def test_every_published_residual_stands_beside_its_source() -> None:
    found = 0
    for measurement in measurements().values():
        for rule in measurement.estimates:
            if "residual SD" in rule.source:
                assert rule.residual is not None
                assert f"residual SD {rule.residual:g}" in rule.source.replace(".30", ".3").replace(
                    ".40", ".4"
                )
                found += 1
    assert found > 10


def test_an_estimate_makes_the_collar_less_sure_and_comes_first_to_be_taken() -> None:
    taken, guessed = (
        certainty(make_garment(card)) for card in (client(), without("neck_base_girth"))
    )
    halves = [one.numbers["neckline.half"] for one in (taken, guessed)]
    sds = [half.sd(one.readings) for half, one in zip(halves, (taken, guessed), strict=True)]
    assert sds[1] > 2.5 * sds[0]
    first = retakes(guessed)[0]
    assert first.reading.key == "neck_base_girth"
    assert not first.reading.taken
    assert first.then > first.now


def test_the_neck_base_girth_is_to_be_taken_first() -> None:
    found = certainty(make_garment(client()))
    first = retakes(found)[0]
    assert first.reading.key == "neck_base_girth"
    (check,) = [c for c in found.checks if c.check.name == "neckline against neck base girth"]
    assert first.now == check.chance
    better = {**found.readings, first.reading.key: replace(first.reading, sd=first.reading.better)}
    assert check.worn is not None
    assert first.then == check.worn.chance(check.check.off, better)
    assert first.then > first.now + 0.02


def test_what_the_neckline_depends_on_comes_first_then_what_the_checks_gain_most_from() -> None:
    """A girth at the collar's top that was not taken makes the room surer by more than any other
    reading; the neck base girth goes before it, since nothing of a neckline can be let out, and
    girths after it, those first that make most of a close ease surer."""
    text = (data_folder() / "clients" / "band.toml").read_text(encoding="utf-8")
    close = text.replace('named = "easy"', "bust = 4.2\nwaist = 0.6\nhip = 2.3")
    card = read_card_text(close, "a")
    top = ("collar_top_girth", "collar_top_height")
    taken = {key: value for key, value in card.measurements.items() if key not in top}
    rows = retakes(certainty(make_garment(replace(card, measurements=taken))))
    keys = [row.reading.key for row in rows]
    assert keys[:2] == ["neck_base_girth", "collar_top_girth"]
    assert {"bust_girth", "waist_girth", "hip_girth"} < set(keys)
    gains = [row.gain for row in rows if row.share < NECK]
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > rows[0].gain
    assert len(set(gains)) >= 3


def test_shares_are_of_the_variance() -> None:
    readings = certainty(make_garment(client())).readings
    found = shares({"neck_girth": 3.0, "neck_base_girth": 1.0}, readings)
    parts = [(3.0 * readings["neck_girth"].sd) ** 2, readings["neck_base_girth"].sd ** 2]
    assert list(found) == ["neck_girth", "neck_base_girth"]
    assert found["neck_girth"] == pytest.approx(parts[0] / sum(parts))
    assert sum(found.values()) == pytest.approx(1.0)
    assert shares({}, readings) == {}


def test_a_flip_is_where_the_verdict_changes() -> None:
    order = make_garment(client())
    name = "closed top edge round the neck"
    less, more = flips(order, "neck_base_girth", (name,))
    assert more is None
    assert less is not None
    assert less.now is Verdict.PASS
    # the pieces follow the neck: 2.09 too much, of which 0.3 may stay, goes at 1.03 for each cm
    assert less.move == pytest.approx(-(2.0894 - 0.3) / 1.031, abs=0.03)
    for move, wanted in ((less.move, Verdict.PASS), (less.move + 0.02, Verdict.NOTE)):
        at = order_at(order.commission, {"neck_base_girth": move})
        assert verdicts(at.checks, (name,))[name] is wanted


def test_what_does_not_matter_does_not_flip() -> None:
    order = make_garment(client())
    assert flips(order, "wrist_girth") == (None, None)


def test_where_nothing_can_be_drafted_any_more_is_said() -> None:
    order = make_garment(client())
    less, more = flips(order, "shoulder_length", ("stand at centre back",))
    refused = [flip for flip in (less, more) if flip is not None and flip.refused]
    assert refused
    for flip in refused:
        assert 0.0 < abs(flip.move) <= BOUND
        with pytest.raises(DraftError):
            order_at(order.commission, {"shoulder_length": flip.move})
        order_at(order.commission, {"shoulder_length": 0.98 * flip.move})


def test_a_card_without_a_neck_girth_to_compare_is_told_all_the_same() -> None:
    text = 'client = "Ines"\ndate = 2026-03-14\n[neckline]\nback_arc = 8\nfront_arc = 11\n'
    order = make_garment(read_card_text(text + '[collar]\nkind = "two-piece shirt"\n', "a"))
    found = certainty(order)
    assert set(found.readings) == {"back_arc", "front_arc"}
    assert room_chance(found) is None
    assert found.numbers["neckline.half"].sd(found.readings) == pytest.approx(0.1 * sqrt(2))


def test_roots_hold_every_measurement_there_is() -> None:
    roots = roots_of(client().measurements)
    assert set(roots.readings) == set(asked_for())
