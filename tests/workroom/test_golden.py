"""Golden drawings: every edge of the invented clients' pieces, in millimetres to three places.

A change here is a change of the pattern. `scripts/test.py --rewrite-golden -n 0` writes them anew;
look at `scripts/pictures.py` before committing that.
"""

from __future__ import annotations

import difflib
from pathlib import Path

import pytest

from drafting.library import data_folder
from drafting.pens import RecordingPen
from workroom.order import make_order, open_card

GOLDEN = Path(__file__).parent.parent / "golden"


def drawn(name: str) -> str:
    pen = RecordingPen()
    for piece in make_order(open_card(data_folder() / "clients" / f"{name}.toml")).pieces:
        pen.begin_piece(piece.code, piece.title)
        for edge in piece.edges:
            pen.curve(f"{edge.name}{' (fold)' if edge.on_fold else ''}", edge.curve)
        for dart in piece.darts:
            pen.dot(dart.name, dart.tip, dart.width / 2)
        for notch in piece.notches:
            pen.dot(f"notch {notch.name} {notch.kind}", piece.notch_point(notch), 0.1)
        pen.end_piece()
    return "\n".join(pen.lines) + "\n"


@pytest.mark.parametrize("name", ["small", "demo", "large"])
def test_the_drawing_is_the_one_that_was_looked_at(
    name: str, request: pytest.FixtureRequest
) -> None:
    path = GOLDEN / f"{name}.txt"
    now = drawn(name)
    if request.config.getoption("--rewrite-golden"):
        path.write_text(now, encoding="utf-8")
    kept = path.read_text(encoding="utf-8")

    changes = list(difflib.unified_diff(kept.splitlines(), now.splitlines(), "kept", "now", n=0))
    assert changes == []
