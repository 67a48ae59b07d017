"""A piece draws itself on a pen: its lines, its signs, and its label.

Each stroke belongs to an :class:`Ink`; what an ink looks like is the business of the outputs.
Centimetres, y up.
"""

from __future__ import annotations

from collections.abc import Iterator

from drafting.drawing.labelling import Labels, frame, lettered
from drafting.drawing.pens import Pen
from drafting.drawing.signs import DRILL, EdgeWords, Ink, arrow, bracket, bracket_depth
from drafting.errors import DraftError
from drafting.geometry.curves import Curve, line
from drafting.pieces.cutting import CutLine, cut_line, drill_holes, notch_marks
from drafting.pieces.piece import MarkKind, Piece

__all__ = ["EdgeWords", "Ink", "Labels", "draw_lines", "draw_piece", "draw_words"]

_INKS = {MarkKind.FOLD: Ink.FOLD, MarkKind.CONSTRUCTION: Ink.CONSTRUCTION}


def draw_piece(
    pen: Pen, piece: Piece, labels: Labels, *, edge_words: EdgeWords | None = None
) -> None:
    """Draw a piece with its cut line, sew line, signs and label.

    ``edge_words`` writes something along each edge. A stamped piece is drawn even when no cut line
    can be laid round it; without a stamp the :class:`DraftError` of
    :func:`drafting.pieces.cutting.cut_line` comes through.
    """
    _cut(piece, labels)  # refused before anything is begun
    pen.begin_piece(piece.code, piece.title)
    draw_lines(pen, piece, labels)
    draw_words(pen, piece, labels, edge_words=edge_words)
    pen.end_piece()


def draw_lines(pen: Pen, piece: Piece, labels: Labels) -> None:
    """Draw all of a piece but what is written on it, as :func:`draw_piece` does."""
    cut = _cut(piece, labels)
    if cut is not None:
        pen.outline(Ink.CUT, cut.curves())
    pen.outline(Ink.SEW, tuple(edge.curve for edge in piece.edges))
    for ink, curve in _strokes(piece, cut):
        pen.curve(ink, curve)
    for at in drill_holes(piece, cut):
        pen.dot(Ink.DRILL, at, DRILL)


def _cut(piece: Piece, labels: Labels) -> CutLine | None:
    """The cut line; a stamped piece may have none."""
    try:
        return cut_line(piece)
    except DraftError:
        if labels.stamp is None:
            raise
        return None


def draw_words(
    pen: Pen, piece: Piece, labels: Labels, *, edge_words: EdgeWords | None = None
) -> None:
    """Draw only what is written on a piece, as :func:`draw_piece` does."""
    written = lettered(piece, labels, edge_words)
    box = frame(tuple(words for ink, words in written if ink is Ink.STAMP))
    if box:
        pen.outline(Ink.STAMP, box)
    for ink, words in written:
        pen.text(ink, words.at, words.words, words.height, words.angle)


def _strokes(piece: Piece, cut: CutLine | None) -> Iterator[tuple[Ink, Curve]]:
    for edge in piece.edges:
        if edge.on_fold:
            yield from ((Ink.FOLD, stroke) for stroke in bracket(edge, bracket_depth(piece)))
    yield from ((Ink.GRAIN, stroke) for stroke in arrow(*piece.grain))
    for dart in piece.darts:
        yield Ink.DART, line(dart.first, dart.tip)
        yield Ink.DART, line(dart.tip, dart.second)
    for mark in piece.marks:
        yield _INKS.get(mark.kind, Ink.MARK), mark.curve
    for notch in notch_marks(piece, cut):
        yield from ((Ink.NOTCH, stroke) for stroke in notch.strokes)
