"""Our SVG read by others: lengths by a reading of the path data that shares nothing with the pen
that wrote it (SVG 1.1, W3C Recommendation, chapter 8), and in pixels by librsvg at 96 to the inch
(CSS 2.1, W3C Recommendation, section 4.3.2: 1 in = 96 px).
"""

from __future__ import annotations

import re
import subprocess
from functools import cache
from io import BytesIO
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from blocks.edges import EdgeName
from drafting.library import data_folder
from garment.garment import Garment, make_garment
from workroom.card.card import open_card
from workroom.papers.papers import papers

SVG = "{http://www.w3.org/2000/svg}"
TOKEN = re.compile(r"[MLCZ]|-?\d+(?:\.\d+)?")
PX_PER_MM = 96 / 25.4
MARGIN = 15.0  # white round a sheet, mm


@cache
def demo() -> Garment:
    return make_garment(open_card(data_folder() / "clients" / "demo.toml"))


@cache
def files() -> dict[str, bytes]:
    return papers(demo())


def root(name: str = "pieces.svg") -> ElementTree.Element:
    return ElementTree.fromstring(files()[name])


def segments(path: str) -> list[np.ndarray]:
    """Control points of each segment of a path with absolute M, L, C and Z."""
    found, numbers = [], []
    start = here = np.zeros(2)
    command = ""
    for token in TOKEN.findall(path):
        if token.isalpha():
            command, numbers = token, []
            if token == "Z":
                found.append(np.array([here, start]))
                here = start
            continue
        numbers.append(float(token))
        if len(numbers) == {"M": 2, "L": 2, "C": 6}[command]:
            points = np.array(numbers).reshape(-1, 2)
            if command == "M":
                start = points[0]
            else:
                found.append(np.vstack((here, points)))
            here, numbers = points[-1], []
    return found


def length(segment: np.ndarray, steps: int = 4000) -> float:
    """Arc length of a straight line or a cubic, by many short chords."""
    if len(segment) == 2:
        return float(np.hypot(*(segment[1] - segment[0])))
    t = np.linspace(0.0, 1.0, steps)[:, None]
    a, b, c, d = segment
    points = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def sew_line(code: str) -> list[np.ndarray]:
    group = next(e for e in root().iter(f"{SVG}g") if e.get("id") == f"piece-{code}-SEW_LINE")
    (path,) = group.iter(f"{SVG}path")
    return segments(path.get("d", ""))


@pytest.mark.parametrize("code", ["BACK", "FRONT", "STAND", "UPPER", "UNDER"])
def test_a_sew_line_is_as_long_as_the_draft_says(code: str) -> None:
    piece = next(p for p in demo().pieces if p.code == code)
    drawn = sum(map(length, sew_line(code)))

    assert drawn == pytest.approx(10 * sum(edge.length for edge in piece.edges), abs=0.05)


def test_the_neckline_is_true_to_a_twentieth_of_a_millimetre() -> None:
    """The neckline's own segments, found by where the draft's ends lie on the sheet."""
    for code in ("BACK", "FRONT"):
        piece = next(p for p in demo().pieces if p.code == code)
        before = 0
        for edge in piece.edges:
            count = len(tuple(edge.curve.beziers()))
            if edge.name is EdgeName.NECKLINE:
                drawn = sum(map(length, sew_line(code)[before : before + count]))
                assert drawn == pytest.approx(10 * edge.length, abs=0.05)
                assert drawn == pytest.approx(10 * edge.length, rel=2e-4)
            before += count


def test_width_height_and_view_box_say_one_user_unit_is_a_millimetre() -> None:
    for name in ("pieces.svg", "lay-140.svg"):
        svg = root(name)
        _, _, wide, tall = map(float, svg.get("viewBox", "").split())
        assert svg.get("width") == f"{wide:g}mm" or float(svg.get("width", "")[:-2]) == wide
        assert float(svg.get("height", "").removesuffix("mm")) == tall
        assert all(e.get("transform") is None for e in svg.iter(f"{SVG}g"))


def square_and_bar() -> tuple[np.ndarray, np.ndarray]:
    """Corners of the test square and ends of the bar, millimetres, as they stand in the file."""
    svg = root()
    sheet = next(e for e in svg.iter(f"{SVG}g") if e.get("id") == "sheet-TEXT")
    paths = [segments(e.get("d", "")) for e in sheet.iter(f"{SVG}path")]
    (square,) = [p for p in paths if len(p) > 2]
    straight = [p[0] for p in paths if len(p) == 1]
    bar = max(straight, key=length)
    return np.vstack(square), bar


def test_the_square_is_ten_centimetres_and_the_bar_four_inches() -> None:
    square, bar = square_and_bar()

    assert np.ptp(square, axis=0) == pytest.approx([100.0, 100.0], abs=0.002)
    assert length(bar) == pytest.approx(101.6, abs=0.002)


def test_no_words_of_the_sheet_stand_on_a_line() -> None:
    """Words keep clear of the square's sides, the bar, and each other: boxes of generous width."""
    svg = root()
    square, bar = square_and_bar()
    low, high = square.min(axis=0), square.max(axis=0)
    boxes = []
    sheet = next(e for e in svg.iter(f"{SVG}g") if e.get("id") == "sheet")
    for text in sheet.iter(f"{SVG}text"):
        x, y = map(float, re.findall(r"-?[\d.]+", text.get("transform", ""))[:2])
        size = float(text.get("font-size", ""))
        boxes.append((x, y - 0.8 * size, x + 0.65 * size * len(text.text or ""), y + 0.25 * size))
    assert len(boxes) >= 6
    for x0, y0, x1, y1 in boxes:
        inside = low[0] < x0 and x1 < high[0] and low[1] < y0 and y1 < high[1]
        outside = x1 < low[0] or x0 > high[0] or y1 < low[1] or y0 > high[1]
        assert inside or outside
        ends = sorted(bar[:, 0])
        assert x1 < ends[0] or x0 > ends[1] or y1 < bar[0, 1] - 3.5 or y0 > bar[0, 1] + 3.5
    for k, a in enumerate(boxes):
        for b in boxes[k + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


@cache
def pixels(rsvg_convert: str, zoom: int) -> np.ndarray:
    """The sheet as librsvg draws it, grey, at 96 dots to the inch times ``zoom``."""
    dots = str(96 * zoom)
    drawn = subprocess.run(
        [rsvg_convert, "--unlimited", "-d", dots, "-p", dots, "-f", "png"],
        input=files()["pieces.svg"],
        check=True,
        capture_output=True,
        timeout=60,
    ).stdout
    return np.asarray(Image.open(BytesIO(drawn)).convert("L"))


@pytest.mark.parametrize("zoom", [1, 2])
def test_the_square_measures_right_in_pixels(rsvg_convert: str, zoom: int) -> None:
    """From the middle of one side to the middle of the opposite one, both ways."""
    grey = pixels(rsvg_convert, zoom)
    scale = PX_PER_MM * zoom
    svg = root()
    left, top, wide, tall = map(float, svg.get("viewBox", "").split())
    assert grey.shape == pytest.approx((tall * scale, wide * scale), abs=1.0)
    square, _ = square_and_bar()
    low, high = square.min(axis=0), square.max(axis=0)
    quarter = low + (high - low) * 0.15  # no words there
    row = grey[round((quarter[1] - top) * scale)]
    column = grey[:, round((quarter[0] - left) * scale)]
    ends = ((row, (low[0] - left, high[0] - left)), (column, (low[1] - top, high[1] - top)))
    for dark, near in ends:
        a, b = (middle_of_line(dark, at * scale, 2.0 * zoom) for at in near)
        assert (b - a) / scale == pytest.approx(100.0, abs=0.3 / zoom)


def middle_of_line(grey: np.ndarray, near: float, reach: float) -> float:
    """Where a dark line lies, by the weight of its darkness, pixels."""
    first, last = int(near - reach), int(near + reach) + 1
    dark = 255.0 - grey[first:last].astype(float)
    assert dark.sum() > 30.0, "no line there"
    return float((dark * (np.arange(first, last) + 0.5)).sum() / dark.sum())
