"""Pieces drawn on a pen: every sign is there, every word lies in its piece and can be read."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from math import pi, radians

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from blocks.edges import EdgeName
from drafting.drawing.drawing import Labels, draw_piece
from drafting.drawing.labelling import label_blocks, lettered
from drafting.drawing.lettering import (
    SMALLEST,
    Written,
    beside,
    one_line,
    readable,
    settled,
    text_width,
)
from drafting.drawing.lettering import Block as LabelBlock
from drafting.drawing.pens import RecordingPen
from drafting.drawing.signs import Ink, sign_shapes
from drafting.errors import DraftError
from drafting.geometry.points import Point
from drafting.pieces.cutting import cut_line, notch_marks
from drafting.pieces.piece import CutPlan, Edge, Piece
from tests import shapes

LABELS = Labels("Marta Ilves", "2026-03-14", "Blouse 12", "direct measure")
STAMPED = replace(LABELS, stamp="NOT FOR CUTTING: the neckline is 1.2 cm longer than the neck")
PIECES = pytest.mark.parametrize("piece", shapes.all_pieces(), ids=lambda piece: piece.code)


def drawn(piece: Piece, labels: Labels = LABELS) -> list[str]:
    pen = RecordingPen()
    draw_piece(pen, piece, labels)
    return pen.lines


def on(lines: list[str], ink: Ink, what: str) -> list[str]:
    return [row for row in lines if row.startswith(f"  {ink} {what}")]


def area(piece: Piece) -> shapely.Polygon:
    return shapely.Polygon(piece.outline())


def length_words(edge: Edge) -> tuple[str, str]:
    return f"{edge.name} {edge.length:.1f} cm", f"{edge.length:.1f} cm"


# ---- lines --------------------------------------------------------------------------------------


@PIECES
def test_a_piece_draws_each_of_its_parts_once(piece: Piece) -> None:
    lines = drawn(piece)
    snips = sum(len(mark.strokes) for mark in notch_marks(piece, cut_line(piece)))

    assert lines[0] == f"piece {piece.code}: {piece.title}"
    assert lines[-1] == "end"
    assert len(on(lines, Ink.CUT, "outline")) == 1
    assert len(on(lines, Ink.SEW, "outline")) == 1
    assert len(on(lines, Ink.DART, "line")) == 2 * len(piece.darts)
    assert len(on(lines, Ink.NOTCH, "line")) == snips
    assert len(on(lines, Ink.DRILL, "dot")) == len(piece.drills)
    assert len(on(lines, Ink.MARK, "line")) == len(piece.marks)
    assert len(on(lines, Ink.GRAIN, "line")) == 5  # the line, and two barbs at each end
    assert len(on(lines, Ink.FOLD, "line")) == 8 * sum(edge.on_fold for edge in piece.edges)
    assert not on(lines, Ink.STAMP, "")


def test_dart_legs_run_to_the_tip_not_to_the_apex() -> None:
    dart = shapes.front().darts[0]
    legs = on(drawn(shapes.front()), Ink.DART, "line")

    assert legs[0].split()[-3:] == ["135.000,0.000", "L", "154.000,165.000"]
    assert dart.apex != dart.tip


def test_drawing_twice_gives_the_same_strokes() -> None:
    assert drawn(shapes.front()) == drawn(shapes.front())


def test_a_piece_whose_sew_line_crosses_itself_is_drawn_only_with_a_stamp() -> None:
    corners = (Point(0, 0), Point(20, 20), Point(20, 0), Point(0, 20))
    crossed = shapes.polygon(corners, (1.0,) * 4)

    with pytest.raises(DraftError, match="crosses"):
        drawn(crossed)
    lines = drawn(crossed, STAMPED)
    assert not on(lines, Ink.CUT, "outline")
    assert on(lines, Ink.SEW, "outline")
    assert any("NOT FOR CUTTING" in row for row in on(lines, Ink.STAMP, "text"))


# ---- lettering ----------------------------------------------------------------------------------


def words_of(piece: Piece, labels: Labels, edge_words: object = None) -> list[Written]:
    return [words for _, words in lettered(piece, labels, edge_words)]  # type: ignore[arg-type]


@PIECES
@pytest.mark.parametrize("labels", [LABELS, STAMPED], ids=["good", "stamped"])
@pytest.mark.parametrize("edge_words", [None, length_words], ids=["plain", "lengths"])
def test_words_lie_inside_their_piece_and_apart(
    piece: Piece, labels: Labels, edge_words: object
) -> None:
    found = words_of(piece, labels, edge_words)

    for words in found:
        assert area(piece).buffer(0.05).contains(words.box), words
        assert words.height >= SMALLEST
        assert -pi / 2 < words.angle <= pi / 2
    for one, other in combinations(found, 2):
        assert one.box.intersection(other.box).area < 1e-9, (one, other)


@PIECES
def test_no_word_is_written_across_a_line(piece: Piece) -> None:
    crossed = [
        (words.words, shape)
        for words in words_of(piece, LABELS)
        for shape in sign_shapes(piece)
        if words.box.intersects(shape)
    ]

    assert crossed == []


@PIECES
def test_every_piece_says_what_it_is_how_many_and_for_whom(piece: Piece) -> None:
    text = " ".join(words.words for words in words_of(piece, LABELS))

    for wanted in (piece.title, piece.cut.words(), "Marta Ilves", "Blouse 12", "2026-03-14"):
        assert wanted in text
    assert "grain" in text
    assert ("fold" in text.replace(piece.cut.words(), "")) == piece.cut.on_fold


@PIECES
def test_every_stamped_piece_carries_the_stamp_in_larger_letters(piece: Piece) -> None:
    found = lettered(piece, STAMPED)
    stamp = [words for ink, words in found if ink is Ink.STAMP]
    label = [words.height for ink, words in found if ink is Ink.TEXT]

    assert stamp[0].words == "NOT FOR CUTTING"
    assert stamp[0].height > min(label)
    assert stamp[0].height >= 0.35
    assert len([row for row in drawn(piece, STAMPED) if row.startswith("  stamp outline")]) == 1


def test_letters_shrink_with_the_piece_and_run_along_a_strip() -> None:
    large = max(words.height for words in words_of(shapes.back(), LABELS))
    strip = [w for w in words_of(shapes.stand(), LABELS) if "Collar stand" in w.words]

    assert large == pytest.approx(0.9)
    assert strip[0].height < 0.5
    assert abs(strip[0].angle) < radians(15)


def test_a_label_goes_where_the_piece_wants_it() -> None:
    wanted = Point(14.0, 30.0)
    placed = [
        words
        for words in words_of(replace(shapes.back(), label_at=wanted), LABELS)
        if words.words == "Back"
    ]
    plain = [words for words in words_of(shapes.back(), LABELS) if words.words == "Back"]

    assert placed[0].at.to(wanted) < plain[0].at.to(wanted)


def test_lines_of_a_piece_and_its_allowance_are_on_its_label() -> None:
    labels = replace(LABELS, lines={"BACK": ("cut first",)})
    facts = [words for words, _ in label_blocks(shapes.back(), labels)[0].lines]
    net = shapes.back().with_allowances({}, 0.0)

    assert "cut first" in facts
    assert "seam allowance included" in facts
    assert "cut first" not in [w for w, _ in label_blocks(shapes.front(), labels)[0].lines]
    assert "no seam allowance" in [w for w, _ in label_blocks(net, labels)[0].lines]


def test_edges_say_their_lengths_where_there_is_room() -> None:
    found = {words.words for words in words_of(shapes.front(), LABELS, length_words)}

    for edge in shapes.front().edges:
        if edge.name is not EdgeName.DART_MOUTH:
            assert set(length_words(edge)) & found, edge.name
    assert not any("dart mouth" in words for words in found)


def test_a_piece_too_small_for_letters_still_gets_a_label() -> None:
    tiny = shapes.square(0.5, 0.2, 0.2, 0.2, 0.2)

    assert any("Polygon" in words.words for words in words_of(tiny, LABELS))


HOSTILE = [
    "O\"Hara 'x' %%d \\P {}",
    "two\nlines\r\nand\ttabs",
    "<script>alert(1)</script>",
    "שלום \u202eمرحبا",
    "Čáp Müller € 😀",
    "\ud800\x00\x1b[31m",
    "a" * 500,
    "",
]


@pytest.mark.parametrize("client", HOSTILE)
def test_no_name_breaks_a_label(client: str) -> None:
    labels = replace(LABELS, client=client, stamp=client or None)
    for piece in (shapes.front(), shapes.stand()):
        for words in words_of(piece, labels):
            assert words.words.isprintable()
            words.words.encode("utf-8")
            assert len(words.words) < 250


@given(st.text(max_size=40))
def test_one_line_is_one_line_and_stays_so(words: str) -> None:
    once = one_line(words)

    assert len(once.splitlines()) <= 1
    assert once == one_line(once)
    assert once == once.strip()
    once.encode("utf-8")


@given(st.floats(-20, 20))
def test_text_never_stands_on_its_head(angle: float) -> None:
    turned = readable(angle)

    assert -pi / 2 < turned <= pi / 2
    half_turns = (turned - angle) / pi
    assert half_turns == pytest.approx(round(half_turns), abs=1e-6)


@pytest.mark.parametrize(
    "words",
    [
        "NOT FOR CUTTING",
        "Marta Ilves · Blouse 12 · 2026-03-14",
        "seam allowance included",
        "cut 2 on fold, interfacing 1",
        "WILLIAM WAMMER",
        "мастер Čáp",
        "illicit fill",
    ],
)
def test_words_are_no_longer_than_they_are_said_to_be(words: str) -> None:
    """Against the letters of a wide sans serif font, measured by another library."""
    from matplotlib import font_manager, ft2font

    font = ft2font.FT2Font(font_manager.findfont("DejaVu Sans"))
    font.set_size(100.0, 72)
    font.set_text("H", 0.0)
    capital = font.get_width_height()[1] / 64
    font.set_text(words, 0.0)
    real = font.get_width_height()[0] / 64 / capital

    assert real <= text_width(words, 1.0) <= 1.35 * real


@pytest.mark.parametrize("side", [Point(0, 1), Point(0, -1)])
def test_words_beside_a_line_do_not_touch_it(side: Point) -> None:
    for along in (Point(1, 0), Point(-1, 0)):
        box = beside(Point(5, 5), along, side, "grain", 0.4, 0.2).box
        assert (box.centroid.y > 5) == (side.y > 0)
        assert not box.intersects(shapely.LineString([(0, 5), (10, 5)]))


def test_a_block_that_does_not_fit_is_not_placed() -> None:
    room = shapely.box(0, 0, 1.0, 1.0)

    assert settled(room, [LabelBlock((("a long line of words", 1.0),))], (0.0,), 1.0) == ()
    assert settled(shapely.Polygon(), [LabelBlock((("a", 1.0),))], (0.0,), 1.0) == ()


def test_a_shape_that_gives_much_larger_letters_is_taken() -> None:
    room = shapely.box(0, 0, 20.0, 1.2)
    tall = LabelBlock(tuple((word, 1.0) for word in ("one", "two", "three")))
    low = LabelBlock((("one two three", 1.0),))

    assert [w.words for w in settled(room, (tall, low), (0.0,), 1.0)] == ["one two three"]
    assert [w.words for w in settled(shapely.box(0, 0, 20, 20), (tall, low), (0.0,), 1.0)] == [
        "one",
        "two",
        "three",
    ]


def test_the_cut_line_drawn_is_the_cut_line() -> None:
    piece = shapes.square(10.0, 1.0, 2.0, 0.0, 3.0)
    lines = drawn(Piece("S", "S", piece.edges, CutPlan(), (Point(2, 2), Point(2, 8))))
    start = lines.index("  cut outline") + 1

    corners = {row.split()[0] for row in lines[start : start + len(cut_line(piece).corners)]}
    assert corners == {
        "-30.000,-10.000",
        "120.000,-10.000",
        "120.000,100.000",
        "-30.000,100.000",
    }
