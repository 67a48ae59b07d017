"""Sample pieces with a known look: a yoke, a bodice-like front and back, a stand strip, a collar
fall with sharp points, and blobs. Centimetres, y up, counter-clockwise."""

from __future__ import annotations

from math import cos, pi, sin

from blocks.edges import EdgeName
from drafting.geometry.curves import Curve, bezier, line, polyline, tangent_cubic, through
from drafting.geometry.points import Point
from drafting.pieces.piece import (
    CutPlan,
    Dart,
    Drill,
    Edge,
    Mark,
    MarkKind,
    Notch,
    NotchKind,
    Piece,
)


def yoke() -> Piece:
    """A skirt yoke, half, centre front on the fold: curved waist and lower edge, square corners."""
    top_fold, low_fold = Point(0.0, 10.0), Point(0.0, 0.0)
    top_side, low_side = Point(18.0, 12.5), Point(20.5, 3.0)
    right = Point(1.0, 0.0)
    down = (low_side - top_side).unit
    waist = tangent_cubic(top_side, down.right, top_fold, -right, 6.0, 6.0)
    lower = tangent_cubic(low_fold, right, low_side, down.left, 7.0, 7.0)
    return Piece(
        code="YOKE",
        title="Yoke",
        edges=(
            Edge(EdgeName.CENTRE_FRONT, line(top_fold, low_fold), on_fold=True),
            Edge(EdgeName.HEM, lower, allowance=1.0),
            Edge(EdgeName.SIDE_SEAM, line(low_side, top_side), allowance=2.0),
            Edge(EdgeName.WAIST, waist, allowance=1.0),
        ),
        cut=CutPlan(cloth=1, on_fold=True),
        grain=(Point(4.0, 1.5), Point(4.0, 9.0)),
        notches=(Notch("side", 1, 9.0), Notch("hip", 2, 5.0, NotchKind.DOUBLE)),
    )


def front() -> Piece:
    """A bodice-like front, centre front to the right with a button stand, a waist dart with a
    roofed mouth and a bust dart in the scye; hollow neckline and scye."""
    side_low, mouth_in, mouth_out = Point(3.0, 0.0), Point(13.5, 0.0), Point(16.5, 0.0)
    roof = Point(15.0, -0.45)
    edge_low, edge_top = Point(28.0, -1.0), Point(28.0, 32.0)
    snp, sp = Point(19.0, 40.5), Point(8.0, 36.5)
    bust = Point(15.5, 19.0)
    leg_high, leg_low = Point(5.7, 26.8), Point(4.6, 23.4)
    underarm = Point(0.5, 19.5)
    roof_scye = Point(4.55, 25.3)
    return Piece(
        code="FRONT",
        title="Front",
        edges=(
            Edge(EdgeName.WAIST, line(side_low, mouth_in), allowance=1.5),
            Edge(EdgeName.DART_MOUTH, polyline((mouth_in, roof, mouth_out)), allowance=1.5),
            Edge(
                EdgeName.WAIST,
                tangent_cubic(mouth_out, Point(1.0, 0.0), edge_low, Point(1.0, 0.0), 4.0, 4.0),
                allowance=1.5,
            ),
            Edge(EdgeName.FRONT_EDGE, line(edge_low, edge_top), allowance=1.0),
            Edge(
                EdgeName.NECKLINE,
                tangent_cubic(edge_top, Point(-1.0, 0.0), snp, Point(0.08, 1.0), 5.2, 4.6),
                allowance=0.6,
            ),
            Edge(EdgeName.SHOULDER, line(snp, sp), allowance=1.5),
            Edge(
                EdgeName.SCYE,
                tangent_cubic(sp, Point(0.25, -1.0), leg_high, Point(-0.3, -1.0), 3.5, 3.0),
                allowance=1.0,
            ),
            Edge(EdgeName.DART_MOUTH, polyline((leg_high, roof_scye, leg_low)), allowance=1.0),
            Edge(
                EdgeName.SCYE,
                tangent_cubic(leg_low, Point(-0.25, -1.0), underarm, Point(-1.0, 0.1), 1.6, 1.6),
                allowance=1.0,
            ),
            Edge(EdgeName.SIDE_SEAM, line(underarm, side_low), allowance=2.0),
        ),
        cut=CutPlan(cloth=2, mirrored_pair=True),
        grain=(Point(22.5, 3.0), Point(22.5, 28.0)),
        darts=(
            Dart("waist dart", bust, Point(15.4, 16.5), mouth_in, mouth_out, 1),
            Dart("bust dart", bust, Point(12.9, 20.9), leg_high, leg_low, 7),
        ),
        notches=(
            Notch("centre front", 4, 2.0),
            Notch("scye front", 6, 6.0),
            Notch("side", 9, 9.0),
        ),
        marks=(
            Mark(
                MarkKind.CENTRE_FRONT, line(Point(26.0, -0.95), Point(26.0, 32.0)), "centre front"
            ),
            *(
                Mark(MarkKind.BUTTONHOLE, line(Point(24.9, y), Point(26.3, y)))
                for y in (3.0, 12.0, 21.0, 30.0)
            ),
        ),
        drills=(Drill(Point(15.4, 16.5)), Drill(Point(12.9, 20.9))),
        notes=("ease 6 at the bust",),
    )


def back() -> Piece:
    """A bodice-like back, centre back on the fold to the left, a shoulder dart, double notch."""
    nape, low = Point(0.0, 40.0), Point(0.0, 0.0)
    snp, sp = Point(7.5, 42.3), Point(19.0, 38.2)
    first, second = Point(12.6, 40.48), Point(11.2, 40.98)
    roof = Point(12.0, 41.05)
    underarm, side_low = Point(23.5, 19.5), Point(21.0, 0.0)
    return Piece(
        code="BACK",
        title="Back",
        edges=(
            Edge(EdgeName.CENTRE_BACK, line(nape, low), on_fold=True),
            Edge(EdgeName.WAIST, line(low, side_low), allowance=1.5),
            Edge(EdgeName.SIDE_SEAM, line(side_low, underarm), allowance=2.0),
            Edge(
                EdgeName.SCYE,
                through(
                    (underarm, Point(19.5, 23.0), Point(18.4, 30.0), sp),
                    start=Point(-1.0, 0.0),
                    end=Point(0.15, 1.0),
                ),
                allowance=1.0,
            ),
            Edge(EdgeName.SHOULDER, line(sp, first), allowance=1.5),
            Edge(EdgeName.DART_MOUTH, polyline((first, roof, second)), allowance=1.5),
            Edge(EdgeName.SHOULDER, line(second, snp), allowance=1.5),
            Edge(
                EdgeName.NECKLINE,
                tangent_cubic(snp, Point(-0.35, -1.0), nape, Point(-1.0, 0.0), 1.4, 4.0),
                allowance=0.6,
            ),
        ),
        cut=CutPlan(cloth=1, on_fold=True),
        grain=(Point(4.0, 4.0), Point(4.0, 34.0)),
        darts=(Dart("shoulder dart", Point(10.2, 32.5), Point(10.4, 33.5), first, second, 5),),
        notches=(Notch("scye back", 3, 10.0, NotchKind.DOUBLE), Notch("side", 2, 10.0)),
    )


def stand() -> Piece:
    """A collar stand, half, centre back on the fold; three centimetres high, rounded front end."""
    return Piece(
        code="STAND",
        title="Collar stand",
        edges=(
            Edge(EdgeName.CENTRE_BACK, line(Point(0.0, 3.0), Point(0.0, 0.0)), on_fold=True),
            Edge(
                EdgeName.NECK_SEAM,
                tangent_cubic(
                    Point(0.0, 0.0), Point(1.0, 0.0), Point(20.5, 1.4), Point(1.0, 0.16), 7.0, 7.0
                ),
                allowance=0.6,
            ),
            Edge(
                EdgeName.COLLAR_END,
                tangent_cubic(
                    Point(20.5, 1.4),
                    Point(1.0, 0.16),
                    Point(18.4, 4.05),
                    Point(-1, -0.14),
                    1.7,
                    1.5,
                ),
                allowance=0.6,
            ),
            Edge(
                EdgeName.STAND_SEAM,
                tangent_cubic(
                    Point(18.4, 4.05),
                    Point(-1.0, -0.14),
                    Point(0.0, 3.0),
                    Point(-1.0, 0.0),
                    6.0,
                    6.0,
                ),
                allowance=0.6,
            ),
        ),
        cut=CutPlan(cloth=2, interfacing=1, on_fold=True),
        grain=(Point(2.6, 0.5), Point(2.6, 2.6)),
        notches=(
            Notch("centre back", 1, 0.0, NotchKind.DOUBLE),
            Notch("shoulder", 1, 8.2),
            Notch("centre front", 1, 18.7),
        ),
        marks=(Mark(MarkKind.CENTRE_FRONT, line(Point(18.65, 1.13), Point(18.3, 4.0))),),
    )


def fall() -> Piece:
    """A collar fall, half, on the fold, with a long sharp point (about 50 degrees)."""
    tip = Point(23.0, 0.2)
    seam = tangent_cubic(
        Point(18.0, 6.2), Point(-1.0, -0.3), Point(0.0, 5.0), Point(-1.0, 0.0), 6.0, 6.0
    )
    return Piece(
        code="FALL",
        title="Collar fall",
        edges=(
            Edge(EdgeName.CENTRE_BACK, line(Point(0.0, 5.0), Point(0.0, 0.0)), on_fold=True),
            Edge(
                EdgeName.OUTER_EDGE,
                tangent_cubic(Point(0.0, 0.0), Point(1.0, 0.0), tip, Point(1.0, 0.1), 8.0, 8.0),
                allowance=0.6,
            ),
            Edge(EdgeName.COLLAR_END, line(tip, Point(18.0, 6.2)), allowance=0.6),
            Edge(EdgeName.STAND_SEAM, seam, allowance=0.6),
        ),
        cut=CutPlan(cloth=2, interfacing=1, on_fold=True),
        grain=(Point(2.6, 0.8), Point(2.6, 4.4)),
        notches=(Notch("shoulder", 3, 8.0), Notch("centre back", 3, seam.length, NotchKind.DOUBLE)),
    )


def all_pieces() -> tuple[Piece, ...]:
    """One order: front and back, stand and fall, and the yoke."""
    return front(), back(), stand(), fall(), yoke()


def square(side: float = 10.0, *widths: float) -> Piece:
    """A plain square, one allowance (of each edge in turn, from the lower one)."""
    corners = (Point(0, 0), Point(side, 0), Point(side, side), Point(0, side))
    return polygon(corners, widths or (1.0,) * 4)


def polygon(corners: tuple[Point, ...], widths: tuple[float, ...]) -> Piece:
    """A piece of straight edges, anti-clockwise corners, with an allowance each."""
    edges = tuple(
        Edge(EdgeName.OUTER_EDGE, line(a, b), allowance=width)
        for a, b, width in zip(corners, corners[1:] + corners[:1], widths, strict=True)
    )
    return Piece("POLY", "Polygon", edges, CutPlan(), (corners[0], corners[2]))


def circle(radius: float, width: float) -> Piece:
    """Four cubics that keep within 0.03 % of a circle, one allowance all round."""
    handle = 4 / 3 * (2**0.5 - 1) * radius

    def quarter(turn: float) -> Curve:
        a, b = Point(cos(turn), sin(turn)), Point(-sin(turn), cos(turn))
        return bezier(a * radius, a * radius + b * handle, b * radius + a * handle, b * radius)

    edges = tuple(Edge(EdgeName.OUTER_EDGE, quarter(k * pi / 2), allowance=width) for k in range(4))
    return Piece("ROUND", "Round", edges, CutPlan(), (Point(0, -1), Point(0, 1)))


def blob(radii: tuple[float, ...], widths: tuple[float, ...]) -> Piece:
    """A star-shaped blob: a curved edge from spoke to spoke, corners at the spokes."""
    count = len(radii)
    spokes = [
        Point(r * cos(2 * pi * k / count), r * sin(2 * pi * k / count)) for k, r in enumerate(radii)
    ]
    edges = []
    for k, (a, b) in enumerate(zip(spokes, spokes[1:] + spokes[:1], strict=True)):
        bulge = (b - a).right * (0.12 if k % 2 else -0.12)
        curve = bezier(a, a.towards(b, 1 / 3) + bulge, a.towards(b, 2 / 3) + bulge, b)
        edges.append(Edge(EdgeName.OUTER_EDGE, curve, allowance=widths[k]))
    return Piece("BLOB", "Blob", tuple(edges), CutPlan(), (Point(0, -1), Point(0, 1)))
