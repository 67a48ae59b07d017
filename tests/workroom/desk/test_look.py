"""One look: mistakes come back by key, the picture is that of the pieces, checks know their
edges."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from math import degrees
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.body.measures import asked_for
from collars.registry import COLLARS
from drafting.pieces.checks import Check, Verdict
from drafting.pieces.cutting import cut_line
from drafting.units import LengthUnit
from garment.options import options
from tests.workroom.desk.conftest import demo_measurements
from workroom.desk.forms import collar_pictures, figure, form, said_in_two, usual
from workroom.desk.picture import edges_of, live_picture
from workroom.desk.preview import Look, look_at

SVG = "{http://www.w3.org/2000/svg}"


def look(kind: str = "two-piece shirt", **more: Any) -> Look:
    content = {
        "client": "Ann",
        "date": "2026-03-14",
        "measurements": demo_measurements(),
        "collar": {"kind": kind},
    }
    return look_at({**content, **more})


def points_of(path: str) -> np.ndarray[Any, Any]:
    """The ends of a path's strokes."""
    ends = []
    for letter, numbers in re.findall(r"([MLC])([^MLCZ]*)", path):
        found = [float(number) for number in numbers.split()]
        assert len(found) == (6 if letter == "C" else 2)
        ends.append(found[-2:])
    return np.array(ends)


@pytest.mark.parametrize("kind", ["none", *COLLARS])
def test_every_collar_is_drawn_edge_for_edge(kind: str) -> None:
    found = look(kind)
    assert found.order is not None
    drawn = ET.fromstring(found.told["svg"])
    edges = {one.get("data-at"): one for one in drawn.iter(f"{SVG}path") if one.get("data-at")}
    assert len(edges) == sum(len(piece.edges) for piece in found.order.pieces)
    for piece in found.order.pieces:
        for place, edge in enumerate(piece.edges):
            one = edges[f"{piece.code}:{place}"]
            assert one.get("data-name") == edge.name.value
            assert float(str(one.get("data-length")).split()[0]) == round(edge.length, 2)
            ends = points_of(str(one.get("d")))
            start, end = edge.curve.start, edge.curve.end
            assert np.allclose(ends[0], [start.x, -start.y], atol=6e-4)
            assert np.allclose(ends[-1], [end.x, -end.y], atol=6e-4)
            for other in str(one.get("data-partner")).split():
                assert f"{piece.code}:{place}" in str(edges[other].get("data-partner")).split()
    assert len(found.told["pieces"]) == len(found.order.pieces)


def test_pieces_do_not_lie_on_each_other() -> None:
    for kind in COLLARS:
        found = look(kind).order
        assert found is not None
        drawn = ET.fromstring(live_picture(found.pieces, found.seams, LengthUnit.CM).svg)
        boxes = []
        x0, y0, width, height = (float(v) for v in str(drawn.get("viewBox")).split())
        for group in drawn.iter(f"{SVG}g"):
            x, y = (float(v) for v in re.findall(r"-?[\d.]+", str(group.get("transform"))))
            cloth = next(p for p in group.iter(f"{SVG}path") if p.get("class") == "allowance")
            at = points_of(str(cloth.get("d"))) + np.array([x, y])
            boxes.append((at.min(axis=0), at.max(axis=0)))
        for k, (low, high) in enumerate(boxes):
            assert (low >= [x0, y0]).all()
            assert (high <= [x0 + width, y0 + height]).all()
            for other_low, other_high in boxes[:k]:
                apart = (low > other_high) | (high < other_low)
                assert apart.any(), kind


def test_the_cut_line_of_the_picture_is_that_of_the_papers_but_for_a_hair() -> None:
    """Where both run along an edge: corners may be cut otherwise."""
    found = look().order
    assert found is not None
    drawn = ET.fromstring(live_picture(found.pieces, found.seams, LengthUnit.CM).svg)
    for piece, group in zip(found.pieces, drawn.iter(f"{SVG}g"), strict=True):
        cloth = next(p for p in group.iter(f"{SVG}path") if p.get("class") == "allowance")
        shown = points_of(str(cloth.get("d"))) * [1, -1]
        border = cut_line(piece).polygon().exterior
        from shapely import Point

        near = sum(border.distance(Point(*at)) < 0.05 for at in shown)
        assert near >= 0.8 * len(shown), piece.title


def test_mistakes_come_back_by_key() -> None:
    told = look(measurements={**demo_measurements(), "bust_girth": 37}).told
    (problem,) = told["problems"]
    assert problem["key"] == "measurements.bust_girth"
    assert problem["advice"] == "Is it in inches?"
    assert "svg" not in told


def test_a_slip_is_told_before_the_card_is_finished() -> None:
    told = look(measurements={"bust_girth": 94, "waist_girth": 94.5 + 30}).told
    assert told["problems"]  # the rest is missing
    assert [one["key"] for one in told["unusual"]]


def test_what_stands_where_nothing_is_written_follows_what_is_written() -> None:
    told = look(collar={"kind": "two-piece shirt", "stand_back": 4}).told
    assert told["standing"]["collar.stand_front"] == "3.5"
    assert told["standing"]["collar.button_stand"] == told["standing"]["garment.button_stand"]
    inches = look(unit="in", measurements={"bust_girth": "94 cm"}).told
    assert "standing" not in inches or "/" in inches["standing"]["garment.button_stand"]


def test_estimates_are_those_not_taken() -> None:
    taken = {k: demo_measurements()[k] for k in ("bust_girth", "waist_girth", "back_waist_length")}
    told = look(measurements={**taken, "neck_base_girth": 37.4}).told
    estimable = {key for key, one in asked_for().items() if one.estimates}
    assert set(told["estimated"]) == estimable - set(taken) - {"neck_base_girth"}


def test_failed_checks_know_their_edges() -> None:
    found = look(collar={"kind": "two-piece shirt", "stand_back": 1.5, "fall_back": 2})
    failed = [one for one in found.told["checks"] if one["verdict"] == "fail"]
    assert failed
    drawn = set(re.findall(r"data-at=\"([^\"]*)\"", found.told["svg"]))
    for one in failed:
        assert one["edges"]
        assert set(one["edges"]) <= drawn


@pytest.mark.parametrize(
    ("name", "where", "edges"),
    [
        ("neck seam to back neckline", "STAND, neck seam", {"STAND:neck seam"}),
        ("stand at centre back", "STAND, centre back", {"STAND:centre back"}),
        ("neckline square at centre back", "back neckline", {"BACK:neckline"}),
        ("neckline against neck base", "whole neckline", {"BACK:neckline", "FRONT:neckline"}),
        ("largest difference", "shoulder", {"BACK:shoulder", "FRONT:shoulder"}),
        ("waist, darts sewn", "", {"BACK:waist", "FRONT:waist"}),
        ("legs equal: back waist dart", "Back bodice", {"BACK:dart mouth", "BACK:waist"}),
        ("nothing that can be shown", "", set()),
    ],
)
def test_a_check_points_at_its_edges(name: str, where: str, edges: set[str]) -> None:
    order = look().order
    assert order is not None
    check = Check(name, 1.0, 0.0, 0.0, Verdict.FAIL, where=where)
    names = {
        f"{p.code}:{k}": f"{p.code}:{e.name}" for p in order.pieces for k, e in enumerate(p.edges)
    }
    assert {names[at] for at in edges_of(check, order.pieces, order.seams)} == edges


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(list(asked_for())),
        st.floats(20, 200) | st.integers(0, 300) | st.text(max_size=6),
        max_size=8,
    )
)
def test_any_measurements_give_a_draft_or_reasons(taken: dict[str, Any]) -> None:
    told = look(measurements=taken).told
    assert told["problems"] or told["checks"]


# ---- what the page asks for ---------------------------------------------------------------


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_the_page_asks_for_all_a_card_may_have(unit: str) -> None:
    told = form(unit)
    paths = {field["path"] for table in told["tables"] for field in table["fields"]}
    for name, rows in options().items():
        assert {f"garment.{name}.{key}" for key in rows} <= paths
    assert {one["key"] for one in told["collars"]} == set(COLLARS)
    assert [one["key"] for one in told["measurements"]] == list(asked_for())
    for collar in told["collars"]:
        for field in collar["fields"]:
            assert field["name"]
            assert not field["name"].endswith((";", ":", "."))
            if field["unit"] != "choice" and field["usual"]:
                low, high = field["usual"]
                assert field["low"] <= low < high <= field["high"]


def test_what_is_written_in_every_default_can_be_read_back() -> None:
    """The whole page, filled in with what stands in its fields, is the card left out."""
    told = form("cm")
    content: dict[str, Any] = {
        "client": "Ann",
        "date": "2026-03-14",
        "measurements": demo_measurements(),
    }
    for field in [*told["block"], *told["neckline"]]:
        if field["path"] == "garment.button_stand":
            continue
        table = content
        *way, last = field["path"].split(".")
        for key in way:
            table = table.setdefault(key, {})
        table[last] = field["default"]
    said = look_at({**content, "collar": {"kind": "band"}})
    left = look("band")
    assert said.order is not None
    assert left.order is not None
    for one, other in zip(said.order.pieces, left.order.pieces, strict=True):
        assert [edge.length for edge in one.edges] == [edge.length for edge in other.edges]


def test_usual_ranges_are_those_of_the_source() -> None:
    rules = COLLARS["two-piece shirt"].parameters
    sources = COLLARS["two-piece shirt"].sources
    assert usual(rules["stand_back"], sources["stand_back"]) == (2.5, 3.5)
    assert usual(rules["finger_ease"], "two fingers round a neck of 31 to 37; neck and 1") is None
    assert usual(rules["rise"], "0.5 to 3.5 above the bust line") is None


def test_meanings_are_said_in_two() -> None:
    assert said_in_two("Width; left out, as at the back") == ("Width", "Left out, as at the back")
    assert said_in_two("Width at centre back") == ("Width at centre back", "")


def test_every_measurement_has_its_tape_and_every_collar_its_picture() -> None:
    for key in asked_for():
        assert f'data-key="{key}"' in figure()
    assert set(COLLARS) <= set(collar_pictures())
    ET.fromstring(f"<div>{figure()}</div>")


def test_angles_are_shown_in_degrees() -> None:
    """A slope that was estimated, a spread that was not asked for, what a seam turns by."""
    taken = {key: value for key, value in demo_measurements().items() if key != "shoulder_slope"}
    found = look(measurements=taken)
    assert found.order is not None
    assert found.order.collar is not None
    assert found.told["estimated"]["shoulder_slope"] == "20°"
    turned = degrees(found.order.collar.numbers["turning_angle"])
    assert dict(found.told["numbers"])["turning angle"] == f"{turned:.1f}°"
    assert found.told["standing"]["collar.spread"] == "90"
