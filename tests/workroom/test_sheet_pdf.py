"""One large sheet: layers that can be switched, pieces laid without waste, nothing lost."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

import numpy as np
import pikepdf
import pytest

from drafting.drawing.drawing import Labels
from drafting.drawing.signs import Ink
from drafting.errors import DraftError
from drafting.library import data_folder
from drafting.units import LengthUnit
from garment.garment import make_garment
from tests import pdfs, shapes
from workroom.card.card import open_card
from workroom.papers.pages.one_sheet import sheet_bytes
from workroom.papers.papers import papers, sheet_content
from workroom.papers.sheet.content import SheetContent
from workroom.papers.sheet.layers import layers

LABELS = Labels("Zoë Müller", "2026-03-14", "Blouse 12", "direct measure")
SMALL = SheetContent("Blouse", (shapes.front(), shapes.stand(), shapes.fall()), LABELS)


@cache
def small() -> bytes:
    return sheet_bytes(SMALL, roll=60.0)


def group_names(data: bytes) -> dict[str, list[str]]:
    """The layers by their headings, as a viewer lists them."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        order = pdf.Root.OCProperties.D.Order
        return {str(row[0]): [str(group.Name) for group in list(row)[1:]] for row in order}


def showing(data: bytes, *names: str) -> np.ndarray:
    """The sheet in colour, all layers switched off but these."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        groups = list(pdf.Root.OCProperties.OCGs)
        pdf.Root.OCProperties.D.OFF = pikepdf.Array(
            [group for group in groups if str(group.Name) not in names]
        )
        out = io.BytesIO()
        pdf.save(out)
    return np.array(pdfs.opened(out.getvalue())[0].render(scale=0.5).to_numpy(), dtype=int)


def dark(picture: np.ndarray) -> int:
    return int((picture.min(axis=2) < 160).sum())


def test_layers_are_listed_by_piece_and_by_line() -> None:
    names = group_names(small())

    assert list(names) == ["Pieces", "Lines and words", "Sheet"]
    assert names["Pieces"] == ["Front", "Collar stand", "Collar fall"]
    assert {"Cut line", "Sew line", "Grain", "Text"} <= set(names["Lines and words"])
    assert len(names["Lines and words"]) == len(layers()) - 1
    assert names["Sheet"] == ["Test square"]


def test_no_layer_holds_the_stamp() -> None:
    """A warning that can be switched off is none."""
    stamped = replace(SMALL, labels=replace(LABELS, stamp="NOT FOR CUTTING: too short"))
    data = sheet_bytes(stamped, roll=60.0)
    pieces = group_names(data)["Pieces"]
    picture = showing(data, *pieces)
    red = (picture.max(axis=2) - picture.min(axis=2) > 60).sum()

    assert not any("tamp" in name for name in group_names(data)["Lines and words"])
    assert red > 300


def test_each_layer_can_be_seen_alone() -> None:
    """With its layer and the pieces on, an ink is seen, and less than with all of them."""
    names = group_names(small())
    pieces = names["Pieces"]
    nothing = dark(showing(small(), *pieces))  # the heading belongs to no layer
    everything = dark(showing(small(), *pieces, *names["Lines and words"]))
    for name in ("Cut line", "Sew line", "Fold", "Grain", "Darts", "Text"):
        assert nothing < dark(showing(small(), *pieces, name)) < everything
    assert dark(showing(small(), *names["Lines and words"])) == nothing
    one = dark(showing(small(), "Collar stand", *names["Lines and words"]))
    assert nothing < one < everything


def test_the_grid_is_there_when_asked_for_and_off_until_it_is_wanted() -> None:
    grid = "Grid of 10 cm for projectors"
    data = sheet_bytes(SMALL, roll=60.0, grid=True)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert [str(group.Name) for group in pdf.Root.OCProperties.D.OFF] == [grid]
    assert dark(showing(data, grid)) > dark(showing(data)) + 1000
    assert dark(showing(data)) == dark(showing(small()))


def test_only_the_projectors_sheet_has_a_grid() -> None:
    order = make_garment(open_card(data_folder() / "clients" / "demo.toml"))
    files = papers(order, kinds=["print", "projector"])

    assert "Grid of 10 cm for projectors" in group_names(files["projector.pdf"])["Sheet"]
    assert group_names(files["one-sheet.pdf"])["Sheet"] == ["Test square"]
    assert "projector.pdf" not in papers(order)


def test_lines_of_the_grid_are_ten_centimetres_apart() -> None:
    page = pdfs.opened(sheet_bytes(SMALL, "A0", grid=True))[0]
    wide, tall = (side * pdfs.CM for side in page.get_size())
    upright = sorted(
        float(path.points[0, 0])
        for path in pdfs.paths(page)
        if len(path.segments) == 1 and np.ptp(path.points[:, 1]) > tall - 0.01
    )

    assert len(upright) == 8
    assert np.diff([0.0, *upright]) == pytest.approx(10.0, abs=1e-4)
    assert wide == pytest.approx(84.1, abs=1e-3)


def test_a_roll_is_as_wide_as_told_and_as_long_as_needed() -> None:
    (wide,) = pdfs.opened(sheet_bytes(SMALL, roll=91.4))
    (narrow,) = pdfs.opened(sheet_bytes(SMALL, roll=45.0))
    sizes = [[side * pdfs.CM for side in page.get_size()] for page in (wide, narrow)]

    assert sizes[0][0] == pytest.approx(91.4, abs=1e-3)
    assert sizes[1][0] == pytest.approx(45.0, abs=1e-3)
    assert sizes[0][1] < sizes[1][1]


def test_everything_lies_on_the_sheet_inside_its_margin() -> None:
    order = make_garment(open_card(data_folder() / "clients" / "demo.toml"))
    for asked in ({"roll": 91.4}, {"paper": "A0"}, {"roll": 40.0}):
        page = pdfs.opened(sheet_bytes(sheet_content(order), **asked))[0]
        wide, tall = (side * pdfs.CM for side in page.get_size())
        cut = (layers()[Ink.CUT].width_mm / 10, (0, 0, 0))
        lines = [
            p
            for p in pdfs.paths(page)
            if p.closed and (pytest.approx(p.width, abs=1e-4), p.colour) == cut
        ]
        assert len(lines) == len(order.pieces)
        for path in lines:
            assert path.points.min() > 1.0
            assert path.points[:, 0].max() < wide - 1.0
            assert path.points[:, 1].max() < tall - 1.0


def test_pieces_keep_their_grain_upright() -> None:
    """Turned by half a turn or not at all: the grain of the sample front runs up or down."""
    page = pdfs.opened(small())[0]
    grain = layers()[Ink.GRAIN].width_mm / 10
    shafts = [
        p.points[1] - p.points[0]
        for p in pdfs.paths(page)
        if len(p.segments) == 1 and abs(p.width - grain) < 1e-4 and pdfs.length(p.segments) > 20
    ]
    long = [s for s in shafts if abs(np.hypot(*s) - 25.0) < 0.01]

    assert len(long) == 1
    assert abs(long[0][0]) < 1e-4


def test_pieces_that_do_not_fit_one_sheet_go_on_to_more() -> None:
    many = tuple(
        replace(shapes.square(38.0, 1.0, 1.0, 1.0, 1.0), code=f"S{k}", title=f"Square {k}")
        for k in range(7)
    )
    file = pdfs.opened(sheet_bytes(SheetContent("Squares", many, LABELS), "A0"))
    said = [page.get_textpage().get_text_range() for page in file]

    assert len(file) == 2
    assert [f"sheet {k} of 2" in words for k, words in enumerate(said, start=1)] == [True, True]
    for piece in many:
        assert sum(piece.title in words for words in said) == 1


def test_a_piece_larger_than_the_sheet_is_refused() -> None:
    large = replace(shapes.square(90.0, 1.0, 1.0, 1.0, 1.0), title="Bedspread")
    with pytest.raises(DraftError, match=r"Bedspread.*wider roll"):
        sheet_bytes(SheetContent("Large", (large,), LABELS), "A0")
    with pytest.raises(DraftError, match="too narrow"):
        sheet_bytes(SMALL, roll=3.0)
    tall = tuple(replace(shapes.square(60.0, *[0.0] * 4), code=f"S{k}") for k in range(9))
    with pytest.raises(DraftError, match="longer than a PDF page"):
        sheet_bytes(SheetContent("Tall", tall, LABELS), roll=70.0)


def test_a_maker_in_inches_gets_a_roll_of_36_inches() -> None:
    (page,) = pdfs.opened(sheet_bytes(SMALL, unit=LengthUnit.INCH))

    assert page.get_size()[0] == pytest.approx(36 * 72, abs=1e-3)


def test_the_sheet_is_named_and_the_same_every_time() -> None:
    words = pdfs.opened(small())[0].get_textpage().get_text_range()

    assert small() == sheet_bytes(SMALL, roll=60.0)
    assert "Zoë Müller · Blouse 12 · 2026-03-14 · direct measure" in words
    assert "Measure the square before cutting" in words


@pytest.mark.parametrize(
    "client", ["a) Tj (b", "שלום مرحبا", "王 😀", "\ud800\x00\ufffe", "n" * 999]
)
def test_no_name_breaks_the_sheet(client: str) -> None:
    labels = Labels(client, "2026-03-14", client, client, {}, client)
    pieces = tuple(
        replace(piece, title=client, code=client[:4]) for piece in (shapes.stand(), shapes.fall())
    )
    data = sheet_bytes(SheetContent(client, pieces, labels), roll=60.0)

    assert len(pdfs.opened(data)) == 1
    assert len(group_names(data)["Pieces"]) == 1  # both have one code
