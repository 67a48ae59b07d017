"""The live picture: every edge of every piece a path of its own that knows its name, its length and
what it is sewn to. Light, so that it can be drawn again with every keystroke.

SVG in centimetres, y turned down.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from drafting.curves import Curve, line
from drafting.lettering import one_line
from drafting.pieces import Edge, EdgeName, Piece, Seam, Stretch
from drafting.points import FloatArray, Move, Point
from drafting.units import LengthUnit, format_length

_GAP = 2.5
_MARGIN = 1.5
_BODY = (EdgeName.SCYE,)


@dataclass(frozen=True, slots=True)
class LivePicture:
    """The picture as SVG text, and its size (cm)."""

    svg: str
    width: float
    height: float


def live_picture(pieces: Sequence[Piece], seams: Sequence[Seam], unit: LengthUnit) -> LivePicture:
    """Pieces side by side: the bodice in a row, the rest in rows below."""
    moves = _laid(pieces)
    partners = _partners(pieces, seams)
    parts: list[str] = []
    corners: list[FloatArray] = []
    for piece, move in zip(pieces, moves, strict=True):
        moved = piece.moved(move)
        parts.extend(_piece(moved, partners, unit))
        corners.append(moved.outline(0.05))
    everything = np.vstack(corners)
    low, high = everything.min(axis=0), everything.max(axis=0)
    width, height = (float(v) + 2 * _MARGIN for v in high - low)
    box = f"{_n(low[0] - _MARGIN)} {_n(-high[1] - _MARGIN)} {_n(width)} {_n(height)}"
    names = ", ".join(piece.title for piece in pieces)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" '
        f'aria-labelledby="picture-title"><title id="picture-title">'
        f"{escape(f'Pattern pieces: {names}')}</title>{''.join(parts)}</svg>"
    )
    return LivePicture(svg, width, height)


def _laid(pieces: Sequence[Piece]) -> list[Move]:
    """Where each piece goes: no turning."""
    boxes = []
    for piece in pieces:
        points = piece.outline(0.05)
        widest = max((edge.allowance for edge in piece.edges), default=0.0)
        boxes.append((points.min(axis=0) - widest, points.max(axis=0) + widest))
    wide = 0.0
    moves: dict[int, Move] = {}
    x = bottom = 0.0
    body = [k for k, piece in enumerate(pieces) if any(piece.named(name) for name in _BODY)]
    for k in body:
        low, high = boxes[k]
        moves[k] = Move(shift=Point(x - float(low[0]), -float(low[1])))
        x += float(high[0] - low[0]) + _GAP
        wide = max(wide, x - _GAP)
    wide = wide or max((float(high[0] - low[0]) for low, high in boxes), default=0.0)
    x = row = 0.0
    for k in range(len(pieces)):
        if k in moves:
            continue
        low, high = boxes[k]
        across, up = float(high[0] - low[0]), float(high[1] - low[1])
        if x > 0.0 and x + across > wide:
            bottom -= row + _GAP
            x = row = 0.0
        moves[k] = Move(shift=Point(x - float(low[0]), bottom - _GAP - float(high[1])))
        x += across + _GAP
        row = max(row, up)
    return [moves[k] for k in range(len(pieces))]


def _partners(pieces: Sequence[Piece], seams: Sequence[Seam]) -> Mapping[tuple[str, int], str]:
    """For each edge, by piece and place in the ring, the edges it is sewn to as ``CODE:place``."""
    by_code = {piece.code: piece for piece in pieces}
    found: dict[tuple[str, int], list[str]] = {}
    for seam in seams:
        sides = [_places(by_code, stretch) for stretch in (seam.first, seam.second)]
        for here, there in (sides, sides[::-1]):
            for code, place in here:
                found.setdefault((code, place), []).extend(f"{c}:{p}" for c, p in there)
    return {key: " ".join(dict.fromkeys(values)) for key, values in found.items()}


def _places(by_code: Mapping[str, Piece], stretch: Stretch) -> list[tuple[str, int]]:
    piece = by_code.get(stretch.piece)
    if piece is None:
        return []
    places = [k for k, edge in enumerate(piece.edges) if edge.name is stretch.edge]
    if stretch.index is not None:
        places = places[stretch.index : stretch.index + 1]
    return [(piece.code, place) for place in places]


def _piece(
    piece: Piece, partners: Mapping[tuple[str, int], str], unit: LengthUnit
) -> Iterator[str]:
    yield f"<g class='piece' data-code={quoteattr(piece.code)}>"
    yield f"<title>{escape(one_line(piece.title))}</title>"
    ring = "".join(_steps(edge.curve) for edge in piece.edges)
    yield f"<path class='cloth' d='M{_xy(piece.edges[0].curve.start)}{ring}Z'/>"
    for edge in piece.edges:
        if edge.allowance > 0.0:
            points = edge.curve.offset_points(edge.allowance, 0.02)
            yield f"<path class='allowance' d='{_through(points)}'/>"
    for dart in piece.darts:
        for foot in (dart.first, dart.second):
            yield f"<path class='dart' d='{_path(line(dart.tip, foot))}'/>"
    for mark in piece.marks:
        yield f"<path class='mark' d='{_path(mark.curve)}'/>"
    yield f"<path class='grain' d='{_path(line(*piece.grain))}'/>"
    for place, edge in enumerate(piece.edges):
        yield _edge(piece, place, edge, partners.get((piece.code, place), ""), unit)
    for notch in piece.notches:
        at = piece.notch_point(notch)
        curve = piece.edges[notch.edge].curve
        out = curve.heading(curve.t_at_length(min(max(notch.at, 0.0), curve.length))).right
        yield f"<path class='notch' d='{_path(line(at, at + out * 0.6))}'/>"
    for drill in piece.drills:
        x, y = _xy(drill.at).split()
        yield f"<circle class='drill' cx='{x}' cy='{y}' r='0.2'/>"
    label = piece.label_at or Point(*piece.outline(0.2).mean(axis=0))
    x, y = _xy(label).split()
    yield f"<text class='name' x='{x}' y='{y}'>{escape(one_line(piece.title))}</text>"
    yield "</g>"


def _edge(piece: Piece, place: int, edge: Edge, partner: str, unit: LengthUnit) -> str:
    length = format_length(edge.length, unit, places=2)
    folded = " data-fold='yes'" if edge.on_fold else ""
    middle = edge.curve.at_length(edge.length / 2)
    x, y = _xy(middle).split()
    words = (
        f"<text class='length' x='{x}' y='{y}'>{escape(format_length(edge.length, unit))}</text>"
        if edge.length > 2.0
        else ""
    )
    return (
        f"<path class='edge' id={quoteattr(f'edge-{piece.code}-{place}')} "
        f"data-at={quoteattr(f'{piece.code}:{place}')} data-name={quoteattr(edge.name.value)} "
        f"data-piece={quoteattr(one_line(piece.title))} data-length={quoteattr(length)} "
        f"data-partner={quoteattr(partner)}{folded} d='{_path(edge.curve)}'/>{words}"
    )


def _path(curve: Curve) -> str:
    return f"M{_xy(curve.start)}{_steps(curve)}"


def _steps(curve: Curve) -> str:
    return "".join(
        ("C" if len(piece) == 4 else "L") + " ".join(_xy(p) for p in piece[1:])
        for piece in curve.beziers()
    )


def _through(points: FloatArray) -> str:
    return "M" + "L".join(f"{_n(float(x))} {_n(-float(y))}" for x, y in points)


def _xy(p: Point) -> str:
    return f"{_n(p.x)} {_n(-p.y)}"


def _n(value: float) -> str:
    text = f"{float(value):.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
