"""Pages of a home printer: laid together they are the drawing, nothing needed is missing, nothing
is printed for nothing, and each page says what it is."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pikepdf
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting.drawing.drawing import Labels, draw_piece
from drafting.errors import DraftError
from drafting.geometry.points import Move, Point
from drafting.library import data_folder
from drafting.units import LengthUnit
from garment.garment import make_garment
from tests import pdfs, shapes
from workroom.card.card import open_card
from workroom.papers.pages.one_sheet import drawing_pdf
from workroom.papers.pages.plan import Shifts, TilePlan, tile_plan, to_the_right
from workroom.papers.pages.tiled import draw_marks, home_paper, pages_of, tiled_bytes
from workroom.papers.pages.tiles import Sign, Tile, Tiling, joins, kept_clear, signs, tiling
from workroom.papers.papers import papers, sheet_content
from workroom.papers.sheet.content import SheetContent
from workroom.papers.sheet.strokes import StrokePen

LABELS = Labels("Zoë Müller", "2026-03-14", "Blouse 12", "direct measure")
SMALL = SheetContent("Blouse", (shapes.front(), shapes.stand(), shapes.fall()), LABELS)
#: At this resolution a pixel is a tenth of a millimetre, so that whole millimetres fall on pixels.
DPI, PER_CM = 254.0, 100
#: Grey levels of 255 by which PDFium's own rounding makes the same line differ, as measured: up to
#: 3, and up to 20 in some ten pixels at the edges of letters. The most allowed is an eighth of a
#: pixel, 0.0125 mm; a page laid 0.1 mm wrong makes whole pixels differ.
ROUNDING, MOST, SHARE = 4, 32, 1e-5
HOSTILE = [
    "O\"Hara 'x' & <b> \\( \\) ) ( % /Name << >>",
    "endstream endobj xref",
    "two\nlines\r\n\t",
    "שלום \u202eمرحبا",
    "Čáp 😀 王小明",
    "\ud800\x00\x1b\x0b\ufffe",
    "𝒜𝓃𝓃𝒶",
    "n" * 3000,
]


@cache
def demo(paper: str, stamp: str | None = None) -> TilePlan:
    order = make_garment(open_card(data_folder() / "clients" / "demo.toml"))
    content = sheet_content(order)
    content = replace(content, labels=replace(content.labels, stamp=stamp))
    return tile_plan(content, paper)


def texts(data: bytes) -> list[str]:
    return [page.get_textpage().get_text_range() for page in pdfs.opened(data)]


def only_drawing(data: bytes) -> bytes:
    """The file with its joining marks switched off."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        (group,) = pdf.Root.OCProperties.OCGs
        pdf.Root.OCProperties.D.OFF = pikepdf.Array([group])
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


# ---- laid together ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("paper", "overlap"), [("A4", 1.0), ("A4", 0.0), ("Letter", 1.5), ("A3", 2.0)]
)
def test_pages_laid_together_are_the_drawing(paper: str, overlap: float) -> None:
    """Each page is cut out along its window and laid where it belongs. Pixel for pixel the whole
    is the drawing on one sheet: no gap. Where pages lap they show the same, and nothing is drawn
    outside a window, so they lap as far as stated and no farther."""
    plan = tile_plan(SMALL, paper, margin=1.0, overlap=overlap)
    (page,) = pdfs.opened(drawing_pdf(plan.strokes, *plan.grid.size))
    whole = pdfs.rendered(page, DPI).grey.astype(np.int16)
    laid = np.full(whole.shape, -1, dtype=np.int16)
    file = pdfs.opened(only_drawing(pages_of(plan)))
    assert len(file) == len(plan.tiles) + 1
    for number, tile in enumerate(plan.tiles, start=1):
        grey = pdfs.rendered(file[number], DPI).grey.astype(np.int16)
        here, there = windows(plan, tile, grey.shape, whole.shape)
        shown, before = grey[here].copy(), laid[there]
        lapped = before >= 0
        assert alike(shown[lapped], before[lapped])
        laid[there] = shown
        rows, columns = here
        grey[rows.start - 1 : rows.stop + 1, columns.start - 1 : columns.stop + 1] = 255
        assert grey.min() == 255  # but for one pixel, to which PDFium widens a window

    assert (laid >= 0).mean() > 0.5
    laid[laid < 0] = 255  # pages left out are white
    assert alike(laid, whole)
    assert not alike(laid[:, 1:], whole[:, :-1])  # a tenth of a millimetre off is not alike
    for join in joins(plan.grid, plan.tiles):
        first, second = (plan.grid.window(tile).bounds for tile in (join.first, join.second))
        lap = first[2] - second[0] if join.upright else second[3] - first[1]
        assert lap == pytest.approx(overlap, abs=1e-9)


def alike(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two pictures are the same, pixel for pixel, but for the renderer's rounding."""
    apart = np.abs(one - other)
    return bool(apart.max(initial=0) <= MOST and (apart > ROUNDING).sum() <= SHARE * apart.size)


def windows(
    plan: TilePlan, tile: Tile, page: tuple[int, int], whole: tuple[int, int]
) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
    """The window in the pixels of its page, and in those of the whole drawing."""
    low = plan.grid.corner(tile)
    wide, tall = round(plan.grid.width * PER_CM), round(plan.grid.height * PER_CM)
    edge = round(plan.margin * PER_CM)
    x, y = round(low.x * PER_CM), round(low.y * PER_CM)
    here = (slice(page[0] - edge - tall, page[0] - edge), slice(edge, edge + wide))
    there = (slice(whole[0] - y - tall, whole[0] - y), slice(x, x + wide))
    return here, there


# ---- which pages --------------------------------------------------------------------------------


def test_pages_without_a_piece_are_left_out() -> None:
    """The demo leaves a corner of its table empty; no row and no column is empty as a whole."""
    plan = demo("A4")

    assert len(plan.tiles) < plan.grid.rows * plan.grid.columns
    for paper in ("A4", "Letter", "A3"):
        there = demo(paper)
        assert {tile.row for tile in there.tiles} == set(range(there.grid.rows))
        assert {tile.column for tile in there.tiles} == set(range(there.grid.columns))
    covered = shapely.union_all(list(plan.areas))
    for row in range(plan.grid.rows):
        for column in range(plan.grid.columns):
            tile = Tile(row, column)
            if tile not in plan.tiles:
                assert not covered.intersects(plan.grid.own(tile))


@pytest.mark.parametrize("name", ["small", "large"])
@pytest.mark.parametrize("unit", list(LengthUnit))
def test_no_part_of_any_piece_is_lost(name: str, unit: LengthUnit) -> None:
    order = make_garment(open_card(data_folder() / "clients" / f"{name}.toml"))
    plan = tile_plan(sheet_content(order), home_paper(unit), unit=unit)
    shown = shapely.union_all([plan.grid.own(tile) for tile in plan.tiles], grid_size=1e-6)

    assert len(plan.areas) == len(order.pieces)
    for area in plan.areas:
        assert shown.buffer(1e-5).contains(area)
    for k, area in enumerate(plan.areas):
        for other in plan.areas[:k]:
            assert area.distance(other) > 0.5


def test_the_middle_of_a_large_piece_is_printed_though_nothing_is_drawn_there() -> None:
    square = shapes.square(70.0, 1.0, 1.0, 1.0, 1.0)
    plan = tile_plan(SheetContent("Square", (square,), LABELS), "A4")

    assert len(plan.tiles) == plan.grid.rows * plan.grid.columns >= 12


@given(st.floats(1.0, 150.0), st.floats(1.0, 150.0), st.floats(0.0, 3.0), st.floats(1.0, 150.0))
@settings(max_examples=60)
def test_own_parts_of_pages_cover_all_and_never_twice(
    width: float, height: float, overlap: float, across: float
) -> None:
    grid = tiling(8.0 + width / 10, 8.0 + height / 10, overlap, across, height)
    own = [grid.own(Tile(r, c)) for r in range(grid.rows) for c in range(grid.columns)]
    wide, tall = grid.size

    assert tall >= height - 1e-6
    assert wide >= across - 1e-6
    assert grid.rows == 1 or tall - grid.along < height
    assert grid.columns == 1 or wide - grid.across < across
    assert shapely.union_all(own, grid_size=1e-6).area == pytest.approx(wide * tall)
    assert sum(part.area for part in own) == pytest.approx(wide * tall)


def test_rows_have_letters_and_columns_numbers() -> None:
    names = [Tile(r, c).name for r, c in ((0, 0), (0, 9), (25, 1), (26, 0), (51, 2), (52, 0))]

    assert names == ["A1", "A10", "Z2", "AA1", "AZ3", "BA1"]


# ---- what stands on them ------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
def test_every_page_says_what_it_is_and_whose(paper: str) -> None:
    plan = demo(paper)
    for tile, said in zip(plan.tiles, texts(pages_of(plan))[1:], strict=True):
        assert f"page {tile.name}" in said
        assert "Marta Ilves" in said
        on_it = plan.pieces_on(tile)
        assert on_it
        for piece in on_it:
            assert piece.title in said


def test_a_long_list_of_pieces_keeps_the_clients_name() -> None:
    many = tuple(
        replace(shapes.square(3.0, 0.5, 0.5, 0.5, 0.5), code=f"P{k}", title=f"Patch number {k}")
        for k in range(12)
    )
    said = texts(tiled_bytes(SheetContent("Patches", many, LABELS)))

    assert len(said) == 2
    assert said[1].count("Zoë Müller") > len(many)


def test_the_overview_says_what_to_do() -> None:
    plan = demo("A4")
    said = " ".join(texts(pages_of(plan))[0].split())

    for words in (
        "Print at 100 % (actual size). Measure the square before cutting.",
        "Marta Ilves · Blouse 12 · 2026-03-14 · Direct-measure block",
        "each side 10 cm = 100 mm",
        "this bar is 4 in long",
        "the pages lap by 1.0 cm",
        f"Print the other {len(plan.tiles)} pages",
    ):
        assert words in said
    for number, piece in enumerate(plan.pieces, start=1):
        assert f"{number} {piece.title}: " in said
    for tile in plan.tiles:
        assert tile.name in said


def test_a_maker_in_inches_reads_inches() -> None:
    said = " ".join(texts(tiled_bytes(SMALL, unit=LengthUnit.INCH))[0].split())

    assert "the pages lap by 3/8 in" in said
    assert home_paper(LengthUnit.INCH) == "Letter"


def test_pages_that_meet_without_a_lap_say_so() -> None:
    said = " ".join(texts(tiled_bytes(SMALL, overlap=0.0))[0].split())

    assert "the drawings meet and do not lap" in said


def has_no_clear_place(plan: TilePlan, sign: Sign, drawn: Any) -> bool:
    """Whether a line of the drawing runs along a join, so that its sign must cross it wherever it
    stands: looked for every two millimetres."""
    a, b = sign.join.start, sign.join.end
    count = int(a.to(b) / 0.2)
    places = [a.towards(b, k / count) for k in range(count + 1)]
    inner = [p for p in places if min(p.to(a), p.to(b)) > plan.grid.overlap + 1.3]
    boxes = [replace(sign, at=p).box.buffer(0.12) for p in inner]
    return all(drawn.intersects(box) for box in boxes)


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
def test_no_word_of_a_page_stands_over_a_line(paper: str) -> None:
    plan = demo(paper)
    drawn = shapely.union_all([stroke.shape for stroke in plan.strokes.strokes])
    for number, tile in enumerate(plan.tiles, start=2):
        pen = StrokePen()
        draw_marks(pen, plan, tile, number)
        words = [one.shape for one in pen.strokes if one.shape.geom_type == "Polygon"]
        x0, y0, x1, y1 = plan.grid.window(tile).bounds
        inside = [box for box in words if box.bounds[1] < y1]
        assert len(inside) > 3
        sheet = shapely.box(x0, y0, x1, y1 + 1.4)
        for box in words:
            assert sheet.buffer(0.2).contains(box)
        closed = [
            sign.box.buffer(0.1) for sign in plan.signs if has_no_clear_place(plan, sign, drawn)
        ]
        for k, box in enumerate(inside):
            assert not box.intersects(drawn) or any(one.covers(box) for one in closed)
            assert not any(box.intersects(other) for other in inside[:k])


def test_a_failed_draft_is_stamped_on_every_page() -> None:
    said = texts(pages_of(demo("A4", "NOT FOR CUTTING: neckline against the neck")))

    for words in said:
        assert "NOT FOR CUTTING: neckline against the neck" in words
    for words in said[1:]:
        assert words.count("NOT FOR CUTTING") >= 2
    assert not any("NOT FOR" in words for words in texts(pages_of(demo("A4"))))


def test_a_failed_draft_that_crosses_itself_is_printed_with_its_stamp() -> None:
    """No cut line can be laid round it; its sew line and the warning come out all the same."""
    from drafting.geometry.points import Point

    bow = shapes.polygon((Point(0, 0), Point(20, 30), Point(20, 0), Point(0, 30)), (1.0,) * 4)
    content = SheetContent("Bow", (bow,), replace(LABELS, stamp="NOT FOR CUTTING: it crosses"))
    said = texts(tiled_bytes(content))

    assert len(said) > 1
    assert all("NOT FOR CUTTING" in words for words in said)


# ---- joining marks ------------------------------------------------------------------------------


def test_each_join_has_its_name_on_both_its_pages_and_on_no_other() -> None:
    plan = demo("A4")
    said = dict(zip(plan.tiles, texts(pages_of(plan))[1:], strict=True))

    assert len(plan.signs) == len(joins(plan.grid, plan.tiles)) >= 7
    for sign in plan.signs:
        pages = {tile for tile, words in said.items() if sign.join.name in words.split()}
        assert pages == {sign.join.first, sign.join.second}


def test_halves_make_one_whole_only_with_the_right_page() -> None:
    """Both halves of a sign end on the same two points of the join; the halves of two different
    joins, laid edge to edge, miss each other by 5 mm or are of another shape."""
    plan = demo("A4")
    for sign in plan.signs:
        mine, other = (ends(sign.half(first=first)) for first in (True, False))
        assert mine == pytest.approx(other)
    for upright in (True, False):
        along = [along_edge(plan.grid, s) for s in plan.signs if s.join.upright is upright]
        for k, place in enumerate(along):
            for other_place in along[:k]:
                assert abs(place - other_place) > 0.45


def ends(strokes: tuple) -> np.ndarray:
    outline = strokes[:-1]
    found = [tuple(outline[0].start), tuple(outline[-1].end)]
    return np.array(sorted(found))


def along_edge(grid: Tiling, sign) -> float:
    low = grid.corner(sign.join.first)
    return sign.at.y - low.y if sign.join.upright else sign.at.x - low.x


def test_signs_keep_clear_of_the_drawing_of_the_demo() -> None:
    for paper in ("A4", "Letter", "A3"):
        plan = demo(paper)
        drawn = shapely.union_all([stroke.shape for stroke in plan.strokes.strokes])
        for sign in plan.signs:
            assert not sign.box.intersects(drawn) or has_no_clear_place(plan, sign, drawn)


@pytest.mark.parametrize("step", [0.0, 0.4, 3.2])
def test_a_shift_shows_what_the_shifted_pieces_would(step: float) -> None:
    """All is found where the pieces lay first, and lies where pieces moved there would draw it."""
    grid = tiling(19.0, 27.0, 1.0, 90.0, 80.0)
    shifts = Shifts(SMALL, grid, SMALL.pieces)
    found, move = shifts.tried(step), Move(shift=Point(step, 0.0))
    pen = StrokePen()
    for piece in found.pieces:
        draw_piece(pen, piece.moved(move), LABELS)
    pages = grid.needed([*pen.shapes, *(to_the_right(area, step) for area in shifts.areas)])

    assert shapely.hausdorff_distance(shifts.drawn(found).shapes, pen.shapes).max() < 1e-5
    assert found.tiles == pages
    assert [sign.join for sign in found.signs] == list(joins(grid, pages))
    assert found.crossed == sum(shapely.intersects(pen.shapes, s.box).any() for s in found.signs)


def test_there_is_a_sign_even_where_it_must_cross_something() -> None:
    """A table so full of lines that there is no clear place on its joins."""
    grid = tiling(19.0, 27.0, 1.0, 30.0, 50.0)
    tiles = [Tile(row, column) for row in range(2) for column in range(2)]
    lines = [shapely.LineString([(0.0, y), (40.0, y)]) for y in np.arange(0.0, 55.0, 0.3)]
    found = signs(grid, joins(grid, tiles), kept_clear(lines))

    assert [sign.join for sign in found] == list(joins(grid, tiles))
    assert all(any(sign.box.intersects(line) for line in lines) for sign in found)


# ---- bytes and refusals -------------------------------------------------------------------------


def test_the_same_order_gives_the_same_pages() -> None:
    data = tiled_bytes(SMALL)

    assert data == tiled_bytes(SMALL)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert not {"/CreationDate", "/ModDate"} & set(pdf.docinfo.keys())
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"


@pytest.mark.parametrize("client", HOSTILE)
def test_no_name_breaks_the_pages(client: str) -> None:
    labels = Labels(client, "2026-03-14", client, client, {"STAND": (client,)}, client)
    stand = replace(shapes.stand(), title=client, code=client[:9])
    file = pdfs.opened(tiled_bytes(SheetContent(client, (stand,), labels)))

    assert len(file) > 1
    for page in file:
        assert page.get_textpage().count_chars() > 10
        assert "page" in page.get_textpage().get_text_range()


def test_a_name_is_read_back_as_it_was_written() -> None:
    client = "Zoë Łucja Θεοδώρα Анна"
    said = texts(tiled_bytes(replace(SMALL, labels=replace(LABELS, client=client))))

    assert all(client in words for words in said)


@pytest.mark.parametrize(
    ("asked", "key"),
    [({"paper": "A9"}, "paper"), ({"margin": 5.0}, "paper.margin"), ({"overlap": -1.0}, "overlap")],
)
def test_what_cannot_be_printed_is_refused(asked: dict, key: str) -> None:
    with pytest.raises(DraftError, match=key):
        tiled_bytes(SMALL, **asked)


def test_all_mistakes_are_told_at_once() -> None:
    with pytest.raises(DraftError) as caught:
        tiled_bytes(SMALL, margin=9.0, overlap=9.0)

    assert [problem.key for problem in caught.value.problems] == ["paper.margin", "paper.overlap"]


def test_the_folder_has_the_pages_of_the_makers_paper() -> None:
    order = make_garment(open_card(data_folder() / "clients" / "demo.toml"))
    inches = replace(order, commission=replace(order.commission, unit=LengthUnit.INCH))

    assert {"pages-a4.pdf", "one-sheet.pdf"} <= set(papers(order))
    assert {"pages-letter.pdf", "one-sheet.pdf"} <= set(papers(inches))


@pytest.mark.parametrize("overlap", [0.0, 1.0, 1.5])
def test_the_edge_of_the_next_page_lies_where_the_join_says(overlap: float) -> None:
    """Glued so, each window covers the drawing where it should: a lap left out here would put every
    page a lap too far."""
    grid = Tiling(19.0, 27.0, overlap, 3, 4)
    tiles = grid.needed([shapely.box(0.0, 0.0, *grid.size)])
    found = joins(grid, tiles)

    assert len(found) == 3 * 3 + 2 * 4
    for join in found:
        first, second = grid.window(join.first).bounds, grid.window(join.second).bounds
        if join.upright:
            assert join.start.x == join.end.x == pytest.approx(second[0], abs=1e-12)
            assert (join.start.y, join.end.y) == (first[1], first[3])
            assert first[2] - join.start.x == pytest.approx(overlap, abs=1e-12)
        else:
            assert join.start.y == join.end.y == pytest.approx(second[3], abs=1e-12)
            assert (join.start.x, join.end.x) == (first[0], first[2])
            assert join.start.y - first[1] == pytest.approx(overlap, abs=1e-12)
