"""Our DXF read back by readers of other authors: GDAL (through pyogrio), and ezdxf's own audit.

ezdxf writes the files, so its audit is not independent; GDAL's reader is.
"""

from __future__ import annotations

from io import StringIO
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely

from drafting.library import data_folder
from drafting.pieces.cutting import cut_line
from drafting.units import MM_PER_CM
from garment.garment import Garment, make_garment
from workroom.card.card import open_card, read_card_text
from workroom.papers.papers import papers

Rows = list[tuple[str, str, shapely.Geometry]]


@pytest.fixture(scope="module")
def order() -> Garment:
    return make_garment(open_card(data_folder() / "clients" / "demo.toml"))


@pytest.fixture(scope="module")
def files(order: Garment) -> dict[str, bytes]:
    return papers(order, "all")


def rows(folder: Path, data: bytes) -> Rows:
    """Layer, text and shape of everything GDAL finds, raw numbers."""
    pyogrio.set_gdal_config_options(
        {"DXF_ENCODING": "UTF-8", "DXF_MERGE_BLOCK_GEOMETRIES": "FALSE"}
    )
    path = folder / "read.dxf"
    path.write_bytes(data)
    meta, _, shapes, columns = pyogrio.raw.read(path, layer="entities")
    names = list(meta["fields"])
    layer, text = columns[names.index("Layer")], columns[names.index("Text")]
    return [
        (str(where), str(words), shapely.from_wkb(shape))
        for where, words, shape in zip(layer, text, shapes, strict=True)
    ]


def lengths(found: Rows, layer: str) -> list[float]:
    return sorted(shapely.length(shape) for where, _, shape in found if where == layer)


def sewn(order: Garment) -> list[float]:
    """Whole sew lines, millimetres, by integration along the curves."""
    return sorted(MM_PER_CM * sum(edge.length for edge in piece.edges) for piece in order.pieces)


def cut(order: Garment) -> list[float]:
    return sorted(
        MM_PER_CM * sum(curve.length for curve in cut_line(piece).curves())
        for piece in order.pieces
    )


def test_the_drawing_has_its_layers_texts_and_lengths(
    order: Garment, files: dict[str, bytes], tmp_path: Path
) -> None:
    found = rows(tmp_path, files["drawing.dxf"])
    layers = {where for where, _, _ in found}
    words = " ".join(text for _, text, _ in found)

    assert {"SEW_LINE", "CUT_LINE", "FOLD", "GRAIN", "NOTCHES", "DARTS", "TEXT"} <= layers
    assert all(layer.isascii() and " " not in layer for layer in layers)
    assert "Marta Ilves" in words
    assert "2026-03-14" in words
    for piece in order.pieces:
        assert piece.title in words
    assert lengths(found, "SEW_LINE") == pytest.approx(sewn(order), abs=0.02)
    assert lengths(found, "CUT_LINE") == pytest.approx(cut(order), abs=0.02)
    assert all(
        shapely.is_closed(shape) for where, _, shape in found if where in ("SEW_LINE", "CUT_LINE")
    )


def test_the_polylines_lie_within_two_hundredths_of_the_curves(
    order: Garment, files: dict[str, bytes], tmp_path: Path
) -> None:
    drawn = [s for where, _, s in rows(tmp_path, files["drawing.dxf"]) if where == "SEW_LINE"]
    for shape in drawn:
        whole = shapely.length(shape)
        piece = min(
            order.pieces,
            key=lambda p: abs(MM_PER_CM * sum(e.length for e in p.edges) - whole),
        )
        fine = np.vstack([e.curve.xy(e.curve.samples(200)) for e in piece.edges]) * MM_PER_CM
        corner = fine.min(axis=0) - np.array(shapely.bounds(shape)[:2])
        away = shapely.distance(shape, shapely.points(fine - corner))

        assert float(away.max()) <= 0.04  # 0.02 each: the shape, and the corner it is laid on


def test_true_splines_come_back_as_long(
    order: Garment, files: dict[str, bytes], tmp_path: Path
) -> None:
    """GDAL draws a spline with eight points for each control point (measured: up to 0.1 mm short
    on a curve of 200 to 500 mm), so the whole sew line is compared at that."""
    found = rows(tmp_path, files["splines.dxf"])

    assert sum(lengths(found, "SEW_LINE")) == pytest.approx(sum(sewn(order)), rel=5e-4)
    document = ezdxf.read(StringIO(files["splines.dxf"].decode()))
    splines = document.modelspace().query("SPLINE")
    assert len(splines) > 10
    assert all(len(spline.control_points) >= 4 for spline in splines)
    curved = sum(edge.curve.degree == 3 for piece in order.pieces for edge in piece.edges)
    assert len(document.modelspace().query('SPLINE[layer=="SEW_LINE"]')) == curved


def test_the_interchange_file_has_a_block_a_piece_on_numbered_layers(
    order: Garment, files: dict[str, bytes], tmp_path: Path
) -> None:
    found = rows(tmp_path, files["interchange.dxf"])
    words = [text for _, text, _ in found]

    assert files["interchange.dxf"].isascii()
    assert {where for where, _, _ in found} <= {
        "0",
        "1",
        "2",
        "3",
        "4",
        "6",
        "7",
        "8",
        "13",
        "14",
        "15",
    }
    for piece in order.pieces:
        assert any(w.startswith("Piece Name:") for w in words), piece.code
    assert (
        sum(w.startswith("Piece Name:") for w in words) == len(order.pieces) + 1
    )  # the test square
    assert "Units: METRIC" in words
    assert lengths(found, "14") == pytest.approx(sewn(order), abs=0.02)
    assert any(abs(length - cut(order)[-1]) <= 0.02 for length in lengths(found, "1"))
    text = files["interchange.dxf"].decode("ascii").splitlines()
    assert text.count("BLOCK") == len(order.pieces) + 1
    assert text.count("INSERT") == len(order.pieces) + 1


@pytest.mark.parametrize("name", ["drawing.dxf", "splines.dxf"])
def test_headers_say_millimetres_and_the_audit_is_clean(files: dict[str, bytes], name: str) -> None:
    document = ezdxf.read(StringIO(files[name].decode()))
    auditor = document.audit()

    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    assert not auditor.has_errors
    assert not auditor.has_fixes
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    points = [
        point
        for line in document.modelspace().query("LWPOLYLINE LINE")
        for point in (
            line.vertices() if line.dxftype() == "LWPOLYLINE" else (line.dxf.start, line.dxf.end)
        )
    ]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    assert low[0] < min(xs)
    assert low[1] < min(ys)
    assert high[0] > max(xs)
    assert high[1] > max(ys)
    assert high[0] - low[0] < 3000


HOSTILE = ["O\"Hara 'x' %%d \\\\P {}", "<script>alert(1)</script>", "שלום مرحبا", "Čáp Müller € 😀"]


@pytest.mark.parametrize("client", HOSTILE)
def test_no_name_breaks_a_file(client: str, tmp_path: Path) -> None:
    quoted = client.replace('"', '\\"')
    card = f"""
client = "{quoted}"
date = 2026-03-14
[neckline]
back_arc = 8
front_arc = 11
[collar]
kind = "two-piece shirt"
"""
    order = make_garment(read_card_text(card, "card.toml"))
    files = papers(order, "all")

    for name in ("drawing.dxf", "splines.dxf"):
        assert lengths(rows(tmp_path, files[name]), "SEW_LINE")
        assert not ezdxf.read(StringIO(files[name].decode())).audit().has_errors
    assert files["interchange.dxf"].isascii()
    assert lengths(rows(tmp_path, files["interchange.dxf"]), "14")
    assert b"<script>" not in files["pieces.svg"]
