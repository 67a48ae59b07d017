"""Lays of whole orders: everything inside the cloth, nothing on top of anything, grain and fold
kept, as many pieces as the plan wants, and no more cloth than a lay by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from math import atan, degrees, pi
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely import affinity

from drafting.drawing.drawing import Labels
from drafting.drawing.pens import RecordingPen
from drafting.errors import DataError, DraftError
from drafting.geometry.points import Move, Point
from drafting.library import data_folder, read_toml
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import CutPlan, MarkKind, Piece
from drafting.units import LengthUnit
from garment.garment import Garment, make_garment
from tests import shapes
from tests.strategies import bodies
from workroom.card.card import open_card, read_card_text
from workroom.papers.cloth.cloth import Material, cloth_book, read_cloths
from workroom.papers.cloth.cutting_list import (
    cutting_list,
    cutting_list_lines,
    draw_cutting_list,
    facing_strips,
    lay_file_name,
)
from workroom.papers.cloth.lay import LaidPiece, Lay, all_lays, lay
from workroom.papers.cloth.lay_picture import draw_lay, lay_name, lay_png, lay_svg
from workroom.papers.papers import papers

CLIENTS = ("demo", "small", "large")
GAP = cloth_book().laying.gap
LABELS = Labels("Zoë Müller", "2026-03-14", "Blouse 12", "direct measure")


@cache
def order(name: str) -> Garment:
    return make_garment(open_card(data_folder() / "clients" / f"{name}.toml"))


@cache
def laid(name: str, material: Material, width: float, one_way: bool = False) -> Lay:
    return lay(order(name).pieces, material, width, one_way=one_way)


# ---- an independent look at a lay ---------------------------------------------------------------


def paper(one: LaidPiece, material: Material) -> Any:
    """The paper piece as it must lie, from the piece itself: its cut line, opened out where it is
    laid opened; for interfacing its sew line."""
    piece = opened(one.piece) if one.opened else one.piece
    points = piece.outline() if material is Material.INTERFACING else cut_line(piece).points
    return shapely.Polygon(one.move.apply(points))


def layers_of(one: LaidPiece) -> Iterator[Any]:
    """All that a laid piece covers on the cloth opened out."""
    area = shapely.Polygon(one.outline)
    yield area
    if one.doubled or one.on_fold:
        yield affinity.scale(area, xfact=-1.0, origin=(0.0, 0.0))


def section_of(lay: Lay, one: LaidPiece) -> bool:
    """Is the piece on the folded part? It lies whole in one section."""
    low, high = one.outline[:, 1].min(), one.outline[:, 1].max()
    (there,) = [s for s in lay.sections if s.start - 1e-6 <= low and high <= s.end + 1e-6]
    return there.folded


def assert_can_be_cut(lay: Lay, pieces: tuple[Piece, ...]) -> None:
    """Everything a cutter would look for."""
    room = lay.width / 2 - lay.cloth.selvedge
    for one in lay.pieces:
        xs, ys = one.outline.T
        assert np.abs(xs).max() <= room + 1e-6, "beyond the selvedge"
        assert ys.min() >= -1e-6, "beyond the first cut"
        assert ys.max() <= lay.length + 1e-6, "beyond the last cut"
        folded = section_of(lay, one)
        assert folded == (one.doubled or one.on_fold)
        if folded:
            assert xs.min() >= -1e-6, "across the fold"
        assert_grain_and_fold(lay, one)
        assert_is_the_piece(lay, one)
    covered = [(n, area) for n, one in enumerate(lay.pieces) for area in layers_of(one)]
    for (n, a), (m, b) in combinations(covered, 2):
        assert a.intersection(b).area < 1e-6, "one piece on another"
        if n != m:
            # across the fold two layers lie apart; on one side the shears need room
            same_side = (a.centroid.x > 0) == (b.centroid.x > 0) or not section_of(
                lay, lay.pieces[n]
            )
            assert not same_side or a.distance(b) > 0.95 * GAP
    assert_counts(lay, pieces)
    area = sum(a.area for _, a in covered)
    assert lay.utilisation == pytest.approx(area / (lay.width * lay.length), rel=1e-6)


def assert_grain_and_fold(lay: Lay, one: LaidPiece) -> None:
    start, end = (one.move(p) for p in one.piece.grain)
    assert abs(degrees(atan((end.x - start.x) / (end.y - start.y)))) < 0.05, "off the grain"
    if lay.one_way:
        assert not one.head_down
    if one.on_fold:
        for edge in one.piece.edges:
            if edge.on_fold:
                for p in (edge.curve.start, edge.curve.end):
                    assert abs(one.move(p).x) < 0.005, "the fold lies beside the cloth's fold"


def assert_is_the_piece(lay: Lay, one: LaidPiece) -> None:
    """What is drawn is what the piece is, to a fifth of a millimetre."""
    wanted, drawn = paper(one, lay.material), shapely.Polygon(one.outline)
    if lay.material is not Material.INTERFACING:
        assert wanted.symmetric_difference(drawn).area < 0.02 * wanted.length
        assert shapely.hausdorff_distance(wanted, drawn) < 0.02
        return
    inside = cloth_book().laying.interfacing_inside
    assert wanted.buffer(1e-4).contains(drawn), "interfacing in the seam"
    fold = shapely.LineString([(0.0, -10.0), (0.0, lay.length + 10.0)])
    for x, y in one.outline:
        if not (one.on_fold and shapely.Point(x, y).distance(fold) < 0.01):
            assert inside - 0.02 < wanted.exterior.distance(shapely.Point(x, y))


def assert_counts(lay: Lay, pieces: tuple[Piece, ...]) -> None:
    """As many of each as the plan wants; of a pair as many left as right."""
    gives: Counter[str] = Counter()
    face_down: Counter[str] = Counter()
    for one in lay.pieces:
        gives[one.piece.code] += one.gives
        # the lower layer lies face up when the upper one lies face down
        face_down[one.piece.code] += 1 if one.doubled else int(one.turned_over)
    for piece in pieces:
        wanted = lay.material.wanted(piece.cut)
        assert gives[piece.code] == wanted
        if piece.cut.mirrored_pair:
            assert face_down[piece.code] == wanted // 2


# ---- orders -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CLIENTS)
@pytest.mark.parametrize("one_way", [False, True])
@pytest.mark.parametrize("width", cloth_book().cloths[Material.CLOTH].widths[LengthUnit.CM])
def test_the_lays_of_the_clients_can_be_cut(name: str, width: float, one_way: bool) -> None:
    assert_can_be_cut(laid(name, Material.CLOTH, width, one_way), order(name).pieces)


@pytest.mark.parametrize("name", CLIENTS)
def test_their_interfacing_can_be_cut(name: str) -> None:
    assert_can_be_cut(laid(name, Material.INTERFACING, 90.0), order(name).pieces)


@settings(max_examples=8)
@given(bodies())
def test_lays_for_bodies_of_a_survey_can_be_cut(body: dict[str, float]) -> None:
    rows = "\n".join(f"{key} = {value}" for key, value in body.items())
    card = (
        'client = "A"\ndate = 2026-01-01\nunit = "cm"\n[measurements]\n'
        f'{rows}\n[garment]\nmethod = "bust-proportional"\nbutton_stand = 1.5\n'
        '[collar]\nkind = "two-piece shirt"\n'
    )
    try:
        made = make_garment(read_card_text(card, "a.toml"))
    except DraftError:
        return  # no such blouse; tests of the draft say when
    found = lay(made.pieces, Material.CLOTH, 150.0)

    assert_can_be_cut(found, made.pieces)


@pytest.mark.parametrize("width", [115.0, 150.0])
def test_a_mixed_order_is_laid_whole(width: float) -> None:
    """Pieces on the fold, a pair, one alone that is not symmetrical, two alike."""
    once = replace(shapes.blob((6, 7, 5, 8, 6), (1.0,) * 5), cut=CutPlan(cloth=1))
    twice = replace(shapes.blob((6, 8, 5, 7), (1.0,) * 4), code="ALIKE", cut=CutPlan(cloth=2))
    pieces = (*shapes.all_pieces(), once, twice)
    found = lay(pieces, Material.CLOTH, width)

    assert_can_be_cut(found, pieces)
    for one in found.pieces:
        if one.piece.code in ("BLOB", "ALIKE"):
            assert not one.doubled, "the lower layer would come out the wrong way round"


def test_the_same_order_is_laid_the_same_way() -> None:
    again = lay(order("demo").pieces, Material.CLOTH, 140.0)
    for one, other in zip(again.pieces, laid("demo", Material.CLOTH, 140.0).pieces, strict=True):
        assert np.array_equal(one.outline, other.outline)


def test_wider_cloth_is_never_bought_longer() -> None:
    for name in CLIENTS:
        narrow, middle, wide = (
            laid(name, Material.CLOTH, width).to_buy for width in (115.0, 140.0, 150.0)
        )
        assert narrow >= middle >= wide


# ---- lays by hand -------------------------------------------------------------------------------


def block(width: float, height: float, code: str = "BLOCK", **cut: Any) -> Piece:
    """A rectangle with its grain along its height; ``width`` and ``height`` are those of the cut
    piece, one centimetre of allowance all round."""
    w, h = width - 2.0, height - 2.0
    corners = (Point(0, 0), Point(w, 0), Point(w, h), Point(0, h))
    piece = shapes.polygon(corners, (1.0,) * 4)
    grain = (Point(w / 2, 1.0), Point(w / 2, h - 1.0))
    return replace(piece, code=code, cut=CutPlan(**cut), grain=grain)


def test_four_that_fill_the_cloth_take_their_own_length() -> None:
    """By hand: four pieces 27.7 wide and 50 long, 0.4 between them, fill 112 of 115 less two
    selvedges of 1.5. 50 and 4 for the ends, 5 % for shrinkage: 56.8, so 60 are bought."""
    found = lay([block(27.7, 50.0, cloth=4)], Material.CLOTH, 115.0)

    assert found.length == pytest.approx(50.0, abs=1e-6)
    assert found.to_buy == 60.0
    assert found.utilisation == pytest.approx(4 * 27.7 * 50.0 / (115.0 * 50.0))


def test_a_hair_wider_and_they_need_two_rows() -> None:
    found = lay([block(27.9, 50.0, cloth=4)], Material.CLOTH, 115.0)

    assert found.length == pytest.approx(100.4, abs=1e-6)
    assert found.to_buy == 110.0  # 104.4 / 0.95 = 109.9


def test_folded_where_that_needs_no_more() -> None:
    """Three pairs of 22.5, side by side on folded cloth of 140: 68.3 of 68.5."""
    found = lay([block(22.5, 40.0, cloth=6)], Material.CLOTH, 140.0)

    assert found.folded
    assert found.length == pytest.approx(40.0, abs=1e-6)
    assert [one.doubled for one in found.pieces] == [True] * 3
    assert found.folded_to_buy is None  # it is the folded one


def test_a_single_layer_where_that_needs_less() -> None:
    """Folded, two of 40 do not go side by side into 68.5; opened, three go into 137."""
    found = lay([block(40.0, 30.0, cloth=3)], Material.CLOTH, 140.0)

    assert not found.folded
    assert found.length == pytest.approx(30.0, abs=1e-6)
    two_pairs = lay([block(40.0, 30.0, cloth=6)], Material.CLOTH, 140.0)
    assert not two_pairs.folded
    assert two_pairs.length == pytest.approx(60.4, abs=1e-6)
    assert two_pairs.folded_to_buy == 100.0  # three rows: 90.8 and 4, / 0.95 = 99.8


def on_fold(width: float, height: float, code: str, **cut: Any) -> Piece:
    """Half a rectangle of which the left side is on the fold."""
    w, h = width - 1.0, height - 2.0
    corners = (Point(0, 0), Point(w, 0), Point(w, h), Point(0, h))
    piece = shapes.polygon(corners, (1.0, 1.0, 1.0, 0.0))
    edges = (*piece.edges[:3], replace(piece.edges[3], on_fold=True))
    grain = (Point(2.0, 1.0), Point(2.0, h - 1.0))
    return replace(piece, code=code, edges=edges, cut=CutPlan(**cut), grain=grain)


def test_a_back_on_the_fold_and_fronts_at_the_selvedges() -> None:
    """The lay every blouse is taught with: back on the fold, fronts beside it through both
    layers: 36 + 0.4 + 32 = 68.4 of 68.5. The cloth is one length."""
    back = on_fold(36.0, 60.0, "BACK", cloth=1, on_fold=True)
    front = block(32.0, 60.0, "FRONT", cloth=2, mirrored_pair=True)
    found = lay([back, front], Material.CLOTH, 140.0)

    assert found.folded
    assert found.length == pytest.approx(60.0, abs=1e-6)
    assert_can_be_cut(found, (back, front))
    by_code = {one.piece.code: one for one in found.pieces}
    assert by_code["BACK"].on_fold
    assert by_code["BACK"].outline[:, 0].min() == pytest.approx(0.0, abs=1e-6)
    assert by_code["FRONT"].doubled


def test_a_front_drafted_to_the_left_of_its_fold_is_turned_to_it() -> None:
    piece = on_fold(36.0, 60.0, "FRONT", cloth=1, on_fold=True)
    turned = piece.moved(Move(pi))
    beside = block(32.0, 60.0, "BACK", cloth=2, mirrored_pair=True)
    for one_way in (False, True):
        found = lay([turned, beside], Material.CLOTH, 140.0, one_way=one_way)
        assert_can_be_cut(found, (turned, beside))
        assert found.folded


def test_a_fold_across_the_grain_is_opened_out() -> None:
    """A band cut with the warp along it cannot lie with its centre back on the cloth's fold."""
    band = on_fold(20.0, 6.0, "BAND", cloth=1, on_fold=True)
    band = replace(band, grain=(Point(3.0, 2.0), Point(12.0, 2.0)))
    found = lay([band], Material.CLOTH, 140.0)
    (one,) = found.pieces

    assert not one.on_fold
    assert_can_be_cut(found, (replace(band, cut=CutPlan(cloth=1)),))
    assert found.length == pytest.approx(40.0, abs=1e-6)
    (row,) = cutting_list([band])
    assert row.how == "cut 1, opened out"


def test_a_piece_on_the_bias_lies_on_the_bias() -> None:
    square = block(20.0, 20.0, cloth=1)
    bias = replace(square, grain=(Point(0.0, 0.0), Point(18.0, 18.0)))
    (one,) = lay([bias], Material.CLOTH, 140.0).pieces

    assert np.ptp(one.outline, axis=0) == pytest.approx([20 * 2**0.5] * 2, abs=1e-6)


def test_what_is_wider_than_the_cloth_is_refused_with_its_name() -> None:
    with pytest.raises(DraftError) as caught:
        lay([block(113.0, 10.0, "SKIRT", cloth=1)], Material.CLOTH, 115.0)
    (problem,) = caught.value.problems

    assert problem.place == "Polygon"
    assert problem.got == "113.0 cm across the grain"
    assert problem.accepted == "112.0 cm between the selvedges"
    lays = all_lays([block(113.0, 10.0, "SKIRT", cloth=1)])
    assert [one.width for one in lays.lays] == [140.0, 150.0]
    assert len(lays.problems) == 1


def test_no_lay_of_nothing() -> None:
    with pytest.raises(DraftError, match="no piece is cut from lining"):
        lay(order("demo").pieces, Material.LINING, 140.0)


def test_lining_is_laid_when_pieces_ask_for_it() -> None:
    lined = block(30.0, 40.0, cloth=2, lining=2, mirrored_pair=True)
    found = all_lays([lined])

    assert {one.material for one in found.lays} == {Material.CLOTH, Material.LINING}


# ---- the file of cloths -------------------------------------------------------------------------


def test_every_figure_of_the_cloths_names_its_source() -> None:
    text = (data_folder() / "cloth.toml").read_text(encoding="utf-8")
    widths = cloth_book().cloths[Material.CLOTH].widths
    assert set(widths[LengthUnit.CM]) == {140.0, 150.0, 115.0}
    assert widths[LengthUnit.INCH] == tuple(2.54 * wide for wide in (45.0, 54.0, 60.0, 36.0))
    with pytest.raises(DataError) as caught:
        read_cloths(read_toml(text.replace('source = "common practice: 1 to 2"', 'x = ""'), "c"))
    assert {problem.key for problem in caught.value.problems} == {"selvedge.source"}


def test_mistakes_in_the_cloths_are_told_all_at_once() -> None:
    text = (data_folder() / "cloth.toml").read_text(encoding="utf-8")
    wrong = text.replace("value = 0.05", "value = 5.0").replace("[140.0, 150.0, 115.0]", "[14.0]")
    with pytest.raises(DataError) as caught:
        read_cloths(read_toml(wrong, "cloth.toml"))
    assert [problem.key for problem in caught.value.problems] == ["cloth.widths", "cloth.shrinkage"]


# ---- list and picture ---------------------------------------------------------------------------


def test_the_list_says_what_the_plans_say() -> None:
    rows = cutting_list(order("demo").pieces)
    said = {(row.code, row.material): (row.how, row.grain) for row in rows}

    assert said == {
        ("BACK", "cloth"): ("cut 1 on the fold", "along the fold"),
        ("FRONT", "cloth"): ("cut 2, a pair", "parallel to centre front"),
        ("STAND", "cloth"): ("cut 2 on the fold", "along the fold"),
        ("UPPER", "cloth"): ("cut 1 on the fold", "along the fold"),
        ("UNDER", "cloth"): ("cut 1 on the fold", "along the fold"),
        ("STAND", "interfacing"): ("cut 2 on the fold", "along the fold"),
        ("UPPER", "interfacing"): ("cut 1 on the fold", "along the fold"),
        ("UNDER", "interfacing"): ("cut 1 on the fold", "along the fold"),
    }


def test_the_grain_is_told_by_what_a_maker_can_see() -> None:
    def grain(piece: Piece) -> str:
        (row,) = cutting_list([piece])
        return row.grain

    band = on_fold(20.0, 6.0, "BAND", cloth=1)
    assert grain(replace(band, grain=(Point(3.0, 2.0), Point(12.0, 2.0)))) == "square to the fold"
    bias = replace(band, grain=(Point(1.0, 1.0), Point(3.0, 3.0)))
    assert grain(bias) == "on the bias"
    assert grain(block(10.0, 10.0, cloth=1)) == "along the arrow on the piece"


def test_sizes_are_in_the_unit_of_the_card() -> None:
    rows = cutting_list([on_fold(20.0, 6.35, "BAND", cloth=1, on_fold=True)])
    cm, inches = (
        "\n".join(cutting_list_lines(rows, LABELS, unit))
        for unit in (LengthUnit.CM, LengthUnit.INCH)
    )

    assert "20.0 cm across, 6.3 cm along it, half" in cm
    assert "7 7/8 in across, 2 1/2 in along it, half" in inches
    assert " cm" not in inches


def test_what_to_buy_is_what_the_lays_take() -> None:
    pieces = order("demo").pieces
    lays = all_lays(pieces)
    text = "\n".join(cutting_list_lines(cutting_list(pieces), LABELS, LengthUnit.CM, lays))

    for one in lays.lays:
        assert f"{one.material} {one.width:.0f} cm wide: {one.to_buy:.0f} cm" in text


def test_a_facing_that_is_cut_on_has_its_strip_of_interfacing() -> None:
    """As wide and long as the facing behind the fold; none where the facing is a piece."""
    front = next(piece for piece in order("demo").pieces if piece.code == "FRONT")
    (strip,) = facing_strips([front])
    across, along = strip.edges[0].length, strip.edges[1].length
    fold = next(mark.curve for mark in front.marks if mark.kind is MarkKind.FOLD)
    assert along >= fold.length - 1e-9
    assert across == pytest.approx(front.outline()[:, 0].max() - fold.start.x, abs=0.3)
    assert (strip.cut.cloth, strip.cut.interfacing) == (0, front.cut.cloth)
    (row,) = cutting_list([strip])
    assert row.material is Material.INTERFACING
    assert not list(facing_strips([replace(front, marks=())]))


def test_an_order_in_inches_is_laid_on_cloth_sold_by_the_yard() -> None:
    lays = all_lays([block(20.0, 10.0, "A", cloth=1)], unit=LengthUnit.INCH)
    assert [lay_file_name(one, LengthUnit.INCH) for one in lays.lays] == [
        "lay-45in",
        "lay-54in",
        "lay-60in",
        "lay-36in",
    ]
    assert {lay_name(one, LengthUnit.INCH) for one in lays.lays} >= {"cloth 45 in wide"}


def test_a_stamp_stands_first_and_nothing_is_laid() -> None:
    lines = cutting_list_lines(
        cutting_list([block(9.0, 9.0, cloth=1)]),
        replace(LABELS, stamp="NOT FOR CUTTING: too short"),
        LengthUnit.CM,
    )
    assert lines[0] == "NOT FOR CUTTING: too short"


def test_the_picture_shows_the_lay_to_scale() -> None:
    """Every outline of the picture, five times as large, is that of the lay."""
    found = laid("demo", Material.CLOTH, 140.0)
    pen = RecordingPen()
    width, height = draw_lay(pen, found, LABELS)
    words = "\n".join(pen.lines)

    assert words.count("cut outline") == len(found.pieces)
    assert "140 cm wide" in words
    assert f"{found.length:.1f} cm long" in words
    assert f"buy {found.to_buy:.0f} cm" in words
    assert words.count("'selvedge'") == 2
    drawn = [np.array(xy) for xy in outlines(pen.lines)]
    for one, points in zip(found.pieces, drawn, strict=True):
        assert np.ptp(points, axis=0) * 5 / 10 == pytest.approx(
            np.ptp(one.outline, axis=0), abs=0.01
        )
    assert width * 10 > max(points[:, 0].max() for points in drawn)
    assert height * 10 > max(points[:, 1].max() for points in drawn)


def outlines(lines: list[str]) -> Iterator[list[tuple[float, float]]]:
    """Corners of each cut outline that a recording pen wrote down, millimetres."""
    for before, after in pairwise(lines):
        if before.strip() == "cut outline":
            pairs = [word for word in after.split() if "," in word]
            yield [(float(x), float(y)) for x, y in (pair.split(",") for pair in pairs)]


def test_fold_and_selvedges_are_marked_on_folded_cloth() -> None:
    pieces = (
        on_fold(36.0, 60.0, "BACK", cloth=1, on_fold=True),
        block(32.0, 60.0, "FRONT", cloth=2, mirrored_pair=True),
    )
    text = lay_svg(lay(pieces, Material.CLOTH, 140.0), LABELS).decode()

    for words in ("fold of the cloth", "selvedges together", "70 cm folded", "on the fold"):
        assert words in text


def test_pictures_are_the_same_every_time() -> None:
    found = laid("demo", Material.CLOTH, 115.0)

    assert lay_svg(found, LABELS) == lay_svg(found, LABELS)
    assert lay_png(found, LABELS, pixels=400) == lay_png(found, LABELS, pixels=400)


def test_the_list_can_be_drawn() -> None:
    pen = RecordingPen()
    rows = cutting_list(order("demo").pieces)
    width, height = draw_cutting_list(pen, rows, LABELS)
    words = [line for line in pen.lines if " text " in line]

    assert sum("'cut " in line for line in words) == len(rows)
    for line in words:
        x, y = (float(v) for v in line.split()[2].split(","))
        assert 0.0 <= x <= width * 10
        assert 0.0 <= y <= height * 10


def test_the_folder_has_list_and_lays() -> None:
    files = papers(order("demo"))

    assert {"cutting-list.txt", "lay-140.svg", "lay-150.svg", "lay-115.svg"} <= set(files)
    assert "lay-interfacing-90.svg" in files
    assert b"WHAT TO BUY" in files["cutting-list.txt"]
