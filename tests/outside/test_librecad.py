"""Our drawing opened by LibreCAD, a program of other authors: it opens, and it is true to scale.

LibreCAD prints to PDF at 1:1 and poppler's pdftocairo gives back the strokes.
"""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Callable
from io import StringIO
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from scipy.spatial import cKDTree

from drafting.drawing.signs import Ink
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.library import data_folder
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Piece
from drafting.units import MM_PER_CM, POINTS_PER_CM
from garment.garment import make_garment
from workroom.card.card import open_card
from workroom.papers.dxf.drawing import DrawingPen, drawn_bytes
from workroom.papers.papers import papers, sheet_content
from workroom.papers.sheet.layers import layers

MOVE = re.compile(r"([ML]) (-?[\d.]+) (-?[\d.]+)")
SCALE = re.compile(r'<path[^>]* d="([^"]+)"[^>]* transform="matrix\(([^)]+)\)"')


@pytest.fixture
def strokes(librecad: str, pdftocairo: str) -> Callable[[Path], np.ndarray]:
    """Ends of every stroke LibreCAD draws of a file, millimetres, y up, shape (n, 2)."""

    def drawn_ends(dxf: Path) -> np.ndarray:
        home = dxf.parent / "home"
        home.mkdir(exist_ok=True)
        surroundings = os.environ | {"QT_QPA_PLATFORM": "offscreen", "HOME": str(home)}
        subprocess.run(
            [librecad, "dxf2pdf", "-c", "-s", "1", "-t", str(dxf.parent), str(dxf)],
            check=True,
            timeout=60,
            env=surroundings,
            capture_output=True,
            stdin=subprocess.DEVNULL,
        )
        drawn = subprocess.run(
            [pdftocairo, "-svg", str(dxf.with_suffix(".pdf")), "-"],
            check=True,
            timeout=60,
            capture_output=True,
            text=True,
        ).stdout
        ends = []
        for path, matrix in SCALE.findall(drawn):
            a, b, c, d, e, f = map(float, matrix.split(","))
            for _, x, y in MOVE.findall(path):
                px, py = float(x), float(y)
                ends.append((a * px + c * py + e, -(b * px + d * py + f)))
        return np.array(ends) / POINTS_PER_CM * MM_PER_CM

    return drawn_ends


def corners(piece: Piece) -> np.ndarray:
    """Ends of the edges and corners of the cut line as drafted, millimetres, shape (n, 2)."""
    sewn = [(edge.curve.start.x, edge.curve.start.y) for edge in piece.edges]
    cut = cut_line(piece)
    return np.vstack([np.array(sewn), cut.points[list(cut.corners)]]) * MM_PER_CM


def test_a_square_of_100_mm_is_100_mm(
    strokes: Callable[[Path], np.ndarray], tmp_path: Path
) -> None:
    document = ezdxf.new("R2010", units=4)
    sheet = document.modelspace()
    sheet.add_lwpolyline([(0, 0), (100, 0), (100, 100), (0, 100)], close=True)
    document.layout().reset_limits((0, 0), (140, 140))
    path = tmp_path / "square.dxf"
    document.saveas(path)
    ends = strokes(path)

    size = ends.max(axis=0) - ends.min(axis=0)
    assert size == pytest.approx([100.0, 100.0], abs=0.05)


def test_every_corner_of_every_piece_is_where_we_put_it(
    strokes: Callable[[Path], np.ndarray], tmp_path: Path
) -> None:
    order = make_garment(open_card(data_folder() / "clients" / "demo.toml"))
    document = ezdxf.read(StringIO(papers(order, kinds=["dxf"])["drawing.dxf"].decode()))
    for row in document.layers:
        row.dxf.linetype = "Continuous"  # LibreCAD rounds the ends of dashes to whole dots
    path = tmp_path / "drawing.dxf"
    document.saveas(path)
    ours = np.vstack([corners(one.piece) for one in sheet_content(order).placed()])
    theirs = strokes(path)
    # The pieces reach farthest to the left and down on both; text stands within.
    near = ours - ours.min(axis=0) + theirs.min(axis=0)
    tree = cKDTree(theirs)
    moved = near + (theirs[tree.query(near)[1]] - near).mean(axis=0)
    away, _ = tree.query(moved)

    # LibreCAD's paper has whole dots of 1/1200 inch, so that a corner is off by half a dot each
    # way at most, 0.015 mm; our paper is whole in inches and millimetres, so that its scale is good
    # to 0.001 % (measured).
    reach = np.hypot(*(moved - theirs.min(axis=0)).T)
    assert len(moved) > 40
    assert np.all(away <= 0.02 + 0.00001 * reach)


def test_straight_sew_lines_are_dashed_as_their_name_says(
    strokes: Callable[[Path], np.ndarray], tmp_path: Path
) -> None:
    """LibreCAD dashes by the name of a linetype; the same line on the layer of cut lines is one
    stroke."""

    def ends(ink: Ink) -> int:
        def draw(space: object) -> tuple[float, float]:
            DrawingPen(space).curve(ink, line(Point(0.0, 0.0), Point(20.0, 0.0)))
            return 20.0, 1.0

        path = tmp_path / f"{ink}.dxf"
        path.write_bytes(drawn_bytes(layers().values(), draw))
        return len(strokes(path))

    assert ends(Ink.CUT) == 2
    for ink in (Ink.SEW, Ink.FOLD, Ink.DART, Ink.MARK, Ink.CONSTRUCTION):
        assert ends(ink) > 10, ink
