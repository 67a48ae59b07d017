"""Every notch of every order lies on the cut line and tells what it marks, measured on the drawn
lines; and so it stands in every file."""

from __future__ import annotations

import io
import re
from collections import Counter
from functools import cache
from typing import NamedTuple

import ezdxf
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.bodice.methods import method_names
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.library import data_folder
from drafting.pieces.cutting import cut_line, notch_marks
from drafting.units import mm
from garment.garment import Garment, make_garment
from tests.long import examples
from tests.notch_places import ON_LINE, Lies, lies
from tests.strategies import bodies
from workroom.card.card import open_card, read_card_text
from workroom.papers.papers import papers

CLIENTS = data_folder() / "clients"
CARDS = pytest.mark.parametrize("name", sorted(path.stem for path in CLIENTS.glob("*.toml")))
#: What collars may be sewn to, and what else moves the corners of a piece.
NECKLINES = (
    'fit = "both"',
    "style = { front_lower = 2.0, side_widen = 1.0, back_lower = 1.0 }",
    'style = { shape = "v", front_lower = 9.0, side_widen = 0.5 }',
    'style = { shape = "square", front_lower = 4.0, side_widen = 1.5 }',
    'style = { shape = "boat", side_widen = 3.0 }',
)
PLACES = ("scye", "side", "shoulder", "neckline", "waist", "centre front")
WIDTHS = st.sampled_from([0.0, 0.6, 1.0, 1.5, 2.0]) | st.floats(0.3, 2.5)
ALLOWANCES = ("neckline", "shoulder", "scye", "side_seam", "waist", "front_edge", "centre_back")


@cache
def order(name: str) -> Garment:
    return make_garment(open_card(CLIENTS / f"{name}.toml"))


def wrong(order: Garment) -> list[Lies]:
    return [one for piece in order.pieces for one in lies(piece) if not one.good]


@st.composite
def garments(draw: st.DrawFn) -> str:
    """Tables of a card: darts, length, facing, nine allowances."""
    darts = f'bust = "{draw(st.sampled_from(PLACES))}"\n'
    darts += f'back = "{draw(st.sampled_from(["shoulder", "neckline", "scye", "ease"]))}"\n'
    facing = draw(st.sampled_from(["", 'facing = "separate"\n', 'facing = "none"\n']))
    length = draw(st.sampled_from(["waist", "hip"]))
    widths = "".join(f"{key} = {draw(WIDTHS):.2f}\n" for key in (*ALLOWANCES, "collar", "facing"))
    return (
        f"[garment.darts]\n{darts}[garment.finish]\n{facing}"
        f'[garment.length]\nto = "{length}"\n[garment.allowances]\n{widths}'
    )


@pytest.mark.parametrize("kind", ["none", *COLLARS])
@settings(max_examples=examples(4), deadline=None)
@given(
    body=bodies(),
    method=st.sampled_from(method_names()),
    neckline=st.sampled_from(NECKLINES),
    garment=st.just("") | garments(),
)
def test_every_notch_lies_on_the_cut_line_and_tells_what_it_marks(
    kind: str, body: dict[str, float], method: str, neckline: str, garment: str
) -> None:
    taken = "\n".join(f"{key} = {value:.2f}" for key, value in body.items())
    text = f'client = "Ann"\ndate = 2026-01-02\n[measurements]\n{taken}\n[garment]\n'
    collar = f'[collar]\nkind = "{kind}"\n'
    for asked in (neckline, ""):  # a collar may ask for a neckline of its own
        card = read_card_text(
            f'{text}method = "{method}"\n{garment}[neckline]\n{asked}\n{collar}', "card"
        )
        try:
            drafted = make_garment(card)
        except DraftError:
            continue
        assert wrong(drafted) == []
        return


@CARDS
def test_every_notch_of_the_demo_is_right(name: str) -> None:
    assert wrong(order(name)) == []


def test_corners_that_take_no_snip_have_a_hole_and_a_word_in_the_cutting_list() -> None:
    holes = Counter(
        (name, one.piece, one.name)
        for name in ("shawl", "notched", "wing")
        for piece in order(name).pieces
        for one in lies(piece)
        if one.hole
    )
    assert holes == Counter(
        {
            ("shawl", "FRONT", "shoulder"): 1,
            ("shawl", "FACING", "shoulder"): 1,
            ("notched", "FRONT", "gorge corner"): 1,
            ("notched", "FACING", "gorge corner"): 1,
            ("wing", "OUTSIDE", "centre front"): 1,
            ("wing", "INSIDE", "centre front"): 1,
        }
    )
    said = papers(order("shawl"), kinds=("print",))["cutting-list.txt"].decode()
    assert said.count("drill hole: shoulder") == 2
    assert "clip to the hole" in said
    assert "hole" not in papers(order("demo"), kinds=("print",))["cutting-list.txt"].decode()


# ---- in the files -------------------------------------------------------------------------------


class Told(NamedTuple):
    """Cut lines, outer ends of snips, and how many holes there are in a file, millimetres."""

    cut: shapely.MultiLineString
    ends: list[shapely.Point]
    holes: int


def closed(*lines: list[tuple[float, float]]) -> shapely.MultiLineString:
    return shapely.MultiLineString([[*points, points[0]] for points in lines])


def in_drawing(data: bytes) -> Told:
    space = ezdxf.read(io.StringIO(data.decode("utf-8"))).modelspace()
    cut = [list(line.get_points("xy")) for line in space.query('LWPOLYLINE[layer=="CUT_LINE"]')]
    ends = [shapely.Point(*line.dxf.start.vec2) for line in space.query('LINE[layer=="NOTCHES"]')]
    return Told(closed(*cut), ends, len(space.query('CIRCLE[layer=="DRILLS"]')))


def in_interchange(data: bytes) -> Told:
    document = ezdxf.read(io.StringIO(data.decode("ascii")))
    blocks = [document.blocks.get(one.dxf.name) for one in document.modelspace().query("INSERT")]
    cut = [
        [tuple(v.dxf.location.vec2) for v in block.query('POLYLINE[layer=="1"]').first.vertices]
        for block in blocks
    ]
    points = [point for block in blocks for point in block.query("POINT")]
    ends = [shapely.Point(*p.dxf.location.vec2) for p in points if p.dxf.layer == "4"]
    return Told(closed(*cut), ends, sum(p.dxf.layer == "13" for p in points))


def in_svg(data: bytes) -> Told:
    def drawn(kind: str) -> list[list[tuple[float, float]]]:
        paths = re.findall(rf'<path class="{kind}" d="M([^"]*)"', data.decode("utf-8"))
        return [
            [(float(x), float(y)) for x, y in (step.split() for step in path.strip("Z").split("L"))]
            for path in paths
        ]

    ends = [shapely.Point(*path[0]) for path in drawn("notch")]
    return Told(closed(*drawn("cut")), ends, data.count(b'<circle class="drill"'))


FILES = {
    "drawing.dxf": in_drawing,
    "splines.dxf": in_drawing,
    "interchange.dxf": in_interchange,
    "pieces.svg": in_svg,
}


@CARDS
def test_in_every_file_each_snip_starts_on_a_cut_line(name: str) -> None:
    marks = [m for piece in order(name).pieces for m in notch_marks(piece, cut_line(piece))]
    snips = sum(len(mark.strokes) for mark in marks)
    drilled = sum(len(piece.drills) for piece in order(name).pieces)
    files = papers(order(name), "all", kinds=("pictures", "dxf"))
    for file, read in FILES.items():
        told = read(files[file])
        assert len(told.ends) == snips, file
        assert told.holes == drilled + sum(mark.hole is not None for mark in marks), file
        assert max(told.cut.distance(end) for end in told.ends) < mm(ON_LINE), file
