"""Pictures of sample pieces: true size, legible, the same every time, and no name breaks them."""

from __future__ import annotations

import re
import warnings
from dataclasses import replace
from functools import cache
from io import BytesIO
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from drafting.drawing.drawing import Labels, draw_piece
from drafting.drawing.pens import RecordingPen
from drafting.drawing.signs import Ink
from drafting.geometry.points import Point
from drafting.units import LengthUnit, mm
from tests import shapes
from workroom.papers.pictures.picture import png_bytes, svg_bytes
from workroom.papers.sheet.content import SheetContent, draw_sheet
from workroom.papers.sheet.layers import layers

LABELS = Labels("Zoë Müller", "2026-03-14", "Blouse 12", "direct measure")
SHEET = SheetContent("Blouse with a collar", shapes.all_pieces(), LABELS)
SMALL = replace(SHEET, pieces=(shapes.front(), shapes.stand()))
SVG = "{http://www.w3.org/2000/svg}"
STROKES = {f"{SVG}{tag}" for tag in ("path", "circle", "text")}
HOSTILE = [
    "O\"Hara 'x' & <b> $x^2$ %%d",
    "<script>alert(1)</script>",
    "]]> --> <!-- &amp;",
    "two\nlines\r\n\t",
    "שלום \u202eمرحبا",
    "Čáp 😀 王",
    "\ud800\x00\x1b\x0b\ufffe",
    "n" * 3000,
]


@cache
def plain(lengths: LengthUnit | None = None) -> bytes:
    """The SVG of the sample order, drawn once."""
    return svg_bytes(SHEET, lengths)


def svg(
    sheet: SheetContent | None = None, lengths: LengthUnit | None = None
) -> ElementTree.Element:
    return ElementTree.fromstring(svg_bytes(sheet, lengths) if sheet else plain(lengths))


def texts(root: ElementTree.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def picture(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


# ---- SVG ----------------------------------------------------------------------------------------


def test_the_svg_is_in_true_millimetres() -> None:
    root = svg()
    width, height = draw_sheet(RecordingPen(), SHEET)
    box = [float(number) for number in root.get("viewBox", "").split()]

    assert root.get("width") == f"{box[2]:g}mm"
    assert float(root.get("height", "").removesuffix("mm")) == box[3]
    assert box[2:] == pytest.approx([mm(width + 3.0), mm(height + 3.0)], abs=0.01)


def test_a_square_in_the_svg_measures_what_it_is() -> None:
    root = svg(SheetContent("Square", (shapes.square(10.0, 0.0, 0.0, 0.0, 0.0),), LABELS))
    path = next(e for e in root.iter(f"{SVG}path") if e.get("class") == "sew")
    steps = np.array(
        [
            [float(n) for n in pair.split()]
            for pair in re.findall(r"[ML]([^MLCZ]+)", path.get("d", ""))
        ]
    )

    assert np.ptp(steps, axis=0) == pytest.approx([100.0, 100.0])
    assert path.get("d", "").endswith("Z")


def test_y_runs_down_in_the_svg() -> None:
    """The hem of the front lies lower on the page, so its number is larger."""
    root = svg()
    group = next(e for e in root.iter(f"{SVG}g") if e.get("id") == "piece-FRONT")
    grain = next(e.get("d", "") for e in group.iter() if e.get("class") == "grain")
    (_, first), (_, second) = (
        map(float, pair.split()) for pair in re.findall(r"[ML]([^ML]+)", grain)
    )

    assert first > second  # the grain is drafted upwards


def test_each_piece_is_a_group_with_its_strokes() -> None:
    groups = [e for e in svg().iter(f"{SVG}g") if e.get("class") == "piece"]

    assert [e.get("id") for e in groups] == [f"piece-{p.code}" for p in SHEET.pieces]
    for group in groups:
        classes = [e.get("class") for e in group.iter() if e.tag in STROKES]
        assert classes.count("cut") == classes.count("sew") == 1
        assert set(classes) - {"text-words", "stamp-words"} <= set(Ink)


def test_in_each_piece_each_layer_is_a_group_named_as_in_the_table() -> None:
    inks = {row.name: ink for ink, row in layers().items()}
    order = list(inks)
    for piece in (e for e in svg().iter(f"{SVG}g") if e.get("class") in ("piece", "sheet")):
        title, *groups = piece
        assert title.tag == f"{SVG}title"
        names = [group.get("class", "") for group in groups]
        assert names == sorted(set(names), key=order.index)
        for group in groups:
            ink = inks[group.get("class", "")]
            assert group.get("id") == f"{piece.get('id')}-{layers()[ink].name}"
            assert group[0].text == layers()[ink].purpose
            assert {e.get("class") for e in group[1:]} <= {ink, f"{ink}-words"}
            assert len(group) > 1


def test_no_id_stands_twice() -> None:
    twice = replace(SMALL, pieces=(shapes.front(), shapes.front(), shapes.stand()))
    ids = [e.get("id") for e in svg(twice).iter() if e.get("id")]

    assert len(ids) == len(set(ids))
    assert {"piece-FRONT", "piece-FRONT-2", "piece-FRONT-2-CUT_LINE"} <= set(ids)


def test_curves_stay_curves_in_the_svg() -> None:
    root = svg(SheetContent("Stand", (shapes.stand(),), LABELS))
    sewn = next(e for e in root.iter(f"{SVG}path") if e.get("class") == "sew")

    assert sewn.get("d", "").count("C") == 3


def test_widths_and_dashes_come_from_the_table() -> None:
    style = svg().find(f"{SVG}style")
    assert style is not None
    for row in layers().values():
        assert f".{row.key} {{ stroke: {row.rgb}; stroke-width: {row.width_mm:g};" in style.text
    assert "stroke-dasharray: 10 2 2 2" in style.text


# ---- both ---------------------------------------------------------------------------------------


def test_the_heading_names_the_order() -> None:
    found = texts(svg())

    assert "Blouse with a collar" in found
    assert "Zoë Müller · Blouse 12 · 2026-03-14 · direct measure" in found
    assert any("10 cm = 100 mm" in words for words in found)


def test_a_bare_sheet_is_headed_by_its_title_and_says_which_line_to_cut() -> None:
    sheet = SheetContent("Yoke", (shapes.yoke(),), Labels())
    title, lines = (words for _, words, _ in sheet.heading())

    assert title == "Yoke"
    assert "cut on the outer one" in lines


def test_a_stamped_sheet_does_not_say_where_to_cut() -> None:
    sheet = SheetContent("Yoke", (shapes.yoke(),), Labels(stamp="NOT FOR CUTTING: too short"))

    assert not any("cut on" in words for _, words, _ in sheet.heading())


def test_groups_are_layers_with_names_to_an_editor() -> None:
    """As editors of SVG keep it: the groups right below the root, and those below these."""
    label = "{http://www.inkscape.org/namespaces/inkscape}"
    root = svg()
    outer = [e for e in root if e.get(f"{label}groupmode") == "layer"]
    inner = [e for group in outer for e in group if e.get(f"{label}groupmode") == "layer"]

    assert [e.get(f"{label}label") for e in outer[1:]] == [piece.title for piece in SHEET.pieces]
    assert {"CUT_LINE", "SEW_LINE"} <= {e.get(f"{label}label") for e in inner}
    assert all(e.get("id", "").endswith(f"-{e.get(f'{label}label')}") for e in inner)


def test_lengths_are_written_when_asked_in_the_unit_asked() -> None:
    centimetres, inches = texts(svg(None, LengthUnit.CM)), texts(svg(None, LengthUnit.INCH))

    assert "side seam 19.7 cm" in centimetres
    assert "side seam 7 3/4 in" in inches
    assert not any("side seam" in words for words in texts(svg()))


def test_a_stamp_is_seen_on_every_piece_and_in_the_heading() -> None:
    sheet = replace(SHEET, labels=replace(LABELS, stamp="NOT FOR CUTTING: too short"))
    found = texts(svg(sheet))

    assert found.count("NOT FOR CUTTING") == len(SHEET.pieces)
    assert "NOT FOR CUTTING: too short" in found
    assert np.count_nonzero(red(png_bytes(sheet, pixels=1200))) > 500
    assert np.count_nonzero(red(png_bytes(SHEET, pixels=1200))) == 0


def red(data: bytes) -> np.ndarray:
    pixels = np.asarray(picture(data).convert("RGB")).astype(int)
    return (pixels[..., 0] > 150) & (pixels[..., 1] < 60) & (pixels[..., 2] < 80)


def test_the_same_order_gives_the_same_pictures() -> None:
    assert svg_bytes(SMALL) == svg_bytes(SMALL)
    assert png_bytes(SMALL, pixels=600) == png_bytes(SMALL, pixels=600)


@pytest.mark.parametrize("client", HOSTILE)
def test_no_name_breaks_a_picture(client: str) -> None:
    labels = Labels(client, "2026-03-14", client, client, {"FRONT": (client,)}, client)
    pieces = tuple(replace(p, title=client, code=client[:9]) for p in SMALL.pieces)
    sheet = SheetContent(client, pieces, labels)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        image = picture(png_bytes(sheet, pixels=500))
    root = svg(sheet)

    assert image.size[0] == pytest.approx(500, abs=1)
    assert b"<script" not in svg_bytes(sheet)
    assert {e.tag for e in root.iter()} <= {
        f"{SVG}{tag}" for tag in ("svg", "title", "style", "rect", "g", "path", "circle", "text")
    }


# ---- PNG ----------------------------------------------------------------------------------------


def test_the_png_is_as_wide_as_asked_and_white_outside() -> None:
    image = picture(png_bytes(SHEET, pixels=1000))
    width, height = draw_sheet(RecordingPen(), SHEET)

    assert image.size[0] == pytest.approx(1000, abs=1)
    assert image.size[1] / image.size[0] == pytest.approx((height + 3) / (width + 3), abs=0.01)
    edge = np.asarray(image.convert("L"))
    assert edge[0].min() == edge[-1].min() == edge[:, 0].min() == edge[:, -1].min() == 255


def test_the_png_holds_no_date() -> None:
    assert not {"Creation Time", "Software", "date"} & set(
        picture(png_bytes(SMALL, pixels=400)).info
    )


def test_a_tall_picture_stays_within_bounds() -> None:
    tall = shapes.polygon((Point(0, 0), Point(3, 0), Point(3, 400), Point(0, 400)), (0.5,) * 4)
    image = picture(png_bytes(SheetContent("Tall", (tall,), LABELS), pixels=6000))

    assert max(image.size) <= 8001


def test_every_line_is_seen_in_grey() -> None:
    """Half way along each edge of the cut line the picture is dark, in grey too."""
    image = np.asarray(picture(png_bytes(SHEET)).convert("L"))
    width, height = draw_sheet(RecordingPen(), SHEET)
    scale = image.shape[1] / (width + 3.0)
    for placed in SHEET.placed():
        for edge in placed.piece.edges:
            if edge.on_fold:
                p = edge.curve.at_length(edge.length / 2)
                x, y = (p.x + 1.5) * scale, (height + 1.5 - p.y) * scale
                near = image[round(y) - 3 : round(y) + 4, round(x) - 3 : round(x) + 4]
                assert near.min() < 120


def test_a_sheet_draws_what_its_pieces_draw() -> None:
    pen, alone = RecordingPen(), RecordingPen()
    draw_sheet(pen, SMALL)
    for placed in SMALL.placed():
        draw_piece(alone, placed.piece, LABELS)

    assert pen.lines[: len(alone.lines)] == alone.lines
