"""Ranges of published size tables: every seam walks in every size, sizes lie on each other at the
stated point and are told apart, and what does not grow evenly is said."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pikepdf
import pytest
import shapely
from click.testing import CliRunner

from blocks.body.populations import size, size_names, size_table, size_tables
from blocks.edges import EdgeName
from collars.registry import COLLARS
from drafting.drawing.lettering import Written
from drafting.drawing.pens import RecordingPen
from drafting.errors import DataError, DraftError
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.library import data_folder, read_data, read_toml
from drafting.pieces.checks import Verdict
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Edge, Piece, seam_mismatch
from garment.garment import Garment
from tests.pdfs import opened
from workroom.commands import neckarc
from workroom.grade.growth import Growth, grade_checks, growths
from workroom.grade.nest import (
    corner_of,
    draw_nest,
    nest_dxf_bytes,
    nest_look,
    nest_of,
    nest_pdf_bytes,
    read_nest,
    size_layers,
)
from workroom.grade.papers import grade_lines, growth_table, range_papers
from workroom.grade.sizes import SizeRange, draft_range, open_range_card

CLIENTS = data_folder() / "clients"
FEW = ("8", "12", "16")
BLANK = """
client = "Autumn range"
date = 2026-03-14
order = "Blouse"
[garment]
method = "METHOD"
[collar]
kind = "COLLAR"
"""


def card(tmp_path: Path, method: str = "direct-measure", collar: str = "two-piece shirt") -> Path:
    path = tmp_path / "range.toml"
    path.write_text(BLANK.replace("METHOD", method).replace("COLLAR", collar))
    return path


@pytest.fixture(scope="module")
def demo() -> SizeRange:
    return draft_range(open_range_card(CLIENTS / "demo.toml"), "astm-d5585-95", FEW)


@pytest.fixture(scope="module")
def files(demo: SizeRange) -> dict[str, bytes]:
    return range_papers(demo)


def points(entity: ezdxf.entities.LWPolyline) -> np.ndarray:
    return np.array([(x, y) for x, y, *_ in entity.get_points()])


def test_the_measurements_are_the_tables(demo: SizeRange) -> None:
    """Source: ASTM D5585-95 (from memory), as in data/sizes."""
    assert demo.sizes == FEW
    for name, order in demo.orders.items():
        assert order.commission.measurements == size("astm-d5585-95", name)
    assert any("shoulder length" in note and "Not used" in note for note in demo.notes)


@pytest.mark.parametrize("collar", ["none", *COLLARS])
def test_every_seam_walks_in_every_size(tmp_path: Path, collar: str) -> None:
    drafted = draft_range(
        open_range_card(card(tmp_path, collar=collar)), "astm-d5585-95", ("6", "20")
    )

    for order in drafted.orders.values():
        assert order.seams
        for seam in order.seams:
            assert abs(seam_mismatch(order.pieces, seam)) < 0.01
    walked = [check for check in grade_checks(drafted) if "seams walked" in check.name]
    assert [check.verdict for check in walked] == [Verdict.PASS, Verdict.PASS]


def test_what_the_table_does_not_print_is_the_cards_or_missing(tmp_path: Path) -> None:
    """ASTM D5585-11e1 as kept here prints girths only."""
    path = card(tmp_path)
    with pytest.raises(DraftError) as caught:
        draft_range(open_range_card(path), "astm-d5585-11", ("8", "10"))
    assert [problem.key for problem in caught.value.problems] == ["measurements.back_waist_length"]
    path.write_text(f"{path.read_text()}[measurements]\nback_waist_length = 40\n")
    drafted = draft_range(open_range_card(path), "astm-d5585-11", ("8", "10"))

    assert {o.commission.measurements["back_waist_length"] for o in drafted.orders.values()} == {
        40.0
    }
    assert any("back waist length 40.0 cm is the card's" in note for note in drafted.notes)


def test_sizes_and_tables_there_are_not(tmp_path: Path) -> None:
    asked = open_range_card(card(tmp_path))
    with pytest.raises(DraftError, match="no such sizes"):
        draft_range(asked, "astm-d5585-95", ("8", "21"))
    with pytest.raises(DraftError, match="two sizes or more"):
        draft_range(asked, "astm-d5585-95", ("8",))
    for key in ("nobody", "../survey/women"):
        with pytest.raises(DataError, match="no such size table"):
            draft_range(asked, key)
    for key in size_tables():
        assert size_table(key).source
        assert len(size_names(key)) <= len(nest_look().looks)


def test_a_taped_neckline_has_one_size(tmp_path: Path) -> None:
    path = card(tmp_path)
    path.write_text(f"{path.read_text()}[neckline]\nback_arc = 9\nfront_arc = 13\n")

    with pytest.raises(DraftError, match="one size"):
        draft_range(open_range_card(path), "astm-d5585-95")


def test_sizes_lie_on_each_other_at_the_stated_corner(demo: SizeRange) -> None:
    nest = nest_of(demo)

    for nested in nest.pieces:
        corners = [corner_of(piece) for piece in nested.sizes.values()]
        first = corners[0][0]
        assert all(first.to(corner) < 1e-9 for corner, _ in corners)
        assert {said for _, said in corners} == {nested.point}
    assert nest.piece("BACK").point == "where the neckline meets centre back"
    assert nest.piece("FRONT").point == "where the neckline meets centre front"
    areas = [nested.area for nested in nest.pieces]
    assert all(not a.intersects(b) for k, a in enumerate(areas) for b in areas[:k])
    sheet = shapely.box(0, 0, nest.width, nest.height)
    assert all(sheet.contains(area) for area in areas)


def test_the_nested_pieces_are_the_drafted_ones(demo: SizeRange) -> None:
    for nested in nest_of(demo).pieces:
        for name, piece in nested.sizes.items():
            (drafted,) = [p for p in demo.orders[name].pieces if p.code == nested.code]
            assert [e.length for e in piece.edges] == pytest.approx(
                [e.length for e in drafted.edges], abs=1e-9
            )


def test_the_dxf_has_a_layer_a_size_with_its_own_look(demo: SizeRange) -> None:
    nest = nest_of(demo)
    doc = ezdxf.read(io.StringIO(nest_dxf_bytes(nest).decode("utf-8")))
    table = size_layers(nest.sizes)
    layers = {name: doc.layers.get(layer.name) for name, layer in table.items()}

    assert [layer.dxf.name for layer in layers.values()] == ["SIZE_8", "SIZE_12", "SIZE_16"]
    assert len({(layer.dxf.color, layer.dxf.linetype) for layer in layers.values()}) == 3
    for name, layer in layers.items():
        rings = [
            points(e)
            for e in doc.modelspace().query(f'LWPOLYLINE[layer=="{layer.dxf.name}"]')
            if e.closed
        ]
        for nested in nest.pieces:
            wanted = shapely.Polygon(cut_line(nested.sizes[name]).points).area
            areas = [shapely.Polygon(ring).area / 100 for ring in rings]
            assert min(abs(area - wanted) for area in areas) < 0.05


def test_the_pdf_has_a_layer_a_size(demo: SizeRange) -> None:
    nest = nest_of(demo)
    with pikepdf.open(io.BytesIO(nest_pdf_bytes(nest))) as pdf:
        names = [str(group.Name) for group in pdf.Root.OCProperties.OCGs]
        (page,) = pdf.pages
        marked = page.Contents.read_bytes().decode("latin-1")
        box = [float(side) for side in page.MediaBox]

    assert names == ["Size 8", "Size 12", "Size 16", "Labels and grain"]
    assert box[2:] == pytest.approx([nest.width * 72 / 2.54, nest.height * 72 / 2.54], abs=1e-3)
    for number in range(3):
        assert marked.count(f"/OC /size-{number} BDC") > 20


def test_the_interchange_file_has_a_block_for_every_piece_and_size(
    demo: SizeRange, files: dict[str, bytes]
) -> None:
    data = files["interchange.dxf"]
    doc = ezdxf.read(io.StringIO(data.decode("ascii")))
    names = {block.name for block in doc.blocks if not block.name.startswith(("*", "$"))}
    text = data.decode("ascii")

    assert names == {f"{code}_{name}" for code in demo.codes for name in FEW} | {"TEST_SQUARE"}
    for name in FEW:
        assert text.count(f"Size: {name}\n") >= len(demo.codes)
    assert "Sample Size: 12" in text


def test_the_same_range_gives_the_same_bytes(files: dict[str, bytes]) -> None:
    again = draft_range(open_range_card(CLIENTS / "demo.toml"), "astm-d5585-95", FEW)

    assert range_papers(again) == files


def test_an_even_range_is_called_even(demo: SizeRange) -> None:
    """The table steps evenly from 8 to 16 (ASTM D5585-95, from memory): so do the pieces."""
    checks = [c for c in grade_checks(demo) if "step" in c.name or "out of line" in c.name]

    assert len(checks) > 20
    assert {check.verdict for check in checks} == {Verdict.PASS}


def grown(*lengths: float) -> Growth:
    names = [str(k) for k in range(len(lengths))]
    busts = {name: 80.0 + 4 * k for k, name in enumerate(names)}
    return Growth("Front", EdgeName.SCYE, dict(zip(names, lengths, strict=True)), busts)


def test_growth_that_goes_back_or_jumps_is_found() -> None:
    assert grown(20, 20.5, 20.4, 21).against == ("1", "2", pytest.approx(-0.1))
    assert grown(21, 20.4, 20.5, 20).against == ("1", "2", pytest.approx(-0.1))
    assert grown(20, 20.5, 21, 21.5).against[2] == pytest.approx(0.5)
    name, out = grown(20, 20.5, 21.6, 21.5).uneven
    assert (name, out) == ("2", pytest.approx(0.6))
    assert grown(20, 20.5, 21, 21.5).uneven[1] == pytest.approx(0.0)
    name, out = grown(20, 20.5, 20.4, 21.5).uneven  # too short stands out as much as too long
    assert (name, out) == ("2", pytest.approx(-0.6))
    name, out = grown(21.5, 20.4, 20.5, 20).uneven  # and is not hidden by one a little too long
    assert (name, out) == ("1", pytest.approx(-0.6))


def test_uneven_bust_steps_of_a_table_are_allowed_for() -> None:
    """Busts of 80, 84 and 92: an edge that grows as the bust does is even."""
    growth = Growth(
        "Front", EdgeName.WAIST, {"a": 20, "b": 21, "c": 23}, {"a": 80, "b": 84, "c": 92}
    )

    assert growth.uneven[1] == pytest.approx(0.0)
    assert growth.steps == (1, 2)


def longer_side(piece: Piece, by: float) -> Piece:
    """The piece with a spike in its side seam, a centre of a straight edge pulled out."""
    at = piece.place(EdgeName.SIDE_SEAM)
    edge = piece.edges[at]
    start, end = edge.curve.start, edge.curve.end
    middle = start + (end - start) * 0.5 + Point(by, 0.0)
    two = (Edge(edge.name, line(start, middle)), Edge(edge.name, line(middle, end)))
    return replace(piece, edges=(*piece.edges[:at], *two, *piece.edges[at + 1 :]), notches=())


def test_a_spoilt_size_is_found_out(demo: SizeRange) -> None:
    """One back with a longer side seam than its front: its seam fails and its size stands out."""
    order = demo.orders["12"]
    pieces = tuple(longer_side(p, 5.0) if p.code == "BACK" else p for p in order.pieces)
    spoilt = replace(demo, orders={**demo.orders, "12": replace(order, pieces=pieces)})
    found = grade_checks(spoilt)
    failing = [check.name for check in found if check.verdict is Verdict.FAIL]
    noted = [check for check in found if check.verdict is Verdict.NOTE]

    assert failing == ["size 12: all seams walked, largest difference"]
    assert any("side seam" in c.name and "Size 12 is" in c.advice for c in noted)
    assert any("same edges" in c.name and "Size 12 has others" in c.advice for c in noted)


def test_a_range_is_a_styles_and_names_no_client(files: dict[str, bytes]) -> None:
    for name, content in files.items():
        if name.endswith(".pdf"):
            text = opened(content)[0].get_textpage().get_text_range()
        else:
            text = content.decode("utf-8")
        assert "Blouse 12" in text or name == "grade.csv"
        assert "Marta" not in text
        assert "Ilves" not in text


def test_what_all_sizes_are_told_is_told_once(tmp_path: Path) -> None:
    """Nobody's neck girth stands in the table, so that a stand by rule is told in every size."""
    drafted = draft_range(open_range_card(card(tmp_path)), "astm-d5585-95", ("8", "12", "16"))
    noted = [check.name for check in drafted.smallest.checks if check.verdict is Verdict.NOTE]
    lines = [line for line in grade_lines(drafted) if line.startswith("note: size")]

    assert noted
    for name in noted:
        (said,) = [line for line in lines if name in line]
        assert said.startswith("note: sizes 8 to 16: ")


def test_a_nests_labels_keep_clear_of_the_darts_of_every_size(demo: SizeRange) -> None:
    nest = nest_of(demo)
    boxes: dict[str, list[shapely.Geometry]] = {}

    class Words(RecordingPen):
        code = ""

        def begin_piece(self, code: str, title: str) -> None:
            self.code = code

        def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0) -> None:
            boxes.setdefault(self.code, []).append(Written(at, words, height, angle).box)

    draw_nest(nest, {name: RecordingPen() for name in nest.sizes}, Words())
    assert len(boxes["FRONT"]) > 4
    for nested in nest.pieces:
        for piece in nested.sizes.values():
            for dart in piece.darts:
                corners = (dart.first, dart.tip, dart.second)
                shape = shapely.Polygon([tuple(corner) for corner in corners])
                assert not any(shape.intersects(box) for box in boxes.get(nested.code, []))


def test_a_size_too_short_or_a_seam_too_short_is_found_out_as_well(demo: SizeRange) -> None:
    """Longer fronts in both sizes beside it: their seams fail, and the one between is short."""

    def longer(name: str) -> Garment:
        order = demo.orders[name]
        pieces = tuple(longer_side(p, 5.0) if p.code == "FRONT" else p for p in order.pieces)
        return replace(order, pieces=pieces)

    spoilt = replace(demo, orders={**demo.orders, "8": longer("8"), "16": longer("16")})
    found = grade_checks(spoilt)
    failing = [check.name for check in found if check.verdict is Verdict.FAIL]
    assert failing == [f"size {name}: all seams walked, largest difference" for name in ("8", "16")]
    (side,) = [c for c in found if "Front bodice, side seam: out of line" in c.name]
    assert side.measured > 0.2
    assert side.verdict is Verdict.NOTE
    assert f"Size 12 is {side.measured:.2f} cm shorter" in str(side.advice)


def test_the_table_of_growth_adds_up(demo: SizeRange) -> None:
    text = growth_table(demo).decode("utf-8-sig")
    found = list(csv.DictReader(io.StringIO(text)))

    assert len(found) == len(growths(demo))
    for row in found:
        for before, after in pairwise(FEW):
            step = float(row[after]) - float(row[before])
            assert float(row[f"step to {after}"]) == pytest.approx(step, abs=0.0015)


def test_a_range_on_the_command_line(tmp_path: Path) -> None:
    words = ["grade", str(card(tmp_path)), "--sizes", "astm-d5585-95", "--only", "8, 10"]
    result = CliRunner().invoke(neckarc, [*words, "--into", str(tmp_path / "out")])
    wrong = CliRunner().invoke(neckarc, ["grade", str(card(tmp_path)), "--sizes", "none"])

    assert result.exit_code == 0, result.output
    (place,) = (tmp_path / "out").glob("[!.]*")
    assert {path.name for path in place.iterdir()} == {
        "nest.dxf",
        "nest.pdf",
        "interchange.dxf",
        "grade.csv",
        "grade.txt",
        "order.json",
    }
    assert wrong.exit_code == 2
    assert "astm-d5585-11" in wrong.output


def test_a_range_with_a_failing_size_is_stamped(tmp_path: Path) -> None:
    """The bust-proportional method misses the necks of this table, and nothing may be fitted."""
    path = card(tmp_path, "bust-proportional", "none")
    path.write_text(f'{path.read_text()}[neckline]\nfit = "none"\n')
    words = ["grade", str(path), "--sizes", "astm-d5585-95", "--only", "8 20"]
    result = CliRunner().invoke(neckarc, [*words, "--into", str(tmp_path / "out")])
    (place,) = (tmp_path / "out").glob("[!.]*")

    assert result.exit_code == 3
    for name in ("nest.dxf", "grade.txt"):
        assert "NOT FOR CUTTING" in (place / name).read_text(encoding="utf-8")


def test_looks_are_told_apart_in_black_and_white() -> None:
    looks = nest_look().looks
    assert len({look.dash_mm for look in looks}) == len(looks)
    text = (data_folder() / "nest.toml").read_text(encoding="utf-8")
    assert read_nest(read_data("nest")) == nest_look()
    for old, new in (
        ("dash_mm = [8.0, 2.0]", "dash_mm = []"),
        ("colour = 1", "colour = 2"),
        ("cut = 0.35", "cut = 0.36"),
        ('"neckline", "centre back"', '"neckline", "nowhere"'),
    ):
        with pytest.raises(DataError):
            read_nest(read_toml(text.replace(old, new), "nest.toml"))
