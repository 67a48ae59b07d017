"""What the tests of both lapel collars share: a block to draft on, and what must hold of every
draft."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import BACK, FRONT, make_up
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.edges import EdgeName
from collars.drafts import CollarBase, CollarDraft
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.checks import Check, Verdict
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Dart, Edge, Piece, seam_mismatch
from drafting.units import LengthUnit
from tests.strategies import bodies

_CM = LengthUnit.CM
FIGURE = {"bust_girth": 88.0, "waist_girth": 68.0, "back_waist_length": 39.0}

#: Wishes a maker might have, by parameter: the ordinary part of its range.
USUAL: dict[str, tuple[float, float]] = {
    "stand_back": (2.0, 3.5),
    "break_height": (-8.0, 6.0),
    "swing": (1.0, 6.0),
    "neck_ease": (0.0, 0.3),
    "lapel_width": (6.5, 9.5),
    "facing_shoulder": (3.0, 4.5),
    "facing_hem": (5.0, 7.0),
    "gorge_drop": (4.0, 8.0),
    "gorge_slope": (0.0, 0.6),
    "notch_step": (2.5, 4.0),
    "collar_front": (2.5, 4.5),
    "notch_angle": (0.9, 1.6),
    "lapel_belly": (0.0, 0.8),
}


@cache
def ground(method: str = "bust-proportional", button_stand: float = 2.0) -> CollarBase:
    draft = draft_bodice(complete(FIGURE), BlockWish(method, button_stand=button_stand))
    return CollarBase(draft.neckline, *make_up(draft))


def draft(kind: str, on: CollarBase | None = None, **wishes: float | str) -> CollarDraft:
    return COLLARS[kind].draft(on or ground(), wishes)


def problems(kind: str, on: CollarBase | None = None, **wishes: float | str) -> dict[str, str]:
    """What is refused, by its key."""
    with pytest.raises(DraftError) as caught:
        draft(kind, on, **wishes)
    return {problem.key: str(problem) for problem in caught.value.problems}


def check(collar: CollarDraft, name: str) -> Check:
    found = [one for one in collar.checks if one.name == name]
    assert found, name
    return found[0]


@st.composite
def grounds(draw: st.DrawFn) -> CollarBase:
    """Back and front of a woman as a survey would find her, drafted with a button stand."""
    wish = BlockWish(
        draw(st.sampled_from(method_names())),
        fit=draw(st.sampled_from(["none", "none", "front", "both"])),
        button_stand=draw(st.sampled_from([1.5, 2.0, 3.0])),
    )
    body = complete(draw(bodies()))
    try:
        drafted = draft_bodice(body, wish)
    except DraftError:
        drafted = draft_bodice(body, replace(wish, fit="none"))
    return CollarBase(drafted.neckline, *make_up(drafted))


def wishes_for(kind: str, *, anything: bool = False) -> st.SearchStrategy[dict[str, float | str]]:
    """Some of a collar's parameters, in the ordinary part of their ranges or anywhere in them."""
    fields: dict[str, Any] = {}
    for key, rule in COLLARS[kind].parameters.items():
        if rule.choices:
            fields[key] = st.sampled_from(rule.choices)
        elif anything:
            low, high = (rule.read(end, _CM) for end in (rule.low, rule.high))
            fields[key] = st.floats(low, high)
        elif key in USUAL:
            fields[key] = st.floats(*USUAL[key])
    return st.fixed_dictionaries({}, optional=fields)


def all_pieces(on: CollarBase, collar: CollarDraft) -> dict[str, Piece]:
    """Every piece of the garment by code, the changed ones in the place of the old."""
    assert on.back is not None
    assert on.front is not None
    kept = {BACK: on.back, FRONT: on.front} | dict(collar.bodice)
    return kept | {piece.code: piece for piece in collar.pieces}


def sound(on: CollarBase, collar: CollarDraft) -> None:
    """Outlines simple and anti-clockwise, seams that meet, notches on their edges, grain inside,
    cloth to cut round; and the rest of the front as it was."""
    pieces = all_pieces(on, collar)
    assert set(collar.bodice) == {FRONT}
    for piece in (*collar.bodice.values(), *collar.pieces):
        outline = shapely.LinearRing(piece.outline())
        assert outline.is_simple
        assert outline.is_ccw
        inside = shapely.Polygon(outline).buffer(1e-6)
        assert all(inside.contains(shapely.Point(*p)) for p in piece.grain)
        for notch in piece.notches:
            assert -1e-9 <= notch.at <= piece.edges[notch.edge].length + 1e-6
        for mark in piece.marks:
            assert all(
                inside.buffer(0.01).contains(shapely.Point(*p)) for p in mark.curve.flatten()
            )
        allowed = piece.with_allowances({}, 1.0)
        assert cut_line(allowed).polygon().contains(shapely.Polygon(outline).buffer(-0.1))
        assert shapely.LinearRing(opened(piece).outline()).is_simple
    for seam in collar.seams:
        assert abs(seam_mismatch(pieces.values(), seam)) < 1e-6, seam.name
        assert abs(seam.ease) < 0.4 + 3.0 * collar.numbers["turn_of_cloth"], seam.name
    changed = pieces[FRONT]
    assert on.front is not None
    for dart in on.front.darts:
        (kept,) = [one for one in changed.darts if one.name == dart.name]
        assert changed.edges[kept.mouth].name is EdgeName.DART_MOUTH
        assert changed.edges[kept.mouth].curve.start.to(dart.first) < 1e-9
        assert changed.edges[kept.mouth].curve.end.to(dart.second) < 1e-9
    for name in (EdgeName.SHOULDER, EdgeName.SCYE, EdgeName.SIDE_SEAM, EdgeName.WAIST):
        assert changed.length(name) == pytest.approx(on.front.length(name), abs=1e-9)
    for notch in on.front.notches:
        where = on.front.notch_point(notch)
        if on.front.edges[notch.edge].name is not EdgeName.NECKLINE:
            same = [one for one in changed.notches if one.name == notch.name]
            assert min(changed.notch_point(one).to(where) for one in same) < 1e-9
    assert not changed.named(EdgeName.NECKLINE)


def notches_meet(on: CollarBase, collar: CollarDraft) -> None:
    """Along each seam that is not eased, notches of one name lie opposite each other."""
    pieces = all_pieces(on, collar)
    met = 0
    for seam in collar.seams:
        sides = [(pieces[side.piece], side.edge, side.index) for side in (seam.first, seam.second)]
        if abs(seam.ease) > 1e-9 or BACK in (seam.first.piece, seam.second.piece):
            continue
        found = []
        for piece, name, index in sides:
            places = [k for k, edge in enumerate(piece.edges) if edge.name is name]
            place = places[index or 0]
            length = piece.edges[place].length
            found.append((length, {n.name: n.at for n in piece.notches if n.edge == place}))
        (length, first), (_, second) = found
        for name in first.keys() & second.keys():
            same_way = abs(first[name] - second[name])
            other_way = abs(first[name] - (length - second[name]))
            assert min(same_way, other_way) < 1e-6, (seam.name, name)
            met += 1
    assert met


def turned_ring(piece: Piece, by: int) -> Piece:
    """The same piece with its ring begun elsewhere."""
    count = len(piece.edges)
    return replace(
        piece,
        edges=piece.edges[by:] + piece.edges[:by],
        notches=tuple(replace(n, edge=(n.edge - by) % count) for n in piece.notches),
        darts=tuple(replace(d, mouth=(d.mouth - by) % count) for d in piece.darts),
    )


def long_front(piece: Piece, drop: float = 20.0) -> Piece:
    """The front drawn on below the waist: a hem in the place of the waist, a side seam of two
    edges, no waist darts."""
    edges = list(piece.edges)
    first = piece.place(EdgeName.FRONT_EDGE)
    start = edges[first].curve.start
    below = edges[-1].curve.end
    out, low = Point(start.x, start.y - drop), Point(below.x - 1.0, below.y - drop)
    corner = edges[first - 1].curve.start
    centre = Point(corner.x, corner.y - drop)
    new = [
        Edge(EdgeName.HEM, line(low, centre)),
        Edge(EdgeName.BUTTON_STAND_END, line(centre, out)),
        Edge(EdgeName.FRONT_EDGE, line(out, edges[first].curve.end)),
        *edges[first + 1 :],
        Edge(EdgeName.SIDE_SEAM, line(below, low)),
    ]
    shift = first - 2
    return replace(
        piece,
        edges=tuple(new),
        notches=tuple(replace(n, edge=n.edge - shift) for n in piece.notches if n.edge > first),
        darts=tuple(replace(d, mouth=d.mouth - shift) for d in piece.darts if d.mouth > first),
    )


def with_dart_in(piece: Piece, name: EdgeName) -> Piece:
    """The front with a small dart cut into the middle of its first edge of a name."""
    place = piece.place(name)
    edge = piece.edges[place]
    before, rest = edge.curve.split_at_length(0.45 * edge.length)
    cap, after = rest.split_at_length(0.1 * edge.length)
    apex = cap.start + before.end_heading.left * 6.0
    parts = (
        Edge(name, before),
        Edge(EdgeName.DART_MOUTH, line(cap.start, cap.end)),
        Edge(name, after),
    )
    return replace(
        piece,
        edges=piece.edges[:place] + parts + piece.edges[place + 1 :],
        notches=tuple(
            replace(n, edge=n.edge + (2 if n.edge > place else 0)) for n in piece.notches
        ),
        darts=(
            *(replace(d, mouth=d.mouth + (2 if d.mouth > place else 0)) for d in piece.darts),
            Dart("neck dart", apex, apex, cap.start, cap.end, place + 1),
        ),
    )


def assert_passes(kind: str, on: CollarBase) -> None:
    """The collar with nothing asked of it is sound, its notches meet and every check passes."""
    collar = draft(kind, on)
    sound(on, collar)
    notches_meet(on, collar)
    assert [one.name for one in collar.checks if one.verdict is not Verdict.PASS] == []
