"""The table of layers: complete, plain, and legible without colour."""

from __future__ import annotations

from itertools import combinations

import pytest
from ezdxf.colors import DXF_DEFAULT_COLORS, int2rgb

from drafting.drawing.signs import Ink
from drafting.errors import DataError
from drafting.library import data_folder, read_toml
from workroom.grade.nest import nest_look
from workroom.papers.sheet.layers import DXF_WIDTHS, READABLE, layer, layers, read_layers

TABLE = (data_folder() / "layers.toml").read_text(encoding="utf-8")


def darkness(rgb: str) -> float:
    """Relative luminance of a colour on white (WCAG 2.1), 0 black to 1 white."""
    parts = [int(rgb[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_every_ink_has_its_layer() -> None:
    assert set(layers()) == set(Ink)
    assert layer("sew").name == "SEW_LINE"


def test_names_are_plain_and_unlike() -> None:
    names = [row.name for row in layers().values()]

    assert len(set(names)) == len(names)
    assert all(name.isascii() and name == name.upper() and " " not in name for name in names)


def test_lines_are_legible_on_white() -> None:
    """Contrast of at least 4.5 to 1 on white, as WCAG 2.1 (1.4.3) asks of text."""
    for row in layers().values():
        assert (1.05) / (darkness(row.rgb) + 0.05) >= 4.5, row.name
        assert row.colour in READABLE
        assert round(row.width_mm * 100) in DXF_WIDTHS
        assert row.width_mm >= 0.25


def test_lines_stand_out_from_a_white_and_from_a_black_ground() -> None:
    """The colours that programs give DXF's numbers, as ezdxf lists them; 7 is black on white and
    white on black."""
    used = {row.colour for row in layers().values()} | {look.colour for look in nest_look().looks}
    for number in used - {7}:
        shade = darkness("#" + bytes(int2rgb(DXF_DEFAULT_COLORS[number])).hex())
        assert 1.05 / (shade + 0.05) >= 3.8, number
        assert (shade + 0.05) / 0.05 >= 3.8, number


def test_lines_that_meet_differ_without_colour() -> None:
    looks = [
        (row.width_mm, row.dash_mm)
        for ink, row in layers().items()
        if ink in (Ink.CUT, Ink.SEW, Ink.FOLD, Ink.GRAIN, Ink.DART, Ink.MARK, Ink.CONSTRUCTION)
    ]

    assert all(one != other for one, other in combinations(looks, 2))
    assert layer(Ink.CUT).width_mm == max(width for width, _ in looks)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('name = "CUT_LINE"', 'name = "Cut line"', "name"),
        ('name = "CUT_LINE"', 'name = "SEW_LINE"', "name"),
        ('key = "cut"', 'key = "scissors"', "key"),
        ("colour = 7", "colour = 2", "colour"),
        ("width_mm = 0.7", "width_mm = 0.71", "width_mm"),
        ("width_mm = 0.7", 'width_mm = "wide"', "width_mm"),
        ("dash_mm = [6.0, 2.0]", "dash_mm = [6.0]", "dash_mm"),
        ("dash_mm = [6.0, 2.0]", "dash_mm = 6.0", "dash_mm"),
        ('linetype = "DASHED"', 'linetype = "SEW_LINE"', "linetype"),
        ('linetype = "DASHED"', 'linetype = ""', "linetype"),
        ('rgb = "#1c3f94"', 'rgb = "blue"', "rgb"),
        ("d6673 = 14", "d6673 = -1", "d6673"),
        ('purpose = "labels"', "", "purpose"),
    ],
)
def test_a_mistake_in_the_table_is_named_with_its_line(old: str, new: str, key: str) -> None:
    text = TABLE.replace(old, new, 1)

    with pytest.raises(DataError) as caught:
        read_layers(read_toml(text, "layers.toml"))
    assert key in {problem.key for problem in caught.value.problems}
    assert all(problem.place.startswith("layers.toml:") for problem in caught.value.problems)


def test_a_missing_layer_is_named() -> None:
    text = TABLE[: TABLE.index('[[layer]]\nkey = "stamp"')]

    with pytest.raises(DataError, match="no layer for stamp"):
        read_layers(read_toml(text, "layers.toml"))
