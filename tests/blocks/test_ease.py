"""Ease by name and by number: what is asked is what the pieces measure, and nothing else moves."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.bodice.checks import BREATHING_EASE, check_bodice
from blocks.bodice.making_up import make_up, seams
from blocks.bodice.methods import method, method_names, quantities
from blocks.body.body import Body, complete
from blocks.body.ease import EASE_INPUTS, EaseWish, ease_names, named_ease, settle_ease
from blocks.edges import EdgeName
from drafting.errors import DraftError
from drafting.library import read_data
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.piece import seam_mismatch
from drafting.tolerances import GIRTH
from tests.strategies import bodies

METHODS = st.sampled_from(method_names())
NAMES = ("", *ease_names())
BODY = {
    "bust_girth": 92.0,
    "waist_girth": 74.0,
    "back_waist_length": 39.0,
    "neck_base_girth": 37.0,
    "neck_girth": 33.0,
}


def drafted(chosen: str, wish: EaseWish, body: Body | None = None) -> BodiceDraft:
    return draft_bodice(body or complete(BODY), BlockWish(chosen, ease=wish))


def scye(draft: BodiceDraft) -> float:
    front = draft.front_scye
    return draft.back_scye.curve.length + front.upper.length + front.lower.length


@settings(max_examples=50)
@given(taken=bodies(), chosen=METHODS, named=st.sampled_from(NAMES))
def test_the_girths_are_the_body_and_the_wished_ease(
    taken: dict[str, float], chosen: str, named: str
) -> None:
    body = complete(taken)
    draft = drafted(chosen, EaseWish(named), body)
    back, front = pieces = make_up(draft)
    checks = check_bodice(draft, back, front)
    bust, waist = (named_ease(named)[k] if named else None for k in ("bust", "waist"))
    q = draft.quantities

    width = next(c for c in checks if c.name == "bust line, before the darts").measured
    assert width == pytest.approx(body["bust_girth"] + (bust or q["bust_ease"]), abs=GIRTH)
    sewn = 2 * (back.length(EdgeName.WAIST) + front.length(EdgeName.WAIST))
    assert sewn == pytest.approx(body["waist_girth"] + (waist or q["waist_ease"]), abs=GIRTH)
    for seam in seams(draft):
        assert abs(seam_mismatch(pieces, seam)) < 1e-6
    assert all(Polygon(piece.outline()).is_valid for piece in pieces)
    assert all(
        "neckline against" in c.name or ("ease left" in c.name and c.measured < BREATHING_EASE)
        for c in failed(checks)
    )


@pytest.mark.parametrize("chosen", method_names())
def test_without_a_choice_nothing_moves_at_all(chosen: str) -> None:
    body = complete(BODY)
    plain = quantities(method(chosen), body, neck_ease=0.5)
    draft = drafted(chosen, EaseWish())

    assert dict(draft.quantities) == dict(plain)
    assert not draft.ease.chosen
    assert set(draft.ease.inputs.values()) == {0.0}
    assert draft.ease.bust == {"bust-proportional": 12.0, "direct-measure": 10.0}[chosen]
    assert draft.points["underarm point"].y == 0.0


@pytest.mark.parametrize("chosen", method_names())
@pytest.mark.parametrize("bust", [78.0, 94.0, 118.0])
def test_looser_choices_grow_everywhere_and_leave_neck_and_bust_point_alone(
    chosen: str, bust: float
) -> None:
    """Armholes stay what a cutter accepts: deeper, longer, wider, never beyond the shoulder."""
    body = complete(BODY | {"bust_girth": bust, "waist_girth": bust - 18.0})
    drafts = [drafted(chosen, EaseWish(named), body) for named in ease_names()]
    plain = drafted(chosen, EaseWish(), body)
    q = [draft.quantities for draft in drafts]

    for one, other in pairwise(drafts):
        assert one.quantities["half_width"] < other.quantities["half_width"]
        assert one.quantities["back_width"] < other.quantities["back_width"]
        assert one.quantities["front_width"] < other.quantities["front_width"]
        assert scye(one) < scye(other)
    for draft in drafts:
        centre = draft.quantities["half_width"] - draft.points["bust point"].x
        assert centre == pytest.approx(
            plain.quantities["half_width"] - plain.points["bust point"].x, abs=1e-9
        )
        assert draft.points["bust point"].y == pytest.approx(plain.points["bust point"].y, abs=1e-9)
        assert draft.fit.drafted == pytest.approx(plain.fit.drafted, abs=0.25)
        pitch, tip = draft.back_scye.pitch, draft.shoulder.point
        assert pitch.x < tip.x
        # The underarm is drawn flatter than it is deep: no point, no cup.
        width = draft.quantities["scye_dart_x"] - draft.quantities["back_width"]
        assert 0.16 < width / scye(draft) < 0.4
    assert q[-1]["underarm_y"] == -named_ease("overshirt")["scye"]


@pytest.mark.parametrize("chosen", method_names())
def test_the_widths_take_their_shares_and_the_scye_the_rest(chosen: str) -> None:
    plain, wide = (drafted(chosen, wish).quantities for wish in (EaseWish(), EaseWish(bust=20.0)))
    more = (20.0 - plain["bust_ease"]) / 2.0
    shares = read_data("ease").values["shares"]
    back, front = (shares[f"{side}_width"]["value"] for side in ("back", "front"))
    grown = {key: wide[key] - plain[key] for key in ("half_width", "back_width", "front_width")}

    assert grown["half_width"] == pytest.approx(more)
    assert grown["back_width"] == pytest.approx(back * more)
    assert grown["front_width"] == pytest.approx(front * more)
    scyes = [q["scye_dart_x"] - q["back_width"] for q in (plain, wide)]
    assert scyes[1] - scyes[0] == pytest.approx((1.0 - back - front) * more)


@pytest.mark.parametrize("chosen", method_names())
@pytest.mark.parametrize(
    ("key", "value", "quantity", "grows"),
    [
        ("waist", 20.0, "waist_ease", None),
        ("scye", 2.0, "underarm_y", -2.0),
        ("back_width", 1.0, "back_width", 1.0),
        ("front_width", 0.7, "front_width", 0.7),
        ("shoulder", 0.8, "front_shoulder_length", 0.8),
        ("shoulder", 0.8, "back_shoulder_length", 0.8),
    ],
)
def test_each_number_can_be_changed_by_itself(
    chosen: str, key: str, value: float, quantity: str, grows: float | None
) -> None:
    plain, changed = (
        drafted(chosen, wish).quantities for wish in (EaseWish(), EaseWish(**{key: value}))
    )
    if grows is None:
        assert changed[quantity] == pytest.approx(value)
    else:
        assert changed[quantity] - plain[quantity] == pytest.approx(grows, abs=1e-9)
    assert changed["half_width"] == plain["half_width"]


@pytest.mark.parametrize("chosen", method_names())
def test_a_lifted_shoulder_rises_at_its_outer_end(chosen: str) -> None:
    plain, lifted = (drafted(chosen, wish) for wish in (EaseWish(), EaseWish(shoulder_lift=0.6)))

    for draft_end in ("front shoulder point", "back shoulder point"):
        rise = lifted.points[draft_end].y - plain.points[draft_end].y
        assert rise == pytest.approx(0.6, abs=0.2)
    assert lifted.points["front side neck point"] == plain.points["front side neck point"]


@pytest.mark.parametrize("chosen", method_names())
def test_the_derivation_says_what_the_ease_adds(chosen: str) -> None:
    body = complete(BODY)
    draft = drafted(chosen, EaseWish("overshirt"), body)
    sheet = method(chosen).sheet
    told = "\n".join(sheet.explain("half_width", draft.quantities.inputs))

    assert "extra bust ease" in told
    assert f"{22.0 - draft.ease.published_bust:.2f}" in told


def test_a_settled_ease_is_the_choice_with_its_numbers_changed() -> None:
    ease = settle_ease(EaseWish("easy", bust=18.0, hip=14.0), bust=10.0, waist=6.0)
    named = named_ease("easy")

    assert (ease.bust, ease.hip) == (18.0, 14.0)
    assert (ease.waist, ease.scye) == (named["waist"], named["scye"])
    assert tuple(ease.inputs) == EASE_INPUTS
    assert ease.inputs["bust_ease_more"] == 8.0
    assert ease.chosen


def test_an_unknown_ease_names_the_known_ones() -> None:
    with pytest.raises(DraftError, match="there is no such ease") as caught:
        drafted("direct-measure", EaseWish("baggy"))

    assert caught.value.problems[0].accepted == ", ".join(ease_names())


def test_numbers_out_of_range_are_all_named() -> None:
    with pytest.raises(DraftError) as caught:
        drafted("direct-measure", EaseWish(bust=1.0, scye=9.0, hip=7.0))

    assert [p.key for p in caught.value.problems] == ["garment.ease.bust", "garment.ease.scye"]
    assert caught.value.problems[0].accepted == "4 to 40 cm"
    assert all(p.advice for p in caught.value.problems)


def test_every_number_has_a_source_and_choices_run_from_close_to_loose() -> None:
    data = read_data("ease").values
    rows = [row for table in data["named"].values() for row in table.values()]
    rows += [*data["shares"].values(), *data["limits"].values(), *data["own"].values()]
    girths = [named_ease(named) for named in ease_names()]

    assert all(row["source"] for row in rows)
    for key in ("bust", "waist", "hip"):
        numbers = [ease[key] for ease in girths]
        assert numbers == sorted(set(numbers))
    for ease in girths:
        for key, value in ease.items():
            assert data["limits"][key]["least"] <= value <= data["limits"][key]["most"]


def test_a_close_choice_that_darts_eat_up_is_noted_and_not_stopped() -> None:
    """Asked for, it is a matter of taste as long as she can breathe; unasked it stops cutting."""
    body = complete(BODY | {"waist_girth": 66.0})
    close = drafted("bust-proportional", EaseWish("close", bust=7.0), body)
    (left,) = [c for c in check_bodice(close, *make_up(close)) if "ease left" in c.name]
    tight = drafted("bust-proportional", EaseWish("close", bust=4.0), body)
    (gone,) = [c for c in check_bodice(tight, *make_up(tight)) if "ease left" in c.name]

    assert BREATHING_EASE <= left.measured < 4.0
    assert left.verdict is Verdict.NOTE
    assert gone.measured < BREATHING_EASE
    assert gone.verdict is Verdict.FAIL
