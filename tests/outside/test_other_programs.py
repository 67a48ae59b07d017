"""Our files opened by drawing programs of other authors: OpenSCAD reads the DXF layer by layer,
Inkscape the SVG and the PDF. LibreCAD is in ``test_librecad.py``, GDAL in ``test_dxf_readers.py``.
"""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from drafting.drawing.signs import Ink
from drafting.library import data_folder
from drafting.pieces.cutting import cut_line
from drafting.units import MM_PER_CM
from garment.garment import Garment, make_garment
from workroom.card.card import open_card
from workroom.papers.papers import papers
from workroom.papers.sheet.layers import layer

PX_PER_MM = 96 / 25.4
MOVE = re.compile(r"([ML]) (-?[\d.]+),(-?[\d.]+)")


@cache
def demo() -> Garment:
    return make_garment(open_card(data_folder() / "clients" / "demo.toml"))


@cache
def files() -> dict[str, bytes]:
    return papers(demo(), "all", ["dxf", "pictures", "print"])


Run = Callable[..., str]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Runs a program where the order's files lie, in a home of its own; what it printed."""
    for name in ("drawing.dxf", "splines.dxf", "pieces.svg", "one-sheet.pdf"):
        (tmp_path / name).write_bytes(files()[name])

    def of(*command: str) -> str:
        return subprocess.run(
            command,
            check=True,
            timeout=120,
            cwd=tmp_path,
            env=os.environ | {"HOME": str(tmp_path)},
            capture_output=True,
            text=True,
            stdin=subprocess.DEVNULL,
        ).stdout

    return of


def contours(svg: str) -> list[np.ndarray]:
    """The closed lines OpenSCAD wrote, millimetres, each of shape (n, 2)."""
    found: list[list[tuple[float, float]]] = []
    for kind, x, y in MOVE.findall(svg):
        if kind == "M":
            found.append([])
        found[-1].append((float(x), -float(y)))
    return [np.array(points) for points in found]


def areas(shapes: list[np.ndarray]) -> list[float]:
    return sorted(float(shapely.area(shapely.Polygon(points))) for points in shapes)


@pytest.mark.parametrize("name", ["drawing.dxf", "splines.dxf"])
def test_openscad_finds_each_pieces_cut_line_on_its_layer(
    openscad: str, run: Run, tmp_path: Path, name: str
) -> None:
    (tmp_path / "model.scad").write_text(f'import("{name}", layer="CUT_LINE");', encoding="ascii")
    run(openscad, "-o", "model.svg", "model.scad")
    theirs = areas(contours((tmp_path / "model.svg").read_text(encoding="utf-8")))
    ours = areas([MM_PER_CM * cut_line(piece).points for piece in demo().pieces])

    assert theirs == pytest.approx(ours, rel=2e-4)


def test_inkscape_shows_pieces_and_kinds_of_line_as_layers(inkscape: str, run: Run) -> None:
    said = run(inkscape, "--batch-process", "--actions=select-all:layers;select-list", "pieces.svg")
    listed = [line.split(" ")[0] for line in said.splitlines()]

    assert listed == ["sheet", *(f"piece-{piece.code}" for piece in demo().pieces)]


def test_inkscape_measures_the_pieces_of_the_svg_as_drafted(inkscape: str, run: Run) -> None:
    """What it calls the size of a line includes the line's own width."""
    rows = [row.split(",") for row in run(inkscape, "--query-all", "pieces.svg").splitlines()]
    size = {row[0]: np.array(row[3:], dtype=float) / PX_PER_MM for row in rows}
    pen = layer(Ink.CUT).width_mm
    for piece in demo().pieces:
        wanted = MM_PER_CM * np.ptp(cut_line(piece).points, axis=0)
        found = size[f"piece-{piece.code}-CUT_LINE"] - pen
        assert found == pytest.approx(wanted, abs=0.05), piece.code


def test_inkscape_opens_the_large_sheet_at_true_size_and_without_a_grid(
    inkscape: str, run: Run, tmp_path: Path
) -> None:
    """Its own reading of PDF shows layers that are switched off."""
    run(inkscape, "--export-filename=sheet.svg", "one-sheet.pdf")
    rows = [row.split(",") for row in run(inkscape, "--query-all", "sheet.svg").splitlines()]
    sizes = np.array([row[3:] for row in rows], dtype=float) / PX_PER_MM
    # without the page as a whole
    svg = (tmp_path / "sheet.svg").read_text(encoding="utf-8")
    lines = [size for size, row in zip(sizes, rows, strict=True) if row[0].startswith("path")]
    square = 100.0 + layer(Ink.DRILL).width_mm

    assert any(size == pytest.approx([square, square], abs=0.1) for size in lines)
    assert float(re.findall(r'width="([\d.]+)', svg)[0]) == pytest.approx(
        841.0 * PX_PER_MM, abs=0.1
    )
    assert max(float(size.max()) for size in lines) < 700.0
