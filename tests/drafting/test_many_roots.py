"""Roots of many functions at once: each found as the one-by-one search finds it."""

from __future__ import annotations

from math import cos, exp, tanh

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drafting.many_roots import roots_between
from drafting.roots import root_between


@given(st.lists(st.floats(-0.99, 0.99), min_size=1, max_size=20), st.floats(0.05, 30.0))
def test_each_root_is_the_one_found_by_itself(levels: list[float], steep: float) -> None:
    level = np.array(levels)
    most = np.full_like(level, 60.0)
    found = roots_between(lambda x: np.tanh(steep * x) - level, -most, most)

    for root, one in zip(found, levels, strict=True):
        assert root == pytest.approx(
            root_between(lambda x, one=one: tanh(steep * x) - one, -60.0, 60.0), abs=1e-11
        )


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=9))
def test_a_place_to_begin_with_changes_nothing_but_the_way(starts: list[float]) -> None:
    start = np.array(starts)
    low, high = np.zeros_like(start), np.ones_like(start)
    found = roots_between(lambda x: np.cos(x) - x, low, high, start=start)

    assert found == pytest.approx(root_between(lambda x: cos(x) - x, 0.0, 1.0), abs=1e-12)


def test_ends_that_are_roots_and_kinks_are_no_trouble() -> None:
    low, high = np.array([0.0, -1.0, -3.0]), np.array([2.0, 0.0, 5.0])
    found = roots_between(lambda x: np.where(x < 0.0, x, 1e3 * x), low, high)

    assert found == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)


def test_a_flat_and_steep_function_is_found_by_halving() -> None:
    place = np.array([0.1, 2.9])
    found = roots_between(lambda x: (x - place) ** 15, np.full(2, -1.0), np.full(2, 3.0))

    assert found == pytest.approx(place, abs=1e-2)


def test_without_a_change_of_sign_or_with_no_number_on_the_way_there_is_no_answer() -> None:
    def function(x: np.ndarray) -> np.ndarray:
        return np.array([exp(x[0]), x[1] - 0.5, np.nan if abs(x[2]) < 0.9 else x[2]])

    found = roots_between(function, np.full(3, -1.0), np.full(3, 1.0))

    assert np.isnan(found[[0, 2]]).all()
    assert found[1] == pytest.approx(0.5, abs=1e-12)
