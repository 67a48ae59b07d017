"""DXF files of sample pieces: what is in them, that they are the same every time, and that no name
breaks them. Readers of other authors are in ``tests/outside``."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from functools import cache
from io import StringIO
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest
from ezdxf.document import Drawing
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LinearRing, Polygon
from shapely.geometry import LineString as Line
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from drafting.drawing.drawing import Labels
from drafting.drawing.lettering import Written
from drafting.drawing.signs import Ink
from drafting.errors import DraftError
from drafting.geometry.points import Point
from drafting.library import data_folder
from drafting.pieces.cutting import cut_line, notch_marks
from drafting.units import mm
from garment.garment import make_garment
from tests import shapes
from workroom.card.card import open_card
from workroom.papers.dxf.drawing import (
    DxfProfile,
    ascii_words,
    block_name,
    drawing_bytes,
    dxf_words,
    fixed_metadata,
)
from workroom.papers.dxf.interchange import interchange_bytes
from workroom.papers.papers import sheet_content
from workroom.papers.sheet.content import SheetContent
from workroom.papers.sheet.layers import layers

LABELS = Labels("Zoë Müller", "2026-03-14", "Blouse 12", "direct measure")
SHEET = SheetContent("Blouse with a collar", shapes.all_pieces(), LABELS)
SMALL = SheetContent("Collar", (shapes.stand(), shapes.front()), LABELS)
STAMPED = replace(SHEET, labels=replace(LABELS, stamp="NOT FOR CUTTING: the collar is too short"))
ROOT = Path(__file__).parent.parent.parent
WRITERS = {
    "drawing": lambda sheet: drawing_bytes(sheet, DxfProfile.DRAWING),
    "splines": lambda sheet: drawing_bytes(sheet, DxfProfile.SPLINES),
    "interchange": interchange_bytes,
}
EVERY = pytest.mark.parametrize("name", WRITERS)
GDAL = {"DXF_ENCODING": "UTF-8", "DXF_MERGE_BLOCK_GEOMETRIES": "FALSE"}
HOSTILE = [
    "O\"Hara 'x' %%d %%u %%%",
    "\\P {\\fArial;x} \\U+0041 \\M+1",
    "two\nlines\r\n  0\nSECTION",
    "^J^I ^",
    "<script>alert(1)</script>",
    "שלום \u202eمرحبا",
    "Čáp 😀 王",
    "\ud800\x00\x1b",
    "n" * 3000,
]


@cache
def kept(name: str, *, stamped: bool = False) -> bytes:
    """The file of the sample order, written once."""
    return WRITERS[name](STAMPED if stamped else SHEET)


def read(data: bytes) -> Drawing:
    return ezdxf.read(StringIO(data.decode("utf-8")))


def modelspace(data: bytes) -> Counter[tuple[str, str]]:
    return Counter((e.dxf.layer, e.dxftype()) for e in read(data).modelspace())


# ---- the drawing --------------------------------------------------------------------------------


def test_each_purpose_has_its_layer_with_its_look() -> None:
    document = read(kept("drawing"))

    for row in layers().values():
        found = document.layers.get(row.name)
        assert found.color == row.colour
        assert found.dxf.lineweight == round(row.width_mm * 100)
        assert found.description == row.purpose
        if row.dash_mm:
            dashes = document.linetypes.get(found.dxf.linetype).pattern_tags.tags
            lengths = [abs(tag.value) for tag in dashes if tag.code == 49]
            assert lengths == pytest.approx(list(row.dash_mm))
            assert found.dxf.linetype == row.linetype


def test_the_tools_own_words_are_ascii() -> None:
    """Signs too: some readers take every file for another encoding than it is in."""
    labels = replace(LABELS, client="Zoe Muller – “Z” · ½")
    data = drawing_bytes(replace(SHEET, labels=labels))
    words = [e.dxf.text for e in read(data).modelspace().query("TEXT")]

    assert 'Zoe Muller - "Z" - 1/2' in words
    assert data.isascii()


def test_only_plain_entities_on_the_layers_meant_for_them() -> None:
    count = modelspace(kept("drawing"))
    pieces = len(SHEET.pieces)
    marks = [mark for p in SHEET.pieces for mark in notch_marks(p, cut_line(p))]
    snips = sum(len(mark.strokes) for mark in marks)

    assert count["CUT_LINE", "LWPOLYLINE"] == count["SEW_LINE", "LWPOLYLINE"] == pieces
    assert count["NOTCHES", "LINE"] == count["NOTCHES", "POINT"] == snips
    assert count["DRILLS", "CIRCLE"] == 2
    assert count["DARTS", "LINE"] == 2 * sum(len(p.darts) for p in SHEET.pieces)
    assert {kind for _, kind in count} == {"LWPOLYLINE", "LINE", "POINT", "CIRCLE", "TEXT"}
    assert {layer for layer, kind in count if kind == "TEXT"} == {"TEXT"}


def test_outlines_are_closed() -> None:
    for line in read(kept("drawing")).modelspace().query("LWPOLYLINE"):
        if line.dxf.layer in ("CUT_LINE", "SEW_LINE"):
            assert line.closed
        assert line.dxf.flags & 128  # dashes run on round the corners


def test_the_splines_are_the_drafts_own_curves() -> None:
    """Evaluated by ezdxf from knots and controls, at the same parameters."""
    document = read(kept("splines"))
    ours = [
        edge.curve
        for placed in SHEET.placed()
        for edge in placed.piece.edges
        if edge.curve.degree == 3
    ]
    theirs = list(document.modelspace().query('SPLINE[layer=="SEW_LINE"]'))

    assert len(theirs) == len(ours)
    for curve, spline in zip(ours, theirs, strict=True):
        assert spline.dxf.degree == 3
        t = np.linspace(*curve.span, 37)
        points = np.array([tuple(p)[:2] for p in spline.construction_tool().points(t)])
        assert points == pytest.approx(mm(1.0) * curve.xy(t), abs=1e-4)


def test_straight_edges_stay_straight_among_splines() -> None:
    count = modelspace(kept("splines"))
    edges = [edge.curve for piece in SHEET.pieces for edge in piece.edges]

    assert count["SEW_LINE", "LINE"] == sum(c.degree == 1 and len(c.controls) == 2 for c in edges)
    assert count["CUT_LINE", "LWPOLYLINE"] == len(SHEET.pieces)


def test_letters_are_millimetres_high_and_say_who() -> None:
    texts = {e.dxf.text: e.dxf.height for e in read(kept("drawing")).modelspace().query("TEXT")}

    assert texts["Zoë Müller"] == pytest.approx(6.0)
    assert texts["Blouse with a collar"] == pytest.approx(12.0)
    assert min(texts.values()) >= 2.0


def test_square_and_bar_are_ten_centimetres_and_four_inches() -> None:
    drawn = read(kept("drawing")).modelspace()
    bars = drawn.query('LINE[layer=="TEXT"]')
    (square,) = drawn.query('LWPOLYLINE[layer=="TEXT"]')

    assert max((e.dxf.end - e.dxf.start).magnitude for e in bars) == pytest.approx(101.6)
    assert np.ptp(square.get_points("xy"), axis=0) == pytest.approx([100.0, 100.0])


def test_the_view_holds_everything_with_a_margin() -> None:
    document = read(kept("drawing"))
    view = document.viewports.get("*Active")[0]
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    size = (high[0] - low[0], high[1] - low[1])
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)

    assert tuple(document.header["$LIMMAX"]) == pytest.approx(high[:2])
    for paper, wanted in zip(document.header["$PLIMMAX"], size, strict=True):
        assert wanted <= paper < wanted + 127.0
        assert paper / 127.0 == pytest.approx(round(paper / 127.0))  # no page shrinks it
    assert tuple(view.dxf.center)[:2] == pytest.approx(middle)
    assert view.dxf.height >= high[1] - low[1]
    assert low[:2] == (-15.0, -15.0)


def test_a_stamp_is_on_a_layer_of_its_own() -> None:
    stamped = read(kept("drawing", stamped=True)).modelspace().query('TEXT[layer=="STAMP"]')
    words = [e.dxf.text for e in stamped]

    assert words.count("NOT FOR CUTTING") == len(SHEET.pieces)
    assert "STAMP" not in {layer for layer, _ in modelspace(kept("drawing"))}


# ---- the interchange file -----------------------------------------------------------------------


def test_a_block_and_an_insert_for_each_piece_and_nothing_else() -> None:
    data = kept("interchange").decode("ascii")
    document = read(data.encode())
    names = [block.name for block in document.blocks if not block.name.startswith("*")]

    assert names == [*(piece.code for piece in SHEET.pieces), "TEST_SQUARE"]
    assert [e.dxf.name for e in document.modelspace().query("INSERT")] == names
    assert {e.dxftype() for e in document.modelspace()} == {"INSERT", "TEXT"}
    assert "TABLES" not in data
    assert "$" not in data
    for block in (document.blocks.get(name) for name in names):
        assert {e.dxftype() for e in block} <= {"POLYLINE", "LINE", "POINT", "TEXT"}
        assert all(e.dxf.layer.isdigit() for e in block)


def test_every_corner_of_an_outline_is_a_turn_or_a_curve_point() -> None:
    for block in read(kept("interchange")).blocks:
        points = Counter(
            tuple(e.dxf.location)[:2] for e in block.query("POINT") if e.dxf.layer in ("2", "3")
        )
        corners = Counter(
            tuple(v.dxf.location)[:2]
            for line in block.query("POLYLINE")
            if line.dxf.layer in ("1", "14")
            for v in line.vertices
        )
        assert points == corners
        assert all(line.is_closed for line in block.query("POLYLINE") if line.dxf.layer == "1")


def test_a_square_has_turn_points_at_its_corners_only() -> None:
    sheet = SheetContent("Square", (shapes.square(10.0),), LABELS)
    block = read(interchange_bytes(sheet)).blocks.get("POLY")
    turns = {
        tuple(round(c) for c in tuple(e.dxf.location)[:2])
        for e in block.query("POINT")
        if e.dxf.layer == "2"
    }

    assert turns == {(x, y) for a, b in ((0, 120), (10, 110)) for x in (a, b) for y in (a, b)}
    assert not [e for e in block if e.dxf.layer == "3"]


def test_system_text_is_what_is_safe_to_write() -> None:
    document = read(kept("interchange"))
    style = [e.dxf.text for e in document.modelspace().query("TEXT")]
    piece = [e.dxf.text for e in document.blocks.get("STAND").query('TEXT[layer=="1"]')]

    assert style == [
        "Style Name: Blouse 12 Blouse with a collar",
        "Creation Date: 2026-03-14",
        "Author: Neckarc",
        "Units: METRIC",
    ]
    assert piece == ["Piece Name: STAND", "Quantity: 2"]


def test_a_square_to_measure_lies_beside_the_pieces() -> None:
    block = read(kept("interchange")).blocks.get("TEST_SQUARE")
    (square,) = block.query("POLYLINE")
    corners = np.array([tuple(v.dxf.location)[:2] for v in square.vertices])
    words = [e.dxf.text for e in block.query("TEXT")]

    assert np.ptp(corners, axis=0) == pytest.approx([100.0, 100.0])
    assert corners.max() <= 100.0  # below all pieces, which begin at the origin
    assert corners[:, 1].max() < 0.0
    assert "Quantity: 0" in words
    assert "each side 10 cm = 100 mm" in words
    assert square.is_closed
    for text in block.query("TEXT"):
        at = Point(text.dxf.insert.x, text.dxf.insert.y)
        assert Polygon(corners).contains(Written(at, text.dxf.text, text.dxf.height).box)


@pytest.mark.parametrize("card", ["demo", "small"])
def test_the_names_of_pieces_lie_clear_of_lines_and_words(card: str) -> None:
    """Letters as wide as any sans serif has them."""
    order = make_garment(open_card(data_folder() / "clients" / f"{card}.toml"))
    document = read(interchange_bytes(sheet_content(order)))
    taken: list[tuple[str, BaseGeometry]] = []
    lines = []
    for space in (document.modelspace(), *document.blocks):
        for text in space.query("TEXT"):
            at = Point(text.dxf.insert.x, text.dxf.insert.y)
            angle = np.radians(text.dxf.rotation)
            box = Written(at, text.dxf.text, text.dxf.height, angle).box
            taken.append((text.dxf.text, box))
        lines += [Line([e.dxf.start.vec2, e.dxf.end.vec2]) for e in space.query("LINE")]
        lines += [
            LinearRing(points) if row.is_closed else Line(points)
            for row in space.query("POLYLINE")
            for points in [[tuple(v.dxf.location)[:2] for v in row.vertices]]
        ]
    own = [box for words, box in taken if words.startswith(("Piece Name", "Quantity"))]
    others = [box for words, box in taken if not words.startswith(("Piece Name", "Quantity"))]

    assert len(own) == 2 * (len(order.pieces) + 1)
    assert not [one for one in own for other in (*lines, *others) if one.intersects(other)]


def test_a_stamped_order_says_so_in_its_name_and_on_each_piece() -> None:
    document = read(kept("interchange", stamped=True))
    style = [e.dxf.text for e in document.modelspace().query("TEXT")]

    assert style[0] == "Style Name: NOT FOR CUTTING Blouse 12 Blouse with a collar"
    for piece in SHEET.pieces:
        texts = [e.dxf.text for e in document.blocks.get(piece.code).query("TEXT")]
        assert "NOT FOR CUTTING" in texts


def test_pieces_of_one_code_get_names_of_their_own() -> None:
    taken: set[str] = set()
    names = [block_name(code, taken) for code in ("FRONT", "front", "Front é", "", "Ж", "A" * 99)]

    assert names[:3] == ["FRONT", "FRONT_2", "FRONT_E"]
    assert len(set(names)) == len(names)
    assert all(name.isascii() and len(name) <= 31 for name in names)


# ---- all of them --------------------------------------------------------------------------------


@EVERY
def test_the_same_order_gives_the_same_bytes(name: str) -> None:
    assert WRITERS[name](SHEET) == kept(name)


def test_the_bytes_do_not_hang_on_the_run() -> None:
    """Another process, another order of sets and dictionaries."""
    code = (
        "import hashlib; from tests.workroom import test_dxf as t;"
        "[print(hashlib.sha256(w(t.SMALL)).hexdigest()) for w in t.WRITERS.values()]"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env=os.environ | {"PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }

    assert len(digests) == 1
    assert len(digests.pop().split()) == len(WRITERS)


@EVERY
def test_no_clock_in_the_file(name: str) -> None:
    """Every date ezdxf writes is the first of January 2000, and identifiers are nought."""
    lines = kept(name).decode().splitlines()
    marks = [line for line in lines if " @ " in line]
    days = [float(lines[k + 2]) for k, line in enumerate(lines) if line.startswith("$TDU")]
    days += [float(lines[k + 2]) for k, line in enumerate(lines) if line == "$TDCREATE"]
    names = [lines[k + 2] for k, line in enumerate(lines) if line.endswith("GUID")]

    assert all(mark.endswith("@ 2000-01-01T00:00:00.000000+00:00") for mark in marks)
    assert set(days) <= {2451545.0, 0.0}
    assert all(set(found) <= set("{0-}") for found in names)
    assert (len(marks), len(names)) == ((0, 0) if name == "interchange" else (2, 2))


@EVERY
def test_the_audit_finds_nothing(name: str) -> None:
    auditor = read(kept(name)).audit()

    assert not auditor.has_errors
    assert not auditor.has_fixes


@EVERY
@pytest.mark.parametrize("client", HOSTILE)
def test_no_name_breaks_a_file(name: str, client: str, tmp_path: Path) -> None:
    labels = Labels(client, "2026-03-14", client, client, {"FRONT": (client,)}, client)
    plain = replace(SHEET, pieces=(shapes.front(), shapes.stand()))
    pieces = tuple(replace(p, title=client, notes=(client,)) for p in plain.pieces)
    data = WRITERS[name](SheetContent(client, pieces, labels))
    path = tmp_path / "hostile.dxf"
    path.write_bytes(data)
    pyogrio.set_gdal_config_options(GDAL)
    meta, _, _, columns = pyogrio.raw.read(path, layer="entities")
    layer = set(columns[list(meta["fields"]).index("Layer")])

    assert not read(data).audit().has_errors
    assert name != "interchange" or data.isascii()
    assert layer >= {row for row, _ in modelspace(WRITERS[name](plain))}


@EVERY
def test_a_crossed_sew_line_is_written_only_with_a_stamp(name: str) -> None:
    corners = (Point(0, 0), Point(20, 20), Point(20, 0), Point(0, 20))
    crossed = (shapes.polygon(corners, (1.0,) * 4),)

    with pytest.raises(DraftError, match="crosses"):
        WRITERS[name](replace(SHEET, pieces=crossed))
    assert WRITERS[name](replace(STAMPED, pieces=crossed))


def test_the_setting_for_fixed_dates_is_put_back() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing

    seen = []

    def broken() -> None:
        with fixed_metadata():
            seen.append(ezdxf.options.write_fixed_meta_data_for_testing)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        broken()
    assert seen == [True]
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


# ---- words --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("Größe Müller", "Grosse Muller"),
        ("Čáp, Łódź, Ørsted", "Cap, Lodz, Orsted"),
        ("Æsa Þór – “12 €”", 'AEsa Thor - "12 EUR"'),
        ("王 Wang", "? Wang"),
        ("Мария", "?"),
        ("fine ﬁt ½ ⅓", "fine fit 1/2 1/3"),
        ("", ""),
    ],
)
def test_names_in_ascii(words: str, expected: str) -> None:
    assert ascii_words(words) == expected


@given(st.text(max_size=60))
def test_any_words_become_one_plain_line(words: str) -> None:
    plain, narrow = dxf_words(words), ascii_words(words)

    assert len(plain.splitlines()) <= 1
    assert "%%" not in plain
    assert narrow.isascii()
    assert narrow.isprintable()


def test_readers_give_names_back_as_they_were(tmp_path: Path) -> None:
    """GDAL decodes what the DXF reference gives a meaning; here nothing is left to decode."""
    names = ["50 % off", "x ^ y", "a\\b", "{c}", "Č é 王 שלום", "two  spaces"]
    with fixed_metadata():
        document = ezdxf.new("R2010", units=4)
        for k, words in enumerate(names):
            document.modelspace().add_text(dxf_words(words), height=5).set_placement((0, 9 * k))
        path = tmp_path / "names.dxf"
        document.saveas(path)
    pyogrio.set_gdal_config_options(GDAL)
    meta, _, _, columns = pyogrio.raw.read(path, layer="entities")
    found = list(columns[list(meta["fields"]).index("Text")])

    assert found == [" ".join(words.split()) for words in names]


def test_percent_signs_stay_percent_signs() -> None:
    assert dxf_words("100%%d") == "100% %d"
    assert dxf_words("%%%%") == "% % % %"
    assert dxf_words("\\U+0041 \\m+1") == "\\ U+0041 \\ m+1"


def test_layer_numbers_follow_the_table() -> None:
    numbers = {e.dxf.layer for block in read(kept("interchange")).blocks for e in block}
    table = {str(row.d6673) for row in layers().values() if row.d6673}

    assert numbers - {"2", "3"} <= table
    assert {str(layers()[ink].d6673) for ink in (Ink.CUT, Ink.SEW, Ink.GRAIN)} <= numbers


def test_notch_points_stand_on_the_boundary() -> None:
    document = read(kept("interchange"))
    for piece in SHEET.pieces:
        block = document.blocks.get(piece.code)
        boundary = block.query('POLYLINE[layer=="1"]').first
        border = LinearRing([tuple(v.dxf.location)[:2] for v in boundary.vertices])
        for point in block.query('POINT[layer=="4"]'):
            assert border.distance(Spot(tuple(point.dxf.location)[:2])) < 0.02
