"""What a card may ask of the garment: the ranges it accepts are those the blocks can draw, and bad
data is told in full."""

from __future__ import annotations

import pytest

from drafting.errors import DataError
from drafting.library import read_data, read_toml
from garment.options import options, read_options, resolve_options


def number(file: str, *keys: str) -> float:
    """A figure of another data file."""
    value = read_data(file).values
    for key in keys:
        value = value[key]
    return float(value["value"] if isinstance(value, dict) else value)


@pytest.mark.parametrize("key", [key for key in options()["ease"] if key != "named"])
def test_ease_is_accepted_as_far_as_it_can_be_drawn(key: str) -> None:
    rule = options()["ease"][key].rule
    assert rule.low == number("ease", "limits", key, "least")
    assert rule.high == number("ease", "limits", key, "most")


@pytest.mark.parametrize(
    ("table", "key", "low", "high"),
    [
        ("darts", "held_back", ("darts", "limits", "held_back_least"), ("held_back_most",)),
        ("finish", "button", ("front_edge", "button", "least"), ("most",)),
        ("length", "below_waist", ("hip", "limits", "length_least"), ("length_most",)),
    ],
)
def test_ranges_are_those_of_the_blocks(
    table: str, key: str, low: tuple[str, ...], high: tuple[str, ...]
) -> None:
    rule = options()[table][key].rule
    assert rule.low == number(*low)
    assert rule.high == number(*low[:-1], *high)


def test_what_is_left_out_stands_at_its_default_or_open() -> None:
    assert resolve_options("darts", {})["bust"] == "side"
    assert resolve_options("darts", {})["second"] is None
    assert resolve_options("finish", {"button": 2.0})["button"] == 2.0
    assert resolve_options("finish", {"button": None})["button"] == 1.1


def test_bad_data_is_told_in_full() -> None:
    text = (
        '[darts.one]\nunit = "yards"\nmeaning = "x"\nsource = "y"\n'
        '[darts.two]\nunit = "cm"\nlow = 1\nhigh = 2\ndefault = 9\nmeaning = "x"\nsource = "y"\n'
        '[darts.three]\nunit = "choice"\nmeaning = "x"\nsource = "y"\n'
    )
    with pytest.raises(DataError) as caught:
        read_options(read_toml(text, "garment.toml"))
    assert [problem.key for problem in caught.value.problems] == ["one", "two", "three"]
