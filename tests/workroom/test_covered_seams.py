"""What lies over the neck seam of a collar: a back neck facing or a bias strip, in every order."""

from __future__ import annotations

from math import pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.methods import method_names
from blocks.edges import EdgeName
from collars.registry import COLLARS
from drafting.drawing.drawing import Labels
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between
from drafting.library import data_folder
from drafting.pieces.piece import Piece, Seam, seam_mismatch
from garment.garment import Garment, make_garment
from tests.strategies import bodies
from workroom.card.card import open_card, read_card_text
from workroom.making import order_of_making
from workroom.papers.cloth.cutting_list import cutting_list, cutting_list_lines

LAPELS, LAID_ON = ("notched", "shawl"), ("flat", "eton", "one-piece shirt", "sailor")
FINISHES = ("", 'facing = "separate"', 'facing = "cut on"', 'facing = "none"')


LABELS = Labels("Ann", "2026-03-14", "Blouse 12", "direct measure")


def order_of(
    kind: str,
    body: dict[str, float],
    finish: str = "",
    method: str = "bust-proportional",
    stand: str = "",
) -> Garment:
    taken = "\n".join(f"{key} = {value}" for key, value in body.items())
    return make_garment(
        read_card_text(
            f'client = "Ann"\ndate = 2026-01-02\n[measurements]\n{taken}\n'
            f'[garment]\nmethod = "{method}"\n{stand}\n[garment.finish]\n{finish}\n'
            f'[collar]\nkind = "{kind}"\n',
            "card",
        )
    )


def piece(order: Garment, code: str) -> Piece:
    return next(one for one in order.pieces if one.code == code)


def seams_of(order: Garment, code: str, edge: EdgeName) -> list[Seam]:
    return [
        seam
        for seam in order.seams
        if (code, edge)
        in ((seam.first.piece, seam.first.edge), (seam.second.piece, seam.second.edge))
    ]


def assert_back_neck_facing(order: Garment, front_facing: str) -> None:
    facing, back = piece(order, "BACK-FACING"), piece(order, "BACK")
    assert facing.title == "Back neck facing"
    assert Polygon(facing.outline()).is_valid
    assert facing.length(EdgeName.NECKLINE) == pytest.approx(back.length(EdgeName.NECKLINE))
    (neck,) = seams_of(order, "BACK-FACING", EdgeName.NECKLINE)
    assert abs(seam_mismatch(order.pieces, neck)) < 1e-3
    (shoulder,) = seams_of(order, "BACK-FACING", EdgeName.SHOULDER)
    assert {shoulder.first.piece, shoulder.second.piece} == {"BACK-FACING", front_facing}
    assert abs(seam_mismatch(order.pieces, shoulder)) < 1e-6
    # one width all along: no farther from the neckline at one place than at another
    line = facing.named(EdgeName.NECKLINE)[0].curve
    outer = facing.named(EdgeName.FACING_EDGE)[0].curve
    at = facing.length(EdgeName.SHOULDER)
    edge = facing.named(EdgeName.SHOULDER)[0].curve
    width = at * sin(abs(angle_between(edge.end_heading, line.start_heading)))
    away = line.nearest_to(outer.xy(outer.samples(8)))[1]
    assert float(away.max()) < at + 0.1
    assert float(away.min()) > width - 0.3
    assert facing.named(EdgeName.CENTRE_BACK)[0].length == pytest.approx(width, abs=1e-6)
    # with the shoulders sewn the inner edges of both facings are one line, square to the seam
    turn = angle_between(outer.end_heading, edge.start_heading)
    assert abs(turn) == pytest.approx(pi / 2, abs=1e-3)
    front = piece(order, front_facing)
    assert facing.cut.on_fold == (facing.cut.cloth == 1)
    assert bool(facing.cut.interfacing) == bool(front.cut.interfacing)


def assert_bias_strip(order: Garment) -> None:
    strip, front = piece(order, "BIAS"), piece(order, "FRONT")
    ring = Polygon(strip.outline())
    assert ring.is_valid
    assert ring.exterior.is_ccw
    assert ring.minimum_rotated_rectangle.area == pytest.approx(ring.area)
    width = strip.named(EdgeName.FACING_EDGE)[0].length
    assert 0.9 <= width <= 1.3
    grain = strip.grain[1] - strip.grain[0]
    assert abs(grain.angle) % (pi / 2) == pytest.approx(pi / 4)
    # from the end of one facing to that of the other
    free = order.neckline.half
    if front.named(EdgeName.NECK_SEAM):
        free -= front.named(EdgeName.NECK_SEAM)[0].length
    assert strip.length(EdgeName.NECK_SEAM) == pytest.approx(2.0 * free, abs=1e-3)
    sewn = seams_of(order, "BIAS", EdgeName.NECK_SEAM)
    assert len(sewn) == len(strip.named(EdgeName.NECK_SEAM))
    assert all(abs(seam_mismatch(order.pieces, seam)) < 1e-6 for seam in sewn)
    # the notches stand where the shoulders and the middle are
    back = order.neckline.back_arc
    middle = strip.length(EdgeName.NECK_SEAM) / 2.0
    at = {
        (notch.name, round(float(strip.notch_point(notch).x - middle), 3))
        for notch in strip.notches
    }
    if any(edge.on_fold for edge in front.named(EdgeName.CENTRE_FRONT)):
        back = order.neckline.front_arc
        assert {side for name, side in at if name == "centre front"} == {0.0}
    else:
        assert {side for name, side in at if name == "centre back"} == {0.0}
    shoulders = sorted(side for name, side in at if name == "shoulder")
    assert np.allclose(shoulders, [-back, back], atol=2e-3)


@pytest.mark.parametrize("kind", [*LAPELS, *LAID_ON])
@settings(max_examples=6, deadline=None)
@given(body=bodies(), method=st.sampled_from(method_names()), finish=st.sampled_from(FINISHES))
def test_the_neck_seam_is_covered_on_every_body(
    kind: str, body: dict[str, float], method: str, finish: str
) -> None:
    try:
        order = order_of(kind, body, finish, method)
    except DraftError:
        return
    codes = {one.code for one in order.pieces}
    assert ("BACK-FACING" in codes) != ("BIAS" in codes)
    if kind in LAPELS:
        assert_back_neck_facing(order, "FACING")
    elif "BACK-FACING" in codes:
        assert_back_neck_facing(order, "FRONT-FACING")
    else:
        assert_bias_strip(order)


MEAN = {"bust_girth": 92.0, "waist_girth": 74.0, "back_waist_length": 40.0}


@pytest.mark.parametrize(
    ("kind", "finish", "over"),
    [
        ("sailor", "", "BACK-FACING"),
        ("sailor", 'facing = "cut on"', "BIAS"),
        ("flat", "", "BIAS"),
        ("flat", 'facing = "separate"', "BACK-FACING"),
        ("one-piece shirt", 'facing = "separate"', "BACK-FACING"),
        ("eton", 'facing = "none"', "BIAS"),
        ("band", 'facing = "separate"', ""),
        ("two-piece shirt", "", ""),
        ("tie", "", ""),
        ("notched", "", "BACK-FACING"),
    ],
)
def test_what_covers_the_seam(kind: str, finish: str, over: str) -> None:
    order = order_of(kind, MEAN, finish)
    assert {one.code for one in order.pieces} & {"BACK-FACING", "BIAS"} == {over} - {""}


def test_on_a_front_cut_on_the_fold_the_strip_opens_at_centre_back() -> None:
    order = order_of("flat", MEAN, stand="button_stand = 0")
    assert_bias_strip(order)
    first = seams_of(order, "BIAS", EdgeName.NECK_SEAM)[0]
    assert first.second.piece == "BACK"


@pytest.mark.parametrize("kind", LAPELS)
def test_the_upper_collar_of_a_lapel_is_sewn_to_the_facing_and_the_under_one_to_the_back(
    kind: str,
) -> None:
    order = order_of(kind, MEAN)
    (inside,) = seams_of(order, "BACK-FACING", EdgeName.NECKLINE)
    (outside,) = seams_of(order, "BACK", EdgeName.NECKLINE)
    upper, under = ("UPPER", "UNDER") if kind == "notched" else ("FACING", "FRONT")
    assert (inside.first.piece, outside.first.piece) == (upper, under)


def test_the_strip_is_listed_by_its_own_length_and_width() -> None:
    order = open_card(data_folder() / "clients" / "eton.toml")
    drafted = make_garment(order)
    strip = piece(drafted, "BIAS")
    (row,) = [row for row in cutting_list(drafted.pieces) if row.code == "BIAS"]
    allowed = order.garment.allowance("neckline") + order.garment.allowance("facing")
    ends = 2.0 * order.garment.allowance("facing")
    sewn = strip.length(EdgeName.NECK_SEAM)
    width = strip.named(EdgeName.FACING_EDGE)[0].length
    assert row.strip == pytest.approx((sewn + ends, width + allowed), abs=0.02)
    said = "\n".join(cutting_list_lines([row], LABELS, order.unit))
    assert (
        f"grain on the bias; a strip {sewn + ends:.1f} cm long and {width + allowed:.1f} cm wide"
        in said
    )
    assert [row.code for row in cutting_list(drafted.pieces) if row.strip] == ["BIAS"]


@pytest.mark.parametrize("kind", COLLARS)
def test_the_order_of_making_names_no_piece_that_is_not_there(kind: str) -> None:
    order = order_of(kind, MEAN)
    said = " ".join(order_of_making(order).lines())
    codes = {one.code for one in order.pieces}
    assert ("the bias strip" in said) == ("BIAS" in codes)
    assert "back neck facing" not in said or "BACK-FACING" in codes
    assert "Sew what is left" not in said
