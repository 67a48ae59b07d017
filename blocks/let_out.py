"""Darts that are not sewn: waist darts left open, a back shoulder dart eased in. Centimetres."""

from __future__ import annotations

from dataclasses import replace

from blocks.dart_shapes import dart_called
from blocks.pivot import pivoted
from drafting.curves import Curve, angle_between, tangent_cubic, through
from drafting.pieces import Dart, EdgeName, Mark, MarkKind, Notch, Piece
from drafting.points import Move, Point
from drafting.roots import root_between

#: A scye drawn through an opening leaves its old line this far on either side of it.
_BRIDGED = 4.0
#: Name of the dart that is drawn through at once.
_FULLNESS = "fullness"
_WAIST_DART = "waist dart"


def waist_left_open(piece: Piece) -> tuple[Piece, float]:
    """The piece with its waist darts left out, and by how much its waist is wider.

    The waist is one smooth line: square to side seam and centre as before, through the middle of
    each opening. Waist darts that are only drawn, as lines inside, are left out as well.
    """
    marks = tuple(mark for mark in piece.marks if not _is_waist_dart(mark))
    drills = tuple(d for d in piece.drills if not d.label.endswith(_WAIST_DART))
    darts = waist_darts(piece)
    if not darts and len(marks) == len(piece.marks):
        return piece, 0.0
    done = replace(piece, marks=marks, drills=drills)
    if not darts:
        return done, 0.0
    places = [k for k, edge in enumerate(piece.edges) if edge.name is EdgeName.WAIST]
    first, last = piece.edges[places[0]].curve, piece.edges[places[-1]].curve
    middles = [dart.first.towards(dart.second, 0.5) for dart in darts]
    curve = through([first.start, *middles, last.end], first.start_heading, last.end_heading)
    wider = curve.length - piece.length(EdgeName.WAIST)
    return _drawn_through(done, places[0], places[-1], curve), wider


def _is_waist_dart(mark: Mark) -> bool:
    return mark.kind is MarkKind.STITCH and mark.label.endswith(_WAIST_DART)


def waist_darts(piece: Piece) -> tuple[Dart, ...]:
    """The darts whose mouths lie in the waist, in ring order."""
    found = [d for d in piece.darts if piece.edges[d.mouth - 1].name is EdgeName.WAIST]
    return tuple(sorted(found, key=lambda dart: dart.mouth))


def shoulder_eased(
    piece: Piece, dart_name: str, most: float, at: float
) -> tuple[Piece, float, float]:
    """The back with its shoulder dart left unsewn: the piece, what its shoulder and what its scye
    have more than before.

    The shoulder takes up to ``most``; the rest is turned into the scye (``at`` as in
    :func:`blocks.pivot.pivoted`) and stays there as fullness. Both are drawn through as one smooth
    line. Raises like :func:`blocks.pivot.pivoted`.
    """
    dart = dart_called(piece, dart_name)
    outer, inner = (piece.edges[dart.mouth + side].curve for side in (-1, 1))
    sewn = outer.length + inner.length
    whole = angle_between(dart.first - dart.apex, dart.second - dart.apex)

    def shoulder(shut: float) -> Curve:
        swung = outer.moved(Move.about(dart.apex, shut * whole))
        handle = swung.start.to(inner.end) / 3.0
        return tangent_cubic(
            swung.start, swung.start_heading, inner.end, inner.end_heading, handle, handle
        )

    shut = 0.0
    if shoulder(0.0).length - sewn > most:
        shut = root_between(lambda part: shoulder(part).length - sewn - most, 0.0, 1.0, xtol=1e-13)
    fuller = 0.0
    done = piece
    if shut > 0.0:
        done = pivoted(piece, dart_name, EdgeName.SCYE, at, shut, name=_FULLNESS, held_back=0.0)
        done, fuller = _scye_through(done, dart_called(done, _FULLNESS))
    dart = dart_called(done, dart_name)
    curve = shoulder(shut)
    done = _drawn_through(done, dart.mouth - 1, dart.mouth + 1, curve)
    return done, curve.length - sewn, fuller


def _scye_through(piece: Piece, dart: Dart) -> tuple[Piece, float]:
    before, after = (piece.edges[dart.mouth + side].curve for side in (-1, 1))
    points: list[Point] = []
    for curve, start, end in (
        (before, 0.0, max(before.length - _BRIDGED, before.length / 2)),
        (after, min(_BRIDGED, after.length / 2), after.length),
    ):
        steps = max(round((end - start) / 2.0), 1)
        points += [curve.at_length(start + (end - start) * k / steps) for k in range(steps + 1)]
    curve = through(points, before.start_heading, after.end_heading)
    fuller = curve.length - before.length - after.length
    return _drawn_through(piece, dart.mouth - 1, dart.mouth + 1, curve), fuller


def _drawn_through(piece: Piece, first: int, last: int, curve: Curve) -> Piece:
    """The piece with one edge in place of those from ``first`` to ``last``, the darts between left
    out. Notches keep their distance from the end they are on."""
    gone = last - first
    places = [k if k <= first else max(first, k - gone) for k in range(len(piece.edges))]
    left_out = [dart for dart in piece.darts if first < dart.mouth < last]
    points = [dart.tip for dart in left_out]

    def placed(notch: Notch) -> float:
        if notch.edge == last:
            return curve.length - (piece.edges[last].length - notch.at)
        if first < notch.edge < last:
            return curve.length_to(curve.nearest(piece.notch_point(notch))[0])
        return notch.at

    return replace(
        piece,
        edges=(
            *piece.edges[:first],
            replace(piece.edges[first], curve=curve),
            *piece.edges[last + 1 :],
        ),
        darts=tuple(
            replace(dart, mouth=places[dart.mouth]) for dart in piece.darts if dart not in left_out
        ),
        notches=tuple(
            replace(notch, edge=places[notch.edge], at=placed(notch)) for notch in piece.notches
        ),
        drills=tuple(drill for drill in piece.drills if drill.at not in points),
    )
