"""Golden drawings: every piece of the invented clients, and of one card whose nine allowances are
all different, in millimetres: edges with their allowances, cut line, darts, drill holes, notches.

A change here is a change of the pattern. To write them anew:
`python3 scripts/test.py tests/workroom/test_golden.py -n 0 --rewrite-golden`. Look at what
`git diff` and `scripts/pictures.py` show before committing that.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from pathlib import Path

import pytest

from drafting.drawing.pens import RecordingPen
from drafting.geometry.points import Point
from drafting.library import data_folder
from drafting.pieces.cutting import CutLine, cut_line, notch_marks
from drafting.pieces.piece import Piece
from drafting.units import mm
from garment.garment import make_garment
from workroom.card.card import open_card

GOLDEN = Path(__file__).parent.parent / "golden"
CARDS = (*sorted((data_folder() / "clients").glob("*.toml")), GOLDEN / "nine-allowances.toml")


def drawn(card: Path) -> list[str]:
    return [row for piece in make_garment(open_card(card)).pieces for row in piece_lines(piece)]


def piece_lines(piece: Piece) -> Iterator[str]:
    pen = RecordingPen()
    pen.begin_piece(piece.code, piece.title)
    for edge in piece.edges:
        width = "(fold)" if edge.on_fold else f"+{mm(edge.allowance):.1f}"
        pen.curve(f"{edge.name} {width}", edge.curve)
    for dart in piece.darts:
        pen.dot(dart.name, dart.tip, dart.width / 2)
    for drill in piece.drills:
        pen.dot(f"drill {drill.label}", drill.at, 0.2)
    yield from pen.lines
    cut = cut_line(piece)
    yield from cut_lines(cut)
    for mark in notch_marks(piece, cut):
        where = [f"snip {at(s.start)} to {at(s.end)}" for s in mark.strokes]
        where += [] if mark.hole is None else [f"hole {at(mark.hole)}"]
        yield f"  notch {mark.notch.name}: {', '.join(where)}"
    yield "end"


def cut_lines(cut: CutLine) -> Iterator[str]:
    """The cut line from corner to corner: where each stretch begins, its middle and length."""
    for curve in cut.curves():
        middle = (
            f", middle {at(curve.at_length(curve.length / 2))}" if len(curve.controls) > 2 else ""
        )
        yield f"  cut {at(curve.start)}{middle}, on for {mm(curve.length):.2f}"


def at(point: Point) -> str:
    x, y = (round(mm(value), 2) + 0.0 for value in point)  # never a minus nought
    return f"{x:.2f},{y:.2f}"


@pytest.mark.parametrize("card", CARDS, ids=lambda card: card.stem)
def test_the_drawing_is_the_one_that_was_looked_at(
    card: Path, request: pytest.FixtureRequest
) -> None:
    path = GOLDEN / f"{card.stem}.txt"
    now = drawn(card)
    if request.config.getoption("--rewrite-golden"):
        path.write_text("\n".join((*now, "")), encoding="utf-8")
    kept = path.read_text(encoding="utf-8").splitlines()

    assert list(difflib.unified_diff(kept, now, "kept", "now", n=0)) == []


def test_every_allowance_of_the_card_stands_on_its_edges_and_no_other() -> None:
    """Written out here once more, so that no drawing written anew can hide it."""
    widths = {
        "neckline": 0.5,
        "neck seam": 0.5,
        "shoulder": 1.1,
        "armhole": 0.9,
        "side seam": 2.0,
        "waist": 1.4,
        "front edge": 1.2,
        "button stand end": 1.4,
        "centre back": 1.8,
        "collar end": 0.7,
        "outer edge": 0.7,
        "gorge": 0.7,
        "lapel edge": 0.7,
        "facing edge": 0.4,
    }
    seen = set()
    for piece in make_garment(open_card(GOLDEN / "nine-allowances.toml")).pieces:
        for edge, after in zip(piece.edges, piece.edges[1:] + piece.edges[:1], strict=True):
            if edge.name == "dart mouth":  # the seam goes on behind the dart
                assert edge.allowance == widths[after.name], piece.code
            elif not edge.on_fold:
                assert edge.allowance == widths[edge.name], (piece.code, edge.name)
                seen.add(edge.name.value)
    assert seen >= set(widths) - {"button stand end"}
