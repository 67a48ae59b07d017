"""`neckarc check` and `neckarc draft` say the same of a card: no paper refuses it first."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.methods import method_names
from blocks.edges import EdgeName
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import bezier, line, polyline
from drafting.geometry.points import Point
from drafting.library import data_folder
from drafting.pieces.cutting import crossing_loops, cut_line
from drafting.pieces.piece import CutPlan, Edge, Piece
from garment import garment as ordering
from garment.finishing import Finished
from tests import shapes
from tests.long import examples
from tests.strategies import bodies
from workroom.commands import neckarc

PLACES = ("scye", "scye", "side", "shoulder", "neckline", "waist", "centre front")
BACK_PLACES = ("shoulder", "neckline", "scye", "ease")


def run(*words: str) -> Result:
    return CliRunner().invoke(neckarc, list(words))


def verdicts(card: Path, folder: Path) -> tuple[Result, Result]:
    papers = (word for kind in ("dxf", "booklets") for word in ("--papers", kind))
    return run("check", str(card)), run("draft", str(card), "--into", str(folder), *papers)


@st.composite
def darts(draw: st.DrawFn) -> str:
    first = draw(st.sampled_from(PLACES))
    lines = [f'bust = "{first}"', f'back = "{draw(st.sampled_from(BACK_PLACES))}"']
    if draw(st.booleans()):
        lines.append(f"at = {draw(st.floats(0.02, 0.98)):.2f}")
    if draw(st.booleans()):
        second = draw(st.sampled_from([place for place in PLACES if place != first]))
        lines += [f'second = "{second}"', f"share = {draw(st.floats(0.2, 0.8)):.2f}"]
    lines += [f"held_back = {draw(st.floats(1.0, 4.0)):.1f}"] * draw(st.booleans())
    return "\n".join((*lines, f'waist = "{draw(st.sampled_from(["taken in", "left open"]))}"'))


@settings(max_examples=examples(8), deadline=None)
@given(
    body=bodies(),
    method=st.sampled_from(method_names()),
    moved=darts(),
    more=st.sampled_from(
        [
            "",
            '[garment.length]\nto = "hip"\n',
            '[garment.finish]\nfacing = "separate"\n',
            '[garment.ease]\nnamed = "overshirt"\n',
        ]
    ),
    neckline=st.sampled_from(
        ["", 'fit = "both"', 'style = { shape = "v", front_lower = 8.0, side_widen = 1.0 }']
    ),
    kind=st.sampled_from(["none", *COLLARS]),
)
def test_what_check_says_draft_says(
    body: dict[str, float], method: str, moved: str, more: str, neckline: str, kind: str
) -> None:
    taken = "\n".join(f"{key} = {value:.2f}" for key, value in body.items())
    text = (
        f'client = "Ann"\ndate = 2026-01-02\n[measurements]\n{taken}\n[garment]\n'
        f'method = "{method}"\n[garment.darts]\n{moved}\n{more}[neckline]\n{neckline}\n'
        f'[collar]\nkind = "{kind}"\n'
    )
    with tempfile.TemporaryDirectory() as folder:
        card = Path(folder) / "card.toml"
        card.write_text(text, encoding="utf-8")
        checked, drafted = verdicts(card, Path(folder) / "orders")

        assert checked.exit_code == drafted.exit_code, drafted.output
        assert checked.exit_code in (0, 2, 3), checked.output
        written = (Path(folder) / "orders").exists()
        assert written == (checked.exit_code != 2)


def looped(piece: Piece) -> Piece:
    """The piece with a loop of one centimetre in its first straight edge."""
    k = next(k for k, edge in enumerate(piece.edges) if len(edge.curve.controls) == 2)
    a, b = piece.edges[k].curve.start, piece.edges[k].curve.end
    on, out = (b - a).unit, (b - a).unit.right
    loop = (a + on, a + on * 2 + out, a + on * 2 - out, a + on * 0.5 + out, b)
    edges = (*piece.edges[:k], Edge(piece.edges[k].name, polyline((a, *loop))))
    return replace(piece, edges=(*edges, *piece.edges[k + 1 :]))


def test_a_sew_line_that_crosses_itself_fails_a_check_and_is_drawn_with_the_stamp(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    finish = ordering.finish

    def spoilt(*given: object) -> Finished:
        done = finish(*given)  # type: ignore[arg-type]
        return replace(done, front=looped(done.front))

    monkeypatch.setattr(ordering, "finish", spoilt)
    checked, drafted = verdicts(data_folder() / "clients" / "none.toml", tmp_path / "orders")

    assert checked.exit_code == drafted.exit_code == 3
    for said in (checked, drafted):
        assert "sew line that crosses itself" in said.output
    (drawing,) = (tmp_path / "orders").glob("*/drawing.dxf")
    assert "NOT FOR CUTTING" in drawing.read_text(encoding="utf-8")


def test_what_crosses_itself_is_one_rule() -> None:
    """What is told to have no loops can be cut round, and nothing else."""
    for piece in shapes.all_pieces():
        assert crossing_loops(piece) == 0.0
        cut_line(piece)
        assert 0.5 < crossing_loops(looped(piece)) < 10.0
        with pytest.raises(DraftError, match="crosses or touches itself"):
            cut_line(looped(piece))


@pytest.mark.parametrize("past", [0.0002, 0.0008, 0.0012])
def test_a_touch_finer_than_lines_are_drawn_to_is_cut_round(past: float) -> None:
    """A slot whose floor passes the lower edge by less than a flattened line shows."""
    depth = 5.0
    low = depth - (depth + past) * 4 / 3
    a, b = Point(10, depth), Point(0, depth)
    corners = (b, Point(-3, depth), Point(-3, 0), Point(13, 0), Point(13, depth), a)
    curves = [bezier(a, Point(7, low), Point(3, low), b)]
    curves += [line(one, other) for one, other in pairwise(corners)]
    edges = tuple(Edge(EdgeName.OUTER_EDGE, curve, allowance=1.0) for curve in curves)
    piece = Piece("SLOT", "Slot", edges, CutPlan(), (Point(-2, 1), Point(-2, 4)))
    fine = np.vstack([curve.flatten(1e-5)[:-1] for curve in curves])

    assert not Polygon(fine).is_valid
    assert crossing_loops(piece) == 0.0
    cut = cut_line(piece).polygon()
    assert cut.is_valid
    assert cut.buffer(0.01).covers(Polygon(piece.outline()))
