"""The live picture: every edge of every piece a path of its own that knows its name, its length and
what it is sewn to. Light, so that it can be drawn again with every keystroke.

SVG in centimetres, y turned down. Pieces stay where they were drafted and are laid side by side by
the picture. The cut line is drawn from the handles of the sew line: true enough for the eye; the
papers have the exact one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from blocks.edges import EdgeName
from drafting.drawing.lettering import one_line
from drafting.geometry.points import Point
from drafting.pieces.checks import Check
from drafting.pieces.piece import MarkKind, Piece, Seam, Stretch, stretch_places
from drafting.units import LengthUnit, format_length

_GAP = 2.5
_MARGIN = 1.5
#: Rows of small pieces may be this much wider than the row of the bodice.
_WIDER = 1.25
#: A cut line's corner reaches at most this many allowances beyond its edges.
_MITRE = 2.0
#: A construction point is shown on a piece when a corner or dart of the piece lies this near (cm).
_NEAR = 0.05
#: How far inside its edge a length is written, cm.
_INSIDE = 1.0
#: Shorter edges have their length told, not written beside them (cm).
_WRITTEN = 2.0
_BODY = (EdgeName.SCYE,)
_Bezier = tuple[Point, ...]
_CUBIC = "C%.3f %.3f %.3f %.3f %.3f %.3f"


@dataclass(frozen=True, slots=True)
class LivePicture:
    """The picture as SVG text, and its size (cm)."""

    svg: str
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class _Shape:
    """A piece with the Bezier pieces of its edges, the ``steps`` along each as SVG writes them, and
    the box round it and its allowances."""

    piece: Piece
    edges: tuple[tuple[_Bezier, ...], ...]
    steps: tuple[str, ...]
    low: Point
    high: Point


def live_picture(
    pieces: Sequence[Piece],
    seams: Sequence[Seam],
    unit: LengthUnit,
    points: Mapping[str, Point] | None = None,
    before: Sequence[Piece] = (),
) -> LivePicture:
    """Pieces side by side: the bodice in a row, the rest in rows below. ``points`` are the draft's
    construction points; those that a piece still has are marked on it. Outlines of pieces as they
    were ``before`` lie on those that are different now."""
    shapes = [_shape(piece) for piece in pieces]
    places, size = _laid(shapes)
    partners = partners_of(pieces, seams)
    parts: list[str] = []
    for shape, place in zip(shapes, places, strict=True):
        was = _outline(next((p for p in before if p.code == shape.piece.code), None), shape)
        parts.extend(_piece(shape, place, partners, unit, points or {}, was))
    width, height = size.x + 2 * _MARGIN, size.y + 2 * _MARGIN
    box = f"{_n(-_MARGIN)} {_n(-_MARGIN)} {_n(width)} {_n(height)}"
    names = ", ".join(piece.title for piece in pieces)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" '
        f'aria-labelledby="picture-title"><title id="picture-title">'
        f"{escape(f'Pattern pieces: {names}')}</title>{''.join(parts)}</svg>"
    )
    return LivePicture(svg, width, height)


def partners_of(pieces: Sequence[Piece], seams: Sequence[Seam]) -> Mapping[tuple[str, int], str]:
    """For each edge, by piece and place in the ring, the edges it is sewn to as ``CODE:place``."""
    by_code = {piece.code: piece for piece in pieces}
    found: dict[tuple[str, int], list[str]] = {}
    for seam in seams:
        sides = [places_of(by_code, stretch) for stretch in (seam.first, seam.second)]
        for here, there in (sides, sides[::-1]):
            for code, place in here:
                found.setdefault((code, place), []).extend(f"{c}:{p}" for c, p in there)
    return {key: " ".join(dict.fromkeys(values)) for key, values in found.items()}


def places_of(by_code: Mapping[str, Piece], stretch: Stretch) -> list[tuple[str, int]]:
    """The edges of a stretch, by piece and place in the ring."""
    piece = by_code.get(stretch.piece)
    if piece is None:
        return []
    return [(piece.code, place) for place in stretch_places(piece, stretch)]


# ---- laying side by side ------------------------------------------------------------------------


def _shape(piece: Piece) -> _Shape:
    edges = tuple(tuple(edge.curve.beziers()) for edge in piece.edges)
    # a Bezier piece never leaves the box of its handles
    x = [p.x for edge in edges for bezier in edge for p in bezier]
    y = [p.y for edge in edges for bezier in edge for p in bezier]
    widest = max((edge.allowance for edge in piece.edges), default=0.0)
    low, high = Point(min(x) - widest, min(y) - widest), Point(max(x) + widest, max(y) + widest)
    return _Shape(piece, edges, tuple(_steps(edge) for edge in edges), low, high)


def _laid(shapes: Sequence[_Shape]) -> tuple[list[Point], Point]:
    """Where each piece's own origin goes (y down, no turning), and the size of the whole."""
    places: dict[int, Point] = {}
    x = bottom = wide = 0.0
    for k, shape in enumerate(shapes):
        if any(shape.piece.named(name) for name in _BODY):
            places[k] = Point(x - shape.low.x, shape.high.y)
            x += shape.high.x - shape.low.x + _GAP
            bottom = max(bottom, shape.high.y - shape.low.y)
    tops = max((shapes[k].high.y for k in places), default=0.0)
    for k, place in places.items():  # one bust line: what lies level on the body lies level here
        places[k] = Point(place.x, tops)
        bottom = max(bottom, tops - shapes[k].low.y)
    wide = x - _GAP if places else max((s.high.x - s.low.x for s in shapes), default=0.0)
    widest, wide = wide, wide * _WIDER
    x, row, y = 0.0, 0.0, bottom + _GAP if places else 0.0
    for k, shape in enumerate(shapes):
        if k in places:
            continue
        across, up = shape.high.x - shape.low.x, shape.high.y - shape.low.y
        if x > 0.0 and x + across > wide:
            y += row + _GAP
            x = row = 0.0
        places[k] = Point(x - shape.low.x, y + shape.high.y)
        x += across + _GAP
        row, widest = max(row, up), max(widest, x - _GAP)
        bottom = max(bottom, y + row)
    return [places[k] for k in range(len(shapes))], Point(widest, bottom)


# ---- one piece ----------------------------------------------------------------------------------


def _piece(
    shape: _Shape,
    place: Point,
    partners: Mapping[tuple[str, int], str],
    unit: LengthUnit,
    points: Mapping[str, Point],
    was: str,
) -> Iterator[str]:
    piece = shape.piece
    yield (
        f"<g class='piece' data-code={quoteattr(piece.code)} "
        f"transform='translate({_n(place.x)} {_n(place.y)})'>"
    )
    yield f"<title>{escape(one_line(piece.title))}</title>"
    yield f"<path class='allowance' d='{_cut_line(shape)}'/>"
    ring = "".join(shape.steps)
    yield f"<path class='cloth' d='M{_xy(shape.edges[0][0][0])}{ring}Z'/>"
    if was:
        yield f"<path class='was' d='{was}'/>"
    for dart in piece.darts:
        for foot in (dart.first, dart.second):
            yield f"<path class='dart' d='{_straight(dart.tip, foot)}'/>"
    for mark in piece.marks:
        kind = "construction" if mark.kind is MarkKind.CONSTRUCTION else "mark"
        beziers = tuple(mark.curve.beziers())
        yield f"<path class='{kind}' d='M{_xy(beziers[0][0])}{_steps(beziers)}'/>"
    yield f"<path class='grain' d='{_straight(*piece.grain)}'/>"
    for k in range(len(piece.edges)):
        yield _edge(shape, k, partners.get((piece.code, k), ""), unit)
    for notch in piece.notches:
        curve = piece.edges[notch.edge].curve
        t = curve.t_at_length(min(max(notch.at, 0.0), curve.length))
        at = curve.at(t)
        yield f"<path class='notch' d='{_straight(at, at + curve.heading(t).right * 0.6)}'/>"
    for drill in piece.drills:
        yield f"<circle class='drill' {_centre(drill.at)} r='0.2'/>"
    for name, at in _on(piece, points):
        x, y = _xy(at).split()
        yield (
            f"<circle class='construction' {_centre(at)} r='0.25'/>"
            f"<text class='construction' x='{x}' y='{y}' dx='.4' dy='-.3'>{escape(name)}</text>"
        )
    label = piece.label_at or Point(
        (shape.low.x + shape.high.x) / 2, (shape.low.y + shape.high.y) / 2
    )
    x, y = _xy(label).split()
    yield f"<text class='name' x='{x}' y='{y}'>{escape(one_line(piece.title))}</text>"
    yield "</g>"


def _outline(before: Piece | None, shape: _Shape) -> str:
    """The sew line of a piece as it was; empty when it is the same."""
    if before is None:
        return ""
    edges = [tuple(edge.curve.beziers()) for edge in before.edges]
    ring = f"M{_xy(edges[0][0][0])}{''.join(_steps(edge) for edge in edges)}Z"
    now = f"M{_xy(shape.edges[0][0][0])}{''.join(shape.steps)}Z"
    return "" if ring == now else ring


def _edge(shape: _Shape, place: int, partner: str, unit: LengthUnit) -> str:
    piece, beziers = shape.piece, shape.edges[place]
    edge = piece.edges[place]
    length = format_length(edge.length, unit, places=2)
    folded = " data-fold='yes'" if edge.on_fold else ""
    words = ""
    if edge.length > _WRITTEN:
        x, y = _xy(_beside(beziers)).split()
        said = escape(format_length(edge.length, unit))
        words = f"<text class='length' x='{x}' y='{y}'>{said}</text>"
    return (
        f"<path class='edge' id={quoteattr(f'edge-{piece.code}-{place}')} "
        f"data-at={quoteattr(f'{piece.code}:{place}')} data-name={quoteattr(edge.name.value)} "
        f"data-piece={quoteattr(one_line(piece.title))} data-length={quoteattr(length)} "
        f"data-partner={quoteattr(partner)}{folded} d='M{_xy(beziers[0][0])}{shape.steps[place]}'/>"
        f"{words}"
    )


def _on(piece: Piece, points: Mapping[str, Point]) -> Iterator[tuple[str, Point]]:
    """The construction points that this piece still has: one of its corners, or a dart's."""
    if not any(piece.named(name) for name in _BODY):
        return
    corners = [edge.curve.start for edge in piece.edges]
    corners += [p for dart in piece.darts for p in (dart.apex, dart.tip, dart.first, dart.second)]
    for name, point in points.items():
        if any(point.to(corner) < _NEAR for corner in corners):
            yield name, point


def _beside(beziers: tuple[_Bezier, ...]) -> Point:
    """A place for an edge's length: inside, off its middle."""
    middle = beziers[len(beziers) // 2]
    if len(beziers) % 2:
        if len(middle) == 2:
            at = (middle[0] + middle[1]) * 0.5
        else:
            p, q, r, s = middle
            at = (p + q * 3.0 + r * 3.0 + s) * 0.125
    else:
        at = middle[0]
    way = _unit(beziers[0][0], beziers[-1][-1]) or Point(1.0, 0.0)
    return at - way.right * _INSIDE


# ---- the cut line -------------------------------------------------------------------------------


def _cut_line(shape: _Shape) -> str:
    runs = [
        [_shifted(bezier, edge.allowance) for bezier in beziers]
        for edge, beziers in zip(shape.piece.edges, shape.edges, strict=True)
    ]
    widths = [edge.allowance for edge in shape.piece.edges]
    parts: list[str] = []
    for k, run in enumerate(runs):
        after = runs[(k + 1) % len(runs)]
        parts.append(("L" if parts else "M") + _xy(run[0][0]))
        for before, bezier in zip([None, *run], run, strict=False):
            if before is not None and before[-1] != bezier[0] and before[-1].to(bezier[0]) > 1e-6:
                parts.append("L" + _xy(bezier[0]))
            parts.append(_steps((bezier,)))
        reach = _MITRE * max(widths[k], widths[(k + 1) % len(runs)])
        meeting = _meeting(run[-1], after[0], reach)
        if meeting is not None:
            parts.append("L" + _xy(meeting))
    return "".join(parts) + "Z"


def _shifted(bezier: _Bezier, width: float) -> _Bezier:
    """A Bezier piece moved outward: its ends square to it, its handles in proportion."""
    if width == 0.0:
        return bezier
    first, last = _ways(bezier)
    a, d = bezier[0], bezier[-1]
    ax, ay = a.x + first.y * width, a.y - first.x * width
    dx, dy = d.x + last.y * width, d.y - last.x * width
    if len(bezier) == 2:
        return Point(ax, ay), Point(dx, dy)
    b, c = bezier[1], bezier[2]
    chord = a.to(d)
    share = hypot(dx - ax, dy - ay) / chord if chord > 1e-9 else 1.0
    return (
        Point(ax, ay),
        Point(ax + (b.x - a.x) * share, ay + (b.y - a.y) * share),
        Point(dx - (d.x - c.x) * share, dy - (d.y - c.y) * share),
        Point(dx, dy),
    )


def _meeting(run: _Bezier, after: _Bezier, reach: float) -> Point | None:
    """Where two shifted edges meet when both go straight on; none when that is too far or back."""
    here, there = run[-1], after[0]
    if here.to(there) < 1e-6:
        return None
    way, onward = _ways(run)[1], _ways(after)[0]
    turn = way.cross(onward)
    if abs(turn) < 0.05:
        return None
    along = (there - here).cross(onward) / turn
    back = (there - here).cross(way) / turn
    if 0.0 <= along <= reach and -reach <= back <= 0.0:
        return here + way * along
    return None


def _ways(bezier: _Bezier) -> tuple[Point, Point]:
    """Directions at start and end, past doubled handles."""
    first = next((w for p in bezier[1:] if (w := _unit(bezier[0], p))), None)
    last = next((w for p in bezier[-2::-1] if (w := _unit(p, bezier[-1]))), None)
    return first or Point(1.0, 0.0), last or Point(1.0, 0.0)


def _unit(a: Point, b: Point) -> Point | None:
    x, y = b.x - a.x, b.y - a.y
    long = hypot(x, y)
    return Point(x / long, y / long) if long > 1e-9 else None


# ---- SVG ----------------------------------------------------------------------------------------


def _steps(beziers: Sequence[_Bezier]) -> str:
    parts = []
    for bezier in beziers:
        if len(bezier) == 4:
            _, b, c, d = bezier
            parts.append(_CUBIC % (b.x, -b.y, c.x, -c.y, d.x, -d.y))
        else:
            parts.append("L" + _xy(bezier[1]))
    return "".join(parts)


def _straight(a: Point, b: Point) -> str:
    return f"M{_xy(a)}L{_xy(b)}"


def _centre(p: Point) -> str:
    x, y = _xy(p).split()
    return f"cx='{x}' cy='{y}'"


def _xy(p: Point) -> str:
    return "%.3f %.3f" % (p.x, -p.y)  # noqa: UP031


def _n(value: float) -> str:
    return f"{value:.3f}"


# ---- Which edges a check is about, and the pieces told in words for whoever cannot see the
# drawing

#: Words of checks for edges that go by another name on a piece.
_ALSO = {
    "top edge": (EdgeName.STAND_SEAM, EdgeName.OUTER_EDGE),
    "point": (EdgeName.COLLAR_END, EdgeName.OUTER_EDGE),
    "side neck point": (EdgeName.NECKLINE, EdgeName.SHOULDER),
    "shoulder point": (EdgeName.SHOULDER, EdgeName.SCYE),
    "underarm point": (EdgeName.SIDE_SEAM, EdgeName.SCYE),
    "dart": (EdgeName.DART_MOUTH,),
    "facing": (EdgeName.FACING_EDGE,),
}


def edges_of(check: Check, pieces: Sequence[Piece], seams: Sequence[Seam]) -> list[str]:
    """The edges a check is about as ``CODE:place``; all of a piece when it names no edge, none when
    it names no piece either."""
    by_code = {piece.code: piece for piece in pieces}
    for seam in seams:
        if check.where == seam.name:
            sides = (seam.first, seam.second)
            return [f"{code}:{k}" for side in sides for code, k in places_of(by_code, side)]
    meant = _pieces(check.where, pieces)
    for words in (check.where, check.name):
        names = _names(words)
        found = [
            f"{piece.code}:{k}"
            for piece in meant or _sided(words, names, pieces)
            for k, edge in enumerate(piece.edges)
            if edge.name in names
        ]
        if found:
            return found
    return [f"{piece.code}:{k}" for piece in meant for k in range(len(piece.edges))]


def told_pieces(
    pieces: Sequence[Piece], seams: Sequence[Seam], unit: LengthUnit
) -> list[dict[str, Any]]:
    """Every piece with its edges, their lengths and what they are sewn to."""
    partners = partners_of(pieces, seams)
    names = {
        f"{piece.code}:{k}": f"{edge.name.value} of {piece.title}"
        for piece in pieces
        for k, edge in enumerate(piece.edges)
    }
    return [
        {
            "title": piece.title,
            "cut": piece.cut.words(),
            "edges": [
                {
                    "name": edge.name.value,
                    "length": format_length(edge.length, unit, places=2),
                    "fold": edge.on_fold,
                    "sewn": _sewn(partners.get((piece.code, k), ""), names),
                }
                for k, edge in enumerate(piece.edges)
            ],
        }
        for piece in pieces
    ]


def _sewn(partner: str, names: Mapping[str, str]) -> str:
    return " and ".join(dict.fromkeys(names[at] for at in partner.split()))


def _pieces(where: str, pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces that are named, by title or code."""
    words = where.replace(",", " ").split()
    return [piece for piece in pieces if piece.title in where or piece.code in words]


def _sided(words: str, names: frozenset[EdgeName], pieces: Sequence[Piece]) -> list[Piece]:
    """Where no piece is named: those of the block, or only its back or front if that is said."""
    block = [piece for piece in pieces if piece.named(EdgeName.SCYE)]
    if not names:
        return []
    for side in ("back", "front"):
        if words.startswith(f"{side} "):
            return [piece for piece in block if piece.title.lower().startswith(side)]
    return block


def _names(words: str) -> frozenset[EdgeName]:
    said = words.lower().replace("darts", "")  # darts sewn, closed: how it was measured
    found = {name for name in EdgeName if name.value in said}
    for word, names in _ALSO.items():
        if word in said:
            found.update(names)
    return frozenset(found)
