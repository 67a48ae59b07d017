"""Which edges a check is about, and the pieces told in words for whoever cannot see the drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from drafting.checks import Check
from drafting.pieces import EdgeName, Piece, Seam
from drafting.units import LengthUnit, format_length
from workroom.desk.picture import partners_of, places_of

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
