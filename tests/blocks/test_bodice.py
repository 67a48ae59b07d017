"""What must hold of every bodice, whoever it is drafted for."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from math import pi, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up, seams
from blocks.bodice.methods import method, method_names, read_method, vocabulary
from blocks.bodice.scye import SHOULDER_OVER_BACK
from blocks.body.body import complete
from blocks.body.ease import EaseWish
from blocks.edges import EdgeName
from blocks.neckline.on_block import NeckChange
from drafting.errors import DraftError, FormulaError
from drafting.geometry.curves import angle_between, line
from drafting.geometry.points import Point
from drafting.library import read_toml
from drafting.pieces.checks import Check, Verdict, failed
from drafting.pieces.piece import Piece, seam_mismatch
from tests.strategies import bodies, scrawls

METHODS = st.sampled_from(method_names())
#: A back wider than this shoulder allows.
WIDE_BACK = {
    "bust_girth": 96.0,
    "waist_girth": 80.0,
    "back_waist_length": 41.0,
    "neck_base_girth": 37.6,
    "shoulder_length": 11.6,
    "across_back_width": 39.5,
}
FITS = st.sampled_from(["none", "front", "side", "both"])


@settings(max_examples=60)
@given(taken=bodies(), chosen=METHODS, fit=FITS, stand=st.sampled_from([0.0, 1.5, 3.0]))
def test_a_womans_bodice_is_sound(
    taken: dict[str, float], chosen: str, fit: str, stand: float
) -> None:
    body = complete(taken)
    try:
        draft = draft_bodice(body, BlockWish(chosen, fit=fit, button_stand=stand))
    except DraftError as error:
        refusal = str(error)
    else:
        refusal = ""
    if refusal:
        assert fit != "none"  # only a correction may be refused for a survey-like woman
        assert "the neckline cannot be fitted this way" in refusal
        return
    pieces = make_up(draft)
    back, front = pieces

    for piece in pieces:
        sound(piece)
    for seam in seams(draft):
        assert abs(seam_mismatch(pieces, seam)) < 1e-6
    waist = 2 * (back.length(EdgeName.WAIST) + front.length(EdgeName.WAIST))
    assert waist == pytest.approx(body["waist_girth"] + draft.quantities["waist_ease"], abs=1e-4)
    assert all("neckline against" in c.name for c in failed(check_bodice(draft, back, front)))
    if fit != "none":
        assert 2 * draft.neckline.half == pytest.approx(body["neck_base_girth"] + 0.5, abs=0.001)
    square(draft.frame.back_curve().start_heading, Point(1.0, 0.0), 0.0)
    square(draft.frame.front_curve().end_heading, Point(1.0, 0.0), 0.0)
    at_front = angle_between(draft.frame.front_out, draft.frame.front_curve().start_heading)
    at_back = angle_between(-draft.frame.back_curve().end_heading, draft.shoulder.inner_heading)
    assert at_front + at_back == pytest.approx(pi, abs=1e-6)
    # Each may lie 22 degrees off square (common practice) as long as both make 180 degrees.
    assert abs(at_front - pi / 2) <= radians(22)
    square(draft.front_scye.upper.start_heading, draft.frame.front_out, pi / 2)
    square(draft.back_scye.curve.start_heading, draft.shoulder.outer_heading, pi / 2)


def sound(piece: Piece) -> None:
    """Closed (a piece refuses anything else), simple, counter-clockwise; darts, notches right."""
    ring = Polygon(piece.outline())
    assert ring.is_valid
    assert ring.exterior.is_ccw
    for dart in piece.darts:
        assert dart.legs[0] == pytest.approx(dart.legs[1], abs=1e-6)
        assert ring.buffer(1e-6).contains(Polygon([dart.first, dart.tip, dart.second]).centroid)
    for notch in piece.notches:
        assert 0.0 <= notch.at <= piece.edges[notch.edge].length + 1e-9


@settings(max_examples=20)
@given(taken=bodies(), chosen=METHODS)
def test_a_button_stand_is_added_beyond_centre_front_and_else_it_is_a_fold(
    taken: dict[str, float], chosen: str
) -> None:
    body = complete(taken)
    _, folded = make_up(draft_bodice(body, BlockWish(chosen)))
    _, opened = make_up(draft_bodice(body, BlockWish(chosen, button_stand=1.5)))
    (fold,) = folded.named(EdgeName.CENTRE_FRONT)
    (edge,) = opened.named(EdgeName.FRONT_EDGE)
    (mark,) = opened.marks

    assert fold.on_fold
    assert folded.cut.on_fold
    assert not folded.named(EdgeName.FRONT_EDGE)
    assert not any(edge.on_fold for edge in opened.edges)
    assert opened.cut.mirrored_pair
    assert edge.curve.start.x - fold.curve.start.x == pytest.approx(1.5, abs=1e-9)
    assert edge.curve.end.x - fold.curve.end.x == pytest.approx(1.5, abs=1e-9)
    assert edge.length == pytest.approx(fold.length, abs=1e-9)
    assert mark.curve.length == pytest.approx(fold.length, abs=1e-9)
    for name in (EdgeName.NECKLINE, EdgeName.WAIST, EdgeName.SHOULDER):
        assert opened.length(name) == folded.length(name)
    centres = [opened.notch_point(n) for n in opened.notches if n.name == "centre front"]
    assert centres[0].to(mark.curve.start) < 1e-6
    assert centres[1].to(mark.curve.end) < 1e-6


@settings(max_examples=20)
@given(taken=bodies(), chosen=METHODS)
def test_notches_meet_across_the_seams(taken: dict[str, float], chosen: str) -> None:
    back, front = make_up(draft_bodice(complete(taken), BlockWish(chosen)))
    side = [
        piece.edges[notch.edge].length - notch.at if piece is back else notch.at
        for piece in (back, front)
        for notch in piece.notches
        if notch.name == "side seam"
    ]
    (on_back,) = [n for n in back.notches if n.name == "armhole back"]
    (on_front,) = [n for n in front.notches if n.name == "armhole front"]
    underarm = front.edges[on_front.edge].length - on_front.at

    assert side[0] == pytest.approx(side[1], abs=1e-6)
    assert back.edges[on_back.edge].name is front.edges[on_front.edge].name is EdgeName.SCYE
    assert on_back.at == pytest.approx(7.0, abs=1e-9)
    assert 2.0 < underarm <= 7.0 + 1e-9
    for piece in (back, front):
        assert len({(n.edge, n.at) for n in piece.notches}) == len(piece.notches)


def square(heading: Point, against: Point, angle: float) -> None:
    assert abs(angle_between(heading, against)) == pytest.approx(angle, abs=1e-6)


@settings(max_examples=150)
@given(taken=scrawls(), chosen=METHODS, fit=FITS)
def test_any_measurements_a_card_accepts_draft_or_are_refused_with_a_reason(
    taken: dict[str, float], chosen: str, fit: str
) -> None:
    try:
        body = complete(taken)
        draft = draft_bodice(body, BlockWish(chosen, fit=fit, button_stand=1.5))
        pieces = make_up(draft)
    except DraftError as error:
        assert all(problem.said for problem in error.problems)
        return
    check_bodice(draft, *pieces)
    assert all(Polygon(piece.outline()).exterior.is_ccw for piece in pieces)
    for seam in seams(draft):
        assert abs(seam_mismatch(pieces, seam)) < 1e-6


@settings(max_examples=25)
@given(taken=bodies(), chosen=METHODS)
def test_a_side_correction_keeps_the_shoulders_length_and_match(
    taken: dict[str, float], chosen: str
) -> None:
    body = complete(taken)
    plain = draft_bodice(body, BlockWish(chosen))
    side = next(c for c in plain.fit.corrections if c.key == "side")
    if side.change is None:
        assert side.refused
        return
    moved = plain.frame.changed(side.change)
    shift = side.change.side_shift

    kept = min(max(-shift, 0.0), plain.frame.shoulder_room)
    length = plain.frame.front_length - shift - kept
    assert moved.front_length == pytest.approx(length, abs=1e-9)
    assert moved.back_side.to(plain.frame.back_side) == pytest.approx(abs(shift), abs=1e-9)
    assert moved.front_tip.to(plain.frame.front_tip) == pytest.approx(kept, abs=1e-9)
    assert moved.back_tip.to(plain.frame.back_tip) == pytest.approx(kept, abs=1e-9)


PLAIN = {
    "bust_girth": 92.0,
    "waist_girth": 74.0,
    "back_waist_length": 40.0,
    "neck_base_girth": 36.0,
}


@settings(max_examples=25)
@given(taken=bodies(), chosen=METHODS, fit=st.sampled_from(["side", "both"]))
def test_a_narrowed_neckline_leaves_the_shoulder_its_length(
    taken: dict[str, float], chosen: str, fit: str
) -> None:
    """The shoulder points come in with the sides, never inside the width lines."""
    body = complete(taken)
    try:
        draft = draft_bodice(body, BlockWish(chosen, fit))
    except DraftError:
        return
    plain = draft_bodice(body, BlockWish(chosen))
    assert draft.fit.applied is not None
    assert draft.fit.applied.change is not None
    change, room = draft.fit.applied.change, plain.frame.shoulder_room
    narrowed = -change.side_shift
    longer = draft.frame.front_length - plain.frame.front_length

    if narrowed >= 0.0:
        assert longer == pytest.approx(max(narrowed - room, 0.0), abs=1e-9)
    else:
        assert longer == pytest.approx(narrowed, abs=1e-9)
    assert draft.fit.fitted == pytest.approx(draft.fit.target, abs=1e-6)
    assert draft.back_scye.eased <= plain.back_scye.eased + 1e-9
    pieces = make_up(draft)
    for seam in seams(draft):
        assert abs(seam_mismatch(pieces, seam)) < 1e-6
    told = " ".join(map(str, draft.notes))
    assert ("shoulder points" in told) == (narrowed >= 0.05)
    assert ("cm longer: judge it" in told) == (narrowed >= 0.05 and longer >= 0.05)


def test_what_fitting_at_the_side_does_to_the_shoulder_is_told_in_numbers() -> None:
    """Thirteen and a tenth drafted; all of it would have become 14.0 and 14.8."""
    body = complete(PLAIN)
    both, side = (
        draft_bodice(body, BlockWish("bust-proportional", fit)) for fit in ("both", "side")
    )

    assert both.frame.front_length == pytest.approx(13.09, abs=0.01)
    assert "come in by 0.9 cm" in str(both.notes[-1])
    assert "keeps its 13.1 cm" in str(both.notes[-1])
    assert "by only 1.4 cm" in str(side.notes[-1])
    assert "now 13.4 cm, 0.3 cm longer" in str(side.notes[-1])


def test_a_shoulder_that_is_not_hers_is_told_with_the_ease_that_makes_it_hers() -> None:
    body = complete(PLAIN | {"shoulder_length": 14.2})

    def shoulder(ease: EaseWish) -> list[Check]:
        draft = draft_bodice(body, BlockWish("bust-proportional", "both", ease=ease))
        found = check_bodice(draft, *make_up(draft))
        return [check for check in found if check.name == "shoulder against her shoulder length"]

    (told,) = shoulder(EaseWish())
    more = re.search(r"ease to ([\d.]+) cm", told.advice)
    assert told.verdict is Verdict.NOTE
    assert more is not None
    drawn = draft_bodice(
        body, BlockWish("bust-proportional", "both", ease=EaseWish(shoulder=float(more[1])))
    )
    assert drawn.frame.front_length == pytest.approx(14.2, abs=0.06)


def demo(**wish: object) -> BlockWish:
    return BlockWish("direct-measure", **wish)  # type: ignore[arg-type]


BODY = {
    "bust_girth": 92.0,
    "waist_girth": 74.0,
    "back_waist_length": 39.0,
    "neck_base_girth": 37.0,
    "neck_girth": 33.0,
}


def test_a_style_neckline_is_longer_and_called_that() -> None:
    body = complete(BODY)
    style = NeckChange(front_raise=-2.0, side_shift=1.0, back_lower=1.0)
    close = draft_bodice(body, demo(fit="both"))
    low = draft_bodice(body, demo(fit="both", style=style))
    named = [c.name for c in check_bodice(low, *make_up(low))]

    assert low.fit.fitted == pytest.approx(close.fit.fitted, abs=1e-6)
    # Lowered by 1 at the back and side and 2 at the front: about 6.6 more (published sensitivity
    # of a close neckline: M. Müller & Sohn, Peter Pan collar).
    assert low.fit.finished - low.fit.fitted == pytest.approx(6.6, abs=1.5)
    assert "style neckline, longer by design" in named


def test_a_correction_the_body_does_not_allow_names_the_others() -> None:
    body = complete(BODY | {"neck_base_girth": 31.0})
    with pytest.raises(DraftError, match=r"still .* too long") as caught:
        draft_bodice(body, BlockWish("bust-proportional", fit="side"))

    assert caught.value.problems[0].accepted


def test_raising_the_front_neck_point_always_shortens() -> None:
    frame = draft_bodice(complete(BODY), demo()).frame
    halves = [frame.changed(NeckChange(front_raise=k / 4)).half() for k in range(-8, 14)]

    assert all(a > b for a, b in pairwise(halves))


def test_both_methods_fill_the_vocabulary() -> None:
    for key in method_names():
        assert set(vocabulary()) <= set(method(key).sheet.entries)


def test_a_method_with_mistakes_lists_them_all_by_line() -> None:
    head = (
        '[method]\ntitle = "x"\nneeds = ["bust_girth"]\nsource = "x"\nmade_for = "x"\n'
        "bust_made_for = [1, 2]\n[quantities]\n"
    )
    text = head + 'half_width = "bust_grith / 2"\nbust_ease = "deg(12)"\nwaist_ease = "6 +"\n'
    with pytest.raises(FormulaError) as caught:
        read_method(read_toml(text, "mine.toml"), "mine")
    said = str(caught.value)

    assert "mine.toml:8" in said
    assert "bust_girth" in said
    assert "mine.toml:9" in said
    assert "mine.toml:10" in said
    assert "nape_height" in said  # missing


@pytest.mark.parametrize(
    ("code", "spoilt"),
    [
        ("BACK", "neckline of the pieces against the draft"),
        ("FRONT", "neckline of the pieces against the draft"),
        ("BACK", "neckline, shoulders together"),
        ("FRONT", "neckline, shoulders together"),
        ("BACK", "neckline square at centre back"),
        ("FRONT", "neckline square at centre front"),
    ],
)
def test_the_checks_are_made_on_the_pieces_that_are_cut(code: str, spoilt: str) -> None:
    """A piece whose neckline was cut straight across fails, however sound its draft was."""
    draft = draft_bodice(complete(BODY), demo(fit="both", button_stand=1.5))
    pieces = make_up(draft)
    straight = tuple(with_straight_neckline(p) if p.code == code else p for p in pieces)

    assert failed(check_bodice(draft, *pieces)) == ()
    assert spoilt in [check.name for check in failed(check_bodice(draft, *straight))]


def with_straight_neckline(piece: Piece) -> Piece:
    return replace(
        piece,
        edges=tuple(
            replace(edge, curve=line(edge.curve.start, edge.curve.end))
            if edge.name is EdgeName.NECKLINE
            else edge
            for edge in piece.edges
        ),
    )


def test_a_back_wider_than_the_shoulder_is_eased_in_to_just_below_it() -> None:
    """The scye stays where the shoulder carries it, and the check says how far in that is."""
    draft = draft_bodice(complete(WIDE_BACK), BlockWish("direct-measure"))
    shoulder, planned = draft.shoulder.point, draft.quantities["back_width"]
    pitch = draft.back_scye.pitch
    assert pitch.x == pytest.approx(shoulder.x - SHOULDER_OVER_BACK, abs=1e-9)
    assert pitch.x < planned - 0.2
    nearest = draft.back_scye.curve.nearest(pitch)[1]
    assert nearest < 1e-6
    checks = {one.name: one for one in check_bodice(draft, *make_up(draft))}
    across = checks["half across back"]
    assert (across.measured, across.target) == pytest.approx((pitch.x, planned), abs=1e-9)
