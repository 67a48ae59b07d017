"""What must hold of every collar traced from laid shoulders, and of its refusals."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
import shapely

from blocks.edges import EdgeName
from collars.drafts import CollarBase, CollarDraft
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between
from drafting.geometry.points import Point
from drafting.pieces.piece import NotchKind, Piece, seam_mismatch, stretch_length


def attempt(kind: str, ground: CollarBase, wishes: Mapping[str, float | str]) -> CollarDraft | None:
    """The collar, or ``None`` when it is refused with a key, what was found and what to do."""
    try:
        return COLLARS[kind].draft(ground, wishes)
    except DraftError as error:
        assert all(p.key and p.got and p.advice for p in error.problems)
        return None


def sound_piece(piece: Piece) -> None:
    outline = shapely.LinearRing(piece.outline())
    assert outline.is_simple
    assert outline.is_ccw
    area = shapely.Polygon(outline).buffer(1e-9)
    assert all(area.contains(shapely.Point(*end)) for end in piece.grain)
    assert piece.grain[0].x == pytest.approx(piece.grain[1].x)
    assert piece.grain[1].y > piece.grain[0].y + 1.0
    assert piece.label_at is not None
    assert area.contains(shapely.Point(*piece.label_at))
    assert {notch.name for notch in piece.notches} == {"centre back", "shoulder", "centre front"}
    assert {notch.kind for notch in piece.notches} == {NotchKind.SINGLE}
    back, front = piece.named(EdgeName.NECK_SEAM)
    break_ = angle_between(back.curve.end_heading, front.curve.start_heading)
    assert break_ == pytest.approx(0.0, abs=1e-6)
    assert back.curve.start_heading.cross(Point(1.0, 0.0)) == pytest.approx(0.0, abs=1e-9)
    folds = [edge for edge in piece.edges if edge.on_fold]
    assert len(folds) == int(piece.cut.on_fold)
    for fold in folds:
        assert abs(fold.curve.start.x) < 1e-9
        assert abs(fold.curve.end.x) < 1e-9


def sound(collar: CollarDraft, ground: CollarBase) -> None:
    """Outlines, notches, seams: to the real pieces of the bodice where they have this neckline."""
    upper, under = collar.pieces
    for piece in collar.pieces:
        sound_piece(piece)
    assert upper.cut.cloth == under.cut.cloth
    assert shapely.Polygon(upper.outline()).buffer(1e-2).contains(shapely.Polygon(under.outline()))
    arcs = {"BACK": ground.neckline.back_arc, "FRONT": ground.neckline.front_arc}
    table = (*collar.pieces, ground.back, ground.front)
    for seam in collar.seams:
        if seam.second.piece in arcs:
            length = stretch_length(collar.pieces, seam.first)
            assert length - arcs[seam.second.piece] - seam.ease == pytest.approx(0.0, abs=1e-3)
            assert abs(seam.ease) < 1.0
        if seam.second.piece not in arcs or ground.neckline.shape != "v":
            assert seam_mismatch(table, seam) == pytest.approx(0.0, abs=1e-3)
    walked = [seam for seam in collar.seams if seam.second.piece in arcs]
    assert [seam.second.piece for seam in walked] == ["BACK", "FRONT"]
    for piece in collar.pieces:
        # walked from centre back, the shoulder notch meets the shoulder seam, its ease eased in
        notch = next(n for n in piece.notches if n.name == "shoulder")
        from_back = sum(edge.length for edge in piece.edges[: notch.edge]) + notch.at
        assert from_back - walked[0].ease == pytest.approx(arcs["BACK"], abs=1e-3)
        front = next(n for n in piece.notches if n.name == "centre front")
        whole = sum(edge.length for edge in piece.edges[: front.edge]) + front.at
        eased = walked[0].ease + walked[1].ease
        assert whole - eased == pytest.approx(ground.neckline.half, abs=1e-3)
