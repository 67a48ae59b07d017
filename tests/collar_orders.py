"""Orders of collars as they may come in, and what must hold of every collar that is drafted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
import shapely
from hypothesis import strategies as st

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.checks import Check, failed
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import CutPlan, Edge, Piece, seam_mismatch
from drafting.tolerances import SAME_POINT

Wishes = dict[str, float | str]


@st.composite
def necklines(draw: st.DrawFn) -> Neckline:
    """Half necklines of blouses and coats, neck and shoulders known or not."""
    back, front = draw(st.floats(7, 11)), draw(st.floats(9, 19))
    return sewn_to(
        back,
        front,
        shoulders_slope=draw(st.none() | st.floats(0.4, 1.0)),
        neck_girth=draw(st.none() | st.floats(27, 48)),
    )


@st.composite
def orders(
    draw: st.DrawFn, kind: str, narrow: Mapping[str, tuple[float, float]] | None = None
) -> tuple[Neckline, Wishes]:
    """A neckline and wishes for some of a collar's parameters, anywhere within their ranges or
    within the ``narrow`` ones."""
    wishes: Wishes = {}
    for key, rule in COLLARS[kind].parameters.items():
        if draw(st.booleans()):
            if rule.choices:
                wishes[key] = draw(st.sampled_from(rule.choices))
            else:
                wishes[key] = draw(st.floats(*(narrow or {}).get(key, (rule.low, rule.high))))
    return draw(necklines()), wishes


def sewn_to(back: float, front: float, **known: Any) -> Neckline:
    """A neckline that belongs to a bodice, its curves straight lines of those lengths."""
    return Neckline(
        back,
        front,
        line(Point(0, 0), Point(back, 0)),
        line(Point(back, 0), Point(back + front, 0)),
        **known,
    )


def bodice(neckline: Neckline) -> tuple[Piece, Piece]:
    """Back and front with necklines of those lengths, and nothing else to them."""

    def piece(code: str, arc: float) -> Piece:
        a, b, c = Point(0, 0), Point(arc, 0), Point(0, 5)
        edges = (
            Edge(EdgeName.NECKLINE, line(a, b)),
            Edge(EdgeName.SHOULDER, line(b, c)),
            Edge(EdgeName.CENTRE_BACK, line(c, a)),
        )
        return Piece(code, code, edges, CutPlan(), (a, c))

    return piece("BACK", neckline.back_arc), piece("FRONT", neckline.front_arc)


def draft(kind: str, neckline: Neckline, wishes: Mapping[str, float | str]) -> CollarDraft:
    """A collar by its name."""
    return COLLARS[kind].draft(CollarBase(neckline), wishes)


def attempt(kind: str, neckline: Neckline, wishes: Wishes) -> CollarDraft | DraftError:
    """The collar, or why there is none."""
    try:
        return draft(kind, neckline, wishes)
    except DraftError as error:
        return error


def refused(kind: str, neckline: Neckline, **wishes: float | str) -> dict[str, str]:
    """What is refused, by its key."""
    with pytest.raises(DraftError) as caught:
        draft(kind, neckline, wishes)
    return {problem.key: str(problem) for problem in caught.value.problems}


def check(collar: CollarDraft, name: str) -> Check:
    """The one check of a name."""
    (found,) = [one for one in collar.checks if one.name == name]
    return found


def assert_sound(neckline: Neckline, collar: CollarDraft) -> None:
    """Outlines simple and counter-clockwise, edges end to end, folds on the axis, notches on their
    edges, grain inside, and every seam as long on both sides as planned."""
    for piece in collar.pieces:
        outline = shapely.LinearRing(piece.outline())
        assert outline.is_simple
        assert outline.is_ccw
        for edge, after in zip(piece.edges, piece.edges[1:] + piece.edges[:1], strict=True):
            assert edge.curve.end.to(after.curve.start) < SAME_POINT
            if edge.on_fold:
                assert abs(edge.curve.start.x) < 1e-9
                assert abs(edge.curve.end.x) < 1e-9
        assert piece.cut.on_fold == any(edge.on_fold for edge in piece.edges)
        names = [notch.name for notch in piece.notches]
        assert {"centre back", "shoulder"} <= set(names)
        for notch in piece.notches:
            assert -1e-9 <= notch.at <= piece.edges[notch.edge].length + 1e-6
        inside = shapely.Polygon(outline).buffer(1e-9)
        assert all(inside.contains(shapely.Point(*p)) for p in piece.grain)
        for mark in piece.marks:
            assert inside.buffer(1e-3).contains(shapely.LineString(mark.curve.flatten()))
        for drill in piece.drills:
            assert inside.contains(shapely.Point(*drill.at))
    sewn = [seam for seam in collar.seams if seam.second.edge is EdgeName.NECKLINE]
    assert [seam.second.piece for seam in sewn] == ["BACK", "FRONT"]
    for seam in collar.seams:
        pieces = (*bodice(neckline), *collar.pieces)
        assert seam_mismatch(pieces, seam) == pytest.approx(0.0, abs=1e-4)


def assert_sound_or_refused(kind: str, order: tuple[Neckline, Wishes], *also: str) -> None:
    """A collar is sound, or each reason against it has its key, what was got and what to do; and
    ``also`` what else it has."""
    collar = attempt(kind, *order)
    if isinstance(collar, DraftError):
        told = ("key", "got", "advice", *also)
        assert all(getattr(problem, part) for problem in collar.problems for part in told)
    else:
        assert_sound(order[0], collar)


def assert_fails_only_when_it_chokes(kind: str, order: tuple[Neckline, Wishes], room: str) -> None:
    """A collar is drafted and sound, and its one check that may fail, ``room`` round the neck,
    fails just when there is less than a centimetre."""
    collar = attempt(kind, *order)
    assert not isinstance(collar, DraftError), collar
    assert_sound(order[0], collar)
    neck = order[0].neck_girth
    tight = neck is not None and collar.numbers["closed_top_girth"] < neck + 1.0
    assert [one.name for one in failed(collar.checks)] == [room] * tight


def assert_can_be_cut(collar: CollarDraft) -> None:
    """Every piece opens at its fold and has a cut line round it."""
    for piece in collar.pieces:
        whole = piece.with_allowances({EdgeName.NECK_SEAM: 0.6}, 1.0)
        folds = piece.cut.on_fold
        if folds:
            whole = opened(whole)
        area, full = (shapely.Polygon(p.outline()).area for p in (piece, whole))
        assert full == pytest.approx((2 if folds else 1) * area, rel=1e-3)
        assert cut_line(whole).polygon().contains(shapely.Polygon(whole.outline()))
