"""A V on a front that buttons: it runs straight on over the stand and ends at the front edge, where
the top button is."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from blocks.bodice.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.edges import EdgeName
from blocks.finishing.buttonholes import with_buttonholes
from blocks.finishing.facing import faced_front
from blocks.finishing.front_edge import button_stand_for, figures
from blocks.neckline.on_block import NeckChange
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, line
from drafting.geometry.points import Point
from drafting.library import data_folder
from drafting.pieces.checks import failed
from drafting.pieces.piece import Edge, Piece
from garment.garment import make_garment
from tests.fronts import BODY
from workroom.card.card import read_card_text

DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
ON = "neckline, straight on to the front edge"


def drafted(
    lower: float, stand: float, chosen: str = "direct-measure", shape: str = "v"
) -> BodiceDraft:
    wish = BlockWish(
        chosen, "both", style=NeckChange(-lower, 1.0), neck_shape=shape, button_stand=stand
    )
    return draft_bodice(complete(BODY), wish)


def top_of(front: Piece) -> tuple[Edge, Edge]:
    """The neckline and its run over the button stand."""
    place = front.place(EdgeName.NECKLINE)
    return front.edges[place], front.edges[place - 1]


@settings(max_examples=40)
@given(
    lower=st.floats(3.0, 12.0),
    stand=st.floats(0.8, 3.0),
    chosen=st.sampled_from(method_names()),
)
def test_a_v_runs_straight_on_to_the_front_edge(lower: float, stand: float, chosen: str) -> None:
    draft = drafted(lower, stand, chosen)
    back, front = make_up(draft)
    neck, on = top_of(front)
    point, end = neck.curve.start, on.curve.start

    assert on.name is EdgeName.BUTTON_STAND_END
    assert abs(angle_between(on.curve.end_heading, neck.curve.start_heading)) < 1e-9
    assert end.x - point.x == pytest.approx(stand, abs=1e-9)
    assert end.y < point.y - 0.4 * stand  # no shelf: a V slopes by far more than that
    assert front.named(EdgeName.FRONT_EDGE)[0].curve.end.to(end) < 1e-12
    # what is sewn ends on centre front as before, and the rest of its line is known to collars
    assert point.to(draft.frame.front_neck) < 1e-12
    assert draft.neckline.front_arc == pytest.approx(neck.length, abs=1e-9)
    assert draft.neckline.beyond == pytest.approx(on.length, abs=1e-9)
    checks = {check.name: check for check in check_bodice(draft, back, front)}
    assert checks[ON] not in failed(tuple(checks.values()))


@pytest.mark.parametrize("shape", ["round", "square"])
def test_other_necklines_run_level_to_the_front_edge(shape: str) -> None:
    draft = drafted(4.0, 1.5, shape=shape)
    _, on = top_of(make_up(draft)[1])

    assert on.curve.start.y == pytest.approx(on.curve.end.y, abs=1e-9)
    assert draft.neckline.beyond == pytest.approx(1.5, abs=1e-9)


def test_a_shelf_at_the_point_of_a_v_fails_its_check() -> None:
    draft = drafted(9.0, 1.5)
    back, front = make_up(draft)
    place = front.place(EdgeName.NECKLINE) - 1
    point, edge = front.edges[place].curve.end, front.edges[place - 1].curve
    corner = point + Point(1.5, 0.0)
    edges = list(front.edges)
    edges[place - 1] = replace(edges[place - 1], curve=line(edge.start, corner))
    edges[place] = replace(edges[place], curve=line(corner, point))
    shelf = replace(front, edges=tuple(edges))

    assert ON in {check.name for check in failed(check_bodice(draft, back, shelf))}


@settings(max_examples=30)
@given(lower=st.floats(3.0, 12.0), button=st.floats(0.9, 2.5))
def test_the_top_button_lies_where_the_v_meets_the_edge(lower: float, button: float) -> None:
    """Or as much lower as its rim needs to be clear of the line above it."""
    stand = button_stand_for(button)
    front = make_up(drafted(lower, stand))[1]
    neck, on = top_of(front)
    done = with_buttonholes(front, button=button, count=2)
    top = done.positions[0]
    clear = LineString(on.curve.flatten()).distance(LineString([tuple(top), tuple(top)]))
    least = button / 2.0 + figures("buttonholes")["below_neck"]

    assert clear >= least - 1e-9
    if clear > least + 1e-9:
        assert top.y == pytest.approx(on.curve.start.y, abs=1e-9)
    assert top.x == pytest.approx(neck.curve.start.x, abs=1e-9)


@pytest.mark.parametrize("kind", ["cut on", "separate"])
def test_a_facing_follows_the_v_to_the_edge(kind: str) -> None:
    front = make_up(drafted(9.0, 1.5))[1]
    faced = faced_front(front, kind=kind)

    assert not failed(faced.checks)
    assert all(Polygon(p.outline()).is_valid for p in (faced.front, *faced.pieces))
    if kind == "separate":
        (piece,) = faced.pieces
        assert piece.length(EdgeName.BUTTON_STAND_END) == pytest.approx(
            front.length(EdgeName.BUTTON_STAND_END), abs=1e-9
        )


def test_a_v_that_runs_out_at_the_waist_is_refused_and_does_at_the_width_accepted() -> None:
    with pytest.raises(DraftError, match="meets the front edge so low") as caught:
        make_up(drafted(18.0, 7.0))
    (problem,) = caught.value.problems
    most = float(problem.accepted.removeprefix("up to ").split(" cm")[0])

    assert problem.key == "garment.button_stand"
    _, front = make_up(drafted(18.0, most))
    assert with_buttonholes(front, button=1.1, count=1).positions
    with pytest.raises(DraftError):
        make_up(drafted(18.0, most + 0.2))


def test_a_band_on_a_v_runs_on_to_the_front_edge() -> None:
    text = DEMO.replace('kind = "two-piece shirt"', 'kind = "band"')
    text += '\n[neckline.style]\nshape = "v"\nfront_lower = 8.0\n'
    order = make_garment(read_card_text(text, "card"))
    front = next(piece for piece in order.pieces if piece.code == "FRONT")
    _, on = top_of(front)
    band = next(piece for piece in order.pieces if piece.code == "BAND")
    seam = sum(edge.length for edge in band.named(EdgeName.NECK_SEAM))

    assert on.length > 2.0
    assert seam == pytest.approx(order.neckline.half + on.length, abs=1e-6)
